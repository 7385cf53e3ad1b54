"""Numbers, answers and times in words; numbers are never rounded towards the comfortable side."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal, localcontext

from walkapp.analysis.results import BAD, CLEAN, NOT_VISITED, UNDECIDED, BatchPlan
from walkapp.language import decimal_text, minute_text, msg, tr, trn, whole_text

ANSWER_WORDS = {"ok": msg("OK"), "not_ok": msg("NOK"), "not_applicable": msg("N/A")}
"""The three answers as they are shown, said with :func:`walkapp.language.tr`."""

SEVERITY_WORDS = {
    "safety": msg("Safety or regulatory"),
    "function": msg("Fit or function"),
    "appearance": msg("Appearance"),
}
"""The severity classes as they are shown, said with :func:`walkapp.language.tr`."""


GROUPING_WORDS = {
    "cavity": msg("cavity"),
    "fixture": msg("fixture"),
    "machine": msg("machine"),
    "rack": msg("rack"),
    "line": msg("line"),
    "unit": msg("parallel unit"),
    "walk": msg("walk"),
    "lot": msg("lot"),
    "shift": msg("shift"),
}
"""What the parts of a station are divided by, as it is shown, said with :func:`walkapp.language.tr`."""

_BY_GROUPING = {
    "cavity": msg("by cavity"),
    "fixture": msg("by fixture"),
    "machine": msg("by machine"),
    "rack": msg("by rack"),
    "line": msg("by line"),
    "unit": msg("by parallel unit"),
    "walk": msg("by walk"),
    "lot": msg("by lot"),
    "shift": msg("by shift"),
}

CHANGE_WORDS = {
    "man": msg("man"),
    "machine": msg("machine"),
    "material": msg("material"),
    "method": msg("method"),
    "measurement": msg("measurement"),
    "environment": msg("environment"),
}
"""The six kinds of change inside a sentence, said with :func:`walkapp.language.tr`."""

AIM_WORDS = {
    "containment": msg("containment action"),
    "corrective": msg("corrective action"),
    "preventive": msg("preventive action"),
}
"""What actions are for inside a sentence, said with :func:`walkapp.language.tr`."""

DIRECTION_WORDS = {
    "guided": msg("Guided"),
    "down": msg("Down the stream"),
    "up": msg("Up the stream"),
}
"""How a walk goes, as it is offered and shown, said with :func:`walkapp.language.tr`."""

RESPONSE_WORDS = {"nok": msg("NOK parts counted"), "value": msg("A value measured")}
"""What a confirmation looks at, said with :func:`walkapp.language.tr`."""

FRACTION_WORDS = {"full": msg("All combinations"), "half": msg("Half of them")}
"""How much of a trial's plan is run, said with :func:`walkapp.language.tr`."""

TOLD_WORDS = {"yes": msg("yes"), "no": msg("no"), "unknown": msg("not known")}
"""Whether a customer was told of a change, said with :func:`walkapp.language.tr`."""

VERDICT_MARKS = {CLEAN: "clean", BAD: "bad", UNDECIDED: "undecided", NOT_VISITED: "not_visited"}
"""Shape of each verdict."""


def counts_text(nok: int, checked: int) -> str:
    """Say how many of how many.

    Examples
    --------
    >>> counts_text(3, 20)
    '3 of 20 NOK'
    >>> counts_text(0, 0)
    ''
    """
    if not checked:
        return ""
    return tr("{nok} of {checked} NOK", nok=whole_text(nok), checked=whole_text(checked))


def days_text(count: int) -> str:
    """Write a number of days.

    Examples
    --------
    >>> days_text(1), days_text(12)
    ('1 day', '12 days')
    """
    return trn("{count} day", "{count} days", count)


def capital(words: str) -> str:
    """Begin with a capital letter, and leave the rest as it is."""
    return f"{words[:1].upper()}{words[1:]}"


def by_grouping(grouping: str) -> str:
    """Say what parts are divided by.

    Examples
    --------
    >>> by_grouping("cavity")
    'by cavity'
    """
    return tr(_BY_GROUPING.get(grouping, grouping))


