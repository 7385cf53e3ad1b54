"""The randomisation probability: had the responses come at random, how often would they part like this?

References
----------
R. A. Fisher (1935), The Design of Experiments, chapter III: the test of a randomised trial by all the
orders in which it could have been run. The count by two halves of the runs is our own arrangement of the
usual shift algorithm (B. Streitberg and J. Roehmel, 1986, from memory).
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate

from walkapp.analysis.chance import Chance
from walkapp.analysis.homogeneity import DRAWS, EXACT, LEAST_P, SIMULATED

SPLIT_STEPS = 1_000_000
"""Work allowed for the exact count: about half a second on a desk."""

_SWAPS = 500_000
"""Runs drawn in all simulated splits together: about half a second on a desk."""

_LEAST_DRAWS = 1_999

_Sums = list[dict[int, int]]
"""For each number of runs chosen: every sum of their responses, and in how many ways it comes about."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitChance:
    """How often chance alone parts the responses at least as far.

    Parameters
    ----------
    p
        Above 0, at most 1; two-sided.
    method
        ``EXACT`` or ``SIMULATED``.
    draws
        How many random splits `p` was estimated from; 0 when it is exact.
    """

    p: float
    method: str
    draws: int = 0


class Splits:
    """All ways to choose some of the responses, each equally probable.

    Parameters
    ----------
    values
        All responses. They are exact, so that equal differences are exactly equal.
    size
        How many are chosen, at least 1 and fewer than all.
    chance
        Asked only where the exact count would take too long.
    limit
        Work allowed for the exact count, in sums.

    Raises
    ------
    ValueError
        If `size` is out of range.

    Notes
    -----
    It is exact if the work allows it: always up to 32 responses, and for many more when they are counts.
    The responses are dealt into two hands; the sums of every number of them are counted for each hand,
    and the pairs of sums that are extreme together are found by halving. A simulated p is
    ``(b + 1) / (draws + 1)`` (B. Phipson and G. K. Smyth, 2010), so it is never 0.

    Examples
    --------
    Four runs against four that are all higher: 2 of the 70 ways.

    >>> from random import Random
    >>> runs = [Fraction(n) for n in (80, 72, 83, 68, 60, 54, 52, 45)]
    >>> Splits(runs, 4, Random(1)).chance_of(range(4)).p == 2 / 70
    True
    """

    def __init__(
        self, values: Sequence[Fraction], size: int, chance: Chance, limit: int = SPLIT_STEPS
    ) -> None:
        if not 0 < size < len(values):
            raise ValueError(f"size must be 1 to {len(values) - 1}, not {size!r}")
        self._wholes, self._size = _as_wholes(values), size
        self._hands = _two_hands(self._wholes, size, limit)
        # Drawn once for all questions.
        self._drawn = [] if self._hands is not None else self._draw(chance)

    def chance_of(self, chosen: Iterable[int]) -> SplitChance:
        """Give the chance that the means of chosen and other responses are at least as far apart.

        Parameters
        ----------
        chosen
            Places of the chosen responses, each once, as many as `size` says.

        Raises
        ------
        ValueError
            If it is another number of places.
        """
        places = set(chosen)
        if len(places) != self._size:
            raise ValueError(f"{self._size} places must be chosen, not {len(places)}")
        away = abs(self._away(sum(self._wholes[place] for place in places)))
        if self._hands is None:
            draws = len(self._drawn)
            extreme = draws - bisect_left(self._drawn, away)
            return SplitChance(p=(extreme + 1) / (draws + 1), method=SIMULATED, draws=draws)
        if away == 0:
            return SplitChance(p=1.0, method=EXACT)
        many, middle = len(self._wholes), self._size * sum(self._wholes)
        most, least = (middle - away) // many, -((-middle - away) // many)
        ways = sum(left.pairs_beyond(right, most, least) for left, right in self._hands)
        return SplitChance(p=max(LEAST_P, ways / math.comb(many, self._size)), method=EXACT)

    def _away(self, chosen_sum: int) -> int:
        """Difference of the means, times what is the same for all splits."""
        return len(self._wholes) * chosen_sum - self._size * sum(self._wholes)

    def _draw(self, chance: Chance) -> list[int]:
        many = len(self._wholes)
        # The smaller group says the same and is drawn faster.
        size = min(self._size, many - self._size)
        total = sum(self._wholes)
        draws = min(DRAWS, max(_LEAST_DRAWS, _SWAPS // size))
        return sorted(
            abs(many * _drawn_sum(self._wholes, size, chance) - size * total) for _ in range(draws)
        )


@dataclass(frozen=True, slots=True)
class _Hand:
    """The sums that so many responses of one hand can have, sorted, and how many ways lie below each."""

    sums: tuple[int, ...]
    up_to: tuple[int, ...]

    def pairs_beyond(self, other: _Hand, most: int, least: int) -> int:
        """Count the pairs whose sum is at most `most` or at least `least`."""
        if len(self.sums) > len(other.sums):
            return other.pairs_beyond(self, most, least)
        found = 0
        for place, value in enumerate(self.sums):
            low = other.up_to[bisect_right(other.sums, most - value)]
            high = other.up_to[-1] - other.up_to[bisect_left(other.sums, least - value)]
            found += (self.up_to[place + 1] - self.up_to[place]) * (low + high)
        return found


def _as_wholes(values: Sequence[Fraction]) -> list[int]:
    """Move and stretch the values so that they are whole numbers from 0 on, as small as possible."""
    scale = math.lcm(*(value.denominator for value in values))
    wholes = [int(value * scale) for value in values]
    least = min(wholes)
    step = math.gcd(*(whole - least for whole in wholes)) or 1
    return [(whole - least) // step for whole in wholes]


def _two_hands(wholes: Sequence[int], size: int, limit: int) -> list[tuple[_Hand, _Hand]] | None:
    """Pair every number of responses of one hand with the rest of `size` of the other."""
    dealt = sorted(wholes)
    left = _sums_of(dealt[::2], size, limit)
    right = _sums_of(dealt[1::2], size, limit)
    if left is None or right is None:
        return None
    return [
        (_hand(sums), _hand(right[size - many]))
        for many, sums in enumerate(left)
        if 0 <= size - many < len(right)
    ]


def _hand(sums: dict[int, int]) -> _Hand:
    values = sorted(sums)
    return _Hand(tuple(values), tuple(accumulate((sums[value] for value in values), initial=0)))


def _sums_of(wholes: Sequence[int], size: int, limit: int) -> _Sums | None:
    sums: _Sums = [{0: 1}]
    for value, times in sorted(Counter(wholes).items()):
        longest = min(size, len(sums) - 1 + times)
        limit -= sum(map(len, sums)) * min(times + 1, size + 1)
        if limit < 0:
            return None
        longer: _Sums = [{} for _ in range(longest + 1)]
        for many, partial in enumerate(sums):
            for more in range(min(times, longest - many) + 1):
                ways_here, target = math.comb(times, more), longer[many + more]
                for total, ways in partial.items():
                    grown = total + more * value
                    target[grown] = target.get(grown, 0) + ways * ways_here
        sums = longer
    return sums


def _drawn_sum(wholes: Sequence[int], size: int, chance: Chance) -> int:
    """Draw some of them without putting any back; give their sum."""
    left = list(wholes)
    total = 0
    for last in range(len(left) - 1, len(left) - 1 - size, -1):
        place = int(chance.random() * (last + 1))
        total += left[place]
        left[place] = left[last]
    return total
