"""How every figure is drawn: its title, what it shows, and below it what has to be known to read it.

A figure stays inside its area whatever it says: where there is little room its letters get smaller, and
where that is not enough texts are shortened with three dots or left out. Lengths are in points (1/72 inch),
y goes up from the lower edge as matplotlib has it.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Protocol

from walkapp.paper.drawing import printable
from walkapp.paper.figures.plane import SMALL, Plane
from walkapp.paper.figures.room import Area, shortened
from walkapp.paper.flow import LINE_HEIGHT
from walkapp.paper.library import drawing_settings

__all__ = ["LEAST_LETTERS", "LETTERS", "Area", "Figure", "Plane", "as_pdf", "as_png", "as_svg", "plot_in"]

LETTERS = 9.0
"""Size of the letters of a figure where nothing else is said, in points."""

LEAST_LETTERS = 6.0
"""Size below which letters are not made smaller, in points; a drawing choice."""

_STEP = 0.8
"""How much smaller the letters are at each try."""

_TITLE, _NOTES = 0.2, 0.35
"""How much of the height title and notes may take; a drawing choice."""

_LEAST_ROOM = 3.0
"""How wide and how high the room for what is drawn has to be, in sizes of a letter."""


class Figure(Protocol):
    """What every figure has."""

    @property
    def name(self) -> str:
        """Its short name, such as ``share-by-station``: that of its file too."""

    @property
    def title(self) -> str:
        """What it shows, in one line."""

    @property
    def notes(self) -> tuple[str, ...]:
        """How many parts, values or entries it rests on (n), how its limits were made, what is left out."""

    def plot(self, plane: Plane) -> None:
        """Draw what it shows."""


def plot_in(
    figure: Figure, canvas: Any, area: Area, *, size: float = LETTERS, least: float = LEAST_LETTERS
) -> None:
    """Draw a figure into a rectangle of a page of matplotlib; call it inside `drawing_settings`.

    Parameters
    ----------
    figure
        What to draw.
    canvas
        A matplotlib figure with a canvas that can measure letters (Agg).
    area
        Where; nothing of the figure stands outside it.
    size
        Size of the letters, in points; those of the notes are smaller. Where there is too little room all
        of them get smaller.
    least
        Size below which they do not get smaller, in points, at most `size`: then texts are cut.
    """
    for letters in _sizes(size, least):
        is_last = letters <= least
        words = _words(figure, area, letters)
        if words.are_cut and not is_last:
            continue
        plane = Plane(canvas, words.room, letters)
        if min(words.room.width, words.room.height) >= _LEAST_ROOM * letters:
            figure.plot(plane)
        if plane.fit():
            break
        if is_last:
            plane.cut()
        else:
            plane.remove()
    _write(canvas, words, area)


def _sizes(size: float, least: float) -> Iterator[float]:
    """Give the sizes to try, from the greatest one down to the least."""
    while size > least:
        yield size
        size = max(size * _STEP, least)
    yield size


def as_png(figure: Figure, *, width: int, height: int, dots: float = 96.0, size: float = LETTERS) -> bytes:
    """Draw a figure as PNG.

    Parameters
    ----------
    figure
        What to draw.
    width, height
        Of the picture, in pixels, at least 1; below about 300 there is room for little.
    dots
        Pixels an inch: how large a point is.
    size
        Size of the letters, in points.
    """
    return _drawn(figure, width * 72 / dots, height * 72 / dots, "png", size, dots)


def as_pdf(figure: Figure, *, width: float, height: float, size: float = LETTERS) -> bytes:
    """Draw a figure as a PDF of one page; its sides in points. The same figure gives the same bytes."""
    return _drawn(figure, width, height, "pdf", size)


def as_svg(figure: Figure, *, width: float, height: float, size: float = LETTERS) -> str:
    """Draw a figure as SVG, its letters as outlines; its sides in points. Nothing in it is fetched.

    The same figure gives the same text.
    """
    return _drawn(figure, width, height, "svg", size).decode()


def _drawn(
    figure: Figure, width: float, height: float, form: str, size: float, dots: float = 72.0
) -> bytes:
    out = io.BytesIO()
    with drawing_settings():
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure as Canvas

        # A hundredth of a pixel more, or rounding would cost a row of them.
        sides = (width * dots / 72 + 0.01) / dots, (height * dots / 72 + 0.01) / dots
        canvas = Canvas(figsize=sides if form == "png" else (width / 72, height / 72), dpi=dots,
                        facecolor="white")  # fmt: skip
        FigureCanvasAgg(canvas)
        edge = size * 0.6
        plot_in(
            figure,
            canvas,
            Area(left=edge, bottom=edge, width=width - 2 * edge, height=height - 2 * edge),
            size=size,
        )
        told: dict[str, str | None] = {"Title": printable(figure.title)}
        if form != "png":
            told |= {"Creator": "walkapp"} | ({"Date": None} if form == "svg" else {"CreationDate": None})
        canvas.savefig(out, format=form, dpi=dots, metadata=told)
    return out.getvalue()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Words:
    """Title and notes, broken into lines, and the room between them.

    Parameters
    ----------
    title, notes
        The lines.
    large, small
        Size of their letters, in points.
    room
        What is left for the drawing.
    are_cut
        Whether they are longer than there is room for.
    """

    title: tuple[str, ...]
    notes: tuple[str, ...]
    large: float
    small: float
    room: Area
    are_cut: bool


def _words(figure: Figure, area: Area, size: float) -> _Words:
    large, small, gap = size * 1.1, size * SMALL, size * 0.4
    most = int(_TITLE * area.height / (large * LINE_HEIGHT)) or int(area.height > large * LINE_HEIGHT)
    title, title_is_cut = _cut((figure.title,), area.width, large, most, bold=True)
    left = area.height - len(title) * large * LINE_HEIGHT
    most = int(min(_NOTES * area.height, left) / (small * LINE_HEIGHT))
    notes, notes_are_cut = _cut(figure.notes, area.width, small, most)
    below = len(notes) * small * LINE_HEIGHT + gap
    return _Words(
        title=title,
        notes=notes,
        large=large,
        small=small,
        room=Area(
            left=area.left, bottom=area.bottom + below, width=max(area.width, 0.0),
            height=max(left - below - gap, 0.0),
        ),
        are_cut=title_is_cut or notes_are_cut,
    )  # fmt: skip


def _cut(
    texts: tuple[str, ...], width: float, size: float, most: int, *, bold: bool = False
) -> tuple[tuple[str, ...], bool]:
    """Break texts into so many lines at most; say as well whether anything had no room."""
    found: list[str] = []
    for text in texts:
        whole = shortened(text, width, size, len(text) + 1, bold=bold)
        kept = shortened(text, width, size, most - len(found), bold=bold)
        found += kept
        if kept != whole or (text and not kept):
            return tuple(found), True
    return tuple(found), False


def _write(canvas: Any, words: _Words, area: Area) -> None:
    top = area.bottom + area.height
    for line in words.title:
        top = _line(canvas, line, area, top, words.large, bold=True)
    top = area.bottom + len(words.notes) * words.small * LINE_HEIGHT
    for line in words.notes:
        top = _line(canvas, line, area, top, words.small, bold=False)


def _line(canvas: Any, text: str, area: Area, top: float, size: float, *, bold: bool) -> float:
    page_w, page_h = (side * 72 for side in canvas.get_size_inches())
    canvas.text(
        area.left / page_w, (top - size) / page_h, text, fontsize=size, color="black",
        fontweight="bold" if bold else "normal", verticalalignment="baseline", parse_math=False,
    )  # fmt: skip
    return top - size * LINE_HEIGHT
