"""The p chart: whether the share of NOK parts varies from lot to lot as chance alone lets it."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from walkapp.analysis.chance import Chance
from walkapp.analysis.control.count_chance import Inside, chance_of_signal, side_chances
from walkapp.analysis.control.rules import (
    COUNT_RULES,
    FIRM_POINTS,
    Placed,
    Signal,
    signals_of,
)
from walkapp.analysis.homogeneity import homogeneity_test
from walkapp.analysis.special import binomial_tail, chi_square_cdf
from walkapp.language import msg, tr, whole_text

THREE_SIGMA, EXACT, NO_LIMITS = msg("three sigma"), "exact", "none"
"""How the limits of a p chart were made."""

FEWEST_LOTS = 5
"""Points from which limits are made at all: our own choice."""

EXPECTED = 5
"""The limits are three sigma where every point has at least so many NOK and OK parts to be expected, and
exact otherwise: common practice, no source."""

DIFFER_LEVEL = 0.05
"""Points differ when the p of the test is below this: common practice."""

_STEPS, _DRAWS = 300_000, 999
"""Work allowed for that test: some tenths of a second."""

TAIL = 0.00135
"""What exact limits leave beyond each of them at most: the part of a bell curve beyond three sigma."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CountPoint:
    """One lot, day or week.

    Parameters
    ----------
    nok, checked
        ``0 <= nok <= checked``, at least one checked.
    low, high
        Its control limits, 0 to 1: a share below `low` or above `high` is outside, one on them is not. None
        where there are no limits.
    """

    nok: int
    checked: int
    low: float | None
    high: float | None

    @property
    def share(self) -> float:
        """Share NOK, 0 to 1."""
        return self.nok / self.checked


