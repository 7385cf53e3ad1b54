"""What of the records of a concern or an audit book can be found by searching."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from walkapp.actions.books import Facts, facts_of
from walkapp.actions.reading import records_of
from walkapp.actions.reasons import OWN_REASONS
from walkapp.actions.workplace import Workplace
from walkapp.errors import ChecklistError, InputError
from walkapp.language import code_for_people, month_words
from walkapp.model.checklist import Stream
from walkapp.model.ids import is_book
from walkapp.model.records import (
    AuditAnswer,
    AuditMissed,
    Concern,
    Deliveries,
    Photo,
    ReadAcross,
    Record,
    SuccessFactor,
    kind_of,
)
from walkapp.model.standing import standing_of
from walkapp.search import Document, is_searchable, typed_texts


def state_of_checklists(place: Workplace) -> str:
    """Give a short text that changes with the checklists and the language that their names are said in.

    It is empty when no checklists are looked at.
    """
    if place.checklists is None:
        return ""
    try:
        digests = [f"{stream.id} {stream.digest}" for stream in place.streams().values()]
    except ChecklistError:
        digests = ["mistakes"]
    kept = place.store.checklist_digests()
    return hashlib.blake2b(
        repr((sorted(digests), kept, code_for_people())).encode(), digest_size=16
    ).hexdigest()


def documents_of(place: Workplace, concern: str) -> tuple[str, list[Document]]:
    """Give what a concern or audit book is about, and a document for each record that can be found."""
    try:
        facts: Facts | None = facts_of(place, concern)
    except InputError:
        facts = None  # Its records came without the one that opened it.
    if facts is not None:
        current, stream = facts.standing.current, facts.stream
    else:
        current = standing_of(records_of(place.store, concern)).current
        stream = None
    names = _Names(stream, _streams(place), _answers(place, concern) if is_book(concern) else {})
    made = (_document(record, names) for record in current)
    documents = list({document: None for document in made if document is not None})
    return facts.what if facts else "", documents


def _answers(place: Workplace, book: str) -> Mapping[str, AuditAnswer]:
    """Give the answers of an audit book by id, those that no longer hold among them."""
    return {r.id: r for r in place.store.records(book) if isinstance(r, AuditAnswer)}


def _streams(place: Workplace) -> Mapping[str, Stream]:
    try:
        return place.streams()
    except ChecklistError:
        return {}


@dataclass(frozen=True, slots=True)
class _Names:
    """Looks up what stations, checks and defects are called."""

    stream: Stream | None
    streams: Mapping[str, Stream]
    answers: Mapping[str, AuditAnswer]

    def station_of(self, record: Record) -> str:
        """Give the name of a record's station; its id where no checklist here has it."""
        if isinstance(record, ReadAcross):
            stream = self.streams.get(record.other_stream)
            station = stream.station(record.other_station) if stream else None
            return station.name if station else record.other_station
        asked = self._asked_of(record)
        station_id = asked.station if asked else getattr(record, "station", "")
        station = self.stream.station(station_id) if self.stream and station_id else None
        return station.name if station else station_id

    def others_of(self, record: Record) -> Iterable[str]:
        """Give the names of check, defect and stream, and what an audit asked."""
        if isinstance(record, Concern):
            defect = self.stream.defect(record.defect) if self.stream else None
            yield defect.name if defect else record.defect
            yield self.stream.name if self.stream else record.stream
        if isinstance(record, ReadAcross):
            stream = self.streams.get(record.other_stream)
            yield stream.name if stream else record.other_stream
        if (asked := self._asked_of(record)) is not None:
            yield asked.asked
        if isinstance(record, (Deliveries, SuccessFactor)):
            yield self.stream.name if self.stream else record.stream
        if isinstance(record, Deliveries):
            yield month_words(date.fromisoformat(record.month))
        if isinstance(record, AuditMissed):
            layer = self.stream.audits.layer(record.layer) if self.stream and self.stream.audits else None
            yield layer.name if layer else record.layer
        station = self.stream.station(getattr(record, "station", "")) if self.stream else None
        check = station.check(getattr(record, "check", "")) if station else None
        if check is not None:
            defect = self.stream.defect(check.finds) if self.stream else None
            yield check.title
            yield defect.name if defect else ""

    def _asked_of(self, record: Record) -> AuditAnswer | None:
        """Give the answer of an audit that a record is, or is about."""
        if isinstance(record, AuditAnswer):
            return record
        about = record.about if isinstance(record, Photo) else getattr(record, "finding", "")
        return self.answers.get(about)


def _document(record: Record, names: _Names) -> Document | None:
    typed = typed_texts(record, OWN_REASONS)
    if not is_searchable(record, typed):
        return None
    station = names.station_of(record)
    return Document(
        record=record.id,
        kind=kind_of(record),
        station=station,
        at=record.at,
        by=record.by,
        body=" · ".join(typed.values()),
        names="\n".join(filter(None, (*names.others_of(record), getattr(record, "unit", ""), station))),
    )
