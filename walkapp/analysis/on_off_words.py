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

STATE_WORDS = {ON: "ON", OFF: "OFF"}
"""The states as they are shown."""


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
        return "Nothing shown yet: no turn is done."
    figures = figures_in_words(found, unit, decimals)
    if found.within is None:
        other = OFF if found.on.turns else ON
        return f"Nothing shown yet: {figures}. Switch it {other}."
    match found.verdict:
        case "proved":
            return f"Proved: {_moved(found, what)} {found.times} times: {figures}. {_apart(found)}"
        case "contradicted":
            return f"Contradicted: {_against(found)}: {figures}."
        case "not shown" if found.is_counted and not found.on.nok and not found.off.nok:
            return f"Not shown: the defect did not come at all: {figures}."
        case "not shown":
            return (
                f"Not shown: {figures}; chance alone gives such a difference with "
                f"{p_in_words(found.within)}. {_to_prove(found)}"
            )
        case _:
            return f"Points that way, not proved: {figures}. {_to_prove(found)}"


def figures_in_words(found: OnOff, unit: str = "", decimals: int = 0) -> str:
    """Say what came out on and off; parameters as for :func:`on_off_sentence`."""
    return ", ".join(_figure(found, state, unit, decimals) for state in (ON, OFF))


def _figure(found: OnOff, state: str, unit: str, decimals: int) -> str:
    one = found.on if state == ON else found.off
    if not one.turns:
        return f"no turn {state}"
    if one.mean is not None:
        return f"mean {rounded(float(one.mean), decimals)}{f' {unit}' if unit else ''} when {state}"
    return f"{one.nok} of {one.checked} NOK when {state}"


def _moved(found: OnOff, what: str) -> str:
    if not found.is_counted:
        return f"switching “{what}” moved the values and moved them back"
    if found.off.nok:
        return f"switching “{what}” raised and lowered the share NOK"
    return f"switching “{what}” made the defect come and go"


def _apart(found: OnOff) -> str:
    if not found.is_counted:
        side = "above" if found.is_more else "below"
        return f"The mean of every turn on is {side} that of every turn off."
    return "Every turn on has a greater share NOK than every turn off."


def _against(found: OnOff) -> str:
    if found.off.nok and not found.on.nok:
        return "the defect came when it was off, and not when it was on"
    return "the defect came when it was off too, and no more of it when it was on"


def _to_prove(found: OnOff) -> str:
    """Say what is missing, and what would prove it."""
    missing = ""
    if (pair := found.overlap) is not None:
        on, off = pair
        return (
            f"Turn {on.number} (on) and turn {off.number} (off) do not differ as the others do. Find out "
            "why, then begin a new confirmation: these turns can no longer prove it."
        )
    if found.by_turns is not None and found.by_turns > LEVEL:
        missing = (
            f"{_turns(found.on)} on and {found.off.turns} off stand apart like this by chance "
            f"{_odds(found)}. "
        )
    if found.further is None:
        return f"{missing}Make more parts in each turn: so few show too little."
    many = found.further
    turns = "1 more turn" if many == 1 else f"{many} more turns, on and off in turn,"
    return f"{missing}{turns[0].upper()}{turns[1:]} with results like the last ones would prove it."


def _turns(figures: StateFigures) -> str:
    return "1 turn" if figures.turns == 1 else f"{figures.turns} turns"


def _odds(found: OnOff) -> str:
    chance = found.by_turns
    if chance is None:
        raise ValueError("there must be turns on and off")
    if chance == 1:
        return "always"
    return f"{chance.numerator} time{'s' if chance.numerator > 1 else ''} in {chance.denominator}"


def on_off_lines(found: OnOff) -> tuple[str, ...]:
    """Say what lies behind the sentence, a line each: both chances, and what remains when off."""
    return tuple(_lines(found))


def _lines(found: OnOff) -> Iterator[str]:
    for state, one in ((ON, found.on), (OFF, found.off)):
        if one.interval is not None:
            yield (
                f"{STATE_WORDS[state]}: {one.nok} of {parts_in_words(one.checked)} NOK, "
                f"{share_range(one.interval.low, one.interval.high)} (exact, two-sided 95 %)."
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
    sides = "one-sided" if found.is_counted else "two-sided"
    how = f"from {found.draws} random shufflings" if found.draws else "exact"
    if found.error is not None:
        how += f", 95 % interval {found.error.low:.2g} to {found.error.high:.2g}"
    yield f"By parts: {p_in_words(found.within)} ({how}, {sides}, on against off in neighbouring turns)."
    if found.pooled is not None:
        yield f"All parts in one pot: {p_in_words(found.pooled)} (Fisher, one-sided)."
    came = "as they did" if found.are_apart else "which they did not"
    yield (
        f"By turns: {_turns(found.on)} on and {found.off.turns} off all stand apart, {came}, "
        f"{_odds(found)} if switching makes no difference."
    )


def _remaining(found: OnOff) -> str:
    """Say how much of the defect may remain when it is off."""
    interval = found.off.interval
    if interval is None:
        raise ValueError("there must be parts off")
    upper = f"up to {share_to(interval.high)} of the parts may be NOK when off"
    if found.off.nok:
        return (
            f"The defect did not go away altogether: {upper}. Another cause, or a false alarm, may remain."
        )
    if interval.high > REMAINS:
        return f"So few parts were made off that {upper}: another cause may remain."
    return f"None was NOK when off: {upper} (above {percent_at_most(REMAINS)} another cause may remain)."


def on_off_notes(found: OnOff) -> tuple[str, ...]:
    """Say what the figures take for granted, a line each."""
    if found.within is None:
        return ()
    proves = "It proves" if found.verdict == PROVED else "At best it proves"
    return (
        (
            "By parts takes each part of two neighbouring turns for independent. A machine that drifts "
            "makes the parts of one turn alike; then this p is too small."
        ),
        "By turns takes only the turns as units: without the cause, any order of them is equally likely.",
        (
            "Both take for granted that nothing else was changed along with the switch, and that parts "
            "were judged alike, best without knowing on or off."
        ),
        f"{proves} a cause for these parts on this machine, not that it is the only one.",
    )
