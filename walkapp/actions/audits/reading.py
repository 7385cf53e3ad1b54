"""What one audit asks, and what was recorded of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from functools import cached_property
from zoneinfo import ZoneInfo

from walkapp.actions.acting import watch_questions
from walkapp.actions.audits.book import AuditBook, Finding, books_between, lies_right
from walkapp.actions.workplace import Workplace
from walkapp.analysis.audits.calendar import AuditSlot
from walkapp.errors import ChecklistError, InputError
from walkapp.language import day_said, msg, tr
from walkapp.model.auditing import AuditQuestion
from walkapp.model.checklist import Station, Stream
from walkapp.model.ids import is_record_id
from walkapp.model.records import (
    AuditAnswer,
    AuditSigned,
    AuditStart,
    WatchQuestion,
)

NOT_HERE = msg(
    "A verification question that is not here: its concern is still to be merged, or it was taken back"
)


GONE = msg("This audit is not here: it was taken back, or its bundle is still to be merged.")


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


def audits_between(place: Workplace, stream: str, first: date, last: date) -> tuple[AuditFacts, ...]:
    """Give every audit whose day of the plan lies between two days, both included, by day, then id.

    Verification questions that are not answered have no text here: to look them up takes reading all
    concerns.
    """
    days = first.isoformat(), last.isoformat()
    found = [
        facts_of_start(place, book, start, ())
        for book, start in starts_between(place, stream, first, last)
        if days[0] <= start.day <= days[1]
    ]
    return tuple(sorted(found, key=lambda facts: (facts.start.day, facts.start.id)))


def starts_between(
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
        raise InputError(tr(GONE))
    watched = watch_questions(place, start.stream) if _asks_watched(start) else ()
    return facts_of_start(place, found, start, watched)


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
        return _asked(station, question, why=tr("was NOK lately"))
    known = watched.get(name)
    return Asked(
        station=station.id,
        station_name=station.name,
        hazards=station.hazards,
        ref=ref,
        ask=known.question if known else tr(NOT_HERE),
        why=tr("fix under watch until {until_on}", until_on=day_said(known.until_on))
        if known
        else tr("fix under watch"),
    )


def facts_of_start(
    place: Workplace, book: AuditBook, start: AuditStart, watched: Iterable[WatchQuestion]
) -> AuditFacts:
    records = book.of(start.id)
    answers: dict[str, AuditAnswer] = {r.ref: r for r in records if isinstance(r, AuditAnswer)}
    stream = stream_of(place, start)
    slot = slot_of(place, stream, start)
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


def asked_words(place: Workplace, start: AuditStart, answer: AuditAnswer) -> str:
    """Give what was asked, in the language of the person where the checklist of the audit has it."""
    stream = stream_of(place, start)
    found = stream.audits.question(answer.station, answer.question) if stream and stream.audits else None
    return found.ask if found else answer.asked


def slot_of(place: Workplace, stream: Stream | None, start: AuditStart) -> AuditSlot | None:
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
