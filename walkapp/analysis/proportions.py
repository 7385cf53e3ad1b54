"""Exact limits and tests for shares of parts."""

from __future__ import annotations

import math
from collections.abc import Callable
from decimal import ROUND_CEILING, Decimal, localcontext

from walkapp.analysis.results import Interval
from walkapp.analysis.special import (
    beta_cdf,
    beta_quantile,
    chi_square_quantile,
    hypergeometric_log_pmf,
)

_SAME = 1e-7
"""Tables whose chances differ by less than this, relatively, count as equally probable."""


def proportion_interval(nok: int, checked: int, confidence: float = 0.95) -> Interval:
    """Two-sided exact interval for a share (Clopper-Pearson, beta-quantile form).

    Parameters
    ----------
    nok
        Parts NOK, 0 to `checked`.
    checked
        Parts checked, at least 1.
    confidence
        Above 0 and below 1; half of the rest lies on each side.

    Returns
    -------
    Interval
        With ``sides=2``. The low limit is 0 when no part was NOK and the high limit 1 when all were;
        the other limit stays the two-sided one (3.689 / n at 95 %, not the "rule of three").

    Raises
    ------
    ValueError
        If the counts or the confidence are out of range.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.1.

    Examples
    --------
    4 defective parts of 20: between 7 % and 40 % of all parts, with 90 % confidence.

    >>> limits = proportion_interval(4, 20, 0.90)
    >>> round(limits.low, 6), round(limits.high, 6)
    (0.071354, 0.401028)
    """
    _check_counts(nok, checked, confidence)
    beyond = (1.0 - confidence) / 2.0
    low = beta_quantile(beyond, nok, checked - nok + 1) if nok > 0 else 0.0
    high = beta_quantile(1.0 - beyond, nok + 1, checked - nok) if nok < checked else 1.0
    return Interval(low=low, high=high, confidence=confidence, sides=2)


def upper_limit(nok: int, checked: int, confidence: float = 0.95) -> Interval:
    """One-sided exact upper limit for a share.

    Parameters
    ----------
    nok
        Parts NOK, 0 to `checked`.
    checked
        Parts checked, at least 1.
    confidence
        Above 0 and below 1; the rest lies above the limit.

    Returns
    -------
    Interval
        With ``sides=1`` and ``low=0``.

    Raises
    ------
    ValueError
        If the counts or the confidence are out of range.

    Notes
    -----
    Without a NOK part this is ``1 - (1 - confidence) ** (1 / checked)``, near ``3 / checked`` at
    95 % (the "rule of three").

    Examples
    --------
    >>> round(upper_limit(0, 300).high, 8)
    0.00993608
    """
    _check_counts(nok, checked, confidence)
    high = beta_quantile(confidence, nok + 1, checked - nok) if nok < checked else 1.0
    return Interval(low=0.0, high=high, confidence=confidence, sides=1)


def parts_to_prove_clean(
    clean_share: float, confidence: float, detection: float = 1.0, already_checked: int = 0, nok: int = 0
) -> int:
    """Count the further OK parts that show the affected share to be below `clean_share`.

    Parameters
    ----------
    clean_share
        "Clean" means: a smaller share than this is affected; above 0, at most 1.
    confidence
        Chance that a worse lot would not have passed, between 0 and 1.
    detection
        Chance that a truly defective part is called NOK, above 0 and at most 1; the lowest of all
        checks used.
    already_checked
        Parts checked already, 0 or more.
    nok
        Parts NOK among them, 0 to `already_checked`.

    Returns
    -------
    int
        0 when enough are there already.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    The smallest sample in which so few NOK demonstrate the reliability: binomial P(X <= nok) of a lot
    of just `clean_share` is at most 1 - `confidence`. Without NOK it is the "success run" without a
    prior: 29 parts for 90 % reliability with 95 % confidence; the variant with a flat prior, one part
    less, is not used. False alarms are left out; with them a part is called OK less often, so the
    proof is on the safe side. Without NOK the numbers are read as the decimals that a person types and
    the logarithms have 50 digits, so that a share of 0.1 and a confidence of 0.19 give exactly 2.

    Examples
    --------
    >>> parts_to_prove_clean(0.10, 0.95)
    29
    >>> parts_to_prove_clean(0.10, 0.95, detection=0.90, already_checked=20)
    12
    >>> parts_to_prove_clean(0.10, 0.95, already_checked=20, nok=1)
    26
    """
    if not 0.0 < clean_share <= 1.0:
        raise ValueError(f"clean_share must be above 0 and at most 1, not {clean_share!r}")
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"confidence must be above 0 and below 1, not {confidence!r}")
    if not 0.0 < detection <= 1.0:
        raise ValueError(f"detection must be above 0 and at most 1, not {detection!r}")
    if not 0 <= nok <= already_checked:
        raise ValueError(f"nok must be 0 to already_checked, not {nok!r} of {already_checked!r}")
    needed = (
        _sample_with_nok(nok, clean_share * detection, 1.0 - confidence)
        if nok
        else _success_run(clean_share, confidence, detection)
    )
    return max(0, needed - already_checked)


