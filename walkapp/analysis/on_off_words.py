"""What an on/off confirmation proves, in words: what is proved, what each figure takes for granted."""

from __future__ import annotations

from collections.abc import Iterator

from walkapp.analysis.on_off import (
    CONTRADICTED,
    LEVEL,
    OFF,
    ON,
    PROVED,
    REMAINS,
    OnOff,
    StateFigures,
)
from walkapp.analysis.wording import (
    p_in_words,
    parts_in_words,
    percent_at_most,
    rounded,
    share_range,
    share_to,
)
from walkapp.language import decimal_text, msg, tr, trn, whole_text

STATE_WORDS = {ON: msg("ON"), OFF: msg("OFF")}
"""The states as they are shown, said with :func:`walkapp.language.tr`."""


def on_off_sentence(found: OnOff, what: str, unit: str = "", decimals: int = 0) -> str:
    """Say in one sentence, or two, what the turns prove.

    Parameters
    ----------
    found
        What was worked out.
    what
        What was switched, in words.
    unit
        Unit of the values; may be empty.
    decimals
        Decimals of a mean.

    Examples
    --------
    >>> from walkapp.analysis.on_off import Turn, confirm_counts
    >>> on_off_sentence(confirm_counts([Turn(number=1, state="on", checked=10, nok=6)]), "clamp pads")
    'Nothing shown yet: 6 of 10 NOK when on, no turn off. Switch it off.'
    """
    if not found.turns:
        return tr("Nothing shown yet: no turn is done.")
    figures = figures_in_words(found, unit, decimals)
    if found.within is None:
        if found.on.turns:
            return tr("Nothing shown yet: {figures}. Switch it off.", figures=figures)
        return tr("Nothing shown yet: {figures}. Switch it on.", figures=figures)
    match found.verdict:
        case "proved":
            return tr(
                "Proved: {moved} {times} times: {figures}. {apart}",
                moved=_moved(found, what),
                times=found.times,
                figures=figures,
                apart=_apart(found),
            )
        case "contradicted":
            return tr("Contradicted: {against}: {figures}.", against=_against(found), figures=figures)
        case "not shown" if found.is_counted and not found.on.nok and not found.off.nok:
            return tr("Not shown: the defect did not come at all: {figures}.", figures=figures)
        case "not shown":
            return tr(
                "Not shown: {figures}; chance alone gives such a difference with {within}. {to_prove}",
                figures=figures,
                within=p_in_words(found.within),
                to_prove=_to_prove(found),
            )
        case _:
            return tr(
                "Points that way, not proved: {figures}. {to_prove}",
                figures=figures,
                to_prove=_to_prove(found),
            )


def figures_in_words(found: OnOff, unit: str = "", decimals: int = 0) -> str:
    """Say what came out on and off; parameters as for :func:`on_off_sentence`."""
    return ", ".join(_figure(found, state, unit, decimals) for state in (ON, OFF))


def _figure(found: OnOff, state: str, unit: str, decimals: int) -> str:
    one = found.on if state == ON else found.off
    if not one.turns:
        return tr("no turn on") if state == ON else tr("no turn off")
    if one.mean is not None:
        mean = f"{rounded(float(one.mean), decimals)} {unit}".strip()
        return (
            tr("mean {mean} when on", mean=mean) if state == ON else tr("mean {mean} when off", mean=mean)
        )
    counts = {"nok": one.nok, "checked": one.checked}
    if state == ON:
        return tr("{nok} of {checked} NOK when on", **counts)
    return tr("{nok} of {checked} NOK when off", **counts)


def _moved(found: OnOff, what: str) -> str:
    if not found.is_counted:
        return tr("switching “{what}” moved the values and moved them back", what=what)
    if found.off.nok:
        return tr("switching “{what}” raised and lowered the share NOK", what=what)
    return tr("switching “{what}” made the defect come and go", what=what)


def _apart(found: OnOff) -> str:
    if not found.is_counted:
        if found.is_more:
            return tr("The mean of every turn on is above that of every turn off.")
        return tr("The mean of every turn on is below that of every turn off.")
    return tr("Every turn on has a greater share NOK than every turn off.")


def _against(found: OnOff) -> str:
    if found.off.nok and not found.on.nok:
        return tr("the defect came when it was off, and not when it was on")
    return tr("the defect came when it was off too, and no more of it when it was on")


def _to_prove(found: OnOff) -> str:
    """Say what is missing, and what would prove it."""
    missing = ""
    if (pair := found.overlap) is not None:
        on, off = pair
        return tr(
            "Turn {number} (on) and turn {number2} (off) do not differ as the others do. "
            "Find out why, then begin a new confirmation: these turns can no longer prove it.",
            number=on.number,
            number2=off.number,
        )
    if found.by_turns is not None and found.by_turns > LEVEL:
        missing = tr(
            "{turns} on and {turns2} off stand apart like this by chance {odds}.",
            turns=_turns(found.on),
            turns2=found.off.turns,
            odds=_odds(found),
        )
    if found.further is None:
        proves = tr("Make more parts in each turn: so few show too little.")
    else:
        proves = trn(
            "{count} more turn with results like the last ones would prove it.",
            "{count} more turns, on and off in turn, with results like the last ones would prove it.",
            found.further,
        )
    return " ".join(filter(None, (missing, proves)))


