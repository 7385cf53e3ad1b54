"""How well a process keeps within its limits: Cp, Cpk, Pp, Ppk, each with its interval.

Cp and Cpk look at the spread within groups (what the process could do if nothing drifted), Pp and Ppk at
the spread of all values (what it did). All of them, and all their intervals, take the values to be normal
and the process to be steady; neither is tested here. The instrument's own spread is part of every
spread.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from walkapp.analysis.means import CONFIDENCE, check_confidence
from walkapp.analysis.moments import Moments, Number, exact, moments_of
from walkapp.analysis.results import Interval
from walkapp.analysis.special import chi_square_quantile
from walkapp.language import msg, tr

EXACT = msg("exact for normal values")
CHI_APPROXIMATION = msg("chi approximation for the moving range")
BISSELL = msg("Bissell's approximation")

POOLED = msg("pooled within groups")
MOVING_RANGE = msg("average moving range")
OVERALL = msg("all values")

ENOUGH = 30
"""Parts below which an index is flagged and no expected share is given: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Indices:
    """The four indices that one mean and one standard deviation give.

    Parameters
    ----------
    potential
        Cp or Pp: width of the tolerance over six standard deviations; none with a single limit.
    upper, lower
        Cpu and Cpl, or Ppu and Ppl: distance from the mean to that limit over three standard
        deviations, below 0 for a mean outside; none without that limit.
    nearer
        Cpk or Ppk: the smaller of `upper` and `lower`; none without any limit.
    """

    potential: float | None
    upper: float | None
    lower: float | None
    nearer: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A standard deviation and what it stands on.

    Parameters
    ----------
    standard_deviation
        In the unit of the values, 0 or more. Roots of variances are not divided by c4.
    degrees
        Degrees of freedom, at least 1; for the moving range those of the chi distribution that has the
        same relative spread, not a whole number.
    source
        ``POOLED``, ``MOVING_RANGE`` or ``OVERALL``.
    values
        How many values it was taken from.
    groups
        How many groups of two or more values it was taken from; 0 when groups were not used.
    """

    standard_deviation: float
    degrees: float
    source: str
    values: int
    groups: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Index:
    """One index.

    Parameters
    ----------
    value
        The estimate.
    interval
        Two-sided.
    method
        Where the interval comes from: ``EXACT``, ``CHI_APPROXIMATION`` or ``BISSELL``.
    """

    value: float
    interval: Interval
    method: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Capability:
    """What can be said of a process against its limits.

    Parameters
    ----------
    count
        How many values.
    lsl, usl
        The limits; none when there is none.
    within, overall
        The spreads behind Cp, Cpk and behind Pp, Ppk; none for fewer than two values.
    cp, cpu, cpl, cpk
        From the spread within groups. `cp` is none with a single limit, `cpu` and `cpl` without their
        limit, all of them for fewer than two values and without spread.
    pp, ppu, ppl, ppk
        From the spread of all values, likewise.
    expected_outside_if_normal
        Expected share of parts outside the limits, 0 to 1, if the values are exactly normal with the
        mean and overall spread that were seen. An extrapolation, without an interval; none for fewer
        than ``ENOUGH`` values and without spread.
    is_small
        Whether there are fewer than ``ENOUGH`` values.
    why
        In a few words, what is missing or to be minded; empty when nothing is.
    """

    count: int
    lsl: float | None
    usl: float | None
    within: Spread | None = None
    overall: Spread | None = None
    cp: Index | None = None
    cpu: Index | None = None
    cpl: Index | None = None
    cpk: Index | None = None
    pp: Index | None = None
    ppu: Index | None = None
    ppl: Index | None = None
    ppk: Index | None = None
    expected_outside_if_normal: float | None = None
    is_small: bool = True
    why: str = ""


def capability(
    values: Sequence[Number],
    groups: Sequence[str] = (),
    *,
    lsl: Number | None = None,
    usl: Number | None = None,
    confidence: float = CONFIDENCE,
) -> Capability:
    """Work out all indices of one characteristic.

    Parameters
    ----------
    values
        In the order taken, any number.
    groups
        Group of each value (lot, production day, cavity), in the same order; empty texts for values
        without one, nothing at all when there are no groups.
    lsl, usl
        Lower and upper limit, at least one, `lsl` below `usl`.
    confidence
        Of the two-sided intervals, above 0 and below 1.

    Returns
    -------
    Capability
        The mean is that of all values. The spread within groups is pooled over the groups of two or
        more values; values without a group are then left out of it. Where no group has two values it
        is the average moving range in the order taken, over 2 / sqrt(pi).

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    The intervals of Cpk, Cpu and Cpl count the mean as that of one steady process. Where the groups
    differ in their means, read Ppk.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6 (indices) and 6.3.2.2 (moving range), from
    memory; the handbook divides by 1.128, here it is 2 / sqrt(pi) = 1.128379.

    Examples
    --------
    >>> found = capability([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1], lsl=40, usl=60)
    >>> round(found.within.standard_deviation, 4), round(found.overall.standard_deviation, 4)
    (1.6641, 2.0339)
    >>> round(found.cpk.value, 3), round(found.ppk.value, 3), found.is_small
    (1.841, 1.506, True)
    """
    _check_limits(lsl, usl)
    check_confidence(confidence)
    typed = [exact(value) for value in values]
    if groups and len(groups) != len(typed):
        raise ValueError("there must be one group for each value, or none at all")
    known = Capability(
        count=len(typed),
        lsl=None if lsl is None else float(lsl),
        usl=None if usl is None else float(usl),
        is_small=len(typed) < ENOUGH,
    )
    if len(typed) < 2:
        return replace(known, why=tr("fewer than 2 parts: nothing can be said"))
    found = moments_of(typed)
    within, overall = _within(typed, groups), _overall(found)
    cp, cpu, cpl, cpk = _with_intervals(found, within, lsl, usl, confidence)
    pp, ppu, ppl, ppk = _with_intervals(found, overall, lsl, usl, confidence)
    outside = None
    if overall.standard_deviation and not known.is_small:
        outside = expected_share_outside(found.mean, overall.standard_deviation, lsl, usl)
    return replace(
        known,
        within=within,
        overall=overall,
        cp=cp,
        cpu=cpu,
        cpl=cpl,
        cpk=cpk,
        pp=pp,
        ppu=ppu,
        ppl=ppl,
        ppk=ppk,
        expected_outside_if_normal=outside,
        why=_why(found, within),
    )


def capability_indices(
    mean: Number, standard_deviation: float, lsl: Number | None, usl: Number | None
) -> Indices:
    """Work out the indices of one mean and one standard deviation.

    Parameters
    ----------
    mean
        In the unit of the limits.
    standard_deviation
        Above 0.
    lsl, usl
        Lower and upper limit, at least one, `lsl` below `usl`.

    Returns
    -------
    Indices
        `potential` is none with a single limit.

    Raises
    ------
    ValueError
        If an argument is out of range.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6 (from memory).

    Examples
    --------
    >>> found = capability_indices(16, 2, 8, 20)
    >>> round(found.potential, 4), round(found.upper, 4), round(found.lower, 4), round(found.nearer, 4)
    (1.0, 0.6667, 1.3333, 0.6667)
    """
    _check_limits(lsl, usl)
    if not math.isfinite(mean) or not 0.0 < standard_deviation < math.inf:
        raise ValueError(
            f"the mean must be finite and the standard deviation above 0, not {mean!r} and "
            f"{standard_deviation!r}"
        )
    third = 3.0 * standard_deviation
    upper = None if usl is None else (float(usl) - float(mean)) / third
    lower = None if lsl is None else (float(mean) - float(lsl)) / third
    potential = None if upper is None or lower is None else 0.5 * (upper + lower)
    nearer = min(index for index in (upper, lower) if index is not None)
    return Indices(potential=potential, upper=upper, lower=lower, nearer=nearer)


def expected_share_outside(
    mean: Number, standard_deviation: float, lsl: Number | None, usl: Number | None
) -> float:
    """Share of a normal distribution that lies outside the limits.

    Parameters
    ----------
    mean
        In the unit of the limits.
    standard_deviation
        Above 0.
    lsl, usl
        Lower and upper limit, at least one, `lsl` below `usl`.

    Returns
    -------
    float
        0 to 1; it holds for exactly normal values only, which no process makes far from its mean.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Examples
    --------
    Parts per million outside, for the indices of :func:`capability_indices`:

    >>> round(expected_share_outside(16, 2, 8, 20) * 1e6)
    22782
    """
    found = capability_indices(mean, standard_deviation, lsl, usl)
    sides = (index for index in (found.upper, found.lower) if index is not None)
    return min(1.0, math.fsum(0.5 * math.erfc(3.0 * index / math.sqrt(2.0)) for index in sides))


def potential_interval(value: float, degrees: float, confidence: float = CONFIDENCE) -> Interval:
    """Two-sided interval for Cp or Pp, exact for normal values.

    Parameters
    ----------
    value
        The estimate, above 0.
    degrees
        Degrees of freedom of the standard deviation behind it, at least 1.
    confidence
        Above 0 and below 1; half of the rest lies on each side.

    Returns
    -------
    Interval
        Above 0.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    The estimate times sqrt(chi-square quantile / degrees), as the squared true over estimated index is
    chi-square over its degrees of freedom.

    References
    ----------
    Y. Chou, D. B. Owen and S. A. Borrego (1990), "Lower confidence limits on process capability
    indices", Journal of Quality Technology 22, 223-229 (cited by others, not read).

    Examples
    --------
    >>> limits = potential_interval(2.2857, 19)
    >>> round(limits.low, 2), round(limits.high, 2)
    (1.56, 3.01)
    """
    check_confidence(confidence)
    if not value > 0.0:
        raise ValueError(f"the index must be above 0, not {value!r}")
    beyond = 0.5 * (1.0 - confidence)
    low, high = (
        value * math.sqrt(chi_square_quantile(p, degrees) / degrees) for p in (beyond, 1.0 - beyond)
    )
    return Interval(low=low, high=high, confidence=confidence, sides=2)


def nearer_interval(value: float, count: int, degrees: float, confidence: float = CONFIDENCE) -> Interval:
    """Two-sided approximate interval for Cpk, Cpu, Cpl, Ppk, Ppu or Ppl.

    Parameters
    ----------
    value
        The estimate; below 0 when the mean lies outside the limit.
    count
        Values behind the mean, at least 2.
    degrees
        Degrees of freedom of the standard deviation, at least 1.
    confidence
        Above 0 and below 1; half of the rest lies on each side.

    Returns
    -------
    Interval
        May reach below 0.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    The estimate -+ z sqrt(1 / (9 n) + estimate^2 / (2 degrees)). Simulated for normal values, indices of
    0.67 to 2 and 5 to 300 parts, 94.7 % to 96.5 % of the 95 % intervals hold the true Cpk. The misses
    are shared out unevenly: with the mean midway between two limits the true value lies above the
    interval in up to 4.8 % and below it in 0.3 % to 1.7 %, so the low end stays on the safe side; far
    from the middle both are near 2.5 %.

    References
    ----------
    A. F. Bissell (1990), "How reliable is your capability index?", Applied Statistics 39, 331-340 (the
    formula as quoted by R. N. Rodriguez (1992), Journal of Quality Technology 24, 176-187).

    Examples
    --------
    >>> limits = nearer_interval(1.33, 20, 19)
    >>> round(limits.low, 2), round(limits.high, 2)
    (0.88, 1.78)
    """
    check_confidence(confidence)
    if count < 2 or not 1.0 <= degrees < math.inf:
        raise ValueError(f"count must be at least 2 and degrees at least 1, not {count!r} and {degrees!r}")
    # The two-sided normal quantile is the root of that of chi-square with one degree of freedom.
    z = math.sqrt(chi_square_quantile(confidence, 1.0))
    reach = z * math.sqrt(1.0 / (9.0 * count) + value * value / (2.0 * degrees))
    return Interval(low=value - reach, high=value + reach, confidence=confidence, sides=2)


def moving_range_degrees(count: int) -> float:
    """Degrees of freedom that the average moving range of steady normal values is worth.

    Parameters
    ----------
    count
        Values, at least 2.

    Returns
    -------
    float
        1 for two values, about 0.605 a value for many: those of the chi distribution that has the same
        standard deviation over mean.

    Raises
    ------
    ValueError
        If there are fewer than two values.

    Notes
    -----
    The differences of neighbours are normal with variance 2 and correlation -1/2. The mean product of
    the absolute values of two normal values with correlation r is 2 / pi (sqrt(1 - r^2) + r arcsin r)
    times their variance. This gives the variance of the average exactly; taking its distribution
    for that of chi is P. B. Patnaik's idea for ranges (1950, Biometrika 37, 78-87; from memory). The
    limit of 0.605 is found in J. D. Cryer and T. P. Ryan (1990), Journal of Quality Technology 22,
    187-192 (from memory). Simulated for 2 to 100 values, 94.9 % to 95.4 % of the 95 % intervals for
    Cp that stand on it hold the true value.

    Examples
    --------
    >>> moving_range_degrees(2), round(moving_range_degrees(10), 3)
    (1.0, 5.858)
    """
    if count < 2:
        raise ValueError(f"a moving range needs at least 2 values, not {count!r}")
    ranges = count - 1
    if ranges == 1:
        return 1.0
    alone = 2.0 - 4.0 / math.pi
    neighbours = 4.0 / math.pi * (math.sqrt(0.75) + math.pi / 12.0 - 1.0)
    variance = (alone + 2.0 * neighbours * (ranges - 1) / ranges) / ranges
    wanted = 0.25 * math.pi * variance
    low, high = 1.0, float(ranges)
    while high - low > 1e-12 * high:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _relative_variance_of_chi(middle) > wanted else (low, middle)
    return 0.5 * (low + high)


def _relative_variance_of_chi(degrees: float) -> float:
    """Variance over squared mean, of the root of a chi-square variable: 1 / c4^2 - 1."""
    return 1.0 / _c4(degrees) ** 2 - 1.0


def _c4(degrees: float) -> float:
    """Mean of the root of chi-square over its degrees of freedom."""
    half = 0.5 * degrees
    if half < 50.0:
        return math.exp(math.lgamma(half + 0.5) - math.lgamma(half)) / math.sqrt(half)
    # Differences of large log-gamma values lose their digits; the series of their ratio does not.
    # R. L. Graham, D. E. Knuth and O. Patashnik, Concrete Mathematics, exercise 9.60 (from memory).
    inverse = 1.0 / half
    return 1.0 - inverse * (1 / 8 - inverse * (1 / 128 + inverse * (5 / 1024 - inverse * 21 / 32768)))


def _within(typed: Sequence[Fraction], groups: Sequence[str]) -> Spread:
    members: dict[str, list[Fraction]] = {}
    for value, group in zip(typed, groups, strict=False):
        if group:
            members.setdefault(group, []).append(value)
    several = [moments_of(group) for group in members.values() if len(group) > 1]
    if not several:
        return _moving_range(typed)
    degrees = sum(group.count - 1 for group in several)
    squares = sum(((group.variance or 0) * (group.count - 1) for group in several), Fraction(0))
    return Spread(
        standard_deviation=math.sqrt(squares / degrees),
        degrees=float(degrees),
        source=POOLED,
        values=degrees + len(several),
        groups=len(several),
    )


def _moving_range(typed: Sequence[Fraction]) -> Spread:
    ranges = [abs(later - earlier) for earlier, later in pairwise(typed)]
    return Spread(
        standard_deviation=float(moments_of(ranges).mean) * 0.5 * math.sqrt(math.pi),
        degrees=moving_range_degrees(len(typed)),
        source=MOVING_RANGE,
        values=len(typed),
    )


def _overall(found: Moments) -> Spread:
    return Spread(
        standard_deviation=found.standard_deviation or 0.0,
        degrees=found.count - 1.0,
        source=OVERALL,
        values=found.count,
    )


def _with_intervals(
    found: Moments, spread: Spread, lsl: Number | None, usl: Number | None, confidence: float
) -> tuple[Index | None, Index | None, Index | None, Index | None]:
    """Indices of potential, upper, lower and nearer limit."""
    if not spread.standard_deviation:
        return None, None, None, None
    seen = capability_indices(found.mean, spread.standard_deviation, lsl, usl)
    potential = None
    if seen.potential is not None:
        by_range = spread.source == MOVING_RANGE
        limits = potential_interval(seen.potential, spread.degrees, confidence)
        if by_range:
            # The moving range over its constant is free of bias; a root of a variance is not.
            c4 = _c4(spread.degrees)
            limits = replace(limits, low=limits.low / c4, high=limits.high / c4)
        method = CHI_APPROXIMATION if by_range else EXACT
        potential = Index(value=seen.potential, interval=limits, method=method)

    def approximate(value: float | None) -> Index | None:
        if value is None:
            return None
        limits = nearer_interval(value, found.count, spread.degrees, confidence)
        return Index(value=value, interval=limits, method=BISSELL)

    return potential, approximate(seen.upper), approximate(seen.lower), approximate(seen.nearer)


def _why(found: Moments, within: Spread) -> str:
    if not found.variance:
        return tr("all values are equal: the instrument shows no spread, so there is no index")
    if not within.standard_deviation:
        return tr("no spread within the groups: no Cp and no Cpk")
    return (
        tr("fewer than {enough} parts: read the intervals", enough=ENOUGH) if found.count < ENOUGH else ""
    )


def _check_limits(lsl: Number | None, usl: Number | None) -> None:
    if lsl is None and usl is None:
        raise ValueError("there must be at least one limit")
    if not all(math.isfinite(limit) for limit in (lsl, usl) if limit is not None):
        raise ValueError(f"limits must be finite, not {lsl!r} and {usl!r}")
    if lsl is not None and usl is not None and float(lsl) >= float(usl):
        raise ValueError(f"lsl must be below usl, not {lsl!r} and {usl!r}")
