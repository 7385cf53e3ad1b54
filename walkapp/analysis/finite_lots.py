"""What a sample says of the one lot that it was taken from, and of the parts that are left: exactly."""

from __future__ import annotations

import math
from collections.abc import Callable
from decimal import ROUND_CEILING, Decimal

from walkapp.analysis.proportions import proportion_interval, tail_sum
from walkapp.analysis.special import hypergeometric_log_pmf

MOST_SEARCHED = 100_000_000
"""Parts up to which the exact limits of :func:`nok_among_the_rest` are searched."""

_TIE = 1.0 + 1e-12
"""A chance this much above the risk, relatively, is the risk: 1 of 20 parts left out is just 5 %."""


def chance_of_no_nok(affected: int, checked: int, lot_size: int, detection: float = 1.0) -> float:
    """Chance that a sample of a lot shows no NOK part.

    Parameters
    ----------
    affected
        Affected parts in the lot, 0 to `lot_size`.
    checked
        Parts drawn from the lot without putting any back, 0 to `lot_size`.
    lot_size
        Parts in the lot, at least 1.
    detection
        Chance that an affected part is called NOK, above 0 and at most 1.

    Returns
    -------
    float
        0 to 1.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    The mean of ``(1 - detection) ** x`` over the hypergeometric number x of affected parts in the
    sample. With ``detection=1`` that is the hypergeometric chance of x = 0. False alarms are left out:
    with them a part is called OK less often.

    Examples
    --------
    One affected part of 50: a sample of 48 misses it with a chance of 2 in 50.

    >>> round(chance_of_no_nok(1, 48, 50), 12)
    0.04
    """
    if lot_size < 1 or not 0 <= affected <= lot_size or not 0 <= checked <= lot_size:
        raise ValueError(
            f"affected and checked must be 0 to lot_size, not {affected}, {checked}, {lot_size}"
        )
    if not 0.0 < detection <= 1.0:
        raise ValueError(f"detection must be above 0 and at most 1, not {detection!r}")
    good = lot_size - affected
    low, high = max(0, checked - good), min(affected, checked)
    if detection == 1.0:
        return 0.0 if low > 0 else math.exp(hypergeometric_log_pmf(0, affected, good, checked))
    missed = 1.0 - detection

    def ratio(x: int) -> float:
        """Term of x + 1 over the term of x; it falls with x."""
        return missed * (affected - x) * (checked - x) / ((x + 1) * (good - checked + x + 1))

    # Summed outwards from the largest term, so that nothing underflows on the way.
    mode = first_true(lambda x: ratio(x) <= 1.0, low, high)
    log_term = hypergeometric_log_pmf(mode, affected, good, checked) + mode * math.log(missed)
    largest = math.exp(log_term)
    total = term = largest
    for x in range(mode, high):
        term *= ratio(x)
        total += term
        if term <= 1e-18 * total:
            break
    term = largest
    for x in range(mode, low, -1):
        term /= ratio(x - 1)
        total += term
        if term <= 1e-18 * total:
            break
    return min(1.0, total)


def most_affected(checked: int, lot_size: int, confidence: float = 0.95, detection: float = 1.0) -> int:
    """Largest number of affected parts that a lot may hold when a sample of it showed none.

    Parameters
    ----------
    checked
        Parts checked, all OK; 0 to `lot_size`.
    lot_size
        Parts in the lot, those checked among them; at least 1.
    confidence
        Above 0 and below 1; a one-sided limit.
    detection
        Chance that an affected part is called NOK, above 0 and at most 1.

    Returns
    -------
    int
        0 to `lot_size`: with more affected parts the chance of such a sample is at most
        1 - `confidence`.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Examples
    --------
    >>> most_affected(45, 100), most_affected(48, 50)
    (4, 0)
    """
    _check_confidence(confidence)
    risk = (1.0 - confidence) * _TIE
    too_many = first_true(
        lambda affected: chance_of_no_nok(affected, checked, lot_size, detection) <= risk, 0, lot_size + 1
    )
    return too_many - 1


