"""Are several groups of parts alike? The exact test for a table of groups by OK and NOK.

References
----------
G. H. Freeman and J. H. Halton (1951), "Note on an exact treatment of contingency, goodness of fit
and other problems of significance", Biometrika 38, 141-149.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from walkapp.analysis.chance import Chance
from walkapp.analysis.proportions import fisher_exact, proportion_interval
from walkapp.analysis.results import Interval
from walkapp.analysis.special import binomial_log_pmf, hypergeometric_log_pmf

EXACT = "exact"
SIMULATED = "simulated"

EXACT_STEPS = 3_000_000
"""Work allowed for an exact test of three or more groups: a quarter to half a second on a desk."""

DRAWS = 9_999
"""Random divisions where the exact test would take too long."""

_GROUPS_DRAWN = 300_000
"""Groups in all random divisions together: a second or two on a desk."""

LEAST_P = math.ulp(0.0)
"""A p is a chance of something that has happened: it may be tiny, never 0."""

_TIE = 1e-9
"""Logarithms that differ by less than this are equal but for rounding."""

_States = dict[int, dict[int, int]]
"""For each number of marked parts still to be divided: product so far, and how many tables have it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HomogeneityTest:
    """Whether groups differ at all: the test of Freeman and Halton.

    Parameters
    ----------
    p
        Above 0, at most 1: the chance, with the parts of each group and all NOK given, of a table
        that is at most as probable as this one, if all groups are alike.
    method
        ``EXACT`` or ``SIMULATED``.
    draws
        How many random divisions `p` was estimated from; 0 when it is exact.
    error
        Exact two-sided interval for the p that was estimated; none when it is exact.
    """

    p: float
    method: str
    draws: int = 0
    error: Interval | None = None


