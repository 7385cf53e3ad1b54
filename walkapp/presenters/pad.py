"""The number pad and the tolerance drawing, as plain values; the window only draws them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

from walkapp.analysis.quantities import is_same_unit
from walkapp.analysis.readings import plain_number, read_reading
from walkapp.language import decimal_text, tr

MOST_DIGITS = 12
MOST_DECIMALS = 6

MARGIN_SHARE = 0.3
"""Part of the tolerance width that is drawn beyond each limit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PadState:
    """What was typed on the pad so far.

    Parameters
    ----------
    text
        The number as typed, with a point and never a comma; may be unfinished, as ``-`` or ``12.``.
    is_whole
        Whether only whole numbers can be typed.
    """

    text: str = ""
    is_whole: bool = False

    @property
    def value(self) -> Decimal | None:
        """The number, with the decimals that were typed; none while there is no digit."""
        return plain_number(self.text)

    @property
    def shown(self) -> str:
        """What was typed as the person writes it."""
        return decimal_text(self.text)


@dataclass(frozen=True, slots=True, kw_only=True)
class ToleranceView:
    """A value against its limits, ready to be drawn on a scale from 0 (left) to 1 (right).

    Parameters
    ----------
    lsl, usl, nominal
        The limits and the nominal value in words, for example ``LSL 11.5``; empty where there is none.
    lsl_at, usl_at, nominal_at
        Where they are on the scale; none where there is none.
    value
        What is typed so far, with the unit; empty when nothing is.
    value_at
        Where the value is on the scale, at its end when it lies beyond; none when there is no value.
    is_off_scale
        Whether the value lies beyond an end of the scale.
    mark
        ``clean`` inside, ``bad`` outside, ``not_visited`` when there is nothing to judge.
    words
        The same in words: ``inside``, ``below LSL by 0.30 mm``, ``above USL by 1.2 mm``.
    """

    lsl: str
    usl: str
    nominal: str
    lsl_at: float | None
    usl_at: float | None
    nominal_at: float | None
    value: str
    value_at: float | None
    is_off_scale: bool
    mark: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Received:
    """What a text that came in at once makes of the pad.

    Parameters
    ----------
    pad
        The pad with the value in the unit that is asked for.
    words
        What came and what it became, where that is more than the number on the pad; empty otherwise.
    is_as_typed
        Whether an Enter that came with it counts: the value stands as it came, on a pad that was empty.
    """

    pad: PadState
    words: str
    is_as_typed: bool


def receive(pad: PadState, text: str, unit: str, limits: Iterable[Decimal | None] = ()) -> Received:
    """Put a value on the pad that an instrument sent, or that was pasted.

    Parameters
    ----------
    pad
        What was typed before; the value takes its place.
    text
        Any text.
    unit
        Unit that is asked for; empty for none.
    limits
        What the value is going to be compared with, in that unit; none where there is none.

    Raises
    ------
    InputError
        If no value can be read from the text, or not in that unit.

    Examples
    --------
    >>> receive(PadState(), "0.5 in", "mm").words
    'What came is 0.5 in, that is 12.7 mm. Press Enter to record it.'
    """
    reading = read_reading(text, unit)
    value = reading.taken_in(unit, [limit for limit in limits if limit is not None])
    told = f"{decimal_text(f'{value:f}')} {unit}".rstrip()
    words = ""
    if reading.unit and not is_same_unit(reading.unit, unit):
        words = tr(
            "What came is {reading}, that is {told}. Press Enter to record it.",
            reading=reading.words,
            told=told,
        )
    elif pad.text:
        words = tr(
            "What came is {told}, in place of the {pad} that was typed. Press Enter to record it.",
            told=told,
            pad=pad.shown,
        )
    return Received(pad=PadState(text=f"{value:f}"), words=words, is_as_typed=not words)


def typed_before(text: str) -> str:
    """Say that the pad still holds what was typed before the page was left: nobody may type on unawares."""
    return tr(
        "{text} was typed here before and is no entry yet: go on, or delete it.", text=decimal_text(text)
    )


def pad_of(text: str, *, is_whole: bool = False) -> PadState:
    """Give the pad with what was kept of it; empty where that is nothing that the pad can type."""
    state = PadState(is_whole=is_whole)
    for key in text.removeprefix("-") if len(text) <= MOST_DIGITS + 2 else "":
        if key not in "0123456789.":
            return PadState(is_whole=is_whole)
        state = press(state, key)
    return press(state, "-") if text.startswith("-") and state.text else state