def parts_to_prove_lot_clean(
    clean_share: float, lot_size: int, confidence: float = 0.95, detection: float = 1.0
) -> int | None:
    """Count the OK parts of a lot that show its affected share to be below `clean_share`.

    Parameters
    ----------
    clean_share
        Above 0, at most 1; the number of affected parts that it stands for is rounded up.
    lot_size
        Parts in the lot, at least 1.
    confidence
        Above 0 and below 1; one-sided.
    detection
        Chance that an affected part is called NOK, above 0 and at most 1.

    Returns
    -------
    int or None
        Parts to check in all, drawn without putting any back; none when checking every part of the
        lot once would not show it, because the check misses too many.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Examples
    --------
    >>> parts_to_prove_lot_clean(0.05, 500), parts_to_prove_lot_clean(0.01, 50)
    (56, 48)
    >>> parts_to_prove_lot_clean(0.01, 50, detection=0.9) is None
    True
    """
    if not 0.0 < clean_share <= 1.0:
        raise ValueError(f"clean_share must be above 0 and at most 1, not {clean_share!r}")
    _check_confidence(confidence)
    # From the shortest decimal that stands for the share: 7 % of 100 are 7 parts and not 8.
    affected = int((Decimal(repr(float(clean_share))) * lot_size).to_integral_value(ROUND_CEILING))
    risk = (1.0 - confidence) * _TIE
    needed = first_true(
        lambda parts: chance_of_no_nok(affected, parts, lot_size, detection) <= risk, 0, lot_size + 1
    )
    return needed if needed <= lot_size else None


def nok_among_the_rest(nok: int, checked: int, left: int, confidence: float = 0.95) -> tuple[int, int]:
    """Two-sided limits for the NOK parts among those that were not checked.

    Parameters
    ----------
    nok
        Parts NOK, 0 to `checked`.
    checked
        Parts checked, at least 1.
    left
        Parts that were not checked, 0 or more.
    confidence
        Above 0 and below 1; half of the rest lies on each side.

    Returns
    -------
    tuple of int
        Fewest and most, 0 to `left`. They hold if the parts checked are a fair sample of all.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    The hypergeometric tails are inverted for the NOK parts of all `checked` + `left`; what was found is
    taken off. Beyond ``MOST_SEARCHED`` parts the binomial (Clopper-Pearson) limits of the share stand
    in, which are wider.

    Examples
    --------
    >>> nok_among_the_rest(0, 45, 55), nok_among_the_rest(7, 100, 0)
    ((0, 5), (0, 0))
    """
    if left < 0:
        raise ValueError(f"left must not be negative, not {left!r}")
    shares = proportion_interval(nok, checked, confidence)
    everything = checked + left
    if everything > MOST_SEARCHED:
        most = min(left, math.floor(shares.high * everything) - nok)
        return min(most, max(0, math.ceil(shares.low * everything) - nok)), most
    beyond = (1.0 - confidence) / 2.0 * _TIE
    fewest = first_true(
        lambda more: 1.0 - _chance_up_to(nok - 1, nok + more, everything, checked) > beyond, 0, left
    )
    too_many = first_true(
        lambda more: _chance_up_to(nok, nok + more, everything, checked) <= beyond, 0, left + 1
    )
    return fewest, too_many - 1


def _chance_up_to(k: int, marked: int, everything: int, drawn: int) -> float:
    """Chance of at most `k` marked parts among those drawn; summed over the shorter tail."""
    plain = everything - marked
    low, high = max(0, drawn - plain), min(marked, drawn)
    if k < low:
        return 0.0
    if k >= high:
        return 1.0
    if k < (marked + 1) * (drawn + 1) // (everything + 2):
        return tail_sum(k, -1, low, marked, plain, drawn)
    return 1.0 - tail_sum(k + 1, +1, high, marked, plain, drawn)


def first_true(holds: Callable[[int], bool], low: int, high: int) -> int:
    """Smallest whole number in [low, high) for which `holds`, false first and then true; else `high`.

    Examples
    --------
    >>> first_true(lambda n: n * n >= 50, 0, 100), first_true(lambda n: False, 0, 9)
    (8, 9)
    """
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle + 1, high)
    return low


def _check_confidence(confidence: float) -> None:
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"confidence must be above 0 and below 1, not {confidence!r}")