def _turns(figures: StateFigures) -> str:
    return trn("{count} turn", "{count} turns", figures.turns)


def _odds(found: OnOff) -> str:
    chance = found.by_turns
    if chance is None:
        raise ValueError("there must be turns on and off")
    if chance == 1:
        return tr("always")
    return trn(
        "{count} time in {all}",
        "{count} times in {all}",
        chance.numerator,
        all=whole_text(chance.denominator),
    )


def on_off_lines(found: OnOff) -> tuple[str, ...]:
    """Say what lies behind the sentence, a line each: both chances, and what remains when off."""
    return tuple(_lines(found))


def _lines(found: OnOff) -> Iterator[str]:
    for state, one in ((ON, found.on), (OFF, found.off)):
        if one.interval is not None:
            yield (
                tr(
                    "{state_words}: {nok} of {checked} NOK, {low} (exact, two-sided 95 %).",
                    state_words=tr(STATE_WORDS[state]),
                    nok=one.nok,
                    checked=parts_in_words(one.checked),
                    low=share_range(one.interval.low, one.interval.high),
                )
            )
    yield from chance_lines(found)
    if found.by_turns is not None and found.verdict != CONTRADICTED and found.is_counted:
        yield _remaining(found)


def chance_lines(found: OnOff) -> tuple[str, ...]:
    """Say how likely chance alone gives such turns, a line for each way to reckon it."""
    return tuple(_chances(found))


def _chances(found: OnOff) -> Iterator[str]:
    if found.within is None or found.by_turns is None:
        return
    values = {"within": p_in_words(found.within), "how": _how(found)}
    yield (
        tr("By parts: {within} ({how}, one-sided, on against off in neighbouring turns).", **values)
        if found.is_counted
        else tr("By parts: {within} ({how}, two-sided, on against off in neighbouring turns).", **values)
    )
    if found.pooled is not None:
        yield tr("All parts in one pot: {pooled} (Fisher, one-sided).", pooled=p_in_words(found.pooled))
    turns = {"turns": _turns(found.on), "turns2": found.off.turns, "odds": _odds(found)}
    yield (
        tr(
            "By turns: {turns} on and {turns2} off all stand apart, as they did, {odds} if switching "
            "makes no difference.",
            **turns,
        )
        if found.are_apart
        else tr(
            "By turns: {turns} on and {turns2} off all stand apart, which they did not, {odds} if "
            "switching makes no difference.",
            **turns,
        )
    )


def _how(found: OnOff) -> str:
    """Say how the chance by parts was worked out."""
    if not found.draws:
        return tr("exact")
    if found.error is None:
        return tr("from {draws} random shufflings", draws=found.draws)
    return tr(
        "from {draws} random shufflings, 95 % interval {low} to {high}",
        draws=found.draws,
        low=decimal_text(f"{found.error.low:.2g}"),
        high=decimal_text(f"{found.error.high:.2g}"),
    )


def _remaining(found: OnOff) -> str:
    """Say how much of the defect may remain when it is off."""
    interval = found.off.interval
    if interval is None:
        raise ValueError("there must be parts off")
    upper = tr("up to {high} of the parts may be NOK when off", high=share_to(interval.high))
    if found.off.nok:
        return tr(
            "The defect did not go away altogether: {upper}. Another cause, or a false alarm, may remain.",
            upper=upper,
        )
    if interval.high > REMAINS:
        return tr("So few parts were made off that {upper}: another cause may remain.", upper=upper)
    return tr(
        "None was NOK when off: {upper} (above {remains} another cause may remain).",
        upper=upper,
        remains=percent_at_most(REMAINS),
    )


def on_off_notes(found: OnOff) -> tuple[str, ...]:
    """Say what the figures take for granted, a line each."""
    if found.within is None:
        return ()
    return (
        tr(
            "By parts takes each part of two neighbouring turns for independent. A machine "
            "that drifts makes the parts of one turn alike; then this p is too small."
        ),
        tr(
            "By turns takes only the turns as units: without the cause, any order of them is "
            "equally likely."
        ),
        tr(
            "Both take for granted that nothing else was changed along with the switch, and "
            "that parts were judged alike, best without knowing on or off."
        ),
        tr("It proves a cause for these parts on this machine, not that it is the only one.")
        if found.verdict == PROVED
        else tr("At best it proves a cause for these parts on this machine, not that it is the only one."),
    )
