"""Does a switch make a difference? Exact tests within pairs of neighbouring turns, on and off.

What is made close together in time is alike in everything that drifts. So on is compared with off only
within such a pair, and the pairs are added up.

References
----------
Counts: the exact conditional test of a common odds ratio of 1 over several tables, the product of
hypergeometric distributions; R's ``mantelhaen.test(exact = TRUE)`` gives the same (from memory). With one
pair it is Fisher's exact test.
Values: the permutation test of Fisher and Pitman for the sum of the values on, with the shuffling kept
within the pairs (common practice, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from operator import mul

from walkapp.analysis.chance import Chance
from walkapp.analysis.moments import whole_numbers
from walkapp.analysis.proportions import proportion_interval
from walkapp.analysis.results import Interval
from walkapp.analysis.special import hypergeometric_log_pmf

LEAST_P = 1e-20
"""Smaller chances are not told apart; a p of something that has happened is never 0."""

_LEFT_OUT = 1e-25
"""Chances below this part of the greatest one are left out: they would change no p that is told."""

EXACT_STEPS = 2_000_000
"""Work allowed for the exact test of values: about a second on a desk."""

DRAWS = 9_999
"""Random shufflings where the exact test of values would take too long."""

_VALUES_DRAWN = 2_000_000
"""Values in all random shufflings together: a second or two on a desk."""

_FEWEST_DRAWS = 99


@dataclass(frozen=True, slots=True, kw_only=True)
class CountPair:
    """Parts of neighbouring turns on and off.

    Parameters
    ----------
    on_nok, on_checked
        NOK and all parts while it was on; 0 to `on_checked`, and 1 or more.
    off_nok, off_checked
        The same while it was off.
    """

    on_nok: int
    on_checked: int
    off_nok: int
    off_checked: int

    @property
    def turned(self) -> CountPair:
        """The same with on and off exchanged."""
        return CountPair(
            on_nok=self.off_nok,
            on_checked=self.off_checked,
            off_nok=self.on_nok,
            off_checked=self.on_checked,
        )

    @property
    def expected(self) -> Fraction:
        """NOK parts to be expected on when switching makes no difference."""
        nok = self.on_nok + self.off_nok
        return Fraction(nok * self.on_checked, self.on_checked + self.off_checked)


def more_when_on(pairs: Sequence[CountPair]) -> float:
    """Work out how likely at least so many NOK on are when switching makes no difference.

    Parameters
    ----------
    pairs
        At least one.

    Returns
    -------
    float
        One-sided, 1e-20 to 1: with the parts and the NOK of every pair given, each part of a pair
        equally likely to be one of its NOK parts. One more NOK on never raises it.

    Raises
    ------
    ValueError
        If there is no pair, or a count is out of range.

    Examples
    --------
    All four right, none wrong (Fisher, The Design of Experiments, 1935): 1 in 70.

    >>> round(1 / more_when_on([CountPair(on_nok=4, on_checked=4, off_nok=0, off_checked=4)]))
    70
    """
    if not pairs:
        raise ValueError("there must be at least one pair")
    low, chances = 0, [1.0]
    for pair in sorted(pairs, key=lambda pair: (pair.on_checked + pair.off_checked, pair.on_checked)):
        start, more = _chances(pair)
        low, chances = _trimmed(low + start, _added(chances, more))
    seen = sum(pair.on_nok for pair in pairs)
    return min(1.0, max(LEAST_P, math.fsum(chances[max(0, seen - low) :])))


def _chances(pair: CountPair) -> tuple[int, list[float]]:
    """Chances of the NOK on of one pair, from the first number that is given on."""
    for nok, checked in ((pair.on_nok, pair.on_checked), (pair.off_nok, pair.off_checked)):
        if not 0 <= nok <= checked or checked < 1:
            raise ValueError(f"nok must be 0 to checked and checked at least 1, not {nok!r} of {checked!r}")
    on, off, nok = pair.on_checked, pair.off_checked, pair.on_nok + pair.off_nok
    lowest, highest = max(0, nok - off), min(on, nok)
    mode = min(highest, max(lowest, (on + 1) * (nok + 1) // (on + off + 2)))
    peak = math.exp(hypergeometric_log_pmf(mode, on, off, nok))
    above, below = [peak], []
    for k in range(mode, highest):
        above.append(above[-1] * (on - k) * (nok - k) / ((k + 1) * (off - nok + k + 1)))
        if above[-1] < _LEFT_OUT * peak:
            break
    last = peak
    for k in range(mode, lowest, -1):
        last *= k * (off - nok + k) / ((on - k + 1) * (nok - k + 1))
        below.append(last)
        if last < _LEFT_OUT * peak:
            break
    found = [*reversed(below), *above]
    total = math.fsum(found)
    return mode - len(below), [chance / total for chance in found]


def _added(some: Sequence[float], more: Sequence[float]) -> list[float]:
    """Chances of the sum of two independent numbers."""
    turned, longest = list(reversed(more)), len(more) - 1
    return [
        sum(map(mul, some[max(0, k - longest) : k + 1], turned[max(0, longest - k) :]))
        for k in range(len(some) + longest)
    ]


def _trimmed(low: int, chances: Sequence[float]) -> tuple[int, list[float]]:
    """Leave out both ends as far as they are negligible."""
    least = _LEFT_OUT * max(chances)
    kept = [place for place, chance in enumerate(chances) if chance >= least]
    return low + kept[0], list(chances[kept[0] : kept[-1] + 1])


@dataclass(frozen=True, slots=True, kw_only=True)
class ValuePair:
    """Measured values of neighbouring turns on and off.

    Parameters
    ----------
    on, off
        The values, at least one each, exactly as they were typed.
    """

    on: tuple[Fraction, ...]
    off: tuple[Fraction, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ValuesTest:
    """Whether switching moves the values.

    Parameters
    ----------
    p
        Two-sided, above 0 and at most 1: twice the smaller chance of a sum on that lies at least so far
        up, or down, when switching makes no difference.
    draws
        From how many random shufflings it was estimated; 0 when it is exact.
    error
        Exact two-sided 95 % interval for the `p` that was estimated; none when it is exact.
    """

    p: float
    draws: int = 0
    error: Interval | None = None


def values_differ(
    pairs: Sequence[ValuePair], chance: Chance, limit: int = EXACT_STEPS, draws: int = DRAWS
) -> ValuesTest:
    """Test whether the values on differ from those off, exactly where that does not take too long.

    Parameters
    ----------
    pairs
        At least one.
    chance
        For the random shufflings.
    limit
        Work allowed for the exact test, in sums of values.
    draws
        Most random shufflings; fewer with very many values.

    Returns
    -------
    ValuesTest
        Each value of a pair equally likely to be one of those on. The order of pairs and values does not
        matter. An estimated `p` counts the division seen as one more, so it is never 0 (Phipson and Smyth
        2010, "Permutation p-values should never be zero").

    Raises
    ------
    ValueError
        If there is no pair, or one has no value on or off.

    Examples
    --------
    Three above three: 1 in 20 on either side.

    >>> from random import Random
    >>> three = tuple(map(Fraction, (1, 2, 3)))
    >>> values_differ([ValuePair(on=tuple(v + 3 for v in three), off=three)], Random(1)).p
    0.1
    """
    if not pairs or not all(pair.on and pair.off for pair in pairs):
        raise ValueError("there must be at least one pair, each with values on and off")
    wholes, _ = whole_numbers([value for pair in pairs for value in (*pair.on, *pair.off)])
    left, groups = iter(wholes), []
    for pair in pairs:
        on = [next(left) for _ in pair.on]
        groups.append((on, sorted([*on, *(next(left) for _ in pair.off)])))
    groups.sort(key=lambda group: (len(group[1]), group[1], len(group[0])))
    seen = sum(sum(on) for on, _ in groups)
    sums = _sums([(len(on), values) for on, values in groups], limit)
    if sums is None:
        return _estimated([(len(on), values) for on, values in groups], seen, chance, draws)
    ways = sum(sums.values())
    up = sum(many for total, many in sums.items() if total >= seen)
    down = sum(many for total, many in sums.items() if total <= seen)
    return ValuesTest(p=min(1.0, float(Fraction(2 * min(up, down), ways))))


_Groups = Sequence[tuple[int, Sequence[int]]]
"""For each pair: how many values are on, and all its values."""


def _sums(groups: _Groups, limit: int) -> dict[int, int] | None:
    """Count the ways to each sum of the values on, over all pairs; none beyond the `limit` of work."""
    found, work = {0: 1}, 0
    for chosen, values in groups:
        tables: list[dict[int, int]] = [{0: 1}, *({} for _ in range(chosen))]
        for place, value in enumerate(values):
            for taken in range(min(chosen, place + 1), 0, -1):
                target = tables[taken]
                for total, ways in tables[taken - 1].items():
                    target[total + value] = target.get(total + value, 0) + ways
                work += len(tables[taken - 1])
            if work > limit:
                return None
        work += len(found) * len(tables[chosen])
        if work > limit:
            return None
        joined: dict[int, int] = {}
        for total, ways in found.items():
            for more, others in tables[chosen].items():
                joined[total + more] = joined.get(total + more, 0) + ways * others
        found = joined
    return found


def _estimated(groups: _Groups, seen: int, chance: Chance, draws: int) -> ValuesTest:
    many = sum(len(values) for _, values in groups)
    draws = max(_FEWEST_DRAWS, min(draws, _VALUES_DRAWN // many))
    shuffled = [(chosen, list(values)) for chosen, values in groups]
    up = down = 0
    for _ in range(draws):
        total = 0
        for chosen, values in shuffled:
            for place in range(chosen):
                other = place + int(chance.random() * (len(values) - place))
                values[place], values[other] = values[other], values[place]
            total += sum(values[:chosen])
        up += total >= seen
        down += total <= seen
    interval = proportion_interval(min(up, down), draws)
    return ValuesTest(
        p=min(1.0, 2 * (min(up, down) + 1) / (draws + 1)),
        draws=draws,
        error=Interval(
            low=min(1.0, 2 * interval.low),
            high=min(1.0, 2 * interval.high),
            confidence=interval.confidence,
            sides=2,
        ),
    )
