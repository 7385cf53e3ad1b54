"""How every figure is drawn: its title, what it shows, and below it what has to be known to read it.

Lengths are in points (1/72 inch), y goes up from the lower edge as matplotlib has it.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from walkapp.paper.drawing import letters_of, printable
from walkapp.paper.flow import LINE_HEIGHT, wrap
from walkapp.paper.library import drawing_settings

LETTERS = 9.0
"""Size of the letters of a figure where nothing else is said, in points."""

_SMALL = 0.85
"""Size of the notes, as a part of that of the other letters."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """A rectangle of a page.

    Parameters
    ----------
    left, bottom
        Its lower left corner, in points from that of the page.
    width, height
        Its sides, in points, above 0.
    """

    left: float
    bottom: float
    width: float
    height: float


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


class Plane:
    """Where a figure draws: axes of its own, of which all labels stay inside its area.

    Parameters
    ----------
    canvas
        A figure of matplotlib.
    area
        The room that the figure has, title and notes not among it.
    size
        Size of the letters, in points.
    """

    def __init__(self, canvas: Any, area: Area, size: float) -> None:
        self.canvas = canvas
        self.area = area
        self.size = size
        self._rows: list[list[Any]] = []
        self._heights: tuple[float, ...] = ()
        self._widths: tuple[float, ...] = ()

    def axes(
        self,
        rows: int = 1,
        columns: int = 1,
        *,
        heights: Sequence[float] = (),
        widths: Sequence[float] = (),
        share_x: bool = False,
        share_y: bool = False,
    ) -> list[list[Any]]:
        """Make axes in rows and columns.

        Parameters
        ----------
        rows, columns
            How many, at least 1.
        heights, widths
            How high the rows and how wide the columns are, relative to each other; alike when not said.
        share_x, share_y
            Whether the axes of a column have one scale of x, and those of a row one of y.

        Returns
        -------
        list of list of matplotlib axes
            By row from the top, then by column from the left.
        """
        self._heights = tuple(heights) or (1.0,) * rows
        self._widths = tuple(widths) or (1.0,) * columns
        for row in range(rows):
            made: list[Any] = []
            for column in range(columns):
                ax = self.canvas.add_axes(
                    (0.1, 0.1, 0.5, 0.5),
                    label=f"{self.area} {row} {column}",
                    sharex=self._rows[0][column] if share_x and self._rows else None,
                    sharey=made[0] if share_y and made else None,
                )
                ax.tick_params(labelsize=self.size * _SMALL)
                for side in ("top", "right"):
                    ax.spines[side].set_visible(False)
                ax.grid(visible=False)
                made.append(ax)
            self._rows.append(made)
        return self._rows

    def name_axis(self, axis: Any, what: str) -> None:
        """Write what an axis (``ax.xaxis`` or ``ax.yaxis``) shows, with its unit."""
        axis.set_label_text(printable(what), fontsize=self.size)

    def label(self, text: str, width: float, *, lines: int = 2, size: float = 0.0) -> str:
        """Break a text into lines that fit, shortened with three dots where they are too many.

        Parameters
        ----------
        text
            Any text.
        width
            Room for a line, in points.
        lines
            How many lines there may be.
        size
            Size of the letters; that of tick labels when 0.
        """
        size = size or self.size * _SMALL
        broken = wrap(printable(text), width, lambda line: letters_of(False).width(line, size))
        if len(broken) <= lines:
            return "\n".join(broken)
        last = broken[lines - 1]
        while last and letters_of(False).width(f"{last}...", size) > width:
            last = last[:-1]
        return "\n".join((*broken[: lines - 1], f"{last.rstrip()}..."))

    def fit(self) -> None:
        """Place the axes so that they and all their labels fill the area and stay inside it."""
        if not self._rows:
            return
        renderer = self.canvas.canvas.get_renderer()
        scale = 72 / self.canvas.dpi
        area, rows, columns = self.area, len(self._heights), len(self._widths)
        over = [[(0.0, 0.0, 0.0, 0.0)] * columns for _ in range(rows)]
        # Which ticks have labels depends on the size of the axes: what hangs over settles in a few rounds.
        for _ in range(4):
            left = [max(over[r][c][0] for r in range(rows)) for c in range(columns)]
            right = [max(over[r][c][1] for r in range(rows)) for c in range(columns)]
            below = [max(over[r][c][2] for c in range(columns)) for r in range(rows)]
            above = [max(over[r][c][3] for c in range(columns)) for r in range(rows)]
            gap = self.size
            wide = max(area.width - sum(left) - sum(right) - gap * (columns - 1), columns * 1.0)
            high = max(area.height - sum(below) - sum(above) - gap * (rows - 1), rows * 1.0)
            top = area.bottom + area.height
            for r in range(rows):
                height = high * self._heights[r] / sum(self._heights)
                top -= above[r] + height
                x = area.left
                for c in range(columns):
                    width = wide * self._widths[c] / sum(self._widths)
                    x += left[c]
                    page_w, page_h = (side * 72 for side in self.canvas.get_size_inches())
                    self._rows[r][c].set_position(
                        (x / page_w, top / page_h, width / page_w, height / page_h)
                    )
                    x += width + right[c] + gap
                top -= below[r] + gap
            for r, row in enumerate(self._rows):
                for c, ax in enumerate(row):
                    ax.apply_aspect()
                    inner, outer = ax.get_window_extent(renderer), ax.get_tightbbox(renderer)
                    over[r][c] = (
                        max(0.0, (inner.x0 - outer.x0) * scale),
                        max(0.0, (outer.x1 - inner.x1) * scale),
                        max(0.0, (inner.y0 - outer.y0) * scale),
                        max(0.0, (outer.y1 - inner.y1) * scale),
                    )


def plot_in(figure: Figure, canvas: Any, area: Area, *, size: float = LETTERS) -> None:
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
        Size of the letters, in points; those of the notes are smaller.
    """
    top = area.bottom + area.height
    top = _lines(canvas, figure.title, area, top, size * 1.1, bold=True) - size * 0.4
    small = size * _SMALL
    rows = [line for note in figure.notes for line in _broken(note, area.width, small, bold=False)]
    bottom = area.bottom + len(rows) * small * LINE_HEIGHT
    y = bottom
    for row in rows:
        y = _line(canvas, row, area.left, y, small, bold=False)
    room = Area(
        left=area.left, bottom=bottom + size * 0.4, width=area.width,
        height=max(top - bottom - size * 0.4, 1.0),
    )  # fmt: skip
    plane = Plane(canvas, room, size)
    figure.plot(plane)
    plane.fit()