def press(state: PadState, key: str) -> PadState:
    """Press a key of the pad.

    Parameters
    ----------
    state
        What was typed so far.
    key
        A digit, ``.`` or ``,`` (the same), ``-`` (turns the sign), ``back``, ``clear`` or ``enter``.
        Enter changes nothing: what it does is up to the page.

    Returns
    -------
    PadState
        A key that cannot add to the number (a second point, a 13th digit, a 7th decimal, a point in
        a whole number) leaves it as it is.

    Raises
    ------
    ValueError
        If there is no such key.

    Examples
    --------
    >>> press(press(PadState(text="3"), ","), "5").text
    '3.5'
    """
    text = state.text
    if len(key) == 1 and key in "0123456789":
        return replace(state, text=_with_digit(text, key))
    match key:
        case "." | ",":
            return state if state.is_whole or "." in text else replace(state, text=_with_point(text))
        case "-":
            return replace(state, text=text[1:] if text.startswith("-") else f"-{text}")
        case "back":
            return replace(state, text=text[:-1])
        case "clear":
            return replace(state, text="")
        case "enter":
            return state
    raise ValueError(f"the pad has no key {key!r}")


def _with_digit(text: str, digit: str) -> str:
    _, point, decimals = text.partition(".")
    if sum(c.isdigit() for c in text) >= MOST_DIGITS or (point and len(decimals) >= MOST_DECIMALS):
        return text
    if text in ("0", "-0"):
        return text[:-1] + digit
    return text + digit


def _with_point(text: str) -> str:
    return f"{text}0." if text in ("", "-") else f"{text}."


def tolerance_view(
    text: str, lsl: Decimal | None, usl: Decimal | None, nominal: Decimal | None, unit: str
) -> ToleranceView:
    """Set what is typed against its limits.

    Parameters
    ----------
    text
        What was typed so far, with decimal point or comma; may be empty or unfinished.
    lsl, usl, nominal
        Lower limit, upper limit and nominal value, each of which may be missing. A value on a limit
        is inside.
    unit
        Unit of the value, for the words; may be empty.

    Returns
    -------
    ToleranceView
        The scale reaches beyond each limit by a fixed share of the tolerance and does not move while
        typing. With one limit it is as wide as twice the distance to the nominal value, or half the
        limit where there is none: a drawing choice of this program, not a rule of any standard.
    """
    value = plain_number(text)
    low, high = _scale(lsl, usl, nominal)
    unit_text = f" {unit}" if unit else ""
    mark, words = _judge(value, lsl, usl, unit_text)
    is_off_scale = value is not None and not low <= value <= high
    return ToleranceView(
        lsl=_label(tr("LSL"), lsl),
        usl=_label(tr("USL"), usl),
        nominal=_label(tr("nominal"), nominal),
        lsl_at=_place(lsl, low, high),
        usl_at=_place(usl, low, high),
        nominal_at=_place(nominal, low, high),
        value=f"{decimal_text(text)}{unit_text}" if text else "",
        value_at=_place(value, low, high),
        is_off_scale=is_off_scale,
        mark=mark,
        words=words,
    )


def _judge(value: Decimal | None, lsl: Decimal | None, usl: Decimal | None, unit: str) -> tuple[str, str]:
    if value is None:
        return "not_visited", tr("no value yet")
    if lsl is not None and value < lsl:
        return "bad", tr("below LSL by {amount}", amount=f"{decimal_text(format(lsl - value, 'f'))}{unit}")
    if usl is not None and value > usl:
        return "bad", tr("above USL by {amount}", amount=f"{decimal_text(format(value - usl, 'f'))}{unit}")
    if lsl is None and usl is None:
        return "not_visited", tr("no limits given")
    return "clean", tr("inside")


def _scale(lsl: Decimal | None, usl: Decimal | None, nominal: Decimal | None) -> tuple[Decimal, Decimal]:
    known = [point for point in (lsl, nominal, usl) if point is not None]
    if not known:
        return Decimal(0), Decimal(1)
    low, high = min(known), max(known)
    if lsl is None or usl is None:
        # With one limit only, the open side is drawn as far as the known one.
        span = (high - low) or abs(low) / 4 or Decimal(1)
        low, high = (low, high + span) if usl is None else (low - span, high)
    width = (high - low) or abs(low) / 10 or Decimal(1)
    margin = width * Decimal(str(MARGIN_SHARE))
    return low - margin, high + margin


def _place(point: Decimal | None, low: Decimal, high: Decimal) -> float | None:
    if point is None:
        return None
    return min(max(float((point - low) / (high - low)), 0.0), 1.0)


def _label(name: str, point: Decimal | None) -> str:
    return "" if point is None else f"{name} {decimal_text(format(point, 'f'))}"
