"""NOK parts of a million delivered, with exact limits.

The model is Poisson: parts come back from deliveries of many months, so a month may have more NOK parts
than parts delivered, which no binomial count can. At the rates that are told in ppm the two hardly differ
(35 of 50,000: 487.6 to 973.6 against 487.6 to 973.4), and the Poisson limits are the wider ones.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from walkapp.analysis.results import Interval
from walkapp.analysis.special import (
    beta_cdf,
    beta_quantile,
    binomial_log_pmf,
    chi_square_cdf,
    chi_square_quantile,
)

MILLION = 1_000_000
CONFIDENCE = 0.95

LARGEST_COUNT = 1_000_000
"""NOK parts up to which limits are worked out; nobody needs them beyond, and the time would grow."""

CHANCE_LEVEL = 0.01
"""Two periods are told to differ when p is below this: a new month is compared twelve times a year."""

_MOST_NEEDED = 1e15
"""Parts that no plant will ever deliver."""

_SAME = 1e-7
"""Outcomes whose chances differ by less than this, relatively, count as equally probable."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PpmRate:
    """NOK parts of a million delivered.

    Parameters
    ----------
    nok
        NOK parts counted, 0 or more; it may be above `delivered`.
    delivered
        Parts delivered, 0 or more.
    is_least
        Whether there are at least so many NOK parts, as when a quantity is not known. There is no upper
        limit then.
    ppm
        ``nok / delivered`` times a million; none when nothing was delivered.
    limits
        Exact 95 % limits in ppm, the ones to tell: two-sided; of a count of zero the one-sided upper one;
        of a least count the one-sided lower one, with ``high`` infinite. ``sides`` says which. None when
        there is no ppm or more than ``LARGEST_COUNT`` parts are NOK.
    lower, upper
        The exact one-sided 95 % limits in ppm; no upper one of a least count.
    """

    nok: int
    delivered: int
    is_least: bool
    ppm: float | None
    limits: Interval | None
    lower: Interval | None
    upper: Interval | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AgainstTarget:
    """How a rate stands against a target.

    Parameters
    ----------
    target
        In ppm, 0 or more.
    state
        ``shown_below`` when the one-sided upper limit is below the target, ``shown_above`` when the
        one-sided lower limit is above it; else ``not_shown`` when the ppm is at most the target and
        ``above`` when it is more; ``unknown`` without a ppm.
    confidence
        With which confidence the rate is below the target: the chance that a rate of just the target
        had brought more NOK parts than were counted. None without a ppm or an upper limit.
    further_parts
        Further parts that would have to be delivered without a NOK one until it is shown to be below;
        0 when it is. None where no number of parts would do.
    """

    target: float
    state: str
    confidence: float | None
    further_parts: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RateComparison:
    """Whether two periods differ.

    Parameters
    ----------
    p
        Two-sided p of the exact test that both have the same rate, above 0 and at most 1.
    ratio
        Rate of the first divided by that of the second; infinite when the second has no NOK part. None
        when neither has one.
    interval
        Exact two-sided limits of the ratio, 0 to infinity; none when neither has a NOK part.
    """

    p: float
    ratio: float | None
    interval: Interval | None

    @property
    def is_shown(self) -> bool:
        """Whether they are told to differ."""
        return self.p < CHANCE_LEVEL


def count_limits(count: int, confidence: float = CONFIDENCE) -> Interval:
    """Two-sided exact limits of the expected value of a Poisson count (Garwood).

    Parameters
    ----------
    count
        0 to ``LARGEST_COUNT``.
    confidence
        Above 0 and below 1; half of the rest lies on each side.

    Returns
    -------
    Interval
        With ``sides=2``. The low limit of a count of zero is 0, and its high limit stays the two-sided
        one (3.689 at 95 %, not the 2.996 of :func:`count_upper`).

    Raises
    ------
    ValueError
        If count or confidence are out of range.

    References
    ----------
    Garwood (1936), Biometrika 28, 437-442 (method).

    Examples
    --------
    >>> limits = count_limits(25)
    >>> round(limits.low, 2), round(limits.high, 2)
    (16.18, 36.9)
    """
    _check(count, confidence)
    beyond = (1.0 - confidence) / 2.0
    return Interval(
        low=_low(count, beyond),
        high=chi_square_quantile(1.0 - beyond, 2 * count + 2) / 2.0,
        confidence=confidence,
        sides=2,
    )