def unit_label(grouping: str, name: str) -> str:
    """Name one unit of a grouping, with what it is where its name does not say so.

    Examples
    --------
    >>> unit_label("cavity", "2"), unit_label("cavity", "cavity 2")
    ('cavity 2', 'cavity 2')
    """
    word, said = tr(GROUPING_WORDS.get(grouping, grouping)), name.casefold()
    # The name may be in another language than the one that is spoken: that of the checklist.
    return name if word.casefold() in said or grouping in said else f"{word} {name}"


def in_one_line(words: str) -> str:
    """Put a text from a record into one line, so that it cannot pass for a line of its own.

    Examples
    --------
    >>> in_one_line("Blade sharp?\\n0 of 5 OK")
    'Blade sharp? 0 of 5 OK'
    """
    return " ".join(words.split())


def moment_text(moment: str) -> str:
    """Write a recorded time as date and minute, in the offset it was recorded with.

    Examples
    --------
    >>> moment_text("2026-03-02T06:10:59.120+01:00")
    '2026-03-02 06:10'
    """
    return minute_text(datetime.fromisoformat(moment))


def percent(probability: float) -> str:
    """Write a probability, cut off: 0.9497 is "94 %", so that nothing looks surer than it is.

    Parameters
    ----------
    probability
        0 to 1.

    Returns
    -------
    str
        Whole percent; one decimal below 1 % and from 99 % on; never 0 % and never 100 %.

    Examples
    --------
    >>> percent(0.9497), percent(0.29), percent(0.9996), percent(0.0)
    ('94 %', '29 %', '>99.9 %', '<0.1 %')
    """
    return _percent(probability, ROUND_FLOOR)


def percent_at_most(share: float) -> str:
    """Write an upper limit, rounded up: 0.1391 is "14 %".

    Parameters
    ----------
    share
        0 to 1.

    Returns
    -------
    str
        As :func:`percent`, rounded up.

    Examples
    --------
    >>> percent_at_most(0.1391), percent_at_most(0.00041)
    ('14 %', '<0.1 %')
    """
    return _percent(share, ROUND_CEILING)


def share_from(share: float) -> str:
    """Write the lower end of a range of shares, cut off; an end of exactly 0 or 1 stays exact.

    Examples
    --------
    >>> share_from(0.0), share_from(0.2306), share_from(0.0001)
    ('0 %', '23 %', '<0.1 %')
    """
    return "0 %" if share == 0 else "100 %" if share == 1 else percent(share)


def share_to(share: float) -> str:
    """Write the upper end of a range of shares, rounded up; an end of exactly 0 or 1 stays exact.

    Examples
    --------
    >>> share_to(1.0), share_to(0.1684)
    ('100 %', '17 %')
    """
    return "0 %" if share == 0 else "100 %" if share == 1 else percent_at_most(share)


def share_range(low: float, high: float) -> str:
    """Write a range of shares so that the words never claim a narrower range than the numbers.

    Parameters
    ----------
    low, high
        0 to 1, in order.

    Examples
    --------
    >>> share_range(0.0, 0.1684)
    '0 % to 17 %'
    """
    return tr("{low} to {high}", low=share_from(low), high=share_to(high))


def _percent(share: float, rounding: str) -> str:
    # From the shortest decimal that stands for the number: 0.29 is 29 %, not 28.999...
    exact = Decimal(repr(float(share))) * 100
    if exact > Decimal("99.9"):
        return decimal_text(">99.9 %")
    if exact < Decimal("0.1"):
        return decimal_text("<0.1 %")
    step = Decimal("0.1") if exact < 1 or exact >= 99 else Decimal(1)
    return decimal_text(f"{exact.quantize(step, rounding=rounding)} %")


def p_in_words(p: float) -> str:
    """Write a p, rounded up, so that nothing looks surer than it is.

    Parameters
    ----------
    p
        Above 0, at most 1.

    Examples
    --------
    >>> p_in_words(0.04321), p_in_words(1.0), p_in_words(1e-9)
    ('p = 0.044', 'p = 1', 'p < 0.0001')
    """
    return decimal_text("p < 0.0001") if p < 0.0001 else f"p = {two_digits(p, ROUND_CEILING)}"


