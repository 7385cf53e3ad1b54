"""Audits: what was recorded of each, which are due, and how each of them stands.

How an audit stands is never typed. It follows from the plan, the clock and the records.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta, tzinfo
from functools import cached_property
from zoneinfo import ZoneInfo

from walkapp.actions.acting import watch_questions
from walkapp.actions.reasons import SETTLED, UNDO
from walkapp.actions.workplace import Workplace
from walkapp.analysis.audits.calendar import AuditSlot, day_begins, day_of_work, moment_of
from walkapp.analysis.audits.extra import Extra, extras_of
from walkapp.errors import ChecklistError, InputError
from walkapp.model.auditing import AuditLayer, AuditQuestion
from walkapp.model.checklist import Station, Stream
from walkapp.model.ids import book_id, is_record_id
from walkapp.model.records import (
    AuditAnswer,
    AuditMissed,
    AuditReaction,
    AuditSigned,
    AuditStart,
    FindingClosed,
    Photo,
    Record,
    WatchQuestion,
    what_is_said,
)
from walkapp.model.standing import standing_of

TO_COME, OPEN, BEGUN, IN_TIME, LATE, MADE_UP, MISSED, UNFINISHED = (
    "to come",
    "due now",
    "begun",
    "done in time",
    "done late",
    "made up",
    "missed",
    "not finished",
)
"""How an audit of the plan stands; always exactly one of these.

