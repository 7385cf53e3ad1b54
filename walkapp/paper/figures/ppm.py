"""NOK parts of a million delivered, month by month, with limits, rolling values and a target."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from walkapp.language import day_said, grouped_text, tr
from walkapp.paper.drawing import letters_of
from walkapp.paper.figures.plane import SMALL, Plane
from walkapp.paper.figures.style import BLUE, FAINT, INK, MARKERS, RED

_FURTHEST = 2.5
"""How far above the highest value the limits may stretch the axis; longer ones end in an arrow."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PpmPoint:
    """One month.

    Parameters
    ----------
    month
        Its year and month, such as ``2026-03``.
    delivered
        Parts delivered; none when no deliveries are recorded.
    ppm
        None when nothing was delivered, or that is not known.
    low, high
        Exact limits in ppm; `low` is none for a one-sided upper limit, `high` for a one-sided lower one,
        and both are none when there are none.
    short, long
        Rolling values over a few and over many months up to this one, in ppm; none where there is none.
    """

    month: str
    delivered: int | None
    ppm: float | None
    low: float | None
    high: float | None
    short: float | None
    long: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PpmFigure:
    """The ppm of each month above, the parts delivered below.

    Parameters
    ----------
    title, notes
        See :class:`walkapp.paper.figures.drawn.Figure`.
    points
        The months in order of time, without a gap; at least one.
    target
        In ppm; none while none is set.
    """

    title: str
    notes: tuple[str, ...]
    points: tuple[PpmPoint, ...]
    target: float | None = None
    name: str = "ppm-by-month"

    def plot(self, plane: Plane) -> None:
        """Draw both over one axis of months."""
        (ppm,), (delivered,) = plane.axes(rows=2, heights=(3, 1), share_x=True)
        places = range(len(self.points))
        ppm.set_xlim(-0.6, len(self.points) - 0.4)
        top = top_of_axis(self.points, self.target)
        ppm.set_ylim(0, top)
        for ax in (ppm, delivered):
            ax.yaxis.set_major_formatter(_numbers())
            for x, point in zip(places, self.points, strict=True):
                if point.delivered is None:
                    ax.axvspan(
                        x - 0.5, x + 0.5, facecolor="white", edgecolor=FAINT, hatch="////", linewidth=0,
                        zorder=0,
                    )  # fmt: skip
        self._lines(plane, ppm, top)
        for x, point in zip(places, self.points, strict=True):
            if point.ppm is not None:
                _month(ppm, x, point, top, plane.size)
        delivered.bar(
            places, [point.delivered or 0 for point in self.points], width=0.6, facecolor="white",
            edgecolor=INK, linewidth=0.8, zorder=2,
        )  # fmt: skip
        delivered.set_ylim(0, max((point.delivered or 0 for point in self.points), default=0) * 1.1 or 1)
        delivered.locator_params(axis="y", nbins=3)
        ppm.tick_params(labelbottom=False)
        step = _step_of(plane, len(self.points))
        named = list(places)[::-1][::step][::-1]  # the newest month is always named
        delivered.set_xticks(
            named,
            [day_said(self.points[x].month) for x in named],
            fontsize=plane.size * SMALL,
            parse_math=False,
        )
        plane.name_axis(ppm.yaxis, tr("NOK of a million delivered (ppm)"))
        plane.name_axis(delivered.yaxis, tr("delivered (parts)"))
        plane.name_axis(delivered.xaxis, tr("month (year-month)"))

    def _lines(self, plane: Plane, ax: Any, top: float) -> None:
        room = plane.area.width * 0.14
        longs = [point.long for point in self.points]
        shorts = [point.short for point in self.points]
        ax.plot(*_known(longs), color=BLUE, linewidth=2, zorder=1.5)
        ax.plot(*_known(shorts), color=FAINT, linewidth=1.1, linestyle=(0, (4, 2)), zorder=1.4)
        last = next((value for value in reversed(longs) if value is not None), None)
        is_near = last is not None and self.target is not None and abs(last - self.target) < 0.12 * top
        if last is not None and last <= top and not is_near:
            plane.beside(ax, last, tr("12 months"), room)
        if self.target is not None and self.target <= top:
            ax.axhline(self.target, color=RED, linewidth=1.4, linestyle=(0, (8, 2, 1, 2)), zorder=1.6)
            plane.beside(ax, self.target, tr("target"), room, is_strong=True)


def top_of_axis(points: Sequence[PpmPoint], target: float | None) -> float:
    """Choose where the axis of ppm ends: all values are on it, and the limits as far as they leave room.

    Parameters
    ----------
    points
        At least one.
    target
        It is on the axis unless it is far above everything else.

    Returns
    -------
    float
        In ppm, above 0.
    """
    values = [v for p in points for v in (p.ppm, p.short, p.long) if v is not None]
    ends = [p.high for p in points if p.high is not None]
    highest = max(values, default=0.0)
    furthest = max(ends, default=0.0)
    top = max(highest, min(furthest, _FURTHEST * highest) if highest else furthest)
    if target is not None and (target <= _FURTHEST * top or not top):
        top = max(top, target)
    return top * 1.06 if top > 0 else 1.0


def _month(ax: Any, x: int, point: PpmPoint, top: float, size: float) -> None:
    """Draw one month: a ring for no NOK part, a diamond otherwise, a triangle for a least count."""
    low = point.low if point.low is not None else 0.0
    high = point.high if point.high is not None else top
    if point.low is not None or point.high is not None:
        ax.plot((x, x), (low, min(high, top)), color=INK, linewidth=1.1, zorder=2)
        if high >= top:  # beyond the axis, or no upper limit at all
            ax.plot(
                x,
                top,
                marker=6,
                color=INK,
                markersize=size * 0.6,
                linestyle="none",
                zorder=3,
                clip_on=False,
            )
        caps = [end for end in (point.low, point.high) if end is not None and 0 < end < top]
        for end in caps:
            ax.plot((x - 0.14, x + 0.14), (end, end), color=INK, linewidth=1.1, zorder=2)
    ax.plot(
        x, point.ppm, linestyle="none", markersize=size * 0.75, zorder=4, clip_on=False, **_marker(point)
    )


def _marker(point: PpmPoint) -> dict[str, object]:
    if point.high is None and point.low is not None:
        return {"marker": "^", "markerfacecolor": "white", "markeredgecolor": INK, "markeredgewidth": 1.2}
    if not point.ppm:
        return dict(MARKERS["clean"])
    return {"marker": "D", "markerfacecolor": INK, "markeredgecolor": INK}


def _known(values: Sequence[float | None]) -> tuple[list[int], list[float]]:
    """Places and values of a line, where there is one; a line goes on over months without a value."""
    pairs = [(x, value) for x, value in enumerate(values) if value is not None]
    return [x for x, _ in pairs], [value for _, value in pairs]


def _step_of(plane: Plane, many: int) -> int:
    """Name only every second, third or so month, so that the names do not touch."""
    wide = letters_of(False).width("2026-03  ", plane.size * SMALL)
    room = plane.area.width * 0.72
    return max(1, next(_steps(math.ceil(many * wide / max(room, 1.0)))))


def _steps(least: int) -> Iterator[int]:
    yield from (step for step in (1, 2, 3, 4, 6, 12) if step >= least)
    yield max(12, least)


def _numbers() -> Any:
    from matplotlib.ticker import FuncFormatter

    return FuncFormatter(
        lambda value, _: grouped_text(f"{value:.10g}") if abs(value) < 1e9 else f"{value:.0e}"
    )
