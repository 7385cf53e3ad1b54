"""Rows laid one below the other over as many pages as they need: measured, never cut off.

Nothing here knows a font or a file. Lengths are in points (1/72 inch); x goes right from the left edge of
the text, y down from the top of the row, or of the page once a row has its place.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from walkapp.paper.figures.drawn import Figure

Measure = Callable[[str], float]
"""Gives the width of a text in points: the sum of those of its letters."""

LINE_HEIGHT = 1.3
"""Height of a line of text, as a multiple of the size of its letters: marks above and below fit in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """One line of text.

    Parameters
    ----------
    x, y
        Where it begins, on its base line.
    text
        What it says.
    size
        Size of the letters, in points.
    bold
        Whether they are bold.
    is_white
        Whether they are white, on a black :class:`Band`.
    """

    x: float
    y: float
    text: str
    size: float
    bold: bool = False
    is_white: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A level line, to write on or to part what stands above from what stands below.

    Parameters
    ----------
    x, y
        Its left end.
    length
        How far it goes to the right, above 0.
    thick
        How thick it is.
    """

    x: float
    y: float
    length: float
    thick: float = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A square to put a cross in.

    Parameters
    ----------
    x, y
        Its upper left corner.
    side
        How wide and high it is, above 0.
    """

    x: float
    y: float
    side: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A straight line in any direction.

    Parameters
    ----------
    x, y
        Where it begins.
    right, down
        How far its end lies to the right and further down; below 0 to the left and up.
    thick
        How thick it is.
    """

    x: float
    y: float
    right: float
    down: float
    thick: float = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A filled rectangle, or a frame.

    Parameters
    ----------
    x, y
        Its upper left corner.
    width, height
        Its sides, above 0.
    grey
        What it is filled with: 0 black to 1 white; none for a frame only.
    thick
        How thick its frame is, which lies inside; 0 for none.
    """

    x: float
    y: float
    width: float
    height: float
    grey: float | None = None
    thick: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """The shape of how something stands; its word stands beside it.

    Parameters
    ----------
    x, y
        Its middle.
    side
        How wide and high it is.
    state
        ``clean``, ``bad``, ``undecided`` or ``not_visited``.
    """

    x: float
    y: float
    side: float
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture that fills a rectangle.

    Parameters
    ----------
    x, y
        Its upper left corner.
    width, height
        Its sides, as the picture's are to each other.
    data
        A JPEG or PNG file, upright and whole.
    """

    x: float
    y: float
    width: float
    height: float
    data: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """A figure in a rectangle.

    Parameters
    ----------
    x, y
        Upper left corner of the rectangle.
    width, height
        Its sides.
    figure
        What is drawn.
    size
        Size of its letters; those of its notes and ticks are smaller, and none get smaller still.
    """

    x: float
    y: float
    width: float
    height: float
    figure: Figure
    size: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Squares:
    """The dark squares of a code, each drawn as lines and none as a picture.

    Parameters
    ----------
    x, y
        Its upper left corner; the light squares that it has to have around it lie outside.
    side
        How wide and high it is.
    count
        Squares on each side.
    runs
        Runs of dark squares: row from the top, first column from the left, and how many.
    """

    x: float
    y: float
    side: float
    count: int
    runs: tuple[tuple[int, int, int], ...]


Mark = Words | Rule | Box | Line | Band | Shape | Picture | Plot | Squares


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Marks that stay together.

    Parameters
    ----------
    height
        How much of the page they take, above 0.
    marks
        The marks; none for an empty space.
    """

    height: float
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Rows that stay on one page where one page can hold them.

    Parameters
    ----------
    rows
        From top to bottom.
    again
        What stands above them once more where a new page begins, such as the heading of their part.
    opens
        Whether they begin with that heading themselves.
    """

    rows: tuple[Row, ...]
    again: tuple[Row, ...] = ()
    opens: bool = False


def height_of(rows: Iterable[Row]) -> float:
    """Give the height of rows, one below the other."""
    return sum(row.height for row in rows)


def wrap(text: str, width: float, measure: Measure) -> tuple[str, ...]:
    """Break a text into lines that fit.

    Parameters
    ----------
    text
        One paragraph, parted by blanks.
    width
        Room for a line; no letter is wider.
    measure
        Of the letters that it is drawn with.

    Returns
    -------
    tuple of str
        At least one letter each, none for an empty text. A word that is wider than a line is broken where
        the line is full.

    Examples
    --------
    >>> wrap("hot parts, reservoirs", 9, len)
    ('hot', 'parts,', 'reservoir', 's')
    """
    lines: list[str] = []
    line, used, blank = "", 0.0, measure(" ")
    for word in _WORD.findall(text):
        wide = measure(word)
        if line and used + blank + wide <= width:
            line, used = f"{line} {word}", used + blank + wide
            continue
        if line:
            lines.append(line)
        *full, line = _pieces(word, width, measure) if wide > width else (word,)
        lines += full
        used = measure(line)
    return (*lines, line) if line else ()


def _pieces(word: str, width: float, measure: Measure) -> list[str]:
    pieces, used = [""], 0.0
    for letter in word:
        wide = measure(letter)
        if pieces[-1] and used + wide > width:
            pieces.append("")
            used = 0.0
        pieces[-1] += letter
        used += wide
    return pieces


_WORD = re.compile(r"(?:\(?p [<=] )?\S+(?: %\S*)?")
"""A word; a sign of percent stays with its number, and a p with its value."""


class CutMeasure(Protocol):
    """Gives the width of a text in points, of the bold cut or of the other one."""

    def __call__(self, text: str, bold: bool) -> float:
        """Measure a text."""


Run = tuple[str, bool]
"""Words that follow each other in one cut, and whether it is the bold one."""


def wrap_runs(
    runs: Iterable[Run], width: float, measure: CutMeasure, most: int = 0
) -> tuple[tuple[Run, ...], ...]:
    """Break a text of both cuts into lines that fit.

    Parameters
    ----------
    runs
        The text; between two runs stands a blank.
    width
        Room for a line; no letter is wider.
    measure
        Of the letters, and whether they are bold.
    most
        Where there are more lines than this, these and the beginning of one more are given; 0 for all.

    Returns
    -------
    tuple of tuple of Run
        Lines of at least one run each; none for an empty text. See :func:`wrap`.

    Examples
    --------
    >>> wrap_runs([("late:", True), ("sort all parts", False)], 10, lambda text, bold: len(text))
    ((('late:', True), ('sort', False)), (('all parts', False),))
    """
    lines: list[list[Run]] = []
    used = 0.0
    for text, bold in runs:
        for found in _WORD.finditer(text):
            word = found.group()
            wide, blank = measure(word, bold), measure(" ", bold)
            if lines and used + blank + wide <= width:
                last, was_bold = lines[-1][-1]
                if was_bold == bold:
                    lines[-1][-1] = (f"{last} {word}", bold)
                else:
                    lines[-1].append((word, bold))
                used += blank + wide
                continue
            pieces = _pieces(word, width, partial(measure, bold=bold)) if wide > width else [word]
            for piece in pieces:
                lines.append([(piece, bold)])
                used = measure(piece, bold)
            if most and len(lines) > most:
                return tuple(map(tuple, lines[: most + 1]))
    return tuple(map(tuple, lines))


def text_rows(
    text: str, *, x: float, width: float, size: float, measure: Measure, bold: bool = False
) -> tuple[Row, ...]:
    """Make a row of each line of a text."""
    height = size * LINE_HEIGHT
    return tuple(
        Row(height=height, marks=(Words(x=x, y=size, text=line, size=size, bold=bold),))
        for line in wrap(text, width, measure)
    )


def paginate(blocks: Iterable[Block], height: float) -> list[list[Row]]:
    """Lay blocks one below the other, page by page.

    Parameters
    ----------
    blocks
        In order.
    height
        Of the room on each page; no row is higher.

    Returns
    -------
    list of list of Row
        The rows of each page, at least one page. A block that the rest of a page cannot hold begins a new
        one; one that is higher than a page goes over several, broken between its rows. Empty space that a
        page has no room for is left out.
    """
    pages: list[list[Row]] = [[]]
    left = height

    def turn(again: Sequence[Row], needed: float) -> float:
        pages.append(list(again) if height_of(again) + needed <= height else [])
        return height - height_of(pages[-1])

    for block in blocks:
        above = () if block.opens else block.again
        whole = height_of(_without_space_below(block.rows))
        if whole > left and whole + height_of(above) <= height:
            left = turn(above, whole)
        for row in block.rows:
            if row.height > left:
                if not row.marks:
                    continue
                left = turn(block.again, row.height)
            pages[-1].append(row)
            left -= row.height
    return pages


def _without_space_below(rows: Sequence[Row]) -> Sequence[Row]:
    last = max((place for place, row in enumerate(rows) if row.marks), default=-1)
    return rows[: last + 1]


def moved(mark: Mark, *, right: float = 0.0, down: float = 0.0) -> Mark:
    """Give a mark that stands elsewhere."""
    return replace(mark, x=mark.x + right, y=mark.y + down)


def placed(rows: Iterable[Row], *, left: float, top: float) -> tuple[Mark, ...]:
    """Give the marks of rows where they stand on the page, the first row at `top`."""
    found: list[Mark] = []
    for row in rows:
        found += [moved(mark, right=left, down=top) for mark in row.marks]
        top += row.height
    return tuple(found)
