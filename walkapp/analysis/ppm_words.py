"""What a ppm says, in words: every limit with its kind, and nothing rounded to the comfortable side."""

from __future__ import annotations

import math
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal, localcontext

from walkapp.analysis.ppm import LARGEST_COUNT, AgainstTarget, PpmRate, RateComparison
from walkapp.analysis.results import Interval
from walkapp.analysis.wording import p_in_words, percent
from walkapp.language import decimal_text, grouped_text, msg, tr, trn, whole_text

MODEL = msg(
    "Limits: exact for counts (Poisson, Garwood), 95 %. They take NOK parts for independent; "
    "parts that one cause made bad come together, so the true rate varies more."
)
"""What has to be known to read the limits."""


def ppm_number(ppm: float, rounding: str = ROUND_HALF_EVEN) -> str:
    """Write a number of ppm: two decimals below 100, one below 1,000, whole from there on.

    Parameters
    ----------
    ppm
        0 or more and finite.
    rounding
        A rounding of :mod:`decimal`; limits are rounded outwards.

    Examples
    --------
    >>> ppm_number(700.0), ppm_number(59.9146, ROUND_CEILING), ppm_number(12345.6), ppm_number(0.001)
    ('700', '59.92', '12,346', '<0.01')
    """
    exact = Decimal(repr(float(ppm)))
    step = Decimal("0.01") if exact < 100 else Decimal("0.1") if exact < 1000 else Decimal(1)
    with localcontext(prec=400):  # wide enough for every float
        found = exact.quantize(step, rounding=rounding)
    if found == 0 and exact > 0:
        return decimal_text("<0.01")
    text = f"{found:f}"
    return grouped_text(text.rstrip("0").rstrip(".") if "." in text else text)


def limits_words(limits: Interval) -> str:
    """Write limits in ppm with their kind, rounded outwards.

    Examples
    --------
    >>> limits_words(Interval(low=487.58, high=973.53, confidence=0.95, sides=2))
    '487.5 to 973.6 ppm, two-sided 95 %'
    >>> limits_words(Interval(low=0.0, high=59.9146, confidence=0.95, sides=1))
    'at most 59.92 ppm, one-sided 95 %'
    >>> limits_words(Interval(low=517.39, high=math.inf, confidence=0.95, sides=1))
    'lower limit 517.3 ppm, one-sided 95 %'
    """
    confidence = percent(limits.confidence)
    kind = (
        tr("two-sided {confidence}", confidence=confidence)
        if limits.sides == 2
        else tr("one-sided {confidence}", confidence=confidence)
    )
    if math.isinf(limits.high):
        return tr(
            "lower limit {ppm_number} ppm, {kind}",
            ppm_number=ppm_number(limits.low, ROUND_FLOOR),
            kind=kind,
        )
    high = ppm_number(limits.high, ROUND_CEILING)
    if limits.sides == 1:
        return tr("at most {high} ppm, {kind}", high=high, kind=kind)
    return tr(
        "{ppm_number} to {high} ppm, {kind}",
        ppm_number=ppm_number(limits.low, ROUND_FLOOR),
        high=high,
        kind=kind,
    )


def nok_words(nok: int, *, is_least: bool) -> str:
    """Say how many NOK parts there are.

    Examples
    --------
    >>> nok_words(1_234, is_least=False), nok_words(2, is_least=True), nok_words(0, is_least=True)
    ('1,234 NOK', 'at least 2 NOK', '0 or more NOK')
    """
    if is_least and not nok:
        return tr("0 or more NOK")
    return (
        tr("at least {nok} NOK", nok=whole_text(nok)) if is_least else tr("{nok} NOK", nok=whole_text(nok))
    )


def counts_words(rate: PpmRate) -> str:
    """Say how many NOK parts came of how many delivered.

    Examples
    --------
    >>> from walkapp.analysis.ppm import ppm_rate
    >>> counts_words(ppm_rate(35, 50_000)), counts_words(ppm_rate(2, 9, is_least=True))
    ('35 NOK of 50,000 delivered', 'at least 2 NOK of 9 delivered')
    """
    return tr(
        "{nok} of {delivered} delivered",
        nok=nok_words(rate.nok, is_least=rate.is_least),
        delivered=whole_text(rate.delivered),
    )