def as_png(figure: Figure, *, width: int, height: int, dots: float = 96.0, size: float = LETTERS) -> bytes:
    """Draw a figure as PNG.

    Parameters
    ----------
    figure
        What to draw.
    width, height
        Of the picture, in pixels, at least 200.
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
    """Draw a figure as SVG, its letters as outlines; its sides in points. Nothing in it is fetched."""
    return _drawn(figure, width, height, "svg", size).decode()


def _drawn(
    figure: Figure, width: float, height: float, form: str, size: float, dots: float = 72.0
) -> bytes:
    out = io.BytesIO()
    with drawing_settings():
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure as Canvas

        canvas = Canvas(figsize=(width / 72, height / 72), dpi=dots, facecolor="white")
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


def _broken(text: str, width: float, size: float, *, bold: bool) -> tuple[str, ...]:
    return wrap(printable(text), width, lambda line: letters_of(bold).width(line, size))


def _lines(canvas: Any, text: str, area: Area, top: float, size: float, *, bold: bool) -> float:
    for line in _broken(text, area.width, size, bold=bold):
        top = _line(canvas, line, area.left, top, size, bold=bold)
    return top


def _line(canvas: Any, text: str, left: float, top: float, size: float, *, bold: bool) -> float:
    page_w, page_h = (side * 72 for side in canvas.get_size_inches())
    canvas.text(
        left / page_w, (top - size) / page_h, text, fontsize=size, fontweight="bold" if bold else "normal",
        color="black", verticalalignment="baseline", parse_math=False,
    )  # fmt: skip
    return top - size * LINE_HEIGHT
