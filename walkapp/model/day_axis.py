"""Which days an axis of time names, and where the numbers of its marks stand: for the window and for paper.

Pure geometry: lengths are in whatever the caller measures in.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterator, Sequence
from datetime import date
from itertools import count

from walkapp.language import day_said

MOST_SHIFT = 2.0
"""How far a number may stand beside its day, in widths of a number, before it is stacked."""

_DAY_STEPS = (1, 2, 3, 7, 14)
_MONTH_STEPS = (1, 2, 3, 6, 12, 24, 60, 120, 240, 600, 1200, 2400, 6000, 12000, 24000, 60000)
_LAST_ORDINAL = date.max.toordinal()


def tick_text(ordinal: int, length: int = 10) -> str:
    """Write a day of an axis in digits for a person, or its month or year alone.

    Parameters
    ----------
    ordinal
        Its number, as :meth:`datetime.date.toordinal` gives it; what lies outside the calendar is its
        first or last day.
    length
        How many letters of its ISO date are wanted: 10 for the day, 7 for its month, 4 for its year.

    Examples
    --------
    >>> tick_text(date(2026, 2, 24).toordinal(), 7)
    '2026-02'
    """
    return day_said(date.fromordinal(min(max(1, ordinal), _LAST_ORDINAL)).isoformat()[:length])


def day_choices(first: int, last: int, most: float) -> Iterator[tuple[list[int], int]]:
    """Give the days that an axis may name, from the finest step on.

    Parameters
    ----------
    first, last
        Ends of the axis as ordinals, `first` below `last`.
    most
        How many days it may name about.

    Yields
    ------
    list of int, int
        Ordinals, perhaps none; and how many letters of the ISO date tell them apart: 10, 7 or 4.

    Examples
    --------
    >>> ends = date(2026, 1, 20).toordinal(), date(2026, 4, 3).toordinal()
    >>> [[tick_text(day, length) for day in days] for days, length in day_choices(*ends, 4)][0]
    ['2026-02', '2026-03', '2026-04']
    """
    span = last - first
    for step in _DAY_STEPS:
        if span / step <= most:
            # A Monday is a number of days from the first one that 7 divides.
            start = first + (1 - first) % step
            yield list(range(start, min(last, _LAST_ORDINAL) + 1, step)), 10
    for step in _MONTH_STEPS:
        if span / (30 * step) <= most:
            yield list(_months(first, last, step)), 4 if step % 12 == 0 else 7


def _months(first: int, last: int, step: int) -> Iterator[int]:
    """Give the first day of every month whose number `step` divides, counted from January of year 0."""
    begin = date.fromordinal(max(1, first))
    month = begin.year * 12 + begin.month - 1
    month += -month % step
    while month < 12 * 10_000:
        ordinal = date(max(1, month // 12), month % 12 + 1, 1).toordinal()
        if ordinal > last:
            return
        if ordinal >= first:
            yield ordinal
        month += step


def stack(
    wanted: Sequence[float], box: float, gap: float, left: float, right: float
) -> list[tuple[int, float]]:
    """Place boxes of one width in rows above each other.

    Parameters
    ----------
    wanted
        Where the middle of each box should be, in ascending order.
    box, gap
        Width of a box, and least distance between two of them.
    left, right
        Ends of every row, at least a box apart.

    Returns
    -------
    list of tuple of int and float
        Row of each box, 0 for the lowest, and where its middle is: in the lowest row that has room within
        ``MOST_SHIFT`` boxes of where it should be.
    """
    step = box + gap
    least, most = left + box / 2, right - box / 2
    rows: list[list[float]] = []
    placed = []
    for x in wanted:
        aim = min(max(x, least), most)
        for level in count():
            if level == len(rows):
                rows.append([])
            near = [aim, *(c + side for c in rows[level] for side in (-step, step))]
            free = [
                at
                for at in near
                if least <= at <= most
                and abs(at - aim) <= MOST_SHIFT * step
                and all(abs(at - other) >= step - 1e-6 for other in rows[level])
            ]
            if free:
                at = min(free, key=lambda at: (abs(at - aim), at))
                insort(rows[level], at)
                placed.append((level, at))
                break
    return placed