def ppm_words(rate: PpmRate) -> str:
    """Say a ppm alone.

    Examples
    --------
    >>> from walkapp.analysis.ppm import ppm_rate
    >>> ppm_words(ppm_rate(35, 50_000)), ppm_words(ppm_rate(1, 9, is_least=True)), ppm_words(ppm_rate(0, 0))
    ('700 ppm', 'at least 111,111 ppm', 'no ppm')
    """
    if rate.ppm is None:
        return tr("no ppm")
    number = ppm_number(rate.ppm)
    return (
        tr("at least {number} ppm", number=number) if rate.is_least else tr("{number} ppm", number=number)
    )


def rate_words(rate: PpmRate) -> str:
    """Say a ppm and its limits.

    Examples
    --------
    >>> from walkapp.analysis.ppm import ppm_rate
    >>> rate_words(ppm_rate(35, 50_000))
    '700 ppm (487.5 to 973.6 ppm, two-sided 95 %)'
    >>> rate_words(ppm_rate(0, 50_000))
    '0 ppm (at most 59.92 ppm, one-sided 95 %)'
    >>> rate_words(ppm_rate(35, 50_000, is_least=True))
    'at least 700 ppm (lower limit 517.3 ppm, one-sided 95 %; no upper limit)'
    >>> rate_words(ppm_rate(3, 0))
    'no ppm, since nothing was delivered'
    """
    if rate.ppm is None:
        return tr("no ppm, since nothing was delivered")
    said = ppm_words(rate)
    if rate.limits is None:
        return tr(
            "{said} (limits are not worked out above {largest_count} NOK parts)",
            said=said,
            largest_count=whole_text(LARGEST_COUNT),
        )
    values = {"said": said, "limits": limits_words(rate.limits)}
    if rate.is_least:
        return tr("{said} ({limits}; no upper limit)", **values)
    return tr("{said} ({limits})", **values)


def target_words(found: AgainstTarget, rate: PpmRate | None) -> str:
    """Say in one sentence, without the full stop, how a rate stands against its target.

    Parameters
    ----------
    found
        What was found of the rate.
    rate
        The rate itself; none when nothing was counted.

    Examples
    --------
    >>> from walkapp.analysis.ppm import against_target, ppm_rate
    >>> rate = ppm_rate(35, 50_000)
    >>> target_words(against_target(rate, 1000), rate)
    'Shown to be below the target of 1,000 ppm (at most 928.1 ppm, one-sided 95 %)'
    >>> target_words(against_target(rate, 500), rate)
    'Above the target of 500 ppm, and shown to be (lower limit 517.3 ppm, one-sided 95 %)'
    """
    target = tr("the target of {ppm_number} ppm", ppm_number=ppm_number(found.target))
    if rate is None or rate.ppm is None:
        return tr("There is no ppm to hold against {target}", target=target)
    if found.state == "shown_below" and rate.upper is not None:
        return tr("Shown to be below {target} ({limits})", target=target, limits=limits_words(rate.upper))
    if found.state == "shown_above" and rate.lower is not None:
        return tr(
            "Above {target}, and shown to be ({limits})", target=target, limits=limits_words(rate.lower)
        )
    if found.state == "above":
        if rate.lower is None:
            return tr("Above {target}; with 95 % confidence not shown to be", target=target)
        limits = limits_words(rate.lower)
        return tr(
            "Above {target}; with 95 % confidence not shown to be ({limits})", target=target, limits=limits
        )
    if rate.is_least:
        return tr(
            "Not shown to be below {target}: of the NOK parts only a least number is known", target=target
        )
    if not found.target:
        return tr(
            "No NOK part so far, as {target} asks; no count can show a rate of exactly 0", target=target
        )
    below = (
        tr(
            "Not shown to be below {target} (confidence {confidence}, 95 % is asked for)",
            target=target,
            confidence=percent(found.confidence),
        )
        if found.confidence
        else tr("Not shown to be below {target}", target=target)
    )
    if not found.further_parts:
        return below
    return trn(
        "{below}: {count} more part without a NOK one would show it",
        "{below}: {count} more parts without a NOK one would show it",
        found.further_parts,
        below=below,
    )


def comparison_words(found: RateComparison) -> str:
    """Say whether two periods differ, without the full stop.

    Examples
    --------
    >>> from walkapp.analysis.ppm import compare_rates, ppm_rate
    >>> comparison_words(compare_rates(ppm_rate(11, 800), ppm_rate(21, 3011)))
    'no difference is shown (p = 0.08, exact; below 0.01 would show one)'
    """
    p = p_in_words(found.p)
    if not found.is_shown:
        return tr("no difference is shown ({p}, exact; below 0.01 would show one)", p=p)
    higher = found.ratio is not None and found.ratio > 1
    return (
        tr("the rate is higher ({p}, exact)", p=p) if higher else tr("the rate is lower ({p}, exact)", p=p)
    )