In time: signed before its time was over. Late: begun in its time and signed after it. Made up: begun
after its time, while it could be made up, and signed. Missed: its time is over and nobody began it, or only
when it could not be made up any more. Not finished: begun, and neither signed nor to be made up any more.
"""

DONE = (IN_TIME, LATE, MADE_UP)
OVER = (MISSED, UNFINISHED)

NOT_HERE = (
    "A verification question that is not here: its concern is still to be merged, or it was taken back"
)

GONE = "This audit is not here: it was taken back, or its bundle is still to be merged."

NO_REACTION, CORRECTED, FINDING_OPEN, FINDING_OVERDUE, CLOSED = (
    "no reaction yet",
    "corrected on the spot",
    "open",
    "overdue",
    "closed",
)
"""How a finding, a NOK of an audit, stands."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One question of one audit.

    Parameters
    ----------
    station
        Id of the station.
    station_name
        Its name; its id where no checklist here has it.
    hazards
        What can hurt somebody there.
    ref
        What is asked, as :attr:`AuditAnswer.ref` has it.
    ask, how
        The question, and how it is judged.
    seconds
        Time that it takes to look and answer.
    special
        Whether it is about a special characteristic.
    why
        Why it is asked beyond the plan; empty for a question of the plan.
    """

    station: str
    station_name: str
    ref: str
    ask: str
    hazards: tuple[str, ...] = ()
    how: str = ""
    seconds: float = 30.0
    special: bool = False
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """A NOK of an audit.

    Parameters
    ----------
    answer
        The NOK; its id is the finding's id.
    start
        The audit.
    reaction
        What was done about it; none before that. Of several that contradict each other the newest that
        leaves something to do, so that no word "corrected" hides another one.
    closed
        When it was put right for good; none before that. Of several the first; one that another tablet
        contradicts does not count.
    pictures
        Pictures that show it.
    others
        Reactions of other tablets that contradict `reaction`, until somebody says it once more.
    ids
        Ids under which the NOK is known, its own first: an undo, or a decision between tablets, says the
        same once more under a new one.
    """

    answer: AuditAnswer
    start: AuditStart
    reaction: AuditReaction | None = None
    closed: FindingClosed | None = None
    pictures: tuple[Photo, ...] = ()
    others: tuple[AuditReaction, ...] = ()
    ids: tuple[str, ...] = ()

    @property
    def found_on(self) -> str:
        """The day on which it was found, ISO 8601."""
        return (self.start.paper_until or self.answer.at)[:10]

    @property
    def closed_on(self) -> str:
        """The day on which it was put right; empty while it is not."""
        if self.closed is not None:
            return self.closed.closed_on
        is_corrected = self.reaction is not None and self.reaction.reaction == "corrected"
        return self.found_on if is_corrected else ""

    def status(self, today: date) -> str:
        """How it stands on a day: one of the words of this module."""
        if self.closed is not None:
            return CLOSED
        if self.reaction is None:
            return NO_REACTION
        if self.reaction.reaction == "corrected":
            return CORRECTED
        return FINDING_OVERDUE if self.reaction.due_on < today.isoformat() else FINDING_OPEN

    def is_open(self, today: date) -> bool:
        """Whether something is left to do."""
        return self.status(today) not in (CORRECTED, CLOSED)


@dataclass(frozen=True)
class AuditFacts:
    """Everything known of one audit.

    Parameters
    ----------
    start
        The record that began it.
    stream
        The stream with the checklist that it was begun with; none when that is not here.
    asked
        What it asks, station by station in stream order: the plan, then what was added at the station.
        Without the checklist only what was answered.
    answers
        The answers that hold, by what was asked.
    findings
        Its NOK answers, in the order of what is asked.
    signed
        The signature, the first one of several; none before it is signed.
    is_whole
        Whether all that it asks is known: its checklist is here and has this audit in its plan.
    """

    start: AuditStart
    stream: Stream | None
    asked: tuple[Asked, ...]
    answers: Mapping[str, AuditAnswer]
    findings: tuple[Finding, ...]
    signed: AuditSigned | None
    is_whole: bool = True

    @property
    def book(self) -> str:
        """Id of the audit book that it lies in."""
        return self.start.concern

    @property
    def key(self) -> tuple[str, date, str]:
        """Which audit of the plan it is: layer, day and shift."""
        return self.start.layer, date.fromisoformat(self.start.day), self.start.shift

    @property
    def begun_at(self) -> datetime:
        """When it was begun; of one on paper as the paper says."""
        return datetime.fromisoformat(self.start.paper_from or self.start.at)

    @property
    def signed_at(self) -> datetime | None:
        """When it was signed, of one on paper as the paper says; none before it is signed."""
        if self.signed is None:
            return None
        return datetime.fromisoformat(self.start.paper_until or self.signed.at)

    @property
    def by(self) -> str:
        """Role and initials of who did it."""
        return self.start.paper_by or self.start.by

    @cached_property
    def unanswered(self) -> tuple[Asked, ...]:
        """What is still to be answered, in order."""
        return tuple(one for one in self.asked if one.ref not in self.answers)

    @cached_property
    def without_reaction(self) -> tuple[Finding, ...]:
        """The NOK answers about which nothing was said yet."""
        return tuple(finding for finding in self.findings if finding.reaction is None)

    def count(self, answer: str) -> int:
        """How many answers are of that kind: ``ok``, ``not_ok`` or ``not_applicable``."""
        return sum(given.answer == answer for given in self.answers.values())

    @property
    def changed_after_signing(self) -> bool:
        """Whether the answers are no longer what was signed."""
        if self.signed is None:
            return False
        signed = (self.signed.ok, self.signed.nok, self.signed.not_applicable)
        return signed != (self.count("ok"), self.count("not_ok"), self.count("not_applicable"))


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


class AuditBook:
    """The records of one audit book that hold, sorted out by audit.

    Parameters
    ----------
    records
        All records of the book. Those of a walk that claims the book's id as its own are left out.
    """

    def __init__(self, records: Sequence[Record]) -> None:
        self.records = records
        own = [record for record in records if not record.walk]
        self.standing = standing_of(own)
        self._by_audit: dict[str, list[Record]] = {}
        self._pictures: dict[str, list[Photo]] = {}
        self.starts: list[AuditStart] = []
        self.missed: list[AuditMissed] = []
        for record in self.standing.current:
            if isinstance(record, AuditStart):
                self.starts.append(record)
            elif isinstance(record, AuditMissed):
                self.missed.append(record)
            elif isinstance(record, Photo):
                self._pictures.setdefault(record.about, []).append(record)
            elif audit := getattr(record, "audit", ""):
                self._by_audit.setdefault(audit, []).append(record)
        self._answers = {r.id: r for r in own if isinstance(r, AuditAnswer)}
        self._reactions: dict[str, list[AuditReaction]] = {}
        self._closed: dict[str, list[FindingClosed]] = {}
        heads = [head for conflict in self.standing.conflicts for head in conflict.heads]
        for record in dict.fromkeys((*self.standing.current, *heads)):
            if isinstance(record, AuditReaction):
                self._reactions.setdefault(record.finding, []).append(record)
            elif isinstance(record, FindingClosed) and record not in heads:
                self._closed.setdefault(record.finding, []).append(record)

    def of(self, audit: str) -> tuple[Record, ...]:
        """Give what belongs to one audit, by id."""
        return tuple(self._by_audit.get(audit, ()))

    def findings_of(self, start: AuditStart) -> tuple[Finding, ...]:
        """Give the findings of one audit, by id."""
        answers = {r.ref: r for r in self.of(start.id) if isinstance(r, AuditAnswer)}
        found = (self._finding(r, start) for r in answers.values() if r.answer == "not_ok")
        return tuple(sorted(found, key=lambda finding: finding.answer.id))

    def _finding(self, answer: AuditAnswer, start: AuditStart) -> Finding:
        ids = (answer.id, *self._said_again(answer))
        reactions = sorted(
            (r for one in ids for r in self._reactions.get(one, ())),
            key=lambda r: (r.reaction != "corrected", r.id, r.due_on, r.what),
        )
        closed = (r for one in ids for r in self._closed.get(one, ()))
        pictures = (r for one in ids for r in self._pictures.get(one, ()))
        return Finding(
            answer=answer,
            start=start,
            reaction=reactions[-1] if reactions else None,
            closed=min(closed, key=lambda r: r.id, default=None),
            pictures=tuple(sorted(pictures, key=lambda r: r.id)),
            others=tuple(reactions[:-1]),
            ids=ids,
        )

    def _said_again(self, answer: AuditAnswer) -> Iterator[str]:
        """Give the ids of earlier answers that this one only says again, by an undo or a decision."""
        seen = {answer.id}
        while answer.why == UNDO or answer.why.startswith(SETTLED):
            waiting, before = list(answer.replaces), None
            while waiting and before is None:
                record = self._answers.get(waiting.pop(0))
                if record is None or record.id in seen:
                    continue
                seen.add(record.id)
                waiting += record.replaces
                before = record if what_is_said(record) == what_is_said(answer) else None
            if before is None:
                return
            yield before.id
            answer = before

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """The findings of all audits that are here."""
        return tuple(finding for start in self.starts for finding in self.findings_of(start))

    @cached_property
    def stray_noks(self) -> int:
        """How many NOK there are whose audit is not here."""
        here = {start.id for start in self.starts}
        said = (r for audit, records in self._by_audit.items() if audit not in here for r in records)
        return sum(isinstance(r, AuditAnswer) and r.answer == "not_ok" for r in said)

    def answers(self) -> Iterator[AuditAnswer]:
        """Give all answers of audits that are here."""
        for start in self.starts:
            yield from (r for r in self.of(start.id) if isinstance(r, AuditAnswer))


def zone_of(stream: Stream) -> tzinfo:
    """Give the time zone of a stream with audits."""
    assert stream.audits is not None
    return ZoneInfo(stream.audits.calendar.time_zone)


def audited_streams(place: Workplace) -> tuple[Stream, ...]:
    """Give the value streams of the checklists folder that have audits, by id.

    Raises
    ------
    ChecklistError
        With every mistake of every folder.
    """
    return tuple(stream for stream in place.streams().values() if stream.audits is not None)


def books_between(place: Workplace, stream: str, first: date, last: date) -> Iterator[AuditBook]:
    """Give the audit books of the months from one day to another, both included."""
    day = first.replace(day=1)
    while day <= last:
        yield place.audit_book(book_id(stream, day))
        if (day.year, day.month) == (date.max.year, date.max.month):
            return
        day = (day + timedelta(days=32)).replace(day=1)


def lies_right(record: AuditStart | AuditMissed) -> bool:
    """Whether a record lies in the book of its stream and day, where every tablet looks for it."""
    return record.concern == book_id(record.stream, date.fromisoformat(record.day))


def audits_between(place: Workplace, stream: str, first: date, last: date) -> tuple[AuditFacts, ...]:
    """Give every audit whose day of the plan lies between two days, both included, by day, then id.

    Verification questions that are not answered have no text here: to look them up takes reading all
    concerns.
    """
    days = first.isoformat(), last.isoformat()
    found = [
        _audit_facts(place, book, start, ())
        for book, start in _starts_between(place, stream, first, last)
        if days[0] <= start.day <= days[1]
    ]
    return tuple(sorted(found, key=lambda facts: (facts.start.day, facts.start.id)))


def _starts_between(
    place: Workplace, stream: str, first: date, last: date
) -> Iterator[tuple[AuditBook, AuditStart]]:
    """Give the beginnings of all audits of the months from one day to another, with their books."""
    for book in books_between(place, stream, first, last):
        yield from ((book, start) for start in book.starts if lies_right(start))


def audit_facts(place: Workplace, book: str, audit: str) -> AuditFacts:
    """Read one audit.

    Parameters
    ----------
    place
        Where the records are.
    book
        Id of its audit book.
    audit
        Its id.

    Raises
    ------
    InputError
        If the store has no such audit.
    """
    found = place.audit_book(book)
    start = next((start for start in found.starts if start.id == audit), None)
    if start is None:
        raise InputError(GONE)
    watched = watch_questions(place, start.stream) if _asks_watched(start) else ()
    return _audit_facts(place, found, start, watched)


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
    for book, start in _starts_between(place, stream.id, begins, ends):
        if (start.layer, start.day, start.shift) in wanted:
            wanted[start.layer, start.day, start.shift].append(_audit_facts(place, book, start, ()))
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
            f"The plan of {stream.name} has no such audit on {day}; 'walkapp due' lists those it has."
        )
    return planned


def planned_of(place: Workplace, facts: AuditFacts) -> PlannedAudit | None:
    """Give the place of an audit in the plan that it was begun with, and how it alone stands.

    None when the checklist that it was begun with is not here, or does not have it in its plan.
    """
    slot = _slot_of(place, facts.stream, facts.start)
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
        As for :func:`walkapp.actions.audit_doing.begin_audit`.
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


def questions_of(
    place: Workplace,
    stream: Stream,
    slot: AuditSlot,
    added: Iterable[str],
    watched: Iterable[WatchQuestion],
) -> tuple[Asked, ...]:
    """Put together what an audit asks.

    Parameters
    ----------
    place
        Keeps the plan.
    stream
        The stream, with the checklist that the audit is begun with.
    slot
        Its place in the plan.
    added
        What is asked beyond the plan, as :attr:`AuditAnswer.ref` has it.
    watched
        The verification questions that are known here.

    Returns
    -------
    tuple of Asked
        Station by station in stream order; at each the plan in the order of the checklist, then what was
        added. What was added at a station that the checklist does not have is left out.
    """
    plan = place.audit_plan(stream)
    names = {question.id: question for question in watched}
    planned = [(v.station, q) for v in plan.visits(slot) for q in v.questions]
    found = {f"{station.id}/{q.id}": _asked(station, q) for station, q in planned}
    for ref in added:
        station = stream.station(ref.partition("/")[0])
        if station is not None and ref not in found:
            found[ref] = _added(stream, station, ref, names)
    order = {station.id: station.order for station in stream.stations}
    return tuple(sorted(found.values(), key=lambda asked: order[asked.station]))


def _asked(station: Station, question: AuditQuestion, why: str = "") -> Asked:
    return Asked(
        station=station.id,
        station_name=station.name,
        hazards=station.hazards,
        ref=f"{station.id}/{question.id}",
        ask=question.ask,
        how=question.how,
        seconds=question.seconds,
        special=question.special,
        why=why,
    )


def _added(stream: Stream, station: Station, ref: str, watched: Mapping[str, WatchQuestion]) -> Asked:
    name = ref.partition("/")[2]
    question = stream.audits.question(station.id, name) if stream.audits else None
    if question is not None:
        return _asked(station, question, why="was NOK lately")
    known = watched.get(name)
    return Asked(
        station=station.id,
        station_name=station.name,
        hazards=station.hazards,
        ref=ref,
        ask=known.question if known else NOT_HERE,
        why=f"fix under watch until {known.until_on}" if known else "fix under watch",
    )


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


def _audit_facts(
    place: Workplace, book: AuditBook, start: AuditStart, watched: Iterable[WatchQuestion]
) -> AuditFacts:
    records = book.of(start.id)
    answers: dict[str, AuditAnswer] = {r.ref: r for r in records if isinstance(r, AuditAnswer)}
    stream = stream_of(place, start)
    slot = _slot_of(place, stream, start)
    asked = _asked_of(place, stream, slot, start, answers, watched)
    order = {one.ref: number for number, one in enumerate(asked)}
    findings = sorted(
        book.findings_of(start),
        key=lambda finding: (order.get(finding.answer.ref, len(order)), finding.answer.id),
    )
    signed = next((r for r in records if isinstance(r, AuditSigned)), None)
    return AuditFacts(start, stream, asked, answers, tuple(findings), signed, slot is not None)


def stream_of(place: Workplace, start: AuditStart) -> Stream | None:
    """Give the stream with the checklist that an audit was begun with; none when that is not here."""
    try:
        stream = place.kept_stream(start.stream, start.checklist)
    except ChecklistError:
        return None
    return stream if stream is not None and stream.audits is not None else None


def _slot_of(place: Workplace, stream: Stream | None, start: AuditStart) -> AuditSlot | None:
    if stream is None or stream.audits is None:
        return None
    layer = stream.audits.layer(start.layer)
    if layer is None:
        return None
    return place.audit_plan(stream).calendar.slot(layer, date.fromisoformat(start.day), start.shift)


def _asked_of(
    place: Workplace,
    stream: Stream | None,
    slot: AuditSlot | None,
    start: AuditStart,
    answers: Mapping[str, AuditAnswer],
    watched: Iterable[WatchQuestion],
) -> tuple[Asked, ...]:
    planned: tuple[Asked, ...] = ()
    if stream is not None and slot is not None:
        planned = questions_of(place, stream, slot, start.added.split(), watched)
    known = {asked.ref for asked in planned}
    others = tuple(
        Asked(
            station=answer.station,
            station_name=found.name
            if stream and (found := stream.station(answer.station))
            else answer.station,
            ref=ref,
            ask=answer.asked,
        )
        for ref, answer in answers.items()
        if ref not in known
    )
    return (*planned, *others)


def _asks_watched(start: AuditStart) -> bool:
    return any(is_record_id(ref.partition("/")[2]) for ref in start.added.split())
