"""The audits of the plan and how each of them stands, which is never typed: it follows from plan, clock and
records."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from walkapp.actions.acting import watch_questions
from walkapp.actions.audits.book import books_between, lies_right
from walkapp.actions.audits.reading import AuditFacts, facts_of_start, slot_of, starts_between, zone_of
from walkapp.actions.workplace import Workplace
from walkapp.analysis.audits.calendar import AuditSlot, day_begins, day_of_work, moment_of
from walkapp.analysis.audits.extra import Extra, extras_of
from walkapp.errors import InputError
from walkapp.language import msg, tr
from walkapp.model.auditing import AuditLayer
from walkapp.model.checklist import Stream
from walkapp.model.records import (
    AuditAnswer,
    AuditMissed,
)

TO_COME, OPEN, BEGUN, IN_TIME, LATE, MADE_UP, MISSED, UNFINISHED = (
    msg("to come"),
    msg("due now"),
    msg("begun"),
    msg("done in time"),
    msg("done late"),
    msg("made up"),
    msg("missed"),
    msg("not finished"),
)
"""How an audit of the plan stands; always exactly one of these.

In time: signed before its time was over. Late: begun in its time and signed after it. Made up: begun
after its time, while it could be made up, and signed. Missed: its time is over and nobody began it, or only
when it could not be made up any more. Not finished: begun, and neither signed nor to be made up any more.
"""


DONE = (IN_TIME, LATE, MADE_UP)


OVER = (MISSED, UNFINISHED)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedAudit:
    """One audit of the plan, and how it stands.

    Parameters
    ----------
    slot, layer
        Its place in the plan, and its layer.
    opens, due
        From when it may be begun, and until when it is to be signed.
    make_up_until
        Until when it may be made up.
    state
        How it stands: one of the words of this module.
    audits
        What was done of it, the one that counts first; several when two tablets did it.
    missed
        Why it was not done, when somebody said so.
    """

    slot: AuditSlot
    layer: AuditLayer
    opens: datetime
    due: datetime
    make_up_until: datetime
    state: str
    audits: tuple[AuditFacts, ...] = ()
    missed: AuditMissed | None = None

    @property
    def can_be_done(self) -> bool:
        """Whether it may be begun or gone on with now."""
        return self.state in (OPEN, BEGUN)

    def can_be_made_up(self, now: datetime) -> bool:
        """Whether it was missed and may still be made up."""
        return self.state == MISSED and now < self.make_up_until


def planned_between(
    place: Workplace, stream: Stream, first: date, last: date, *, layer: str = ""
) -> tuple[PlannedAudit, ...]:
    """Give the audits of the plan whose period has a day from `first` to `last`, and how they stand now.

    Parameters
    ----------
    place
        Where the records are; its clock says what is over.
    stream
        The stream, with its checklist as it is now.
    first, last
        Days of work, both included.
    layer
        Only those of this layer; all when empty.

    Returns
    -------
    tuple of PlannedAudit
        By when they are due, then in the order of the layers.

    Raises
    ------
    InputError
        If the stream has no audits.
    """
    plan, now = place.audit_plan(stream), place.now()
    slots = [
        (slot, one)
        for one in plan.scheme.layers
        if layer in ("", one.id)
        for slot in plan.calendar.slots(one, first, last)
    ]
    if not slots:
        return ()
    begins = min(slot.day for slot, _ in slots)
    ends = max(slot.day for slot, _ in slots)
    done: dict[tuple[str, date, str], list[AuditFacts]] = {slot.key: [] for slot, _ in slots}
    wanted = {(slot.layer, slot.day.isoformat(), slot.shift): done[slot.key] for slot, _ in slots}
    for book, start in starts_between(place, stream.id, begins, ends):
        if (start.layer, start.day, start.shift) in wanted:
            wanted[start.layer, start.day, start.shift].append(facts_of_start(place, book, start, ()))
    missed: dict[tuple[str, str, str], AuditMissed] = {}
    for book in books_between(place, stream.id, begins, ends):
        missed |= {(r.layer, r.day, r.shift): r for r in book.missed if lies_right(r)}
    found = []
    for slot, one in slots:
        if not done[slot.key] and not plan.visits(slot):
            continue  # nothing is asked yet, or any more
        said = missed.get((slot.layer, slot.day.isoformat(), slot.shift))
        planned = replace(_in_plan(place, stream, slot, one), missed=said)
        found.append(_with_state(planned, done[slot.key], now))
    layers = [one.id for one in plan.scheme.layers]
    return tuple(sorted(found, key=lambda one: (one.due, layers.index(one.layer.id), one.opens)))


def todays_audits(place: Workplace, stream: Stream, *, layer: str = "") -> tuple[PlannedAudit, ...]:
    """Give the audits that matter now.

    Those of today, older ones that can still be done or made up, and older ones that were signed today.
    """
    plan, now, zone = place.audit_plan(stream), place.now(), zone_of(stream)
    today = day_of_work(stream, now.astimezone(zone))
    began = moment_of(today, day_begins(stream), zone)
    longest = max(one.make_up_days for one in plan.scheme.layers)
    found = planned_between(place, stream, today - timedelta(days=longest + 1), today, layer=layer)

    def matters(one: PlannedAudit) -> bool:
        if today <= one.slot.last_on or one.can_be_done or one.can_be_made_up(now):
            return True
        signed = (facts.signed_at for facts in one.audits)
        return any(moment is not None and began <= moment for moment in signed)

    return tuple(one for one in found if matters(one))


def planned_audit(place: Workplace, stream: Stream, layer: str, day: date, shift: str) -> PlannedAudit:
    """Give one audit of the plan.

    Raises
    ------
    InputError
        If the plan has no such audit.
    """
    plan = place.audit_plan(stream)
    found = plan.scheme.layer(layer)
    slot = plan.calendar.slot(found, day, shift) if found is not None else None
    candidates = planned_between(place, stream, slot.first_on, slot.last_on, layer=layer) if slot else ()
    planned = next((one for one in candidates if one.slot == slot), None)
    if planned is None:
        raise InputError(
            tr(
                "The plan of {stream} has no such audit on {day}; 'walkapp due' lists those it has.",
                stream=stream.name,
                day=day,
            )
        )
    return planned


def planned_of(place: Workplace, facts: AuditFacts) -> PlannedAudit | None:
    """Give the place of an audit in the plan that it was begun with, and how it alone stands.

    None when the checklist that it was begun with is not here, or does not have it in its plan.
    """
    slot = slot_of(place, facts.stream, facts.start)
    if slot is None or facts.stream is None or facts.stream.audits is None:
        return None
    layer = facts.stream.audits.layer(facts.start.layer)
    assert layer is not None
    return _with_state(_in_plan(place, facts.stream, slot, layer), (facts,), place.now())


def added_to(
    place: Workplace, stream: Stream, planned: PlannedAudit, *, day: date | None = None
) -> tuple[Extra, ...]:
    """Choose what an audit asks beyond its plan, from the records of this tablet.

    Parameters
    ----------
    place, stream, planned
        As for :func:`walkapp.actions.audits.doing.begin_audit`.
    day
        Day of work on which it is begun; today when none.
    """
    plan = place.audit_plan(stream)
    today = day_of_work(stream, place.now().astimezone(zone_of(stream)))
    on = day or today
    answers, watched = recent_answers(place, stream, on), watch_questions(place, stream.id)
    return extras_of(stream, planned.layer, plan.visits(planned.slot), on, answers, watched)


def recent_answers(place: Workplace, stream: Stream, day: date) -> tuple[AuditAnswer, ...]:
    """Give the answers of all audits of a stream that may count for what is added to one on a day."""
    scheme = place.audit_plan(stream).scheme
    # An answer lies in the book of its audit's day: up to a month and the days to make it up before.
    latest = 31 + max(layer.make_up_days for layer in scheme.layers)
    since = day - timedelta(days=scheme.repeat_days + latest)
    books = books_between(place, stream.id, since, day)
    return tuple(answer for book in books for answer in book.answers())


def _in_plan(place: Workplace, stream: Stream, slot: AuditSlot, layer: AuditLayer) -> PlannedAudit:
    calendar, zone = place.audit_plan(stream).calendar, zone_of(stream)
    due = calendar.due_at(slot, zone)
    return PlannedAudit(
        slot=slot,
        layer=layer,
        opens=calendar.opens_at(slot, zone),
        due=due,
        make_up_until=moment_of(due.date() + timedelta(days=layer.make_up_days), due.time(), zone),
        state="",
    )


def _with_state(planned: PlannedAudit, done: Sequence[AuditFacts], now: datetime) -> PlannedAudit:
    def state_of(facts: AuditFacts) -> str:
        if facts.begun_at >= planned.make_up_until:
            return MISSED
        signed = facts.signed_at
        if signed is None:
            return BEGUN if now < planned.make_up_until else UNFINISHED
        if facts.begun_at >= planned.due:
            return MADE_UP
        return IN_TIME if signed < planned.due else LATE

    ranks = (IN_TIME, LATE, MADE_UP, BEGUN, UNFINISHED, MISSED)
    states = {facts.start.id: state_of(facts) for facts in done}
    ordered = sorted(done, key=lambda facts: (ranks.index(states[facts.start.id]), facts.start.id))
    if ordered:
        state = states[ordered[0].start.id]
    elif now < planned.opens:
        state = TO_COME
    else:
        state = OPEN if now < planned.due else MISSED
    return replace(planned, state=state, audits=tuple(ordered))
