"""What a reader of a PDF finds in it: an outside witness (pdfium), not the code that wrote it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import pypdfium2
import pypdfium2.raw as pdfium_c

Bounds = tuple[float, float, float, float]
"""Left, bottom, right and top in points, from the lower left corner of the page."""


@dataclass(frozen=True)
class Seen:
    """One page.

    Parameters
    ----------
    size
        Width and height in points.
    text
        What can be copied from it.
    lines
        Text and bounds of each piece of text; a line may be in several pieces.
    bases
        Height of the base line of each piece.
    paths
        Bounds of each rule and box.
    """

    size: tuple[float, float]
    text: str
    lines: tuple[tuple[str, Bounds], ...]
    bases: tuple[float, ...]
    paths: tuple[Bounds, ...]


def pages_of(data: bytes) -> list[Seen]:
    """Read all pages of a PDF."""
    document = pypdfium2.PdfDocument(data)
    try:
        return [_seen(page) for page in document]
    finally:
        document.close()


def _seen(page) -> Seen:
    words = page.get_textpage()
    lines, bases, paths = [], [], []
    for thing in page.get_objects():
        if thing.type == pdfium_c.FPDF_PAGEOBJ_TEXT:
            bounds = thing.get_bounds()
            lines.append((words.get_text_bounded(*bounds), bounds))
            bases.append(round(thing.get_matrix().f, 1))
        else:
            paths.append(thing.get_bounds())
    return Seen(page.get_size(), words.get_text_range(), tuple(lines), tuple(bases), tuple(paths))


def faults_of(seen: Seen) -> list[str]:
    """List all that is off the page, or lies over something else."""
    crossed = [
        f"crossed: {text!r} {one} by {path}"
        for text, one in seen.lines
        for path in seen.paths
        if _meet(one, path, SLACK) and not _holds(path, one)
    ]
    return [*sticking_out_of(seen, 18), *overlaps_of(seen), *crossed]


def sticking_out_of(seen: Seen, margin: float) -> list[str]:
    """List all that is nearer to an edge of the page than so many points."""
    width, height = seen.size
    return [
        f"off the page: {text!r} {bounds}"
        for text, bounds in (*seen.lines, *(("a line or box", path) for path in seen.paths))
        if min(bounds[:2]) < margin or bounds[2] > width - margin or bounds[3] > height - margin
    ]


def overlaps_of(seen: Seen) -> list[str]:
    """List the pieces of text that lie over each other."""
    pieces = zip(seen.lines, seen.bases, strict=True)
    return [
        f"over each other: {text!r} {one} and {other_text!r} {other}"
        for ((text, one), base), ((other_text, other), other_base) in combinations(pieces, 2)
        if _meet(one, other, NEIGHBOURS if base == other_base else SLACK)
    ]


SLACK, NEIGHBOURS = 0.1, 1.2
"""Points by which bounds may meet; the ink of letters that stand beside each other, such as "kł", meets."""


def _holds(frame: Bounds, one: Bounds) -> bool:
    """Say whether a frame, or a filled rectangle, is all round a text: no rule is."""
    return frame[0] <= one[0] and frame[1] <= one[1] and frame[2] >= one[2] and frame[3] >= one[3]


def _meet(one: Bounds, other: Bounds, slack: float) -> bool:
    return (
        one[0] + slack < other[2]
        and other[0] + slack < one[2]
        and one[1] + SLACK < other[3]
        and other[1] + SLACK < one[3]
    )
