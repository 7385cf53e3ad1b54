"""Where a figure draws: axes whose labels stay inside an area, and texts that never lie over each other.

Lengths are in points (1/72 inch), y goes up from the lower edge as matplotlib has it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Any

from walkapp.language import decimal_text, tr
from walkapp.paper.drawing import printable, wide
from walkapp.paper.figures.room import Area, Bounds, clip_of, do_meet, is_inside, shortened
from walkapp.paper.figures.style import FAINT, INK
from walkapp.paper.flow import LINE_HEIGHT

SMALL = 0.85
"""Size of tick labels and notes, as a part of that of the other letters."""

_ROUNDS = 5
_SETTLED = 0.3
"""How many times the axes are placed at most, and how little has to change for it to be the last time."""

_LEAST_SHARE = 0.3
"""How much of the width, and of the height, has to be left for what is drawn; a drawing choice."""

_LEAST_ROWS = 4
"""Rows that axes have room for at least; a drawing choice."""


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
        self._named: list[tuple[Any, str]] = []
        self._is_cut = False
        self._lines = 1
        self._before = set(map(id, canvas.axes))

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
        """Make axes in rows and columns; called once.

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
                    label=f"{self.area} {self.size} {row} {column}",
                    sharex=self._rows[0][column] if share_x and self._rows else None,
                    sharey=made[0] if share_y and made else None,
                )
                ax.tick_params(labelsize=self.size * SMALL)
                for axis in (ax.xaxis, ax.yaxis):
                    _say_numbers(axis)
                    axis.get_offset_text().set_fontsize(self.size * SMALL)
                for side in ("top", "right"):
                    ax.spines[side].set_visible(False)
                ax.grid(visible=False)
                made.append(ax)
            self._rows.append(made)
        return self._rows

    def name_axis(self, axis: Any, what: str) -> None:
        """Write what an axis (``ax.xaxis`` or ``ax.yaxis``) shows, with its unit."""
        axis.set_label_text(printable(what), fontsize=self.size, parse_math=False)
        self._named.append((axis, what))

    def label(
        self, text: str, width: float, *, lines: int = 2, size: float = 0.0, bold: bool = False
    ) -> str:
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
        bold
            Whether they are bold.
        """
        return "\n".join(shortened(text, width, size or self.size * SMALL, lines, bold=bold))

    def name_rows(
        self, ax: Any, names: Sequence[str], *, width: float, strong: Collection[int] = ()
    ) -> None:
        """Give axes one row for each name, the first one at the top, with a faint line through each.

        Parameters
        ----------
        ax
            The axes; the middle of the first row is at y = 0, that of the second at y = 1.
        names
            Any texts; at least one.
        width
            Room for a name, in points.
        strong
            Places (from 0) of the names in bold: they stay where there is no room for all names.
        """
        small = self.size * SMALL
        self._lines = 2 if self._row_height(len(names)) >= 2.1 * small * LINE_HEIGHT else 1
        ax.set_yticks(
            range(len(names)),
            [
                self.label(name, width, lines=self._lines, bold=place in strong)
                for place, name in enumerate(names)
            ],
            fontsize=small,
            parse_math=False,
        )
        for place, tick in enumerate(ax.get_yticklabels()):
            tick.set_fontweight("bold" if place in strong else "normal")
            tick.set_linespacing(LINE_HEIGHT * 0.85)
        beyond = max(_LEAST_ROWS - len(names), 0) / 2  # a bar as high as the figure says no more
        ax.set_ylim(len(names) - 0.5 + beyond, -0.5 - beyond)
        for place in range(len(names)):
            ax.axhline(place, color=FAINT, linewidth=0.3, zorder=0)

    def beside(self, ax: Any, y: float, text: str, width: float, *, is_strong: bool = False) -> None:
        """Write a text to the right of the axes, level with a value of its y axis.

        Parameters
        ----------
        ax
            The axes.
        y
            The value.
        text
            Any text.
        width
            Room for a line of it, in points; it is shortened where its lines are not enough.
        is_strong
            Whether it is bold: it stays where there is no room for all texts.
        """
        ax.annotate(
            self.label(text, width, lines=self._lines, bold=is_strong), (1, y),
            # no text: matplotlib's words
            xycoords=("axes fraction", "data"), xytext=(self.size * 0.5, 0), textcoords="offset points",
            annotation_clip=False,
            fontsize=self.size * SMALL, fontweight="bold" if is_strong else "normal", color=INK,
            verticalalignment="center", linespacing=LINE_HEIGHT * 0.85, parse_math=False,
        )  # fmt: skip

    def _row_height(self, rows: int) -> float:
        """Say about how high a row is where the axes are divided into so many, in points."""
        return (self.area.height - 4 * self.size) / max(rows, 1)

    def fit(self) -> bool:
        """Place the axes so that they and all their labels fill the area and stay inside it.

        Returns
        -------
        bool
            Whether everything has its room: nothing is outside, no text lies over another, and enough is
            left for what is drawn.
        """
        if not self._rows:
            return True
        self._place()
        return not self._is_cut and self._has_room() and self._is_inside() and not any(self._hidden())

    def cut(self) -> None:
        """Shorten and leave out texts until the others have their room; the last resort."""
        for ax in self._own():
            for artist in ax.findobj():
                if artist.get_clip_box() is None or not artist.get_clip_on():
                    artist.set_clip_on(True)
                    artist.set_clip_box(clip_of(self.area, self.canvas))
        if not (self._has_room() and self._is_inside()):
            for ax in self._own():
                self._shorten(ax)
            self._place()
        for text in self._hidden():
            text.set_visible(False)

    def remove(self) -> None:
        """Take everything off the canvas again."""
        for ax in self._own():
            ax.remove()
        self._rows, self._named, self._is_cut = [], [], False

    def _own(self) -> list[Any]:
        return [ax for ax in self.canvas.axes if id(ax) not in self._before]

    def _place(self) -> None:
        area, rows, columns = self.area, len(self._heights), len(self._widths)
        over = [[(0.0, 0.0, 0.0, 0.0)] * columns for _ in range(rows)]
        page_w, page_h = (side * 72 for side in self.canvas.get_size_inches())
        gap = self.size
        # Which ticks have labels depends on the size of the axes: what hangs over settles in a few rounds.
        for _ in range(_ROUNDS):
            left = [max(over[r][c][0] for r in range(rows)) for c in range(columns)]
            right = [max(over[r][c][1] for r in range(rows)) for c in range(columns)]
            below = [max(over[r][c][2] for c in range(columns)) for r in range(rows)]
            above = [max(over[r][c][3] for c in range(columns)) for r in range(rows)]
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
                    self._rows[r][c].set_position(
                        (x / page_w, top / page_h, width / page_w, height / page_h)
                    )
                    x += width + right[c] + gap
                top -= below[r] + gap
            self._name_axes(page_w, page_h)
            found = [[self._hangs_over(ax) for ax in row] for row in self._rows]
            change = max(
                abs(new - old)
                for new_row, old_row in zip(found, over, strict=True)
                for new_cell, old_cell in zip(new_row, old_row, strict=True)
                for new, old in zip(new_cell, old_cell, strict=True)
            )
            over = found
            if change < _SETTLED:
                return

    def _name_axes(self, page_w: float, page_h: float) -> None:
        """Break the names of the axes to the length that the axes have now."""
        self._is_cut = False
        for axis, what in self._named:
            place = axis.axes.get_position()
            room = place.width * page_w if axis.axis_name == "x" else place.height * page_h
            # A power of ten at the end of an axis would stand in the way of its name.
            power = axis.get_major_formatter().get_offset()
            axis.get_offset_text().set_visible(False)
            said = tr("{what}, times {power}", what=what, power=power) if power else what
            # A word longer than the axis stands out at both ends: easier to read than one in pieces.
            word = max((wide(one, self.size) for one in printable(said).split()), default=0.0)
            lines = shortened(said, max(room, 4 * self.size, min(word, 2 * room)), self.size, 3)
            self._is_cut |= bool(lines) and lines[-1].endswith("...")
            axis.label.set_text("\n".join(lines))

    def _hangs_over(self, ax: Any) -> Bounds:
        renderer = self.canvas.canvas.get_renderer()
        scale = 72 / self.canvas.dpi
        ax.apply_aspect()
        inner = ax.get_window_extent(renderer)
        # Axes with a second scale of y stand where the first ones stand.
        outer = [
            box
            for one in self._own()
            if one is ax or one.get_position().bounds == ax.get_position().bounds
            if (box := one.get_tightbbox(renderer)) is not None
        ] or [inner]
        return (
            max(0.0, (inner.x0 - min(box.x0 for box in outer)) * scale),
            max(0.0, (max(box.x1 for box in outer) - inner.x1) * scale),
            max(0.0, (inner.y0 - min(box.y0 for box in outer)) * scale),
            max(0.0, (max(box.y1 for box in outer) - inner.y1) * scale),
        )

    def _has_room(self) -> bool:
        page_w, page_h = (side * 72 for side in self.canvas.get_size_inches())
        width = sum(ax.get_position().width for ax in self._rows[0]) * page_w
        height = sum(row[0].get_position().height for row in self._rows) * page_h
        return bool(width >= _LEAST_SHARE * self.area.width and height >= _LEAST_SHARE * self.area.height)

    def _is_inside(self) -> bool:
        renderer = self.canvas.canvas.get_renderer()
        boxes = (ax.get_tightbbox(renderer) for ax in self._own())
        return all(is_inside(self._points(box), self.area) for box in boxes if box is not None)

    def _points(self, box: Any) -> Bounds:
        scale = 72 / self.canvas.dpi
        return box.x0 * scale, box.y0 * scale, box.x1 * scale, box.y1 * scale

    def _texts(self) -> Iterator[tuple[Any, Any]]:
        """Give every text that is seen, with its axes; what is given first stays, the strong before all."""
        found = []
        for ax in self._own():
            for axis in (ax.yaxis, ax.xaxis):
                view = sorted(axis.get_view_interval())
                ticks = [
                    tick.label1
                    for tick in axis.get_major_ticks()
                    if view[0] <= tick.get_loc() <= view[1] and tick.label1.get_visible()
                ]
                found += [(ax, text) for text in ticks]
                found.append((ax, axis.label))
            found += [(ax, text) for text in ax.texts]
        seen = [(ax, text) for ax, text in found if text.get_visible() and text.get_text().strip()]
        yield from sorted(seen, key=lambda pair: pair[1].get_fontweight() != "bold")

    def _hidden(self) -> Iterator[Any]:
        """Give the texts that stand outside, or over one that is given room before them."""
        renderer = self.canvas.canvas.get_renderer()
        kept: list[Bounds] = []
        for _, text in self._texts():
            one = self._points(text.get_window_extent(renderer))
            if not is_inside(one, self.area) or any(do_meet(one, other) for other in kept):
                yield text
            else:
                kept.append(one)

    def _shorten(self, ax: Any) -> None:
        """Give names of rows and texts no more than their share of the area."""
        width = self.area.width / (5 * len(self._widths))

        def short(text: Any) -> str:
            said = " ".join(text.get_text().split())
            return "\n".join(shortened(said, width, text.get_fontsize(), 1))

        if not _are_numbers(ax.yaxis):
            ax.set_yticks(ax.get_yticks(), [short(label) for label in ax.get_yticklabels()])
        for text in ax.texts:
            if not text.get_rotation():
                text.set_text(short(text))


def _are_numbers(axis: Any) -> bool:
    """Whether the ticks of an axis are the numbers at which they stand, and no names."""
    from matplotlib.ticker import ScalarFormatter

    return isinstance(axis.get_major_formatter(), ScalarFormatter)


def _say_numbers(axis: Any) -> None:
    """Write the numbers of an axis as people of the language do, each in full."""
    from matplotlib.ticker import ScalarFormatter

    class Said(ScalarFormatter):
        def __call__(self, x: float, pos: int | None = None) -> str:
            return decimal_text(super().__call__(x, pos))

    # Not where the axis of another row is taken over.
    if type(axis.get_major_formatter()) is ScalarFormatter:
        axis.set_major_formatter(Said(useOffset=False))
