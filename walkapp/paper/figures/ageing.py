"""Actions on a line of days: since when each is open, when it was due, and how it ended."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from walkapp.language import day_said, tr
from walkapp.paper.figures.days import day_axis, ordinal
from walkapp.paper.figures.plane import Plane
from walkapp.paper.figures.style import BLUE, INK, RED


@dataclass(frozen=True, slots=True, kw_only=True)
class AgeingRow:
    """One action.

    Parameters
    ----------
    what
        What is to be done, and by whom.
    opened, due, until
        Days, ISO 8601: when it was opened, when it is due, and when it was done or, while it is not, today.
    is_done
        Whether it was done.
    words
        How it stands.
    is_late
        Whether something of it is overdue.
    """

    what: str
    opened: str
    due: str
    until: str
    is_done: bool
    words: str
    is_late: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class AgeingFigure:
    """The actions from top to bottom.

    Parameters
    ----------
    title, notes
        See :class:`walkapp.paper.figures.drawn.Figure`.
    rows
        At least one, in the order in which they are to be looked at.
    today
        The day on which this holds, ISO 8601.
    first, last
        Ends of the axis, ISO 8601; what lies beyond is drawn at the end.
    """

    title: str
    notes: tuple[str, ...]
    rows: tuple[AgeingRow, ...]
    today: str
    first: str
    last: str
    name: str = "action-ageing"

    def plot(self, plane: Plane) -> None:
        """Draw a bar for each action, its time beyond the due day hatched."""
        ((ax,),) = plane.axes()
        late = {y for y, row in enumerate(self.rows) if row.is_late}
        plane.name_rows(ax, [row.what for row in self.rows], width=plane.area.width * 0.3, strong=late)
        day_axis(
            plane,
            ax,
            (self.first, self.last),
            what=tr("day; dashed: today, {today}", today=day_said(self.today)),
            plotted=0.4,
        )
        ax.axvline(ordinal(self.today), color=INK, linestyle=(0, (4, 3)), linewidth=1.2, zorder=1)
        for y, row in enumerate(self.rows):
            self._plot_row(plane, ax, y, row)
            plane.beside(ax, y, row.words, plane.area.width * 0.26, is_strong=row.is_late)

    def _plot_row(self, plane: Plane, ax: Any, y: int, row: AgeingRow) -> None:
        opened, due, until = (self._place(day) for day in (row.opened, row.due, row.until))
        in_time = min(until, max(due, opened))
        bar = {"height": 0.5, "facecolor": "white", "linewidth": 1.2, "zorder": 2}
        ax.barh(y, in_time - opened, left=opened, edgecolor=BLUE, **bar)
        if until > in_time:
            ax.barh(y, until - in_time, left=in_time, edgecolor=RED, hatch="xxxx", **bar)
        ax.plot(
            due, y, marker="D", markersize=plane.size * 0.6, markerfacecolor="white", markeredgecolor=INK,
            clip_on=False, zorder=4,
        )  # fmt: skip
        if row.is_done:
            ax.plot(
                until, y, marker="o", markersize=plane.size * 0.7, markerfacecolor=INK,
                markeredgecolor="white", clip_on=False, zorder=5,
            )  # fmt: skip

    def _place(self, day: str) -> int:
        return min(max(ordinal(day), ordinal(self.first)), ordinal(self.last))
