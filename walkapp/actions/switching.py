"""What is done with an on/off confirmation: open it, record turns, correct, settle, take back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from walkapp.actions.confirmations import ConfirmationFacts, TurnFacts, confirmations_of
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.reasons import COUNTED_ON, SETTLED
from walkapp.actions.undoing import last_undoable, undo_entry
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.language import tr
from walkapp.model.records import (
    ChangePoint,
    Confirmation,
    ConfirmationTurn,
    Record,
    Trial,
    TrialFactor,
    Withdrawal,
    what_is_said,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Switchable:
    """Something on record that can be switched on and off: a change point, or a factor of a trial.

    Parameters
    ----------
    id
        Id of the record.
    what
        What it is, in words.
    levels
        Its two levels; empty for a change point, whose levels nobody recorded.
    station
        Id of the station; may be empty.
    change
        Id of the change point behind it; may be empty.
    """

    id: str
    what: str
    levels: tuple[str, ...]
    station: str
    change: str


def switchable(facts: ConcernFacts) -> tuple[Switchable, ...]:
    """List what could be switched: factors of trials, then change points, the newest first."""
    current = facts.standing.current
    trials = {record.id: record for record in current if isinstance(record, Trial)}
    factors = [
        Switchable(
            id=record.id,
            what=record.name,
            levels=(record.high, record.low),
            station=trials[record.trial].station,
            change=record.change,
        )
        for record in reversed(current)
        if isinstance(record, TrialFactor) and record.trial in trials
    ]
    changes = [
        Switchable(
            id=record.id, what=record.what[:200], levels=(), station=record.station, change=record.id
        )
        for record in reversed(current)
        if isinstance(record, ChangePoint)
    ]
    return (*factors, *changes)


def open_confirmation(place: Workplace, facts: ConcernFacts, **said: Any) -> Confirmation:
    """Open an on/off confirmation.

    Parameters
    ----------
    place
        Where to write.
    facts
        The concern.
    said
        The fields of :class:`walkapp.model.records.Confirmation`.

    Raises
    ------
    InputError
        If on and off are the same, or the stream has no such station.
    RecordError
        If a value is not allowed.
    """
    if said["on"].split() == said["off"].split():
        raise InputError(tr("“On” and “off” must differ: with one state nothing is switched."))
    station = said.get("station", "")
    if station and facts.stream is not None and facts.stream.station(station) is None:
        raise InputError(
            tr("The value stream has no station {station}; choose one of its own.", station=repr(station))
        )
    return place.add(Confirmation, concern=facts.concern.concern, **said)


def take_back_confirmation(place: Workplace, facts: ConcernFacts) -> Record:
    """Take back the newest confirmation that this tablet opened.

    Raises
    ------
    InputError
        If there is none, or it has turns on record.
    """
    found = newest_confirmation(place, facts)
    if found is None:
        raise InputError(tr("There is no on/off confirmation of this tablet to take back."))
    if found.turns or found.set_aside:
        raise InputError(tr("The newest on/off confirmation has turns on record; take those back first."))
    return undo_entry(place, found.record, place.store.records(facts.concern.concern))


def newest_confirmation(place: Workplace, facts: ConcernFacts) -> ConfirmationFacts | None:
    """Give the newest confirmation that this tablet opened, or none."""
    own = (one for one in confirmations_of(facts) if one.record.device == place.store.device)
    return max(own, key=lambda one: one.record.number, default=None)


def count_turn(place: Workplace, found: ConfirmationFacts, number: int, checked: int, nok: int) -> Record:
    """Record the parts of a turn, checked and NOK so far; an earlier count of it is corrected.

    Parameters
    ----------
    place
        Where to write.
    found
        The confirmation.
    number
        A turn that is on record, or the next one.
    checked, nok
        Parts; counted down to none, the turn has nothing on record any more.

    Raises
    ------
    InputError
        If the turn cannot be recorded now.
    RecordError
        If a count is not allowed.
    """
    said = _said_of(found, number, "nok") | {"checked": checked, "nok": nok}
    before = found.turn(number)
    if before is not None and before.count is not None:
        correction: dict[str, Any] = {"replaces": (before.count.id,), "why": COUNTED_ON}
        if not checked and not nok:
            return place.add(Withdrawal, concern=found.record.concern, **correction)
        said |= correction
    return place.add(ConfirmationTurn, **said)


def measure_turn(place: Workplace, found: ConfirmationFacts, number: int, value: str) -> ConfirmationTurn:
    """Record one more measured value of a turn, as it was typed; parameters and errors as `count_turn`."""
    return place.add(ConfirmationTurn, **_said_of(found, number, "value"), value=value)


def _said_of(found: ConfirmationFacts, number: int, response: str) -> dict[str, Any]:
    if found.record.response != response:
        asked = tr("NOK parts") if found.record.response == "nok" else tr("measured values")
        raise InputError(tr("This confirmation asks for {asked}.", asked=asked))
    state = found.state_of(number)
    before = found.turn(number)
    if before is not None and before.problem:
        raise InputError(
            tr(
                "Turn {number} {problem}; go back and say first what holds.",
                number=number,
                problem=before.problem,
            )
        )
    concern, confirmation = found.record.concern, found.record.id
    return {"concern": concern, "confirmation": confirmation, "turn": number, "state": state}


def newest_turn_entry(place: Workplace, found: ConfirmationFacts) -> Record | None:
    """Give the entry that :func:`take_back_turn_entry` takes back: the newest one of this tablet.

    What somebody settled is none of them: taking it back would take back the other tablet's count too.
    """
    records = place.store.records(found.record.concern)
    settled = {
        replaced for record in records if record.why.startswith(SETTLED) for replaced in record.replaces
    }
    turns = {
        record.id
        for record in records
        if isinstance(record, ConfirmationTurn) and record.confirmation == found.record.id
    }

    def belongs(record: Record) -> bool:
        if isinstance(record, Withdrawal):
            return not turns.isdisjoint(record.replaces)
        return record.id in turns and record.id not in settled

    return last_undoable(r for r in records if r.device == place.store.device and belongs(r))


def take_back_turn_entry(place: Workplace, found: ConfirmationFacts) -> Record:
    """Take back the newest entry of this tablet in this confirmation; what it corrected holds again.

    The state of a measured turn, corrected value by value, is one entry.

    Raises
    ------
    InputError
        If there is none.
    """
    entry = newest_turn_entry(place, found)
    if entry is None:
        raise InputError(tr("There is nothing in this confirmation that this tablet could take back."))
    while True:
        made = undo_entry(place, entry, place.store.records(found.record.concern))
        before, entry = entry, newest_turn_entry(place, found)
        if entry is None or not _are_one_correction(before, entry, place):
            return made


def _are_one_correction(later: Record, earlier: Record, place: Workplace) -> bool:
    """Whether two entries are values of one turn whose state was corrected."""
    if not (isinstance(later, ConfirmationTurn) and isinstance(earlier, ConfirmationTurn)):
        return False
    by_id = {record.id: record for record in place.store.records(later.concern)}
    replaced = [by_id.get(replaced) for entry in (later, earlier) for replaced in entry.replaces]
    return (
        later.turn == earlier.turn
        and later.why == earlier.why
        and len(replaced) == 2
        and all(isinstance(old, ConfirmationTurn) and old.state != later.state for old in replaced)
    )


def correct_count(
    place: Workplace,
    found: ConfirmationFacts,
    number: int,
    *,
    state: str,
    checked: int,
    nok: int,
    why: str,
) -> ConfirmationTurn:
    """Correct the count of a turn, or whether it was on or off, and say why.

    Raises
    ------
    InputError
        If the turn is not on record, or its entries contradict each other.
    RecordError
        If a value is not allowed, or why is missing.
    """
    count = _agreed(found, number).count
    if count is None:
        raise InputError(tr("Turn {number} has no count to correct.", number=number))
    said = {**what_is_said(count), "state": state, "checked": checked, "nok": nok}
    return place.add(ConfirmationTurn, **said, concern=count.concern, replaces=(count.id,), why=why)


def correct_value(
    place: Workplace, found: ConfirmationFacts, number: int, record_id: str, value: str, why: str
) -> Record:
    """Correct one measured value of a turn, or take it out when `value` is empty, and say why.

    Raises
    ------
    InputError
        If there is no such value, or the entries of the turn contradict each other.
    RecordError
        If the value is not allowed, or why is missing.
    """
    entry = next((r for r in _agreed(found, number).records if r.id == record_id), None)
    if entry is None:
        raise InputError(
            tr("This value has changed since the page was opened; look at the turn once more.")
        )
    ids = {"concern": entry.concern, "replaces": (entry.id,), "why": why}
    if not value:
        return place.add(Withdrawal, **ids)
    return place.add(ConfirmationTurn, **{**what_is_said(entry), "value": value}, **ids)


def correct_state(
    place: Workplace, found: ConfirmationFacts, number: int, state: str, why: str
) -> tuple[Record, ...]:
    """Correct whether a measured turn was on or off: every value is recorded anew with the other state.

    Raises
    ------
    InputError
        If the turn is not on record, or its entries contradict each other.
    RecordError
        If why is missing.
    """
    return place.add_all(
        [
            (
                ConfirmationTurn,
                {
                    **what_is_said(entry),
                    "state": state,
                    "concern": entry.concern,
                    "replaces": (entry.id,),
                    "why": why,
                },
            )
            for entry in _agreed(found, number).records
        ]
    )


def settle_turn(
    place: Workplace, found: ConfirmationFacts, number: int, record_id: str, why: str
) -> ConfirmationTurn:
    """Say which entry of a turn holds: of two counts the one, of both states that of the entry.

    Parameters
    ----------
    place
        Where to write.
    found
        The confirmation, as the person saw it.
    number
        The turn.
    record_id
        Id of the record that holds. Of measured values, those in the same state hold with it.
    why
        Why that one.

    Raises
    ------
    InputError
        If the entries do not contradict each other here (any more).
    """
    turn = found.turn(number)
    chosen = next((r for r in turn.records if r.id == record_id), None) if turn else None
    if turn is None or chosen is None or not turn.problem or turn.in_dispute:
        raise InputError(
            tr("These entries have changed since the page was opened; look at them once more.")
        )
    is_count = chosen.checked is not None
    beaten = [r.id for r in turn.records if is_count or r.state != chosen.state or r.id == chosen.id]
    return place.add(
        ConfirmationTurn,
        **what_is_said(chosen),
        concern=chosen.concern,
        replaces=tuple(sorted(beaten)),
        why=SETTLED + why,
    )


def _agreed(found: ConfirmationFacts, number: int) -> TurnFacts:
    turn = found.turn(number)
    if turn is None:
        raise InputError(tr("Turn {number} is not on record any more; go back and look.", number=number))
    if turn.problem:
        raise InputError(
            tr("Turn {number} {problem}; say first what holds.", number=number, problem=turn.problem)
        )
    return turn