def _sample_with_nok(nok: int, share: float, risk: float) -> int:
    """Smallest n with P(X <= nok) <= risk for X binomial with n trials of chance `share`."""
    if share == 1.0:
        return nok + 1

    def is_enough(n: int) -> bool:
        return beta_cdf(1.0 - share, n - nok, nok + 1) <= risk * (1.0 + 1e-12)

    high = 2 * (nok + 1)
    while not is_enough(high):
        high *= 2
    low = nok  # so many, all NOK, show nothing
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if is_enough(middle) else (middle, high)
    return high


def _success_run(clean_share: float, confidence: float, detection: float) -> int:
    with localcontext() as context:
        context.prec = 50
        passes = 1 - Decimal(repr(float(clean_share))) * Decimal(repr(float(detection)))
        if passes == 0:
            return 1
        parts = (1 - Decimal(repr(float(confidence)))).ln() / passes.ln()
        # A ratio within 1e-30 (relatively) of a whole number is that number: 0.9 ** 2 is 0.81.
        return max(1, int((parts * (1 - Decimal("1e-30"))).to_integral_value(ROUND_CEILING)))


def fisher_exact(a: int, b: int, c: int, d: int) -> float:
    """Two-sided p of Fisher's exact test for the table ``a b / c d``.

    Parameters
    ----------
    a, b
        First group: parts with and without the mark; 0 or more.
    c, d
        Second group, likewise.

    Returns
    -------
    float
        Above or equal 0, at most 1: the chance, with all margins given, of a table that is at most
        as probable as this one. 1 when a margin is 0. Only the p is given; programs differ in what
        they call the odds ratio of this test.

    Raises
    ------
    ValueError
        If a count is negative.

    Notes
    -----
    Tables within 1e-7 (relative) of the observed chance count as equally probable, as in R's
    ``fisher.test``.

    Examples
    --------
    The lady tasting tea, three of four right.

    >>> round(fisher_exact(3, 1, 1, 3), 4)
    0.4857
    """
    if min(a, b, c, d) < 0:
        raise ValueError("counts must not be negative")
    first, second, marked = a + b, c + d, a + c
    low, high = max(0, marked - second), min(marked, first)
    if low == high:
        return 1.0

    def log_chance(k: int) -> float:
        return hypergeometric_log_pmf(k, first, second, marked)

    seen = log_chance(a) + math.log1p(_SAME)
    mode = min(high, max(low, (first + 1) * (marked + 1) // (first + second + 2)))
    if log_chance(mode) <= seen:
        return 1.0
    # On each side of the mode the chances fall; find where they are down to the observed one.
    last_below = _last_true(lambda k: log_chance(k) <= seen, low, mode)
    last_above = _last_true(lambda k: log_chance(-k) <= seen, -high, -mode)
    total = 0.0
    if last_below is not None:
        total += tail_sum(last_below, -1, low, first, second, marked)
    if last_above is not None:
        total += tail_sum(-last_above, +1, high, first, second, marked)
    return min(1.0, total)


def fisher_fewer(a: int, b: int, c: int, d: int) -> float:
    """One-sided p of Fisher's exact test for the table ``a b / c d``: so few marked in the first group.

    Parameters
    ----------
    a, b
        First group: parts with and without the mark; 0 or more.
    c, d
        Second group, likewise.

    Returns
    -------
    float
        Above or equal 0, at most 1: the chance, with all margins given, of `a` or fewer marked parts in
        the first group. 1 when a margin is 0.

    Raises
    ------
    ValueError
        If a count is negative.

    Examples
    --------
    The lady tasting tea, all four right: nothing was called wrongly in the first group.

    >>> round(fisher_fewer(0, 4, 4, 0), 4)
    0.0143
    """
    if min(a, b, c, d) < 0:
        raise ValueError("counts must not be negative")
    first, second, marked = a + b, c + d, a + c
    low, high = max(0, marked - second), min(marked, first)
    if a == high:
        return 1.0
    # The sum runs away from the mode, where it is short; beyond the mode it is that of the other tail.
    if a < (first + 1) * (marked + 1) // (first + second + 2):
        return min(1.0, tail_sum(a, -1, low, first, second, marked))
    return max(0.0, 1.0 - tail_sum(a + 1, +1, high, first, second, marked))


def share_difference(
    nok: int, checked: int, other_nok: int, other_checked: int, confidence: float = 0.95
) -> Interval:
    """Two-sided interval for the share of one group less that of another (Newcombe's method 10).

    Parameters
    ----------
    nok, checked
        Parts NOK in the first group, 0 to `checked`, and parts checked, at least 1.
    other_nok, other_checked
        The same of the second group.
    confidence
        Above 0 and below 1; half of the rest lies on each side.

    Returns
    -------
    Interval
        With ``sides=2``; -1 to 1. It is made of the Wilson limits of both shares, so it is close to the
        confidence and not exact.

    Raises
    ------
    ValueError
        If counts or confidence are out of range.

    References
    ----------
    Newcombe (1998), Statistics in Medicine 17, 873-890, method 10 (hybrid score, no correction).

    Examples
    --------
    >>> limits = share_difference(56, 70, 48, 80)
    >>> round(limits.low, 4), round(limits.high, 4)
    (0.0524, 0.3339)
    """
    first = _wilson_limits(nok, checked, confidence)
    second = _wilson_limits(other_nok, other_checked, confidence)
    one, other = nok / checked, other_nok / other_checked
    return Interval(
        low=max(-1.0, one - other - math.hypot(one - first[0], second[1] - other)),
        high=min(1.0, one - other + math.hypot(first[1] - one, other - second[0])),
        confidence=confidence,
        sides=2,
    )


def _wilson_limits(nok: int, checked: int, confidence: float) -> tuple[float, float]:
    _check_counts(nok, checked, confidence)
    z_squared = chi_square_quantile(confidence, 1.0)
    middle = nok + z_squared / 2.0
    spread = math.sqrt(z_squared * (nok * (checked - nok) / checked + z_squared / 4.0))
    low = (middle - spread) / (checked + z_squared) if nok > 0 else 0.0
    high = (middle + spread) / (checked + z_squared) if nok < checked else 1.0
    return low, high


def _last_true(holds: Callable[[int], bool], low: int, high: int) -> int | None:
    """Largest k in [low, high) for which `holds`, true first and then false; none when there is none."""
    if not holds(low):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def tail_sum(start: int, direction: int, end: int, first: int, second: int, drawn: int) -> float:
    """Sum hypergeometric chances from `start` outwards, each from the one before it."""
    term = math.exp(hypergeometric_log_pmf(start, first, second, drawn))
    total = term
    k = start
    while k != end and term > 1e-18 * total:
        if direction > 0:
            term *= (first - k) * (drawn - k) / ((k + 1) * (second - drawn + k + 1))
        else:
            term *= k * (second - drawn + k) / ((first - k + 1) * (drawn - k + 1))
        total += term
        k += direction
    return total


def _check_counts(nok: int, checked: int, confidence: float) -> None:
    if not 0 <= nok <= checked or checked < 1:
        raise ValueError(f"nok must be 0 to checked and checked at least 1, not {nok!r} of {checked!r}")
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"confidence must be above 0 and below 1, not {confidence!r}")
