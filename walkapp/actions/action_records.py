"""Recording actions, what was done, effectiveness checks and verification questions."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from walkapp.actions.acting import ActionFacts
from walkapp.actions.days import refuse_before, refuse_to_come, today
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.language import day_said, msg, tr
from walkapp.model.records import (
    Action,
    ActionDone,
    ChangePoint,
    Concern,
    EffectCheck,
    WatchQuestion,
    what_is_said,
)

NOT_DONE = msg("This action is not recorded as done; record that first.")


def open_action(place: Workplace, facts: ConcernFacts, **said: Any) -> Action:
    """Record something to be done. A due day that has passed is taken: it is overdue at once.

    Parameters
    ----------
    place
        Where to write.
    facts
        The concern.
    said
        The fields of :class:`walkapp.model.records.Action` without `action`.

    Raises
    ------
    InputError
        If the stream has no such station, the concern no such change point, the effect would be checked
        before the action is due, or the criterion is 0 %, which no number of parts can show.
    RecordError
        If a value is not allowed.
    """
    _check_action(facts, said)
    action = place.new_id()
    return place.add(Action, id=action, action=action, concern=facts.concern.concern, **said)


def correct_action(
    place: Workplace, facts: ConcernFacts, now: ActionFacts, *, why: str, **said: Any
) -> Action:
    """Correct an action; what it said before stays on record.

    Parameters
    ----------
    place, facts
        As for :func:`open_action`.
    now
        The action.
    why
        Why it is corrected, for example why it is due later.
    said
        The fields that change; all others stay as they are.

    Raises
    ------
    InputError
        As for :func:`open_action`, and if nothing would change or no reason is given.
    RecordError
        If a value is not allowed.
    """
    if not why.strip():
        raise InputError(tr("Why it is corrected is missing; fill it in."))
    before = what_is_said(now.action)
    changed = {name: value for name, value in said.items() if value != before[name]}
    if not changed:
        raise InputError(tr("Nothing was changed; change a field, or go back."))
    fields = {**before, **changed}
    # What stays as it was is not refused: it may have come from another tablet.
    _check_action(facts, {**changed, "due_on": fields["due_on"], "check_on": fields["check_on"]})
    held = facts.standing.current
    replaces = tuple(r.id for r in held if isinstance(r, Action) and r.action == now.id)
    return place.add(Action, concern=facts.concern.concern, replaces=replaces, why=why, **fields)


def _check_action(facts: ConcernFacts, said: dict[str, Any]) -> None:
    _check_station(facts, said.get("station", ""))
    change = said.get("change", "")
    if change and not any(isinstance(r, ChangePoint) and r.id == change for r in facts.standing.current):
        raise InputError(tr("The change point that it mends is not in this concern; choose another."))
    if said.get("at_most") and _is_zero(said["at_most"]):
        raise InputError(
            tr(
                "Greatest share NOK afterwards: no number of parts can show 0 %; say a share "
                "above 0, such as 1 % (299 parts without NOK show it)."
            )
        )
    refuse_before(tr("Effect check on"), said.get("check_on", ""), tr("the day it is due"), said["due_on"])


def _is_zero(share: str) -> bool:
    try:
        return Decimal(share) == 0
    except ArithmeticError:
        return False  # the record refuses it in its own words


def _check_station(facts: ConcernFacts, station: str) -> None:
    if station and (stream := facts.known_stream()).station(station) is None:
        raise InputError(
            tr(
                "The value stream {stream} has no station {station}; choose one of its own.",
                stream=stream.name,
                station=repr(station),
            )
        )


def say_done(
    place: Workplace, facts: ConcernFacts, now: ActionFacts, *, done_on: str, evidence: str, why: str = ""
) -> ActionDone:
    """Record that an action was done; where that is on record already, correct it.

    Parameters
    ----------
    place, facts
        As for :func:`open_action`.
    now
        The action.
    done_on
        The day, ISO 8601: not after today, and not before the concern was reported or opened.
    evidence
        What shows it.
    why
        Why the earlier word is corrected; needed when there is one.

    Raises
    ------
    InputError
        If the day cannot be, or it is done already and no reason is given.
    RecordError
        If a value is not allowed.
    """
    if now.done and not why.strip():
        raise InputError(
            tr(
                "This action is recorded as done on {done_on}; say why that is corrected.",
                done_on=day_said(now.done_on),
            )
        )
    refuse_to_come(place, tr("Done on"), done_on)
    refuse_before(tr("Done on"), done_on, *_beginning(facts))
    more: dict[str, Any] = {"replaces": tuple(r.id for r in now.done), "why": why} if now.done else {}
    return place.add(
        ActionDone,
        concern=facts.concern.concern,
        action=now.id,
        done_on=done_on,
        evidence=evidence,
        **more,
    )


def _beginning(facts: ConcernFacts) -> tuple[str, str]:
    """What the first day of a concern is called, and the day."""
    opened = min((r.at[:10] for r in facts.everything if isinstance(r, Concern)), default="")
    reported = facts.concern.reported_on
    if reported and (not opened or reported <= opened):
        return tr("the day the concern was reported"), reported
    return tr("the day the concern was opened"), opened


def check_effect(
    place: Workplace,
    facts: ConcernFacts,
    now: ActionFacts,
    *,
    checked_on: str,
    before_checked: int,
    before_nok: int,
    after_checked: int,
    after_nok: int,
    source: str = "",
) -> EffectCheck:
    """Record an effectiveness check; a further one stands beside it, and the newest counts.

    Parameters
    ----------
    place, facts
        As for :func:`open_action`.
    now
        The action; done.
    checked_on
        The day, ISO 8601: not after today, and not before the action was done.
    before_checked, before_nok, after_checked, after_nok
        Parts checked and NOK among them, from before the action and from after it.
    source
        Which parts these were.

    Raises
    ------
    InputError
        If the action is not done, the day cannot be, or more parts are NOK than were checked.
    RecordError
        If a value is not allowed.
    """
    if not now.done:
        raise InputError(tr(NOT_DONE))
    refuse_to_come(place, tr("Checked on"), checked_on)
    refuse_before(tr("Checked on"), checked_on, tr("the day it was done"), now.done_on)
    for told, nok, checked in (
        (
            msg("NOK before: {nok} of {checked} parts cannot be; mend one of the two."),
            before_nok,
            before_checked,
        ),
        (
            msg("NOK after: {nok} of {checked} parts cannot be; mend one of the two."),
            after_nok,
            after_checked,
        ),
    ):
        if nok > checked:
            raise InputError(tr(told, nok=nok, checked=checked))
    return place.add(
        EffectCheck,
        concern=facts.concern.concern,
        action=now.id,
        checked_on=checked_on,
        before_checked=before_checked,
        before_nok=before_nok,
        after_checked=after_checked,
        after_nok=after_nok,
        source=source,
    )


def ask_for_a_while(
    place: Workplace,
    facts: ConcernFacts,
    now: ActionFacts,
    *,
    station: str,
    question: str,
    from_on: str,
    until_on: str,
) -> WatchQuestion:
    """Record a question that layered audits ask for a while.

    Parameters
    ----------
    place, facts
        As for :func:`open_action`.
    now
        The action; corrective and done.
    station
        Id of the station where it is asked.
    question
        Yes or OK means that the fix is in place.
    from_on, until_on
        First and last day, ISO 8601; the last one is not before today.

    Raises
    ------
    InputError
        If the action is not corrective or not done, the stream has no such station, or the days cannot
        be.
    RecordError
        If a value is not allowed.
    """
    if not now.gives_question:
        raise InputError(
            tr("Only a corrective action that is done gives a question; record it as done first.")
        )
    _check_station(facts, station)
    refuse_before(tr("Last day"), until_on, tr("the first day"), from_on)
    refuse_before(tr("Last day"), until_on, tr("today"), today(place).isoformat())
    return place.add(
        WatchQuestion,
        concern=facts.concern.concern,
        action=now.id,
        station=station,
        question=question,
        from_on=from_on,
        until_on=until_on,
    )
