"""Labels of stations on A4 sheets: a code to be scanned at arm's length, and what it is in large letters.

A code can be read from about ten times its width (a rule of thumb, no source; ``tests/benchmarks/codes.py``
measures this one). 76 mm with the quiet zone are meant for arm's length, taken as 0.6 m: there a camera of
1280 pixels over a view of 60 degrees has about three pixels for each square of a short text, and two of a
long one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from walkapp.paper.drawing import A4, Page, draw, printable, wide
from walkapp.paper.flow import LINE_HEIGHT, Line, Mark, Squares, Words, wrap

MM = 72 / 25.4
MARGIN = 10 * MM
COLUMNS, ROWS = 2, 2
CODE_SIDE = 76 * MM
"""Side of the code with its quiet zone."""

QUIET = 4
"""Light squares around a code (ISO/IEC 18004)."""

_NAME_SIZES = (30.0, 26.0, 22.0, 18.0, 15.0)
_NAME_LINES, _STREAM_LINES, _TEXT_LINES = 3, 2, 4
_STREAM_SIZE, _TEXT_SIZE = 15.0, 8.0
_PADDING = 6 * MM


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelPaper:
    """What stands on the label of one station.

    Parameters
    ----------
    station, order
        Its name, and its place in the stream.
    stream
        Name of the value stream.
    text
        The text in the code, to be typed where it cannot be scanned.
    note
        What a reader has to know, such as that it is invented; empty for nothing.
    side, runs
        The code: squares on each side, and its runs of dark ones as row, column and how many.
    """

    station: str
    order: int
    stream: str
    text: str
    side: int
    runs: tuple[tuple[int, int, int], ...]
    note: str = ""


def print_labels(labels: Sequence[LabelPaper], title: str) -> tuple[bytes, int]:
    """Draw labels as PDF, four on an A4 sheet.

    Parameters
    ----------
    labels
        At least one.
    title
        What a reader of the file shows above it.

    Returns
    -------
    pdf, pages
        The same bytes for the same labels and the same version of matplotlib.
    """
    pages = label_pages(labels)
    return draw(pages, title), len(pages)


def label_pages(labels: Sequence[LabelPaper]) -> tuple[Page, ...]:
    """Lay labels out."""
    width, height = A4
    cell_w, cell_h = (width - 2 * MARGIN) / COLUMNS, (height - 2 * MARGIN) / ROWS
    each = COLUMNS * ROWS
    pages = []
    for first in range(0, len(labels), each):
        marks: list[Mark] = [
            Line(x=width / 2, y=MARGIN, right=0.0, down=height - 2 * MARGIN, thick=0.3),
            Line(x=MARGIN, y=height / 2, right=width - 2 * MARGIN, down=0.0, thick=0.3),
        ]
        for place, label in enumerate(labels[first : first + each]):
            left = MARGIN + place % COLUMNS * cell_w
            top = MARGIN + place // COLUMNS * cell_h
            marks.extend(_marks(label, left=left, top=top, width=cell_w, height=cell_h))
        pages.append(Page(width=width, height=height, marks=tuple(marks)))
    return tuple(pages)


def _marks(label: LabelPaper, *, left: float, top: float, width: float, height: float) -> Iterator[Mark]:
    room = width - 2 * _PADDING
    name = printable(f"{label.order}  {label.station}")
    size, lines = _fitted(name, room)
    y = top + _PADDING
    for line in lines:
        y += size
        yield Words(x=_middle(line, left, width, size, bold=True), y=y, text=line, size=size, bold=True)
        y += size * (LINE_HEIGHT - 1)
    module = CODE_SIDE / (label.side + 2 * QUIET)
    code_top = top + _PADDING + _NAME_LINES * _NAME_SIZES[2] * LINE_HEIGHT
    yield Squares(
        x=left + (width - label.side * module) / 2,
        y=code_top + QUIET * module,
        side=module * label.side,
        count=label.side,
        runs=label.runs,
    )
    y = code_top + CODE_SIDE
    stream = _lines(printable(label.stream), room, _STREAM_SIZE, _STREAM_LINES, bold=True)
    small = (*_lines(label.text, room, _TEXT_SIZE, _TEXT_LINES), *filter(None, (printable(label.note),)))
    for texts, letters, bold in ((stream, _STREAM_SIZE, True), (small, _TEXT_SIZE, False)):
        for line in texts:
            y += letters
            yield Words(
                x=_middle(line, left, width, letters, bold=bold), y=y, text=line, size=letters, bold=bold
            )
            y += letters * (LINE_HEIGHT - 1)


def _fitted(name: str, room: float) -> tuple[float, tuple[str, ...]]:
    """Give the largest letters in which a name has room."""
    for size in _NAME_SIZES:
        lines = wrap(name, room, partial(wide, size=size, bold=True))
        if len(lines) * size <= _NAME_LINES * _NAME_SIZES[2]:
            return size, lines
    return _NAME_SIZES[-1], _lines(name, room, _NAME_SIZES[-1], _NAME_LINES, bold=True)


def _lines(text: str, room: float, size: float, most: int, *, bold: bool = False) -> tuple[str, ...]:
    """Break a text into lines; one that needs more than `most` ends in dots."""
    measure = partial(wide, size=size, bold=bold)
    lines = wrap(text, room, measure)
    if len(lines) <= most:
        return lines
    last = lines[most - 1]
    while last and measure(f"{last}...") > room:
        last = last[:-1]
    return (*lines[: most - 1], f"{last}...")


def _middle(line: str, left: float, width: float, size: float, *, bold: bool) -> float:
    return left + (width - wide(line, size, bold)) / 2