def two_digits(p: float, rounding: str) -> str:
    """Write two digits of a probability, and none beyond the fourth decimal.

    Parameters
    ----------
    p
        0 to 1.
    rounding
        A rounding of :mod:`decimal`.

    Examples
    --------
    >>> two_digits(0.04321, ROUND_FLOOR)
    '0.043'
    """
    exact = Decimal(repr(p))
    step = Decimal(1).scaleb(max(-4, exact.adjusted() - 1))
    return decimal_text(f"{exact.quantize(step, rounding=rounding).normalize():f}")


def rounded(value: float, decimals: int, rounding: str = ROUND_HALF_EVEN) -> str:
    """Write a measured value, or something worked out from several, with so many decimals.

    Parameters
    ----------
    value
        Finite.
    decimals
        0 or more.
    rounding
        A rounding of :mod:`decimal`; limits are rounded outwards by :func:`value_range`.

    Returns
    -------
    str
        With a true minus sign; a zero has none.

    Examples
    --------
    >>> rounded(2.4983, 3), rounded(-0.0004, 3), rounded(-1.25, 1)
    ('2.498', '0.000', '−1.2')
    """
    step = Decimal(1).scaleb(-decimals)
    with localcontext(prec=400):  # wide enough for every float
        found = Decimal(repr(float(value))).quantize(step, rounding=rounding)
    return decimal_text(f"{abs(found):f}" if found >= 0 else f"−{abs(found):f}")


def value_range(low: float, high: float, decimals: int) -> str:
    """Write an interval, rounded outwards: the words never claim a narrower one than the numbers.

    Examples
    --------
    >>> value_range(-0.0834, 0.1201, 2)
    '−0.09 to 0.13'
    """
    return tr(
        "{low} to {high}",
        low=rounded(low, decimals, ROUND_FLOOR),
        high=rounded(high, decimals, ROUND_CEILING),
    )


def expected_parts(parts: float) -> str:
    """Write an expected number of parts.

    Examples
    --------
    >>> expected_parts(0.1), expected_parts(0.004), expected_parts(12.6)
    ('0.1', 'fewer than 0.1', '13')
    """
    if parts < 0.05:
        return tr("fewer than {number}", number=0.1) if parts > 0.0 else "0"
    return decimal_text(f"{parts:.1f}") if parts < 9.95 else f"{parts:.0f}"


def parts_in_words(many: int) -> str:
    """Write a number of parts.

    Examples
    --------
    >>> parts_in_words(1), parts_in_words(4800)
    ('1 part', '4,800 parts')
    """
    return trn("{count} part", "{count} parts", many)


def named(names: Sequence[str]) -> str:
    """Write a list of names that all are meant.

    Examples
    --------
    >>> named(["Moulding"]), named(["Moulding", "Packing"]), named(["A", "B", "C"])
    ('Moulding', 'Moulding and Packing', 'A, B and C')
    """
    if len(names) == 1:
        return names[0]
    return tr("{names} and {last}", names=", ".join(names[:-1]), last=names[-1])


def either(names: Sequence[str]) -> str:
    """Write a list of names of which one is meant.

    Examples
    --------
    >>> either(["Moulding"]), either(["Moulding", "Packing"])
    ('Moulding', 'Moulding or Packing')
    """
    if len(names) == 1:
        return names[0]
    return tr("{names} or {last}", names=", ".join(names[:-1]), last=names[-1])


def plans_in_words(plans: Sequence[BatchPlan]) -> str:
    """Write what other numbers of parts at one station would bring.

    Parameters
    ----------
    plans
        In order of their number of parts.

    Returns
    -------
    str
        For the last plan, the one two before it, and so on (three at most, the fewest parts first):
        parts, minutes, and the chance that one answer is sure afterwards.

    Examples
    --------
    >>> plans = [BatchPlan(parts=m, minutes=m / 4 + 1, bits=0.0, chance_sure=m / 50) for m in range(1, 9)]
    >>> plans_in_words(plans)
    '4 parts (2 min) 8 %, 6 parts (2 min) 12 %, 8 parts (3 min) 16 %'
    """
    return ", ".join(
        tr(
            "{parts} ({minutes} min) {chance}",
            parts=parts_in_words(plan.parts),
            minutes=f"{plan.minutes:.0f}",
            chance=percent(plan.chance_sure),
        )
        for plan in reversed(plans[:-7:-2])
    )
