"""On/off confirmations as they stand: turn by turn, from any tablet, and what they prove.

A turn counts only while its records agree: one count, or values in one state. Two counts of one turn, or a
turn that is on and off, stay on record and count nothing until a person says which of them holds.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from random import Random

from walkapp.actions.reading import ConcernFacts
from walkapp.analysis.on_off import (
    OFF,
    ON,
    POINTS,
    PROVED,
    OnOff,
    Turn,
    confirm_counts,
    confirm_values,
)
from walkapp.analysis.on_off_words import figures_in_words, on_off_lines, on_off_sentence
from walkapp.analysis.wording import named
from walkapp.errors import InputError
from walkapp.language import decimal_text, tr, trn
from walkapp.model.ids import short_id
from walkapp.model.records import Confirmation, ConfirmationTurn

MOST_TURNS = 40
"""Highest number that the record of a turn may have."""

OTHER_STATE = {ON: OFF, OFF: ON}


@dataclass(frozen=True, kw_only=True)
class TurnFacts:
    """What is on record of one turn.

    Parameters
    ----------
    number
        Which turn, from 1.
    records
        All records that say something of it, sorted by id; at least one.
    problem
        Why it does not count, in a few words; empty when it counts.
    in_dispute
        Whether one record of it was corrected differently on two tablets.
    """

    number: int
    records: tuple[ConfirmationTurn, ...]
    problem: str = ""
    in_dispute: bool = False

    @property
    def state(self) -> str:
        """``on`` or ``off``; of a turn that does not count, what its newest record says."""
        return self.records[-1].state

    @property
    def count(self) -> ConfirmationTurn | None:
        """The one count of a turn that counts; none for measured values."""
        return self.records[0] if not self.problem and self.records[0].checked is not None else None

    @property
    def values(self) -> tuple[str, ...]:
        """The measured values as they were typed, oldest first."""
        return tuple(record.value for record in self.records if record.value)

    @property
    def turn(self) -> Turn:
        """The same for the computation."""
        if (count := self.count) is not None:
            checked, nok = count.checked or 0, count.nok or 0
            return Turn(number=self.number, state=self.state, checked=checked, nok=nok)
        values = tuple(Fraction(Decimal(value)) for value in self.values)
        return Turn(number=self.number, state=self.state, values=values)


@dataclass(frozen=True)
class ConfirmationFacts:
    """Everything known of one on/off confirmation.

    Parameters
    ----------
    record
        The record that opened it.
    turns
        Its turns with anything on record, in order.
    set_aside
        How many records do not say what the confirmation asks for: a value where parts are counted.
    """

    record: Confirmation
    turns: tuple[TurnFacts, ...]
    set_aside: int = 0

    @cached_property
    def answer(self) -> OnOff:
        """What the turns that count prove."""
        counted = [turn.turn for turn in self.turns if not turn.problem]
        if self.record.response == "nok":
            return confirm_counts(counted)
        return confirm_values(counted, lambda: Random(self.record.id))

    @property
    def verdict(self) -> str:
        """What it proves, as :mod:`walkapp.analysis.on_off` calls it.

        Nothing is proved while a turn is open: the entries that are left out may be those against it.
        """
        return POINTS if self._is_held_up else self.answer.verdict

    @property
    def proves(self) -> bool:
        """Whether it is proved that the defect comes and goes with the switch."""
        return self.verdict == PROVED

    @property
    def sentence(self) -> str:
        """What it proves, in words."""
        unit, decimals = self.record.unit_of_measure, self.decimals_of_mean
        if not self._is_held_up:
            return on_off_sentence(self.answer, self.record.what, unit, decimals)
        open_turns = [tr("turn {number}", number=turn.number) for turn in self.turns if turn.problem]
        return tr(
            "Points that way, not proved before somebody says what holds of {open_turns}. "
            "The rest: {figures}.",
            open_turns=named(open_turns),
            figures=figures_in_words(self.answer, unit, decimals),
        )

    @property
    def _is_held_up(self) -> bool:
        return self.answer.verdict == PROVED and any(turn.problem for turn in self.turns)

    @property
    def lines(self) -> tuple[str, ...]:
        """What lies behind the sentence, a line each."""
        return on_off_lines(self.answer)

    @property
    def problems(self) -> tuple[str, ...]:
        """What does not count and why, a sentence each."""
        said = [
            tr(
                "Turn {number} {problem}. It does not count until somebody says what holds.",
                number=turn.number,
                problem=turn.problem,
            )
            for turn in self.turns
            if turn.problem
        ]
        said += [
            tr(
                "Turn {number} has values from {tablets} tablets; they count together.",
                number=turn.number,
                tablets=tablets,
            )
            for turn in self.turns
            if not turn.problem and (tablets := len({record.device for record in turn.records})) > 1
        ]
        if self.set_aside:
            asked = tr("NOK parts") if self.record.response == "nok" else tr("measured values")
            entries = (
                tr("1 entry does")
                if self.set_aside == 1
                else tr("{set_aside} entries do", set_aside=self.set_aside)
            )
            said.append(
                tr("{entries} not count: this confirmation asks for {asked}.", entries=entries, asked=asked)
            )
        return tuple(said)

    @property
    def next_number(self) -> int | None:
        """Number of the turn that comes next; none when there may be no further one."""
        last = self.turns[-1].number if self.turns else 0
        return last + 1 if last < MOST_TURNS else None

    @property
    def next_state(self) -> str:
        """State of the turn that comes next: the other one, and first of all on."""
        return OTHER_STATE[self.turns[-1].state] if self.turns else ON

    def turn(self, number: int) -> TurnFacts | None:
        """Give what is on record of a turn, or none."""
        return next((turn for turn in self.turns if turn.number == number), None)

    def state_of(self, number: int) -> str:
        """Say whether a turn is on or off; the next one has nothing on record yet.

        Raises
        ------
        InputError
            If the turn is neither on record nor the next one.
        """
        if (known := self.turn(number)) is not None:
            return known.state
        if number != self.next_number:
            raise InputError(
                tr(
                    "Turn {number} cannot be recorded now; go on with turn {next_number}.",
                    number=number,
                    next_number=self.next_number,
                )
            )
        return self.next_state

    @property
    def decimals_of_mean(self) -> int:
        """One decimal more than the values have."""
        typed = (value for turn in self.turns for value in turn.values)
        return 1 + max((len(value.partition(".")[2]) for value in typed), default=0)


def confirmations_of(facts: ConcernFacts) -> tuple[ConfirmationFacts, ...]:
    """Give all on/off confirmations of a concern, in the order in which they were opened."""
    current = facts.standing.current
    turns = [record for record in current if isinstance(record, ConfirmationTurn)]
    heads = (head for conflict in facts.conflicts for head in conflict.heads)
    disputed = [head for head in heads if isinstance(head, ConfirmationTurn)]
    return tuple(
        _confirmation(record, turns, disputed) for record in current if isinstance(record, Confirmation)
    )


def confirmation_called(facts: ConcernFacts, confirmation: str) -> ConfirmationFacts:
    """Give one confirmation.

    Raises
    ------
    InputError
        If there is none of that id, or it was taken back.
    """
    found = next((one for one in confirmations_of(facts) if one.record.id == confirmation), None)
    if found is None:
        raise InputError(tr("This on/off confirmation is not here any more; go back and choose another."))
    return found


def without_confirmation(facts: ConcernFacts) -> int:
    """Count the entries whose confirmation is not here, for example because a bundle came without it."""
    current = facts.standing.current
    known = {record.id for record in current if isinstance(record, Confirmation)}
    return sum(isinstance(r, ConfirmationTurn) and r.confirmation not in known for r in current)


def _confirmation(
    record: Confirmation, turns: Iterable[ConfirmationTurn], disputed: Iterable[ConfirmationTurn]
) -> ConfirmationFacts:
    def of_this(entries: Iterable[ConfirmationTurn]) -> list[ConfirmationTurn]:
        return [entry for entry in entries if entry.confirmation == record.id]

    heads = of_this(disputed)
    entries = dict.fromkeys((*of_this(turns), *heads))
    fitting = [entry for entry in entries if (entry.checked is not None) == (record.response == "nok")]
    by_number: dict[int, list[ConfirmationTurn]] = {}
    for entry in sorted(fitting, key=lambda entry: entry.id):
        by_number.setdefault(entry.turn, []).append(entry)
    in_dispute = {entry.turn for entry in heads}
    return ConfirmationFacts(
        record=record,
        turns=tuple(
            _turn(number, tuple(by_number[number]), number in in_dispute) for number in sorted(by_number)
        ),
        set_aside=len(entries) - len(fitting),
    )


def _turn(number: int, records: tuple[ConfirmationTurn, ...], in_dispute: bool) -> TurnFacts:
    problem = ""
    if in_dispute:
        problem = tr("was corrected differently on two tablets")
    elif len({record.state for record in records}) > 1:
        problem = tr("is on record both as on and as off")
    elif records[0].checked is not None and len(records) > 1:
        tablets = len({record.device for record in records})
        where = tr("on {tablets} tablets", tablets=tablets) if tablets > 1 else tr("on one tablet")
        problem = (
            tr("was counted twice, {where}", where=where)
            if len(records) == 2
            else tr("was counted {records} times, {where}", records=len(records), where=where)
        )
    return TurnFacts(number=number, records=records, problem=problem, in_dispute=in_dispute)


def entry_text(entry: ConfirmationTurn) -> str:
    """Say in a few words what a record of a turn says."""
    said = (
        decimal_text(entry.value)
        if entry.value
        else tr("{nok} of {checked} NOK", nok=entry.nok, checked=entry.checked)
    )
    if entry.state == ON:
        return tr("{said}, turn {turn} on", said=said, turn=entry.turn)
    return tr("{said}, turn {turn} off", said=said, turn=entry.turn)


def source_text(entry: ConfirmationTurn) -> str:
    """Say on which tablet and by whom an entry was made."""
    return tr("tablet {device}, {by}", device=short_id(entry.device), by=entry.by)


def lost_text(lost: int) -> str:
    """Say that recorded turns count nothing because their confirmation is not here."""
    return trn(
        "{count} entry belongs to an on/off confirmation that is not here; merge the bundle of the "
        "tablet that opened it.",
        "{count} entries belong to an on/off confirmation that is not here; merge the bundle of the "
        "tablet that opened it.",
        lost,
    )
