"""Indicators in words: values, targets, what they rest on, and which way they go."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction

from walkapp.analysis.indicators.fixed_set import DAYS, PERCENT, Indicator
from walkapp.analysis.indicators.forms import (
    LevelForm,
    NumberForm,
    ShareForm,
    SinceForm,
)
from walkapp.analysis.indicators.medians import MedianForm
from walkapp.analysis.indicators.ppm_form import PpmForm
from walkapp.analysis.indicators.reading import (
    BETTER,
    NO_BEFORE,
    NO_DATA,
    NO_TREND,
    NOT_SHOWN,
    OFF_TARGET,
    ON_TARGET,
    TOO_FEW,
    WORSE,
    Reading,
    Trend,
)
from walkapp.analysis.wording import share_from, share_range, share_to
from walkapp.language import day_said, decimal_text, grouped_text, msg, tr, trn, whole_text

STATE_WORDS = {
    ON_TARGET: msg("on target"),
    OFF_TARGET: msg("off target"),
    NOT_SHOWN: msg("not shown to be on target"),
    NO_DATA: msg("nothing to work it out from"),
}
"""How a figure stands against its target."""

TREND_WORDS = {
    BETTER: msg("better"),
    WORSE: msg("worse"),
    NO_TREND: msg("no trend to be seen"),
    TOO_FEW: msg("too few to tell a trend"),
    NO_BEFORE: msg("no earlier figures"),
}
"""Which way it goes."""

MET = msg(
    "A target is met only when the figures show it: where every case is counted by the "
    "value, otherwise by its limits (exact, two-sided 95 %; of PPM one-sided 95 % each). A "
    "median counts as met or missed only when nothing that is still open can change that."
)
TOLD = msg(
    "A trend is told when chance alone makes a change as great less often than 1 in 20 "
    "(exact tests, two-sided); days are compared as they are. Of 20 indicators that do not "
    "change, about one is called better or worse all the same."
)
HERE = msg("By the records here: what other tablets have recorded counts when it is merged.")

NOTES = (MET, TOLD, HERE)
"""What is taken for granted, a sentence each."""


def value_text(indicator: Indicator, reading: Reading) -> str:
    """Write a value with its unit, never rounded towards the comfortable side; empty for none.

    Parameters
    ----------
    indicator
        Which one.
    reading
        Its value.
    """
    if reading.value is None:
        return (
            ""
            if reading.low is None
            else tr("at least {number}", number=_number(indicator, Fraction(reading.low)))
        )
    return _number(indicator, reading.value)


def target_words(indicator: Indicator, target: Fraction) -> str:
    """Write a target, such as "at least 95 %"."""
    exact = Decimal(target.numerator) / Decimal(target.denominator)
    number = with_unit(indicator, grouped_text(f"{exact:f}"), is_one=target == 1)
    if indicator.more_is_better:
        return tr("at least {number}", number=number)
    return tr("at most {number}", number=number)


def with_unit(indicator: Indicator, number: str, *, is_one: bool = False) -> str:
    """Write a number with the unit of an indicator.

    Parameters
    ----------
    indicator
        Which one.
    number
        As it is written for a person.
    is_one
        Whether it is exactly 1.
    """
    if indicator.unit != DAYS:
        return f"{number} {indicator.unit}".strip()
    return tr("1 day") if is_one else tr("{days} days", days=number)


def basis_text(indicator: Indicator, reading: Reading) -> str:
    """Say what a value rests on: how many of how many, of which days, and its limits; empty for none."""
    if not reading.is_known:
        return ""
    form = indicator.form
    match form:
        case ShareForm():
            told = tr(
                "{hits} of {many}, {span}",
                hits=whole_text(reading.hits),
                many=_many(indicator, reading.many),
                span=tr(form.span),
            )
            limits = (
                tr("limits {low}", low=share_range(reading.low / 100, reading.high / 100))
                if reading.low is not None and reading.high is not None
                else ""
            )
        case NumberForm():
            told = tr(form.span)
            limits = tr("records here begin on {last}", last=day_said(reading.last)) if reading.last else ""
        case SinceForm():
            told = tr("the last on {last}", last=day_said(reading.last))
            limits = (
                trn(
                    "records here go back only {count} day",
                    "records here go back only {count} days",
                    round(reading.low),
                )
                if reading.low is not None
                else ""
            )
        case LevelForm(is_age=True):
            told, limits = _many(indicator, reading.hits), ""
        case LevelForm():
            told, limits = tr("of {many}", many=_many(indicator, reading.many)), ""
        case MedianForm():
            values = {
                "many": _many(indicator, reading.many),
                "span": tr(form.span),
                "open": whole_text(reading.still_open),
            }
            told = (
                tr("estimated median of {many}, {span}, {open} still open", **values)
                if reading.has_limits and reading.value is not None
                else tr("median of {many}, {span}, {open} still open", **values)
            )
            limits = _what_it_can_become(reading)
        case PpmForm():
            told = tr(
                "{hits} of {many} of the 12 months to {last}",
                hits=whole_text(reading.hits),
                many=_many(indicator, reading.many),
                last=day_said(reading.last),
            )
            limits = _ppm_limits(reading)
        case _:
            raise ValueError(f"no words for {form!r}")
    return "; ".join(filter(None, (told, limits)))


def _what_it_can_become(reading: Reading) -> str:
    if reading.low is None or reading.value is None:
        return ""
    low = decimal_text(f"{reading.low:.0f}")
    if reading.high is None:
        return tr("it can still become {low} or more", low=low)
    return tr("it can still become {low} to {high}", low=low, high=decimal_text(f"{reading.high:.0f}"))


def _ppm_limits(reading: Reading) -> str:
    low = f"{_whole(Fraction(reading.low), ROUND_FLOOR)}" if reading.low is not None else ""
    high = f"{_whole(Fraction(reading.high), ROUND_CEILING)}" if reading.high is not None else ""
    if low and high and reading.low:
        return tr("limits {low} to {high}", low=low, high=high)
    if high:
        return tr("at most {high}", high=high)
    return tr("at least {low}, as a quantity is not known", low=low) if low else ""


def trend_text(indicator: Indicator, trend: Trend) -> str:
    """Say which way it goes, with the value of the time before where there is one."""
    words = tr(TREND_WORDS[trend.word])
    before = value_text(indicator, trend.before) if trend.before is not None else ""
    form = indicator.form
    match form:
        case SinceForm() if trend.before is not None:
            many = _many(indicator, trend.before.hits)
            return tr("{words} ({many} in the 26 weeks before the last 26)", words=words, many=many)
        case LevelForm() if before:
            weeks = form.length // 7
            if trend.word == NO_TREND:
                return tr("as {weeks} weeks before ({before})", weeks=weeks, before=before)
            return tr(
                "{words} than {weeks} weeks before ({before})", words=words, weeks=weeks, before=before
            )
        case PpmForm() if before:
            return tr(
                "{words} (the newest 3 months against {before} of the 3 before)", words=words, before=before
            )
        case _ if before:
            return tr("{words} (before: {before})", words=words, before=before)
    return words


def _number(indicator: Indicator, value: Fraction) -> str:
    if indicator.unit == PERCENT:
        share = float(value / 100)
        return share_from(share) if indicator.more_is_better else share_to(share)
    rounded = _whole(value, ROUND_FLOOR if indicator.more_is_better else ROUND_CEILING)
    return with_unit(indicator, rounded, is_one=rounded == "1")


def _whole(value: Fraction, rounding: str) -> str:
    exact = value.numerator // value.denominator
    if rounding == ROUND_CEILING and value.denominator != 1:
        exact += 1
    return whole_text(exact)


def _many(indicator: Indicator, many: int) -> str:
    return trn(*indicator.noun, many)


def month_basis(indicator: Indicator, reading: Reading) -> str:
    """Say what the value of one month rests on, in a few words."""
    match indicator.form:
        case ShareForm() | PpmForm():
            return tr(
                "{hits} of {many}", hits=whole_text(reading.hits), many=_many(indicator, reading.many)
            )
        case MedianForm():
            many = _many(indicator, reading.many)
            if not reading.still_open:
                return many
            return tr("{many}, {still_open} still open", many=many, still_open=reading.still_open)
        case SinceForm():
            return tr("the last on {last}", last=day_said(reading.last))
        case LevelForm(is_age=False):
            return tr("of {many}", many=_many(indicator, reading.many))
    return _many(indicator, reading.hits)


def point_note(indicator: Indicator) -> str:
    """Say what one month of a figure stands for."""
    match indicator.form:
        case LevelForm() | SinceForm():
            return tr("Each point: as it was on the last day of the month, by the records as they are now.")
        case MedianForm():
            return tr("Each point: the median of what was reported in the month, as it is known today.")
        case PpmForm():
            return tr("Each point: what was delivered in the month.")
    return tr("Each point: what the month brought.")


def limits_note(indicator: Indicator) -> str:
    """Say how the limits of an indicator are made."""
    match indicator.form:
        case ShareForm(is_estimate=True):
            return tr("Limits: exact, two-sided 95 % (Clopper-Pearson).")
        case PpmForm():
            return tr("Limits: exact, one-sided 95 % each (Poisson).")
        case MedianForm():
            return tr("Lines: what the median can still become, whatever becomes of what is open.")
        case NumberForm() | SinceForm():
            return tr(
                "Limits: none, as all records count; lines: what may have been before records here begin."
            )
    return tr("Every case is counted, so there are no limits.")