def count_upper(count: int, confidence: float = CONFIDENCE) -> Interval:
    """One-sided exact upper limit of the expected value of a Poisson count.

    Parameters and errors are those of :func:`count_limits`.

    Returns
    -------
    Interval
        With ``sides=1`` and ``low=0``; 2.996 for a count of zero at 95 % (the "rule of three").

    Examples
    --------
    >>> round(count_upper(0).high, 4), round(count_upper(10).high, 4)
    (2.9957, 16.9622)
    """
    _check(count, confidence)
    high = chi_square_quantile(confidence, 2 * count + 2) / 2.0
    return Interval(low=0.0, high=high, confidence=confidence, sides=1)


def count_lower(count: int, confidence: float = CONFIDENCE) -> Interval:
    """One-sided exact lower limit of the expected value of a Poisson count; ``high`` is infinite."""
    _check(count, confidence)
    low = _low(count, 1.0 - confidence)
    return Interval(low=low, high=math.inf, confidence=confidence, sides=1)


def ppm_rate(nok: int, delivered: int, *, is_least: bool = False) -> PpmRate:
    """Work out NOK parts of a million delivered, with exact 95 % limits.

    Parameters
    ----------
    nok, delivered
        0 or more.
    is_least
        Whether there are at least so many NOK parts.

    Raises
    ------
    ValueError
        If a count is negative.

    Examples
    --------
    >>> rate = ppm_rate(35, 50_000)
    >>> rate.ppm, round(rate.limits.low, 3), round(rate.limits.high, 3), rate.limits.sides
    (700.0, 487.576, 973.531, 2)

    Nothing came back: at most 59.9 ppm, one-sided 95 %.

    >>> limits = ppm_rate(0, 50_000).limits
    >>> round(limits.high, 4), limits.sides
    (59.9146, 1)
    """
    if nok < 0 or delivered < 0:
        raise ValueError(f"counts must not be negative, not {nok!r} of {delivered!r}")
    ppm = nok * MILLION / delivered if delivered else None
    if ppm is None or nok > LARGEST_COUNT:
        return PpmRate(
            nok=nok, delivered=delivered, is_least=is_least, ppm=ppm, limits=None, lower=None, upper=None
        )
    lower = _in_ppm(count_lower(nok), delivered)
    upper = None if is_least else _in_ppm(count_upper(nok), delivered)
    both = upper if nok == 0 else _in_ppm(count_limits(nok), delivered)
    limits = lower if is_least else both
    return PpmRate(
        nok=nok, delivered=delivered, is_least=is_least, ppm=ppm, limits=limits, lower=lower, upper=upper
    )


def joined(rates: Iterable[PpmRate]) -> PpmRate | None:
    """Put the rates of several months together; none when there is none.

    Examples
    --------
    >>> joined([ppm_rate(0, 25_000), ppm_rate(35, 25_000)]).ppm
    700.0
    """
    every = tuple(rates)
    if not every:
        return None
    return ppm_rate(
        sum(one.nok for one in every),
        sum(one.delivered for one in every),
        is_least=any(one.is_least for one in every),
    )


def against_target(rate: PpmRate | None, target: float) -> AgainstTarget:
    """Say how a rate stands against a target.

    Parameters
    ----------
    rate
        What was counted; none for nothing.
    target
        In ppm, 0 or more.

    Raises
    ------
    ValueError
        If the target is negative or no number.

    Examples
    --------
    >>> found = against_target(ppm_rate(0, 50_000), 50)
    >>> found.state, found.further_parts, round(found.confidence, 4)
    ('not_shown', 9915, 0.9179)
    """
    if not 0.0 <= target < math.inf:
        raise ValueError(f"target must be 0 or more and finite, not {target!r}")
    if rate is None or rate.ppm is None:
        return AgainstTarget(target=target, state="unknown", confidence=None, further_parts=None)
    if rate.upper is None:
        return AgainstTarget(target=target, state=_state(rate, target), confidence=None, further_parts=None)
    expected = target * rate.delivered / MILLION
    needed = count_upper(rate.nok).high * MILLION / target if target else math.inf
    # The smallest number delivered with which the limit is below the target, not just at it.
    enough = math.floor(needed) + 1 if needed < _MOST_NEEDED else None
    return AgainstTarget(
        target=target,
        state=_state(rate, target),
        confidence=chi_square_cdf(2.0 * expected, 2 * rate.nok + 2),
        further_parts=None if enough is None else max(0, enough - rate.delivered),
    )


