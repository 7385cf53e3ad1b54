"""Shares of NOK parts over production days, where it started, and what was changed when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from walkapp.language import msg, tr
from walkapp.paper.figures.days import day_axis, ends_of, ordinal, place_numbers
from walkapp.paper.figures.plane import SMALL, Plane
from walkapp.paper.figures.style import BLUE, FAINT, INK, MARKERS, RED

AFTER_FIX = "after_fix"

_MARKERS: Mapping[str, Mapping[str, object]] = {
    **MARKERS,
    AFTER_FIX: {"marker": "s", "markerfacecolor": "white", "markeredgecolor": INK, "markeredgewidth": 1.2},
}

_LANE = 1.5
"""Height of a lane of numbers, in sizes of a letter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DatedPoint:
    """What was counted of one lot or of one stretch of days.

    Parameters
    ----------
    day
        Its production day, ISO 8601; of a stretch of days the first one.
    share
        NOK of the parts checked, 0 to 1.
    low, high
        Exact two-sided 95 % limits of the share.
    state
        ``clean`` for before it started, ``bad`` for the first bad one and those after it, ``undecided``, or
        ``after_fix`` for parts from after a corrective action that worked.
    """

    day: str
    share: float
    low: float
    high: float
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DayMark:
    """A recorded change, or an action that was done.

    Parameters
    ----------
    sign
        Its number or letter, which the notes explain.
    day
        ISO 8601.
    is_action
        Whether it is an action.
    """

    sign: str
    day: str
    is_action: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class OnsetFigure:
    """The shares above, the marks below, over one axis of production days.

    Parameters
    ----------
    title, notes
        See :class:`walkapp.paper.figures.drawn.Figure`.
    points
        In the order of time, at least one.
    band
        First and last day between which it started; the first one is empty where that is open. None where
        no onset is known.
    first_bad
        The most probable first bad day; empty when none is named.
    marks
        In the order of time.
    """

    title: str
    notes: tuple[str, ...]
    points: tuple[DatedPoint, ...]
    band: tuple[str, str] | None
    first_bad: str
    marks: tuple[DayMark, ...]
    name: str = "defects-over-time"

    def plot(self, plane: Plane) -> None:
        """Draw the shares with their limits, the band of the onset, and the marks."""
        days = [point.day for point in self.points] + [mark.day for mark in self.marks]
        days += [day for day in (*(self.band or ()), self.first_bad) if day]
        kinds = [(tr(word), [m for m in self.marks if m.is_action == kind]) for word, kind in _LANES]
        kinds = [(word, marks) for word, marks in kinds if marks]
        # Lanes need a height of their own, whatever the height of the figure.
        ends = ends_of(days)
        placed = [
            place_numbers(plane, [m.day for m in marks], ends, [m.sign for m in marks])
            for _, marks in kinds
        ]
        lanes = [1 + max(level for level, _ in places) for places in placed]
        high = sum(lanes) * _LANE * plane.size
        rest = max(plane.area.height - 6 * plane.size - high, high, 1.0)
        axes = plane.axes(rows=2 if kinds else 1, heights=(rest, high) if kinds else (), share_x=True)
        share = axes[0][0]
        day_axis(plane, axes[-1][0], days, what=tr("production day, day of the change or of the action"))
        if kinds:
            share.tick_params(labelbottom=False)
            self._plot_marks(plane, axes[1][0], kinds, placed)
        self._plot_shares(plane, share, ends)
        for mark in self.marks:
            for (ax,) in axes:
                ax.axvline(
                    ordinal(mark.day), color=FAINT, linewidth=0.8, zorder=1,
                    linestyle=(0, (1, 2)) if mark.is_action else (0, (5, 3)),
                )  # fmt: skip

    def _plot_shares(self, plane: Plane, ax: Any, ends: tuple[float, float]) -> None:
        ax.set_ylim(0, 100)
        plane.name_axis(ax.yaxis, tr("NOK of the parts checked (%)"))
        if self.band is not None:
            first = ordinal(self.band[0]) if self.band[0] else ends[0]
            last = max(float(ordinal(self.band[1])), first + 0.004 * (ends[1] - ends[0]))
            ax.axvspan(
                first, last, facecolor="#e8e8e8", edgecolor=FAINT, hatch="////", linewidth=0, zorder=0
            )
        if self.first_bad:
            ax.axvline(ordinal(self.first_bad), color=RED, linewidth=1.6, zorder=1)
        for _, same in groupby(self.points, key=lambda point: point.day):
            lots = list(same)
            for number, point in enumerate(lots):
                # Lots of one day stand beside each other, inside their day.
                x = ordinal(point.day) + 0.6 * (number - (len(lots) - 1) / 2) / len(lots)
                ax.plot((x, x), (100 * point.low, 100 * point.high), color=INK, linewidth=1, zorder=2)
                ax.plot(
                    x, 100 * point.share, linestyle="none", markersize=plane.size * 0.8, zorder=3,
                    clip_on=False, **_MARKERS[point.state],
                )  # fmt: skip

    def _plot_marks(
        self,
        plane: Plane,
        ax: Any,
        kinds: list[tuple[str, list[DayMark]]],
        placed: list[list[tuple[int, float]]],
    ) -> None:
        top, middles = 0, []
        for (_, marks), places in zip(kinds, placed, strict=True):
            levels = 1 + max(level for level, _ in places)
            for mark, (level, x) in zip(marks, places, strict=True):
                y = top + levels - 0.5 - level
                ax.text(
                    x, y, mark.sign, fontsize=plane.size * SMALL, fontweight="bold", color=BLUE,
                    horizontalalignment="center", verticalalignment="center", parse_math=False, zorder=3,
                    bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5},
                )  # fmt: skip
            middles.append(top + levels / 2)
            top += levels
            ax.axhline(top, color=FAINT, linewidth=0.3)
        ax.set_ylim(top, 0)
        ax.set_yticks(middles, [word for word, _ in kinds], fontsize=plane.size * SMALL)


_LANES = ((msg("changes"), False), (msg("actions done"), True))
