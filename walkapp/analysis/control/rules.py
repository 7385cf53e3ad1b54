"""The run rules: what in a chart is more than the points of a stable process do by chance.

The eight rules and their numbers of points are those in general use for control charts, told here in plain
words. The first four are those of the Western Electric Statistical Quality Control Handbook (1956); all
eight with examples in L. S. Nelson (1984), "The Shewhart Control Chart - Tests for Special Causes", Journal
of Quality Technology 16(4), 237-239, who has nine points on one side where the handbook has eight. The
standard on such charts, ISO 7870-2, gives rules of the same kind and leaves the choice to whoever uses the
chart. All three from memory. Eight points on one side are used here."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby, pairwise

ONE_SIDE_POINTS, TREND_POINTS, ALTERNATING_POINTS, CLOSE_POINTS, APART_POINTS = 8, 6, 14, 15, 8

OUTSIDE, TWO_OF_THREE, FOUR_OF_FIVE, ONE_SIDE, TREND, ALTERNATING, CLOSE, APART = range(1, 9)
"""The numbers of the rules; :mod:`walkapp.analysis.control.words` says each in words."""

ALL_RULES = (OUTSIDE, TWO_OF_THREE, FOUR_OF_FIVE, ONE_SIDE, TREND, ALTERNATING, CLOSE, APART)
"""For measured values, which spread about alike on both sides of their mean."""

COUNT_RULES = (OUTSIDE, ONE_SIDE)
"""For counts: the others need points that spread like those of a bell curve, which few NOK never do."""

FIRM_POINTS = 20
"""Points from which limits are no longer called provisional: common practice, no source."""

RUN_CHANCE = 0.01
"""A run on one side of a chart of counts counts when its chance is at most this: our own choice, since
with few NOK most points lie below the centre line by chance."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """One point of a chart, set against its limits.

    Parameters
    ----------
    value
        Its value, exact: rising and falling are told by it.
    side
        1 above the centre line, -1 below it, 0 on it.
    zone
        Beyond how many sigma it lies: 0 to 3. 3 is outside the limits; a point on a line is not beyond it.
    chance
        Chance that a point of a stable process lies on this side, above 0, at most 1; none for a half.
    """

    value: Fraction
    side: int
    zone: int
    chance: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Signal:
    """What a rule found.

    Parameters
    ----------
    rule
        Number of the rule, 1 to 8.
    side
        1 above or rising, -1 below or falling, 0 where that has no meaning.
    points
        Indices (from 0) of the points that make it, in order.
    """

    rule: int
    side: int
    points: tuple[int, ...]


def signals_of(points: Sequence[Placed], rules: Collection[int] = ALL_RULES) -> tuple[Signal, ...]:
    """Find what the rules find.

    Parameters
    ----------
    points
        In the order of time.
    rules
        Numbers of the rules to use.

    Returns
    -------
    tuple of Signal
        By rule, then in the order of time. What goes on longer than it has to is one signal: twelve points
        on one side are one run, not five.

    Examples
    --------
    >>> high = [Placed(value=Fraction(9), side=1, zone=0)] * 8
    >>> [(found.rule, found.points) for found in signals_of(high, COUNT_RULES)]
    [(4, (0, 1, 2, 3, 4, 5, 6, 7))]
    """
    return tuple(signal for rule in ALL_RULES if rule in rules for signal in _FINDERS[rule](points))


def _outside(points: Sequence[Placed]) -> Iterator[Signal]:
    for index, point in enumerate(points):
        if point.zone >= 3:
            yield Signal(rule=OUTSIDE, side=point.side, points=(index,))


def _some_of(rule: int, many: int, window: int, zone: int) -> Callable[[Sequence[Placed]], list[Signal]]:
    """Make the finder of: `many` of `window` points in a row beyond a zone on the same side."""

    def find(points: Sequence[Placed]) -> list[Signal]:
        found = []
        for side in (1, -1):
            beyond = [i for i, point in enumerate(points) if point.side == side and point.zone >= zone]
            groups = (
                beyond[start : start + many]
                for start in range(len(beyond) - many + 1)
                if beyond[start + many - 1] - beyond[start] < window
            )
            found += [Signal(rule=rule, side=side, points=joined) for joined in _joined(groups)]
        return sorted(found, key=lambda signal: signal.points)

    return find


def _joined(groups: Iterable[Sequence[int]]) -> Iterator[tuple[int, ...]]:
    """Join groups that have a point in common."""
    open_group: list[int] = []
    for group in groups:
        if open_group and group[0] > open_group[-1]:
            yield tuple(open_group)
            open_group = []
        open_group += [index for index in group if not open_group or index > open_group[-1]]
    if open_group:
        yield tuple(open_group)


def _one_side(points: Sequence[Placed]) -> Iterator[Signal]:
    for side, run in groupby(enumerate(points), key=lambda one: one[1].side):
        indices, members = zip(*run, strict=True)
        chance = math.prod(0.5 if point.chance is None else point.chance for point in members)
        if side and is_long_run(len(indices), chance):
            yield Signal(rule=ONE_SIDE, side=side, points=indices)


def is_long_run(points: int, chance: float) -> bool:
    """Say whether so many points on one side are a signal, by the chance that all of them lie there.

    Examples
    --------
    Eight points on the side where half of all lie; on one where four of five lie, 21 are needed.

    >>> [is_long_run(n, 0.5**n) for n in (7, 8)], [is_long_run(n, 0.8**n) for n in (20, 21)]
    ([False, True], [False, True])
    """
    return points >= ONE_SIDE_POINTS and chance <= RUN_CHANCE


def _steps(points: Sequence[Placed]) -> list[int]:
    """1 where a point is higher than the one before it, -1 where it is lower, 0 where it is equal."""
    return [(b.value > a.value) - (b.value < a.value) for a, b in pairwise(points)]


def _trend(points: Sequence[Placed]) -> Iterator[Signal]:
    for step, run in groupby(enumerate(_steps(points)), key=lambda one: one[1]):
        places = [index for index, _ in run]
        if step and len(places) + 1 >= TREND_POINTS:
            yield Signal(rule=TREND, side=step, points=(*places, places[-1] + 1))


def _alternating(points: Sequence[Placed]) -> Iterator[Signal]:
    steps = _steps(points)
    turns = [a * b < 0 for a, b in pairwise(steps)]
    for is_turn, run in groupby(enumerate(turns), key=lambda one: one[1]):
        places = [index for index, _ in run]
        # k turns lie between k + 1 steps, which lie between k + 2 points.
        if is_turn and len(places) + 2 >= ALTERNATING_POINTS:
            yield Signal(rule=ALTERNATING, side=0, points=tuple(range(places[0], places[-1] + 3)))


def _runs_where(points: Sequence[Placed], holds: Callable[[Placed], bool]) -> Iterator[tuple[int, ...]]:
    for is_so, run in groupby(enumerate(points), key=lambda one: holds(one[1])):
        if is_so:
            yield tuple(index for index, _ in run)


def _close(points: Sequence[Placed]) -> Iterator[Signal]:
    for run in _runs_where(points, lambda point: point.zone == 0):
        if len(run) >= CLOSE_POINTS:
            yield Signal(rule=CLOSE, side=0, points=run)


def _apart(points: Sequence[Placed]) -> Iterator[Signal]:
    for run in _runs_where(points, lambda point: point.zone >= 1):
        if len(run) >= APART_POINTS and len({points[index].side for index in run}) == 2:
            yield Signal(rule=APART, side=0, points=run)


_FINDERS: dict[int, Callable[[Sequence[Placed]], Iterable[Signal]]] = {
    OUTSIDE: _outside,
    TWO_OF_THREE: _some_of(TWO_OF_THREE, 2, 3, 2),
    FOUR_OF_FIVE: _some_of(FOUR_OF_FIVE, 4, 5, 1),
    ONE_SIDE: _one_side,
    TREND: _trend,
    ALTERNATING: _alternating,
    CLOSE: _close,
    APART: _apart,
}
