"""Whether a mean or a spread has changed from one sample to the next, and by how much.

All limits and p-values are two-sided. Those of shifts are exact for paired normal values and, for
separate samples, Welch's close approximation; those of spreads are exact for normal values and, unlike
those of means, do not forgive values that are far from normal.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from walkapp.analysis.moments import Moments, Number, exact, moments_of, whole_numbers
from walkapp.analysis.proportions import fisher_exact
from walkapp.analysis.results import Interval
from walkapp.analysis.special import f_cdf, f_quantile, student_t_cdf, student_t_quantile
from walkapp.language import msg, tr

PAIRED_T = msg("paired t")
WELCH_T = msg("Welch t")
SIGN_CHANGE = msg("exact sign change")
EXCHANGE = msg("exact exchange")
F_RATIO = msg("F ratio")
PITMAN_MORGAN = "Pitman-Morgan"
NO_TEST = "none"

CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """By how much the later mean lies above the earlier one.

    Parameters
    ----------
    value
        Later mean less earlier mean; for pairs the mean difference.
    method
        ``PAIRED_T``, ``WELCH_T``, ``SIGN_CHANGE``, ``EXCHANGE`` or ``NO_TEST``.
    earlier_count, later_count
        Values that it stands on; for pairs both are the number of pairs.
    standard_error
        Of `value`; none where there is no spread to judge by or fewer than two values.
    degrees
        Degrees of freedom of the t distribution, at least 1; none likewise.
    p
        Two-sided, 0 to 1: the chance of a shift at least as large when there is none; none when
        nothing can be said.
    why
        In a few words, why there is no interval; empty when there is one.
    """

    value: float
    method: str
    earlier_count: int
    later_count: int
    standard_error: float | None = None
    degrees: float | None = None
    p: float | None = None
    why: str = ""

    def interval(self, confidence: float = CONFIDENCE) -> Interval | None:
        """Two-sided t interval for the shift; none where there is no standard error.

        Raises
        ------
        ValueError
            If the confidence is not above 0 and below 1.
        """
        check_confidence(confidence)
        if self.standard_error is None or self.degrees is None:
            return None
        return _around(self.value, self.standard_error, self.degrees, confidence)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadChange:
    """How many times the later standard deviation is the earlier one.

    Parameters
    ----------
    ratio
        Later over earlier standard deviation, 0 or more; none when it cannot be given.
    method
        ``F_RATIO``, ``PITMAN_MORGAN`` or ``NO_TEST``.
    earlier_degrees, later_degrees
        Degrees of freedom of the two standard deviations: values less 1; below 0 for no value.
    p
        Two-sided, 0 to 1; none when nothing can be said.
    unlinked
        For pairs, 1 - r^2: the share of the spread at one place that the other does not explain.
    why
        In a few words, why there is no interval; empty when there is one.
    """

    ratio: float | None
    method: str
    earlier_degrees: int
    later_degrees: int
    p: float | None = None
    unlinked: float | None = None
    why: str = ""

    def interval(self, confidence: float = CONFIDENCE) -> Interval | None:
        """Two-sided interval for the ratio of the standard deviations, exact for normal values.

        Returns
        -------
        Interval or None
            Ratios above 0; none where nothing can be said.

        Raises
        ------
        ValueError
            If the confidence is not above 0 and below 1.

        Notes
        -----
        Separate samples: the ratio of variances over the two quantiles of F. Pairs: all ratios that
        the Pitman-Morgan test does not reject. With r the correlation of the pairs, t the quantile
        for n - 2 degrees of freedom and K = 1 + 2 (1 - r^2) t^2 / (n - 2), that is the observed ratio
        of variances times K -+ sqrt(K^2 - 1).

        References
        ----------
        E. J. G. Pitman (1939), "A note on normal correlation", Biometrika 31, 9-12.
        W. A. Morgan (1939), "A test for the significance of the difference between the two variances
        in a sample from a normal bivariate population", Biometrika 31, 13-19.
        """
        check_confidence(confidence)
        if self.ratio is None or self.p is None:
            return None
        beyond = 0.5 * (1.0 - confidence)
        if self.unlinked is None:
            upper = f_quantile(beyond, self.earlier_degrees, self.later_degrees)
            lower = f_quantile(beyond, self.later_degrees, self.earlier_degrees)
            low, high = self.ratio * math.sqrt(upper), self.ratio / math.sqrt(lower)
        else:
            degrees = self.later_degrees - 1
            excess = 2.0 * self.unlinked * student_t_quantile(beyond, degrees) ** 2 / degrees
            factor = math.sqrt(1.0 + excess + math.sqrt(excess * (2.0 + excess)))
            low, high = self.ratio / factor, self.ratio * factor
        return Interval(low=low, high=high, confidence=confidence, sides=2)


def mean_interval(values: Sequence[Number], confidence: float = CONFIDENCE) -> Interval | None:
    """Two-sided t interval for the mean of all parts, exact for normal values.

    Parameters
    ----------
    values
        Any number, in any order.
    confidence
        Above 0 and below 1; half of the rest lies on each side.

    Returns
    -------
    Interval or None
        In the unit of the values; none for fewer than two values and for values that are all equal,
        whose spread is hidden by the resolution of the instrument.

    Raises
    ------
    ValueError
        If a value or the confidence is out of range.

    References
    ----------
    Student (1908), "The probable error of a mean", Biometrika 6, 1-25.

    Examples
    --------
    >>> limits = mean_interval([10.1, 10.3, 10.5])
    >>> round(limits.low, 4), round(limits.high, 4)
    (9.8032, 10.7968)
    """
    check_confidence(confidence)
    found = moments_of([exact(value) for value in values]) if values else None
    if found is None or not found.variance:
        return None
    error = math.sqrt(found.variance / found.count)
    return _around(float(found.mean), error, found.count - 1, confidence)


def paired_shift(earlier: Sequence[Number], later: Sequence[Number]) -> Shift:
    """Compare the same parts, measured twice.

    Parameters
    ----------
    earlier, later
        One value a part, in the same order of parts; at least one part.

    Returns
    -------
    Shift
        ``PAIRED_T`` from two parts on. Where every part has moved by exactly the same amount there
        is no spread to judge by: ``SIGN_CHANGE`` then gives the p of Fisher's sign-change test,
        2 / 2^n (1 when no part has moved), and no interval.

    Raises
    ------
    ValueError
        If the lengths differ, there is no part, or a value is out of range.

    References
    ----------
    Student (1908), as for :func:`mean_interval`, of the differences. Sign change: R. A. Fisher (1935),
    The Design of Experiments, section 21 (from memory).

    Examples
    --------
    >>> shift = paired_shift([10.1, 10.4, 9.9], [10.3, 10.7, 10.2])
    >>> round(shift.value, 4), round(shift.p, 4)
    (0.2667, 0.0153)
    """
    if len(earlier) != len(later) or not earlier:
        raise ValueError("pairs need as many later as earlier values, and at least one")
    pairs = len(earlier)
    moved = moments_of([exact(b) - exact(a) for a, b in zip(earlier, later, strict=True)])
    value = float(moved.mean)
    if moved.variance is None:
        return _untested(value, pairs, pairs, tr("fewer than 2 pairs"))
    if not moved.variance:
        return Shift(
            value=value,
            method=SIGN_CHANGE,
            earlier_count=pairs,
            later_count=pairs,
            p=2.0 ** (1 - pairs) if value else 1.0,
            why=tr("every part moved by the same amount") if value else tr("no part moved"),
        )
    error = math.sqrt(moved.variance / pairs)
    return _tested(value, PAIRED_T, pairs, pairs, error, pairs - 1.0)


def separate_shift(earlier: Sequence[Number], later: Sequence[Number]) -> Shift:
    """Compare two samples of different parts, whose spreads may differ.

    Parameters
    ----------
    earlier, later
        Values of each sample, at least one, in any order.

    Returns
    -------
    Shift
        ``WELCH_T`` from two values a sample on. Where neither sample has any spread, ``EXCHANGE``
        gives the exact p of exchanging parts between the two samples (that of Fisher's exact test
        for a complete separation, 1 when all values are equal), and no interval.

    Raises
    ------
    ValueError
        If a sample is empty or a value is out of range.

    Notes
    -----
    The degrees of freedom are not rounded. Equal spreads are never assumed.

    References
    ----------
    B. L. Welch (1947), "The generalization of 'Student's' problem when several different population
    variances are involved", Biometrika 34, 28-35. NIST/SEMATECH e-Handbook of Statistical Methods,
    7.3.1.

    Examples
    --------
    >>> shift = separate_shift([10.1, 10.4, 9.9], [10.3, 10.7, 10.2])
    >>> round(shift.value, 4), round(shift.p, 4)
    (0.2667, 0.2747)
    """
    if not earlier or not later:
        raise ValueError("each sample needs at least one value")
    first, second = _moments(earlier), _moments(later)
    value = float(second.mean - first.mean)
    if first.variance is None or second.variance is None:
        return _untested(value, first.count, second.count, tr("fewer than 2 parts in a sample"))
    own = first.variance / first.count, second.variance / second.count
    square = own[0] + own[1]
    if not square:
        return Shift(
            value=value,
            method=EXCHANGE,
            earlier_count=first.count,
            later_count=second.count,
            p=fisher_exact(first.count, 0, 0, second.count) if value else 1.0,
            why=tr("no spread in either sample"),
        )
    share = float(own[0] / square)
    inverse = share**2 / (first.count - 1) + (1.0 - share) ** 2 / (second.count - 1)
    least, most = min(first.count, second.count) - 1, first.count + second.count - 2
    degrees = min(float(most), max(float(least), 1.0 / inverse))
    return _tested(value, WELCH_T, first.count, second.count, math.sqrt(square), degrees)


def paired_spread_change(earlier: Sequence[Number], later: Sequence[Number]) -> SpreadChange:
    """Compare the spread of the same parts, measured twice.

    Parameters
    ----------
    earlier, later
        One value a part, in the same order of parts.

    Returns
    -------
    SpreadChange
        ``PITMAN_MORGAN`` from three pairs on, unless one spread is 0 or the pairs lie on one line.

    Raises
    ------
    ValueError
        If the lengths differ or a value is out of range.

    Notes
    -----
    Spreads are equal exactly when sums and differences of the pairs are uncorrelated. The p is exact
    for normal pairs; with heavy tails it is too small (R. Wilcox (2015), "Comparing the variances of
    two dependent variables", Journal of Statistical Distributions and Applications,
    doi 10.1186/s40488-015-0030-z).

    References
    ----------
    Pitman (1939), Morgan (1939), as for :meth:`SpreadChange.interval`.

    Examples
    --------
    >>> change = paired_spread_change([1.0, 2.0, 3.0, 4.0], [1.1, 2.9, 5.2, 7.0])
    >>> round(change.ratio, 3), round(change.p, 4)
    (2.002, 0.0022)
    """
    if len(earlier) != len(later):
        raise ValueError("pairs need as many later as earlier values")
    degrees = len(earlier) - 1
    if degrees < 1:
        return _unspread(None, degrees, degrees, tr("fewer than 3 pairs"))
    before, _ = whole_numbers([exact(value) for value in (*earlier, *later)])
    before, after = before[: degrees + 1], before[degrees + 1 :]
    own_before, own_after, joint = (
        _joint_spread(before, before),
        _joint_spread(after, after),
        _joint_spread(before, after),
    )
    ratio = math.sqrt(Fraction(own_after, own_before)) if own_before else None
    unlinked = own_before * own_after - joint * joint
    if not own_before or not own_after:
        return _unspread(ratio, degrees, degrees, tr("no spread at one of the two"))
    if degrees < 2:
        return _unspread(ratio, degrees, degrees, tr("fewer than 3 pairs"))
    if not unlinked:
        return _unspread(ratio, degrees, degrees, tr("the pairs lie on one line"))
    square = Fraction((own_after - own_before) ** 2 * (degrees - 1), 4 * unlinked)
    return SpreadChange(
        ratio=ratio,
        method=PITMAN_MORGAN,
        earlier_degrees=degrees,
        later_degrees=degrees,
        p=2.0 * student_t_cdf(-math.sqrt(square), degrees - 1),
        unlinked=float(Fraction(unlinked, own_before * own_after)),
    )


def separate_spread_change(earlier: Sequence[Number], later: Sequence[Number]) -> SpreadChange:
    """Compare the spread of two samples of different parts.

    Parameters
    ----------
    earlier, later
        Values of each sample, in any order.

    Returns
    -------
    SpreadChange
        ``F_RATIO`` from two values a sample on, unless one spread is 0. The p is twice the smaller
        tail, exact for normal values and misleading for values that are far from normal.

    Raises
    ------
    ValueError
        If a value is out of range.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.9 (from memory).

    Examples
    --------
    >>> change = separate_spread_change([1.0, 2.0, 3.0, 4.0], [1.1, 2.9, 5.2, 7.0])
    >>> round(change.ratio, 3), round(change.p, 4)
    (2.002, 0.2839)
    """
    degrees = len(earlier) - 1, len(later) - 1
    if min(degrees) < 1:
        return _unspread(None, *degrees, tr("fewer than 2 parts in a sample"))
    first, second = _moments(earlier).variance, _moments(later).variance
    ratio = math.sqrt(second / first) if first and second is not None else None
    if not first or not second or ratio is None:
        return _unspread(ratio, *degrees, tr("no spread in a sample"))
    square = float(second / first)
    tails = f_cdf(square, degrees[1], degrees[0]), f_cdf(1.0 / square, degrees[0], degrees[1])
    return SpreadChange(
        ratio=ratio,
        method=F_RATIO,
        earlier_degrees=degrees[0],
        later_degrees=degrees[1],
        p=min(1.0, 2.0 * min(tails)),
    )


def check_confidence(confidence: float) -> None:
    """Refuse what is no confidence.

    Raises
    ------
    ValueError
        If it is not above 0 and below 1.
    """
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"confidence must be above 0 and below 1, not {confidence!r}")


def _moments(values: Sequence[Number]) -> Moments:
    return moments_of([exact(value) for value in values])


def _joint_spread(first: Sequence[int], second: Sequence[int]) -> int:
    """Number of pairs times the sum of products of deviations."""
    products = sum(a * b for a, b in zip(first, second, strict=True))
    return len(first) * products - sum(first) * sum(second)


def _around(value: float, error: float, degrees: float, confidence: float) -> Interval:
    reach = -student_t_quantile(0.5 * (1.0 - confidence), degrees) * error
    return Interval(low=value - reach, high=value + reach, confidence=confidence, sides=2)


def _tested(value: float, method: str, earlier: int, later: int, error: float, degrees: float) -> Shift:
    return Shift(
        value=value,
        method=method,
        earlier_count=earlier,
        later_count=later,
        standard_error=error,
        degrees=degrees,
        p=2.0 * student_t_cdf(-abs(value) / error, degrees),
    )


def _untested(value: float, earlier: int, later: int, why: str) -> Shift:
    return Shift(value=value, method=NO_TEST, earlier_count=earlier, later_count=later, why=why)


def _unspread(ratio: float | None, earlier: int, later: int, why: str) -> SpreadChange:
    return SpreadChange(ratio=ratio, method=NO_TEST, earlier_degrees=earlier, later_degrees=later, why=why)