def homogeneity_test(
    tallies: Sequence[tuple[int, int]],
    chance: Chance,
    limit: int = EXACT_STEPS,
    draws: int = DRAWS,
    confidence: float = 0.95,
) -> HomogeneityTest:
    """Test whether several groups are alike: exactly, or by random divisions where that takes too long.

    Parameters and errors are those of :func:`freeman_halton` and :func:`freeman_halton_simulated`. With
    more than 30 groups fewer divisions than `draws` are made, 2,343 with 128.
    """
    p = freeman_halton(tallies, limit)
    if p is None:
        fewer = min(draws, _GROUPS_DRAWN // len(tallies))
        return freeman_halton_simulated(tallies, chance, fewer, confidence)
    return HomogeneityTest(p=p, method=EXACT)


def freeman_halton(tallies: Sequence[tuple[int, int]], limit: int = EXACT_STEPS) -> float | None:
    """Test exactly whether several groups have the same share NOK.

    Parameters
    ----------
    tallies
        Parts NOK and parts checked of each group; groups without parts change nothing.
    limit
        Work allowed, in steps of at most roughly a tenth of a microsecond.

    Returns
    -------
    float or None
        Above 0, at most 1: the chance, with all margins given, of a table that is at most as
        probable as this one. 1 when there are fewer than two groups, or nothing or everything is
        NOK. For two groups it is Fisher's exact test. None when the work is more than `limit`.

    Raises
    ------
    ValueError
        If a count is out of range.

    Notes
    -----
    "Fisher-Freeman-Halton" or "Fisher's exact test for r x c tables" elsewhere; R's ``fisher.test``.
    The chance of a table is a product of binomial coefficients over that of the whole. For three or
    more groups these are kept as whole numbers, so that equally probable tables are exactly equal.
    Group by group, partial tables with the same product are kept as one, and are taken or dropped as
    a whole as soon as all, or none, of their completions can be as improbable as the table seen:
    the network algorithm of C. R. Mehta and N. R. Patel (1983), Journal of the American Statistical
    Association 78, 427-434, with exact instead of rounded sums.

    Examples
    --------
    >>> round(freeman_halton([(0, 6), (3, 8), (2, 3)]), 10)
    0.0882352941
    """
    groups = tallies_by_size(tallies)
    if len(groups) <= 2:
        (a, n), (c, m) = (*groups, (0, 0), (0, 0))[:2]
        return max(LEAST_P, fisher_exact(a, n - a, c, m - c))
    noks, sizes = [nok for nok, _ in groups], [checked for _, checked in groups]
    marked, total = sum(noks), sum(sizes)
    if 2 * marked > total:
        # OK and NOK may change places; the fewer there are to be divided, the less work.
        marked, noks = total - marked, [checked - nok for nok, checked in groups]
    if marked == 0:
        return 1.0
    found = _ways_as_improbable(noks, sizes, limit)
    return None if found is None else max(LEAST_P, found / math.comb(total, marked))


def freeman_halton_simulated(
    tallies: Sequence[tuple[int, int]], chance: Chance, draws: int = DRAWS, confidence: float = 0.95
) -> HomogeneityTest:
    """Estimate the p of :func:`freeman_halton` from random divisions of the NOK parts.

    Parameters
    ----------
    tallies
        Parts NOK and parts checked of each group.
    chance
        Asked once for each group and division.
    draws
        At least 1.
    confidence
        Of the stated error, above 0 and below 1.

    Returns
    -------
    HomogeneityTest
        `p` is ``(b + 1) / (draws + 1)`` with `b` divisions at most as probable as the one seen; so it
        is never 0, and as a test it keeps its level. `error` is the exact interval for `b` of `draws`.
        The order of the groups does not matter.

    Raises
    ------
    ValueError
        If a count is out of range, or there is no draw.

    Notes
    -----
    A division is drawn group by group: what falls to one, given what is left, is hypergeometric.

    References
    ----------
    B. Phipson and G. K. Smyth (2010), "Permutation p-values should never be zero", Statistical
    Applications in Genetics and Molecular Biology 9, article 39.

    Examples
    --------
    >>> from random import Random
    >>> found = freeman_halton_simulated([(0, 6), (3, 8), (2, 3)], Random(1))
    >>> found.error.low < 3 / 34 < found.error.high
    True
    """
    if draws < 1:
        raise ValueError(f"draws must be at least 1, not {draws!r}")
    groups = tallies_by_size(tallies)
    marked, total = sum(k for k, _ in groups), sum(n for _, n in groups)
    share = marked / total if total else 0.0
    # With a common share the binomial chances of the groups differ from the table's by a constant.
    logs: list[dict[int, float]] = [{} for _ in groups]

    def log_chance(divided: Sequence[int]) -> float:
        found = 0.0
        for known, k, (_, n) in zip(logs, divided, groups, strict=True):
            if k not in known:
                known[k] = binomial_log_pmf(k, n, share)
            found += known[k]
        return found

    seen = log_chance([k for k, _ in groups]) + _TIE
    modes: dict[tuple[int, int], tuple[int, float]] = {}
    extreme = 0
    for _ in range(draws):
        marks, size = marked, total
        divided = []
        for index, (_, n) in enumerate(groups):
            size -= n
            if (index, marks) not in modes:
                mode = min(n, marks, max(0, marks - size, (n + 1) * (marks + 1) // (n + size + 2)))
                modes[index, marks] = mode, math.exp(hypergeometric_log_pmf(mode, n, size, marks))
            k = _hypergeometric(chance.random(), n, size, marks, *modes[index, marks])
            divided.append(k)
            marks -= k
        extreme += log_chance(divided) <= seen
    return HomogeneityTest(
        p=(extreme + 1) / (draws + 1),
        method=SIMULATED,
        draws=draws,
        error=proportion_interval(extreme, draws, confidence),
    )


def tallies_by_size(tallies: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Check the groups, leave out those without parts, and sort the others by size."""
    for nok, checked in tallies:
        if not 0 <= nok <= checked:
            raise ValueError(f"nok must be 0 to checked, not {nok!r} of {checked!r}")
    return sorted((tally for tally in tallies if tally[1]), key=lambda tally: (tally[1], tally[0]))


def _binomials(n: int, most: int) -> list[int]:
    """Ways to choose 0, 1, ..., `most` of `n`."""
    return list(accumulate(range(most), lambda ways, k: ways * (n - k) // (k + 1), initial=1))


def _ways_as_improbable(noks: Sequence[int], sizes: Sequence[int], limit: int) -> int | None:
    """Count the ways to choose the marked parts whose table is at most as probable as the one seen."""
    marked, total = sum(noks), sum(sizes)
    left_sizes = [total - done for done in accumulate(sizes)]
    # One part in this many is the chance of one certain choice; no whole number gets longer than that.
    bits = -hypergeometric_log_pmf(marked, marked, total - marked, marked) / math.log(2.0)
    limit //= 1 + int(bits) // 512
    work = sum(
        (min(n, marked) + 1) * (min(left, marked) + 1) for n, left in zip(sizes, left_sizes, strict=True)
    )
    if work > limit:
        return None
    ways = [_binomials(n, min(n, marked)) for n in sizes]
    fewest, most = _completions(ways, marked)
    seen = math.prod(row[k] for row, k in zip(ways, noks, strict=True))
    if most[0][marked] <= seen:
        return math.comb(total, marked)
    states: _States = {marked: {1: 1}}
    found = 0
    for row, left_size, low, high in zip(ways, left_sizes, fewest[1:], most[1:], strict=True):
        work += sum(len(partial) * min(len(row), marks + 1) for marks, partial in states.items())
        if work > limit:
            return None
        states, decided = _divide_on(states, row, left_size, low, high, seen)
        found += decided
    return found


def _divide_on(
    states: _States, row: Sequence[int], left_size: int, low: Sequence[int], high: Sequence[int], seen: int
) -> tuple[_States, int]:
    """Give every number of marked parts to one more group.

    `low` and `high` hold the least and the greatest product of the groups after it. Partial tables
    that are as improbable as the one `seen` however they go on are counted with all their
    completions; those that cannot become so are dropped.
    """
    following: _States = {}
    decided = 0
    for marks, partial in states.items():
        products = sorted(partial)
        ways_up_to = list(accumulate((product * partial[product] for product in products), initial=0))
        for x in range(max(0, marks - len(high) + 1), min(marks, len(row) - 1) + 1):
            left = marks - x
            all_below = bisect_right(products, seen // (row[x] * high[left]))
            some_below = bisect_right(products, seen // (row[x] * low[left]))
            if all_below:
                decided += ways_up_to[all_below] * row[x] * math.comb(left_size, left)
            target = following.setdefault(left, {})
            for product in products[all_below:some_below]:
                longer = product * row[x]
                target[longer] = target.get(longer, 0) + partial[product]
    return following, decided


def _completions(ways: Sequence[Sequence[int]], marked: int) -> tuple[list[list[int]], list[list[int]]]:
    """Least and greatest product of the groups from each one on, by the marks that they share."""
    fewest, most = [[1]], [[1]]
    for row in reversed(ways):
        low, high = fewest[-1], most[-1]
        lows, highs = [], []
        for marks in range(min(marked, len(row) + len(high) - 2) + 1):
            choices = range(max(0, marks - len(high) + 1), min(marks, len(row) - 1) + 1)
            lows.append(min(row[x] * low[marks - x] for x in choices))
            highs.append(max(row[x] * high[marks - x] for x in choices))
        fewest.append(lows)
        most.append(highs)
    return fewest[::-1], most[::-1]


def _hypergeometric(at: float, first: int, second: int, drawn: int, mode: int, peak: float) -> int:
    """Find the number of `drawn` marks in the `first` parts for a random number between 0 and 1.

    The chances are laid end to end from the mode outwards, which takes about as many steps as the
    spread is wide.
    """
    lowest, highest = max(0, drawn - second), min(first, drawn)
    down = up = mode
    below = above = peak
    at -= peak
    while at >= 0.0 and (down > lowest or up < highest):
        if up < highest:
            above *= (first - up) * (drawn - up) / ((up + 1) * (second - drawn + up + 1))
            up += 1
            at -= above
            if at < 0.0:
                return up
        if down > lowest:
            below *= down * (second - drawn + down) / ((first - down + 1) * (drawn - down + 1))
            down -= 1
            at -= below
            if at < 0.0:
                return down
    # All chances together may miss 1 by rounding: then the number belongs to the mode.
    return mode
