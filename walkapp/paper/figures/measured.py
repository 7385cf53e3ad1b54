"""One characteristic measured along the stream: the parts, their mean, and the tolerance."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from walkapp.language import tr
from walkapp.paper.figures.plane import SMALL, Plane
from walkapp.paper.figures.style import BLUE, FAINT, INK, RED

MOST_DOTS, MOST_STACKED = 60, 10
"""Parts of a station, and those of about one value among them, that are drawn one by one; of more, bars
show how many have about one value."""

_BINS = 80
"""So many values side by side are told apart; a drawing choice."""

_HIGH = 0.42
"""How far the stacked parts of a station go up from its line, in rows."""

_BELOW = 0.3
"""How far below its line the mean is drawn, in rows."""

WIDEST = 1e300
"""Values that are further apart than this have no place on an axis; those at its middle are drawn."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredRow:
    """One station.

    Parameters
    ----------
    station
        Its name.
    values
        One for each part.
    outside
        Whether each is out of tolerance.
    mean, low, high
        The mean of the parts and its two-sided 95 % t interval; none where there is none.
    lsl, usl, nominal
        The limits that hold here; none where there is none.
    words
        What is said of it, in short.
    is_first
        Whether it is the first at which a part was out of tolerance.
    """

    station: str
    values: tuple[float, ...]
    outside: tuple[bool, ...]
    mean: float | None
    low: float | None
    high: float | None
    lsl: float | None
    usl: float | None
    nominal: float | None
    words: str
    is_first: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredFigure:
    """The stations from the first to the last measured one, from top to bottom.

    Parameters
    ----------
    title, notes
        See :class:`walkapp.paper.figures.drawn.Figure`.
    axis
        What was measured, with its unit.
    rows
        In the order of the stream, at least one.
    paths
        The way of each tagged part: pairs of place of the row (from 0) and value.
    name
        The name of the kind, and the characteristic.
    """

    title: str
    notes: tuple[str, ...]
    axis: str
    rows: tuple[MeasuredRow, ...]
    paths: tuple[tuple[tuple[int, float], ...], ...]
    name: str

    def plot(self, plane: Plane) -> None:
        """Draw the limits, the ways of tagged parts, the parts and the means, row by row."""
        ((ax,),) = plane.axes()
        width = plane.area.width * 0.22
        strong = {y for y, row in enumerate(self.rows) if row.is_first}
        plane.name_rows(ax, [row.station for row in self.rows], width=width, strong=strong)
        plane.name_axis(ax.xaxis, self.axis)
        low, high = self._ends()
        ax.set_xlim(low, high)
        for path in self.paths:
            ax.plot(
                [value for _, value in path], [y - 0.03 for y, _ in path],
                color=FAINT, linewidth=0.5, zorder=1,
            )  # fmt: skip
        for y, row in enumerate(self.rows):
            self._plot_row(plane, ax, y, row, (high - low) / _BINS)
            plane.beside(ax, y, row.words, plane.area.width * 0.28, is_strong=row.is_first)
        self._name_limits(plane, ax)

    def _ends(self) -> tuple[float, float]:
        found = [number for row in self.rows for number in _numbers(row)]
        low, high = min(found, default=0.0), max(found, default=1.0)
        if not math.isfinite(high - low) or high - low > WIDEST:
            return -WIDEST / 2, WIDEST / 2
        margin = 0.06 * (high - low) or abs(high) * 0.1 or 1.0
        return low - margin, high + margin

    def _plot_row(self, plane: Plane, ax: Any, y: int, row: MeasuredRow, step: float) -> None:
        for limit, style in ((row.lsl, "-"), (row.usl, "-"), (row.nominal, (0, (4, 3)))):
            if limit is not None:
                wide = 1.6 if style == "-" else 0.8
                ax.plot((limit, limit), (y - 0.5, y + 0.5), color=INK, linestyle=style, linewidth=wide)
        stacked: dict[bool, Counter[int]] = {False: Counter(), True: Counter()}
        for value, is_outside in zip(row.values, row.outside, strict=True):
            stacked[is_outside][round(value / step)] += 1
        tallest = max((max(bins.values()) for bins in stacked.values() if bins), default=1)
        if len(row.values) <= MOST_DOTS and tallest <= MOST_STACKED:
            self._dots(plane, ax, y, row, step, tallest)
        else:
            for is_outside, bins in stacked.items():
                ax.bar(
                    [place * step for place in bins],
                    [-_HIGH * many / tallest for many in bins.values()],
                    bottom=y, width=step, linewidth=0.5, facecolor="white",
                    edgecolor=RED if is_outside else BLUE, hatch="xxxx" if is_outside else "", zorder=3,
                )  # fmt: skip
        if row.mean is not None:
            level = y + _BELOW
            if row.low is not None and row.high is not None:
                ax.plot((row.low, row.high), (level, level), color=INK, linewidth=1.2, marker="|",
                        markersize=plane.size * 0.7, zorder=3)  # fmt: skip
            ax.plot(row.mean, level, marker="D", color=INK, markersize=plane.size * 0.5, zorder=4)

    def _dots(self, plane: Plane, ax: Any, y: int, row: MeasuredRow, step: float, tallest: int) -> None:
        up = min(_HIGH / max(tallest, 1), 0.12)
        so_far: Counter[int] = Counter()
        for value, is_outside in sorted(zip(row.values, row.outside, strict=True)):
            place = round(value / step)
            look = (
                {"marker": "X", "markerfacecolor": RED, "markeredgecolor": RED}
                if is_outside
                else {"marker": "o", "markerfacecolor": "white", "markeredgecolor": BLUE}
            )
            ax.plot(
                value, y - 0.03 - up * so_far[place], linestyle="none", zorder=4,
                markersize=plane.size * (0.6 if is_outside else 0.45), **look,
            )  # fmt: skip
            so_far[place] += 1

    def _name_limits(self, plane: Plane, ax: Any) -> None:
        """Name the limits above the first row that has them."""
        row = next((row for row in self.rows if row.lsl is not None or row.usl is not None), None)
        named = (("LSL", row.lsl), ("USL", row.usl), (tr("nominal"), row.nominal)) if row else ()
        for word, limit in named:
            if limit is not None:
                ax.annotate(
                    # no text: matplotlib's words
                    word, (limit, 1), xycoords=("data", "axes fraction"), xytext=(0, 2),
                    # no text: matplotlib's words
                    textcoords="offset points", fontsize=plane.size * SMALL, horizontalalignment="center",
                    annotation_clip=False,
                )  # fmt: skip


def _numbers(row: MeasuredRow) -> Iterator[float]:
    yield from row.values
    given = (row.mean, row.low, row.high, row.lsl, row.usl, row.nominal)
    yield from (number for number in given if number is not None)
