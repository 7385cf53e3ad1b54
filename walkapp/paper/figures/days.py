"""An axis of days: its ticks, and marks on days that are numbered without touching each other."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from itertools import pairwise
from typing import Any

from walkapp.language import tr
from walkapp.model.day_axis import day_choices, stack, tick_text
from walkapp.paper.drawing import letters_of
from walkapp.paper.figures.plane import SMALL, Plane

PLOTTED = 0.7
"""About how much of the width of a figure an axis of days takes where nothing is written beside it: how
much it is for certain is known only after its ticks are chosen."""


def ordinal(day: str) -> int:
    """Give the place of a day (ISO 8601) on the axis."""
    return date.fromisoformat(day).toordinal()


def ends_of(days: Iterable[str]) -> tuple[float, float]:
    """Give the ends of an axis that goes over all these days (ISO 8601, at least one), as ordinals."""
    found = [ordinal(day) for day in days]
    margin = max((max(found) - min(found)) * 0.03, 0.6)
    return min(found) - margin, max(found) + margin


def day_axis(plane: Plane, ax: Any, days: Sequence[str], *, what: str, plotted: float = PLOTTED) -> None:
    """Let an axis of x go over all these days, and name some of them.

    Parameters
    ----------
    plane, ax
        What is drawn on.
    days
        At least one, ISO 8601.
    what
        What the days are; the unit is added.
    plotted
        About how much of the width of the figure the axis takes.
    """
    found = [ordinal(day) for day in days]
    ax.set_xlim(ends_of(days))
    ticks, length = _ticks(plane.area.width * plotted, plane.size * SMALL, min(found), max(found))
    ax.set_xticks(ticks, [tick_text(tick, length) for tick in ticks], fontsize=plane.size * SMALL)
    plane.name_axis(ax.xaxis, tr("{what} (year-month-day)", what=what))


def _ticks(room: float, size: float, first: int, last: int) -> tuple[list[int], int]:
    """Give the days of the finest step whose labels do not touch, or the two ends."""
    if first == last:
        return [first], 10
    letter = letters_of(False).width("0", size)
    span = last - first
    for ticks, length in day_choices(first, last, room / (4 * letter) + 2):
        wide = (length + 2) * letter * span / room
        if len(ticks) >= 2 and all(later - earlier >= wide for earlier, later in pairwise(ticks)):
            return ticks, length
    return [first, last], 10


def place_numbers(
    plane: Plane, days: Sequence[str], ends: tuple[float, float], texts: Sequence[str]
) -> list[tuple[int, float]]:
    """Place a number beside each of some days, none over another.

    Parameters
    ----------
    plane
        What is drawn on.
    days
        ISO 8601, in the order of time.
    ends
        Of the axis, as :func:`ends_of` gives them.
    texts
        The numbers, one for each day.

    Returns
    -------
    list of tuple of int and float
        Level of each, 0 for the lowest, and where on the axis its middle is.
    """
    if not days:
        return []
    size = plane.size * SMALL
    points = (ends[1] - ends[0]) / (plane.area.width * PLOTTED)
    box = max(letters_of(True).width(text, size) for text in texts) + 0.4 * size
    gap = 0.3 * size
    wanted = [float(ordinal(day)) for day in days]
    left, right = ends
    if right - left <= (box + gap) * points:
        return [(level, at) for level, at in enumerate(wanted)]
    return stack(wanted, box * points, gap * points, left, right)
