"""The forms of on/off confirmations: opening one, correcting a turn, and saying which entry holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from walkapp.actions.confirmations import (
    OTHER_STATE,
    ConfirmationFacts,
    TurnFacts,
    confirmation_called,
    entry_text,
    source_text,
)
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.switching import (
    Switchable,
    correct_count,
    correct_state,
    correct_value,
    open_confirmation,
    settle_turn,
    switchable,
)
from walkapp.actions.workplace import NOBODY
from walkapp.analysis.on_off import OFF, ON
from walkapp.analysis.on_off_words import STATE_WORDS
from walkapp.analysis.readings import plain_number
from walkapp.analysis.wording import RESPONSE_WORDS, either
from walkapp.errors import InputError
from walkapp.language import msg, tr, tr_choices, tr_each
from walkapp.model.records import ConfirmationTurn
from walkapp.presenters.confirmations import SWITCH_CAUTIONS
from walkapp.presenters.form import FormField, FormPage, as_options, whole_number
from walkapp.presenters.route import Route

OTHER = "other"
THE_STATE = "state"

MOST_CAUSES = 6
"""So many recorded causes are offered to tap, the newest."""

MOST_VALUES = 24
"""So many values of a turn are offered to correct, the newest."""

MOST_TOLD = 8
"""So many values are told of a turn that is both on and off."""

REASONS = (msg("Typed wrong"), msg("Counted again"), msg("Switched at another time than recorded"))
SETTLE_REASONS = (
    msg("Looked at the parts again"),
    msg("The other one is a slip"),
    msg("The other was another turn"),
)


class NewConfirmationForm(FormPage):
    """Opens an on/off confirmation."""

    title = msg("New on/off confirmation")
    do = msg("Open it: turn 1 is ON")
    is_in_walk = False
    _facts: ConcernFacts | None = None
    _causes: tuple[Switchable, ...] = ()

    def _first_values(self) -> dict[str, str]:
        self._facts = concern_facts(self.session.place, self.route.concern)
        self._causes = switchable(self._facts)[:MOST_CAUSES]
        by = self.session.place.by
        return {"by": "" if by == NOBODY else by, "response": "nok"}

    def _cautions(self) -> tuple[str, ...]:
        return (
            *tr_each(SWITCH_CAUTIONS),
            tr(
                "Safety-related parts: ask the responsible people and mind the customer's "
                "requirements first."
            ),
        )

    @property
    def _cause(self) -> Switchable | None:
        return next((one for one in self._causes if one.id == self._values.get("cause")), None)

    def _fields(self) -> tuple[FormField, ...]:
        cause = self._cause
        levels = cause.levels if cause else ()
        measured = (
            FormField(name="measured", label=tr("What is measured"), is_required=True),
            FormField(name="unit_of_measure", label=tr("Unit"), hint=tr("For example mm")),
        )
        return (
            FormField(name="by", label=tr("Your role and initials"), is_required=True),
            *self._cause_field(),
            FormField(
                name="what",
                label=tr("What is switched"),
                value=cause.what if cause else "",
                hint=tr("For example: clamp pads"),
                is_required=True,
            ),
            FormField(
                name="on",
                label=tr("ON means: the defect is to appear"),
                value=levels[0] if levels else "",
                hint=either(levels) if levels else tr("For example: hard pads"),
                is_required=True,
            ),
            FormField(
                name="off",
                label=tr("OFF means: the defect is to go away"),
                value=levels[1] if levels else "",
                hint=either(levels) if levels else tr("For example: soft pads"),
                is_required=True,
            ),
            FormField(
                name="response",
                label=tr("What comes out of each turn"),
                form="choice",
                options=tr_choices(RESPONSE_WORDS.items()),
                is_required=True,
            ),
            *(measured if self._values.get("response") == "value" else ()),
            *self._station_field(cause),
        )

    def _cause_field(self) -> tuple[FormField, ...]:
        if not self._causes:
            return ()
        options = tuple((one.id, " / ".join((one.what, *one.levels))) for one in self._causes)
        return (
            FormField(
                name="cause",
                label=tr("From the records"),
                form="choice",
                options=(*options, (OTHER, tr("Something else"))),
            ),
        )

    def _station_field(self, cause: Switchable | None) -> tuple[FormField, ...]:
        stream = self._facts.stream if self._facts else None
        if stream is None:
            return ()
        return (
            FormField(
                name="station",
                label=tr("At which station"),
                form="choice",
                value=cause.station if cause else "",
                options=tuple((station.id, station.name) for station in stream.stations),
            ),
        )

    def _advice(self) -> tuple[str, ...]:
        return (
            tr(
                "Plan at least 4 turns on and 4 off, one after the other: fewer never prove it, since a "
                "drift alone can follow the switch."
            )
            if self._values.get("response") == "value"
            else tr(
                "Plan at least 3 turns on and 3 off, one after the other: fewer never prove it, since a "
                "drift alone can follow the switch."
            ),
            tr("Make as many parts in each turn, 10 or more; best judged without knowing on or off."),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        self.session.remember_person(values["by"])
        cause = next((one for one in self._causes if one.id == values.get("cause")), None)
        record = open_confirmation(
            self.session.place,
            concern_facts(self.session.place, self.route.concern),
            what=values["what"],
            on=values["on"],
            off=values["off"],
            response=values["response"],
            measured=values.get("measured", ""),
            unit_of_measure=values.get("unit_of_measure", ""),
            station=values.get("station", ""),
            change=cause.change if cause else "",
        )
        return Route(screen="confirmation", concern=self.route.concern, entry=record.id)


class _TurnForm(FormPage):
    """A form about one turn that is on record."""

    is_in_walk = False
    _found: ConfirmationFacts | None = None

    def _first_values(self) -> dict[str, str]:
        self._found = self._find()
        return {}

    def _find(self) -> ConfirmationFacts:
        return confirmation_called(concern_facts(self.session.place, self.route.concern), self.route.entry)

    @property
    def _number(self) -> int:
        return whole_number(self.route.number, tr("Turn"), 1) or 0

    @property
    def _turn(self) -> TurnFacts | None:
        return self._found.turn(self._number) if self._found else None

    def _needed(self) -> TurnFacts:
        turn = self._turn
        if turn is None:
            raise InputError(
                tr("Turn {number} is not on record any more; go back and look.", number=self.route.number)
            )
        return turn

    def _why_fields(self, reasons: tuple[str, ...]) -> tuple[FormField, ...]:
        return (
            FormField(
                name="common",
                label=tr("Why"),
                form="choice",
                options=as_options(reasons),
            ),
            FormField(
                name="why", label=tr("Or in your own words"), is_required=not self._values.get("common")
            ),
        )


class CorrectTurnForm(_TurnForm):
    """Corrects a turn, and says why."""

    title = msg("Correct a turn")
    do = msg("Record the correction")

    def _first_values(self) -> dict[str, str]:
        super()._first_values()
        turn = self._needed()
        if (count := turn.count) is None:
            return {}
        return {"state": turn.state, "checked": str(count.checked), "nok": str(count.nok)}

    def _cautions(self) -> tuple[str, ...]:
        return (tr("Correct what was recorded wrong, never what you did not expect."),)

    def _fields(self) -> tuple[FormField, ...]:
        turn = self._turn
        if turn is None:
            return ()
        return (
            *(self._count_fields() if turn.count else self._value_fields(turn)),
            *self._why_fields(tr_each(REASONS)),
        )

    def _count_fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="state",
                label=tr("Turn {number} was", number=self.route.number),
                form="choice",
                options=tuple((state, tr(STATE_WORDS[state])) for state in (ON, OFF)),
                is_required=True,
            ),
            FormField(name="checked", label=tr("Parts checked"), form="whole", is_required=True),
            FormField(name="nok", label=tr("NOK among them"), form="whole", is_required=True),
        )

    def _value_fields(self, turn: TurnFacts) -> tuple[FormField, ...]:
        other = tr(STATE_WORDS[OTHER_STATE[turn.state]])
        chosen = self._values.get("entry", "")
        value = FormField(name="value", label=tr("The right value"), hint=tr("Empty takes this value out"))
        return (
            FormField(
                name="entry",
                label=tr("What is wrong in turn {number}", number=self.route.number),
                form="choice",
                options=(
                    *((record.id, record.value) for record in turn.records[-MOST_VALUES:]),
                    (THE_STATE, tr("The whole turn was {other}", other=other)),
                ),
                is_required=True,
            ),
            *(() if chosen in ("", THE_STATE) else (value,)),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        place, found, number = self.session.place, self._find(), self._number
        why = _why_of(values)
        if "checked" in values:
            correct_count(
                place,
                found,
                number,
                state=values["state"],
                checked=whole_number(values["checked"], tr("Parts checked"), 20) or 0,
                nok=whole_number(values["nok"], tr("NOK among them"), 3) or 0,
                why=why,
            )
        elif values["entry"] == THE_STATE:
            correct_state(place, found, number, OTHER_STATE[self._needed().state], why)
        else:
            correct_value(place, found, number, values["entry"], _value(values.get("value", "")), why)
        return self.route.up()


def _why_of(values: Mapping[str, str]) -> str:
    """Give the reason that was typed or tapped.

    Raises
    ------
    InputError
        If there is none.
    """
    if why := values["why"] or values["common"]:
        return why
    raise InputError(tr("Say why, in a few words."))


def _value(text: str) -> str:
    """Read a value that was typed, with decimal point or comma; empty stays empty.

    Raises
    ------
    InputError
        If it is no number.
    """
    if not text:
        return ""
    number = plain_number(text)
    if number is None:
        raise InputError(tr("The right value: must be a number such as 12.5."))
    return format(number, "f")


def _values_text(entries: Sequence[ConfirmationTurn]) -> str:
    told = ", ".join(entry.value for entry in entries[:MOST_TOLD])
    more = len(entries) - MOST_TOLD
    return tr("{told} and {more} more", told=told, more=more) if more > 0 else told


class SettleTurnForm(_TurnForm):
    """Says which entry of a turn holds, and why."""

    title = msg("Which one holds?")
    do = msg("Record: this one holds")

    def _cautions(self) -> tuple[str, ...]:
        turn = self._needed()
        return (
            tr(
                "Turn {number} {problem}. Choose only what you know.",
                number=turn.number,
                problem=turn.problem,
            ),
        )

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="entry", label=tr("What holds"), form="choice", options=self._sides(), is_required=True
            ),
            *self._why_fields(tr_each(SETTLE_REASONS)),
        )

    def _sides(self) -> tuple[tuple[str, str], ...]:
        """Offer each count; of measured values, all in one state together."""
        turn = self._turn
        if turn is None:
            return ()
        if turn.records[0].checked is not None:
            return tuple((r.id, f"{entry_text(r)} ({source_text(r)})") for r in turn.records)
        by_state = {state: [r for r in turn.records if r.state == state] for state in (ON, OFF)}
        return tuple(
            (entries[0].id, f"{tr(STATE_WORDS[state])}: {_values_text(entries)}")
            for state, entries in by_state.items()
            if entries
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        why = _why_of(values)
        settle_turn(self.session.place, self._find(), self._number, values["entry"], why)
        return self.route.up()