def compare_rates(first: PpmRate, second: PpmRate, confidence: float = CONFIDENCE) -> RateComparison | None:
    """Test whether two periods have the same rate.

    Parameters
    ----------
    first, second
        Periods that share no delivery.
    confidence
        Of the interval, above 0 and below 1.

    Returns
    -------
    RateComparison or None
        None when nothing was delivered in one of them, a count is a least one, or there are more than
        ``LARGEST_COUNT`` NOK parts.

    Notes
    -----
    Given all NOK parts, those of the first period are binomial with its part of the deliveries as chance
    (the conditional test). Outcomes at most as probable as the one seen add up to p, as in SciPy and R.
    It takes the NOK parts for independent: parts that one cause made bad come together, and then p is too
    small.

    Examples
    --------
    11 in 800 against 21 in 3,011 (the example of R's ``poisson.test``).

    >>> found = compare_rates(ppm_rate(11, 800), ppm_rate(21, 3011))
    >>> round(found.p, 5), round(found.ratio, 6)
    (0.07967, 1.971488)
    >>> round(found.interval.low, 7), round(found.interval.high, 7)
    (0.8584264, 4.2772659)
    """
    total = first.nok + second.nok
    if (
        not (first.delivered and second.delivered)
        or first.is_least
        or second.is_least
        or total > LARGEST_COUNT
    ):
        return None
    if total == 0:
        return RateComparison(p=1.0, ratio=None, interval=None)
    chance = first.delivered / (first.delivered + second.delivered)
    beyond = (1.0 - confidence) / 2.0
    low = beta_quantile(beyond, first.nok, second.nok + 1) if first.nok else 0.0
    high = beta_quantile(1.0 - beyond, first.nok + 1, second.nok) if second.nok else 1.0
    exposure = second.delivered / first.delivered
    return RateComparison(
        p=_two_sided(first.nok, total, chance),
        ratio=first.nok / second.nok * exposure if second.nok else math.inf,
        interval=Interval(
            low=low / (1.0 - low) * exposure,
            high=high / (1.0 - high) * exposure if second.nok else math.inf,
            confidence=confidence,
            sides=2,
        ),
    )


def _state(rate: PpmRate, target: float) -> str:
    if rate.upper is not None and rate.upper.high < target:
        return "shown_below"
    if rate.lower is not None and rate.lower.low > target:
        return "shown_above"
    return "above" if rate.ppm is not None and rate.ppm > target else "not_shown"


def _low(count: int, beyond: float) -> float:
    return chi_square_quantile(beyond, 2 * count) / 2.0 if count else 0.0


def _in_ppm(limits: Interval, delivered: int) -> Interval:
    return Interval(
        low=limits.low * MILLION / delivered,
        high=limits.high * MILLION / delivered,
        confidence=limits.confidence,
        sides=limits.sides,
    )


def _two_sided(seen: int, total: int, chance: float) -> float:
    """Two-sided p of a binomial count: all outcomes that are at most as probable as the one seen."""
    if not 0.0 < chance < 1.0:  # one period is so much larger that its part is 1 to the last digit
        chance = min(max(chance, 1e-300), 1.0 - 2.0**-53)
    if seen > chance * total:
        seen, chance = total - seen, 1.0 - chance
    limit = binomial_log_pmf(seen, total, chance) + math.log1p(_SAME)
    low, high = math.ceil(chance * total), total + 1
    while low < high:  # beyond the mean the chances fall
        middle = (low + high) // 2
        low, high = (
            (low, middle) if binomial_log_pmf(middle, total, chance) <= limit else (middle + 1, high)
        )
    if low <= seen:
        return 1.0
    below = beta_cdf(1.0 - chance, total - seen, seen + 1) if seen < total else 1.0
    above = beta_cdf(chance, low, total - low + 1) if low <= total else 0.0
    return min(1.0, below + above)


def _check(count: int, confidence: float) -> None:
    if not 0 <= count <= LARGEST_COUNT:
        raise ValueError(f"count must be 0 to {LARGEST_COUNT}, not {count!r}")
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"confidence must be above 0 and below 1, not {confidence!r}")