CHI_SQUARE, FREEMAN_HALTON = msg("chi-square test"), msg("Freeman-Halton test, exact")
"""How points are tested for one share: with enough NOK and OK parts to be expected, and otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alike:
    """Test whether the points that make the limits have one share.

    Parameters
    ----------
    p
        Above 0, at most 1: chance that points of one share differ at least so much.
    how
        How it was worked out, in a few words.
    """

    p: float
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ProportionChart:
    """A p chart.

    Parameters
    ----------
    points
        In the order of time.
    baseline
        How many points, from the first on, the centre line and the limits are made of.
    nok, checked
        The parts of these points.
    limits
        How the limits were made: ``THREE_SIGMA``, ``EXACT`` or ``NO_LIMITS``.
    signals
        What the two rules for counts find; none without limits.
    false_chance
        Chance that a process whose share is that of the centre line gives at least one signal among so many
        points: exact for that share; none without limits.
    alike
        Test whether the points that make the limits have one share at all; none without limits. A change
        among them widens the limits so that no point of it may lie outside: this tells it all the same.
    """

    points: tuple[CountPoint, ...]
    baseline: int
    nok: int
    checked: int
    limits: str
    signals: tuple[Signal, ...]
    false_chance: float | None
    alike: Alike | None = None

    @property
    def differs(self) -> bool:
        """Whether the points that make the limits differ among each other more than chance lets them."""
        return self.alike is not None and self.alike.p < DIFFER_LEVEL

    @property
    def centre(self) -> float | None:
        """The centre line: share NOK of all parts of the baseline; none without a point."""
        return self.nok / self.checked if self.checked else None

    @property
    def is_provisional(self) -> bool:
        """Whether there are limits, from so few points that they are only a first idea."""
        return self.limits != NO_LIMITS and self.baseline < FIRM_POINTS


def proportion_chart(
    counts: Sequence[tuple[int, int]],
    chance: Chance,
    *,
    baseline: int | None = None,
    limits: str | None = None,
) -> ProportionChart:
    """Make a p chart.

    Parameters
    ----------
    counts
        NOK and checked parts of each point, in the order of time, at least one checked.
    chance
        Random numbers for the test of many or large points, which cannot be exact.
    baseline
        How many points, from the first on, make the limits, which are then held for the others, so that a
        later change shows; all points when none or when they would be fewer than ``FEWEST_LOTS``.
    limits
        ``THREE_SIGMA`` or ``EXACT``; when none, the first where there are enough NOK and OK parts to be
        expected at every point (``EXPECTED``), and the second otherwise.

    Raises
    ------
    ValueError
        If a count is out of range.

    Notes
    ----- Three sigma: ``p +- 3 sqrt(p (1 - p) / n)`` for each point with its own number of parts, cut off
    at 0 and 1 (NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2). Points are set against them in
    whole numbers, so that one on a limit is not outside by a rounding. Exact: the fewest and the most NOK
    of the binomial distribution that leave at most ``TAIL`` on each side.

    With a centre line of 0 or 1 there are no limits: they would call the first other part a signal.

    Examples
    --------
    >>> import random

    Ten lots of 50 with 4 or 8 NOK, and one with 16, where the upper limit is 14.

    >>> found = proportion_chart([(4, 50), (8, 50)] * 5 + [(16, 50)], random.Random(1))
    >>> found.limits, [(signal.rule, signal.points) for signal in found.signals]
    ('three sigma', [(1, (10,))])
    """
    for nok, checked in counts:
        if not 0 <= nok <= checked or checked < 1:
            raise ValueError(f"nok must be 0 to checked and checked at least 1, not {nok!r} of {checked!r}")
    used = len(counts) if baseline is None or baseline < FEWEST_LOTS else min(baseline, len(counts))
    nok, checked = (sum(count[i] for count in counts[:used]) for i in (0, 1))
    if used < FEWEST_LOTS or nok in (0, checked):
        return ProportionChart(
            points=tuple(CountPoint(nok=a, checked=n, low=None, high=None) for a, n in counts),
            baseline=used,
            nok=nok,
            checked=checked,
            limits=NO_LIMITS,
            signals=(),
            false_chance=None,
        )
    fewest = min(n for _, n in counts)
    is_roomy = min(nok, checked - nok) * fewest >= EXPECTED * checked
    made = limits or (THREE_SIGMA if is_roomy else EXACT)
    inside = {n: (_three_sigma if made == THREE_SIGMA else _exact)(n, nok, checked) for _, n in counts}
    chances = {n: side_chances(n, nok, checked, here) for n, here in inside.items()}
    placed = []
    for a, n in counts:
        side = (a * checked > nok * n) - (a * checked < nok * n)
        placed.append(
            Placed(
                value=Fraction(a, n),
                side=side,
                zone=0 if inside[n].least <= a <= inside[n].most else 3,
                chance=chances[n].of(side),
            )
        )
    return ProportionChart(
        points=tuple(
            CountPoint(nok=a, checked=n, low=inside[n].low, high=inside[n].high) for a, n in counts
        ),
        baseline=used,
        nok=nok,
        checked=checked,
        limits=made,
        signals=signals_of(placed, COUNT_RULES),
        false_chance=chance_of_signal([chances[n] for _, n in counts]),
        alike=_alike(counts[:used], nok, checked, chance),
    )


def _alike(counts: Sequence[tuple[int, int]], nok: int, checked: int, chance: Chance) -> Alike:
    if min(nok, checked - nok) * min(n for _, n in counts) >= EXPECTED * checked:
        share = nok / checked
        squares = math.fsum((a - n * share) ** 2 / (n * share * (1 - share)) for a, n in counts)
        # Below that, 1 less the distribution is nothing but rounding.
        p = max(2.0**-53, 1.0 - chi_square_cdf(squares, len(counts) - 1.0))
        return Alike(p=p, how=tr(CHI_SQUARE))
    found = homogeneity_test(counts, chance, _STEPS, _DRAWS)
    how = (
        tr("Freeman-Halton test, {draws} random divisions", draws=whole_text(found.draws))
        if found.draws
        else tr(FREEMAN_HALTON)
    )
    return Alike(p=found.p, how=how)


def _three_sigma(n: int, nok: int, checked: int) -> Inside:
    # |a / n - p| <= 3 sqrt(p (1 - p) / n) in whole numbers, with p = nok / checked.
    reach = math.isqrt(9 * n * nok * (checked - nok))
    p = nok / checked
    half = 3 * math.sqrt(p * (1 - p) / n)
    return Inside(
        least=max(0, -((reach - n * nok) // checked)),
        most=min(n, (n * nok + reach) // checked),
        low=max(0.0, p - half),
        high=min(1.0, p + half),
    )


def _exact(n: int, nok: int, checked: int) -> Inside:
    p = nok / checked
    most = bisect_left(range(n + 1), True, key=lambda k: binomial_tail(k + 1, n, p) <= TAIL)
    # So few NOK are so many OK.
    ok = bisect_left(range(n + 1), True, key=lambda k: binomial_tail(k + 1, n, 1 - p) <= TAIL)
    return Inside(least=n - ok, most=most, low=(n - ok) / n, high=most / n)
