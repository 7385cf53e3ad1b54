"""An indicator month by month, with its target."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from walkapp.language import tr, whole_text
from walkapp.paper.figures.drawn import Plane
from walkapp.paper.figures.style import BLUE, FAINT, INK, MARKERS

LINES = ("--", ":", "-.")
"""How the lines of several targets are told apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthPoint:
    """One month.

    Parameters
    ----------
    label
        The month, as it stands at the axis.
    value
        In the unit of the indicator; none when it is not known, or only that it is `low` or more.
    low, high
        Limits of the value, or what it can still become; none on a side where there is none.
    is_open
        Whether it has no upper limit: `low` or more.
    many
        On how many cases it rests; none when nothing is known.
    state
        Shape against the strictest target: ``clean``, ``bad`` or ``undecided``.
    """

    label: str
    value: float | None
    low: float | None
    high: float | None
    is_open: bool
    many: int | None
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OverTimeFigure:
    """The months from left to right.

    Parameters
    ----------
    title, notes, name
        See :class:`walkapp.paper.figures.drawn.Figure`.
    axis
        What is shown, with its unit.
    points
        The months, the oldest first, at least one.
    targets
        Lines, each with its words, the strictest first; at most three.
    most
        The greatest value that there can be; none where there is none.
    is_whole
        Whether only whole numbers can be.
    """

    title: str
    notes: tuple[str, ...]
    name: str
    axis: str
    points: tuple[MonthPoint, ...]
    targets: tuple[tuple[float, str], ...] = ()
    most: float | None = None
    is_whole: bool = False

    def plot(self, plane: Plane) -> None:
        """Draw the values with their limits, and the targets as lines."""
        ax = plane.axes()[0][0]
        small = plane.size * 0.85
        top = self._top()
        for x, point in enumerate(self.points):
            self._plot_point(ax, x, point, top, plane.size)
        for (target, words), line in zip(self.targets, LINES, strict=False):
            ax.axhline(target, color=INK, linewidth=1.0, linestyle=line, zorder=1)
            ax.text(
                len(self.points) - 0.4, target, plane.label(words, plane.area.width * 0.16), fontsize=small,
                verticalalignment="center", parse_math=False,
            )  # fmt: skip
        for x, (here, there) in enumerate(pairwise(self.points)):
            if here.value is not None and there.value is not None:
                ax.plot((x, x + 1), (here.value, there.value), color=FAINT, linewidth=0.8, zorder=1)
        ax.set_xticks(
            range(len(self.points)),
            [f"{p.label}\n{'–' if p.many is None else whole_text(p.many)}" for p in self.points],
            fontsize=small,
        )
        ax.set_xlim(-0.5, len(self.points) - 0.5)
        ax.set_ylim(-0.04 * top, 1.04 * top)
        if self.is_whole:
            ax.yaxis.get_major_locator().set_params(integer=True)
        plane.name_axis(ax.xaxis, tr("month; below it n"))
        plane.name_axis(ax.yaxis, self.axis)

    def _top(self) -> float:
        """The upper end of the scale."""
        if self.most is not None:
            return self.most
        # What is open upwards, or has an upper limit far away, must not flatten all others.
        values = [p.value if p.value is not None else p.low or 0.0 for p in self.points]
        reach = max((*values, *(target for target, _ in self.targets[:1]), 1.0))
        highs = [p.high for p in self.points if p.high is not None]
        return min(max((*highs, reach)), 2.5 * reach)

    def _plot_point(self, ax: Any, x: int, point: MonthPoint, top: float, size: float) -> None:
        low = point.low if point.low is not None else point.value
        high = point.high if point.high is not None else top if point.is_open else point.value
        if low is None or high is None:
            return
        if low != high:
            ax.plot((x, x), (low, min(high, top)), color=BLUE, linewidth=1.2, zorder=2)
        if point.is_open or high > top:
            ax.plot(x, top, marker="^", color=BLUE, markersize=size * 0.5, clip_on=False, zorder=2)
        if point.value is None:
            ax.plot(x, low, marker="_", color=INK, markersize=size, zorder=3, clip_on=False)
        else:
            ax.plot(
                x, point.value, linestyle="none", markersize=size * 0.8, zorder=3, clip_on=False,
                **MARKERS[point.state],
            )  # fmt: skip
