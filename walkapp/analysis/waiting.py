"""How long something takes of which some is not over yet: median days, with what is still open.

To leave out what is still open would make the median too short: the slow ones are just those that are
still open. To count it as over today does the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True, order=True)
class Wait:
    """How long one thing took, or has been open so far.

    Parameters
    ----------
    days
        Whole days, 0 or more.
    is_over
        Whether it is over; otherwise it takes at least so many days.
    """

    days: int
    is_over: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class MedianWait:
    """The median of some waits: so many days after which at least half of them are over.

    Parameters
    ----------
    median
        By the estimate of Kaplan and Meier; none while it does not come down to one half.
    low, high
        What the median of these very waits will be at least and at most, however long the open ones take;
        `high` is none while half of them are not over. They are equal when nothing that is open matters.
    many, still_open
        All waits, and those that are not over.
    """

    median: int | None
    low: int
    high: int | None
    many: int
    still_open: int


def median_wait(waits: Iterable[Wait]) -> MedianWait | None:
    """Give the median of some waits; none without any.

    Parameters
    ----------
    waits
        In any order.

    Notes
    -----
    The estimate takes for granted that the open ones will go as those did that were open as long. The two
    limits take nothing for granted; the estimate always lies between them, since it hands the weight of an
    open one on to the later ones.

    References
    ----------
    Kaplan and Meier (1958), "Nonparametric estimation from incomplete observations", J. Amer. Stat. Assoc.
    53, 457-481 (from memory).

    Examples
    --------
    >>> found = median_wait([Wait(2, True), Wait(3, False), Wait(5, True), Wait(9, True)])
    >>> found.median, found.low, found.high
    (5, 3, 5)
    """
    every = sorted(waits)
    if not every:
        return None
    half = (len(every) + 1) // 2
    closed = [one.days for one in every if one.is_over]
    return MedianWait(
        median=next((days for days, still in still_open_after(every) if still <= Fraction(1, 2)), None),
        low=every[half - 1].days,
        high=closed[half - 1] if len(closed) >= half else None,
        many=len(every),
        still_open=len(every) - len(closed),
    )


def still_open_after(waits: Iterable[Wait]) -> Iterator[tuple[int, Fraction]]:
    """Estimate which share is still open after so many days (Kaplan and Meier).

    Yields
    ------
    tuple of (int, Fraction)
        The days on which one was over, rising, and the share that is open after each.

    Examples
    --------
    >>> waits = [Wait(1, True), Wait(1, False), Wait(4, True)]
    >>> [f"{days}: {still}" for days, still in still_open_after(waits)]
    ['1: 2/3', '4: 0']
    """
    every = sorted(waits)
    still = Fraction(1)
    place = 0
    while place < len(every):
        days, at_risk, over = every[place].days, len(every) - place, 0
        while place < len(every) and every[place].days == days:
            over += every[place].is_over
            place += 1
        if over:
            still *= 1 - Fraction(over, at_risk)
            yield days, still
