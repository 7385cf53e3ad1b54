"""Entries that contradict each other: every value side by side, and settling them by a new record."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from walkapp.actions.books import Facts, facts_of
from walkapp.actions.choice_words import said_choice
from walkapp.actions.kind_words import title_of_kind
from walkapp.actions.reading import records_of
from walkapp.actions.reasons import SETTLED, TAKEN_BACK
from walkapp.actions.workplace import Workplace
from walkapp.analysis.wording import ANSWER_WORDS, counts_text, moment_text
from walkapp.errors import InputError
from walkapp.language import day_said, decimal_text, month_words, tr
from walkapp.model.checklist import Stream
from walkapp.model.ids import short_id
from walkapp.model.records import (
    HEADER,
    Answer,
    AuditAnswer,
    AuditStart,
    CarriedRecord,
    Confirmation,
    Count,
    DatedCount,
    Deliveries,
    Measurement,
    Note,
    Record,
    Setting,
    Study,
    Trial,
    WalkStart,
    Withdrawal,
    columns_of_kind,
    kind_of,
    what_is_said,
)
from walkapp.model.schema import Column
from walkapp.model.standing import Conflict

_NAMED_BY_OTHERS = (WalkStart, Study, Trial, Confirmation, AuditStart)
"""Kinds whose id other records name: another record cannot take their place."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One of the values that contradict each other.

    Parameters
    ----------
    record
        The record that says it.
    value
        What it says, in words.
    counts
        Whether it is the one that counts until a person settles it.
    """

    record: Record
    value: str
    counts: bool

    @property
    def source(self) -> str:
        """Which tablet said it, with which running number, when, and who."""
        one = self.record
        return tr(
            "tablet {device}, number {number}, {at}, {by}",
            device=short_id(one.device),
            number=one.number,
            at=moment_text(one.at),
            by=one.by,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Dispute:
    """Entries that contradict each other, of which only one can hold.

    Parameters
    ----------
    about
        What they are about: kind of entry, station and check, in words.
    kind, station, check
        The same as ids; empty where there is none.
    sides
        Every value, at least two, in the same order on every tablet.
    can_settle
        Whether this version can settle it by a new record.
    """

    about: str
    kind: str
    station: str
    check: str
    sides: tuple[Side, ...]
    can_settle: bool

    @property
    def ids(self) -> frozenset[str]:
        """Ids of the records that contradict each other; only one for two contents of one id."""
        return frozenset(side.record.id for side in self.sides)

    @property
    def key(self) -> str:
        """Id of the record that counts for now: names the dispute in a route."""
        return next(side.record.id for side in self.sides if side.counts)


def disputes_of(place: Workplace, facts: Facts) -> tuple[Dispute, ...]:
    """Put all contradictions of a concern or audit book into words, in the same order on every tablet."""
    if not facts.conflicts:
        return ()
    by_id = {record.id: record for record in records_of(place.store, facts.id)}
    return tuple(_dispute(conflict, by_id, facts.stream) for conflict in facts.conflicts)


def _dispute(conflict: Conflict, by_id: Mapping[str, Record], stream: Stream | None) -> Dispute:
    values = [head for head in conflict.heads if not isinstance(head, Withdrawal)]
    subject = values[0] if values else _taken_back(conflict.heads[0], by_id)
    station, check = getattr(subject, "station", ""), getattr(subject, "check", "")
    names = _fields_to_tell(values)
    kinds = {kind_of(head) for head in values}
    return Dispute(
        about=_about(subject, stream),
        kind=kind_of(subject),
        station=station,
        check=check,
        sides=tuple(
            Side(record=head, value=_value(head, names), counts=head == conflict.shown)
            for head in conflict.heads
        ),
        can_settle=len(kinds) <= 1
        and not any(isinstance(head, (*_NAMED_BY_OTHERS, CarriedRecord)) for head in values),
    )


def _taken_back(record: Record, by_id: Mapping[str, Record]) -> Record:
    """Find what a withdrawal takes back, or the last withdrawal when that is not here."""
    seen = {record.id}
    while isinstance(record, Withdrawal):
        before = next((by_id[i] for i in record.replaces if i in by_id and i not in seen), None)
        if before is None:
            return record
        seen.add(before.id)
        record = before
    return record


def _about(subject: Record, stream: Stream | None) -> str:
    station_id, check_id = getattr(subject, "station", ""), getattr(subject, "check", "")
    station = stream.station(station_id) if stream and station_id else None
    check = station.check(check_id) if station and check_id else None
    words = (
        _kind_in_words(subject),
        station.name if station else station_id,
        check.title if check else check_id,
        *_month_and_part(subject),
    )
    return ", ".join(filter(None, words))


def entry_about(record: Record, stream: Stream | None) -> str:
    """Say what an entry is about: kind of entry, station and check."""
    return _about(record, stream)


def entry_value(record: Record) -> str:
    """Say what an entry says, every field of it but station and check."""
    return _value(record, _fields_to_tell((record,)))


def _month_and_part(subject: Record) -> tuple[str, ...]:
    if not isinstance(subject, Deliveries):
        return ()
    part = tr("part number {part_number}", part_number=subject.part_number) if subject.part_number else ""
    return month_words(date.fromisoformat(subject.month)), part


def _kind_in_words(record: Record) -> str:
    return title_of_kind(kind_of(record))


def _fields_to_tell(values: Sequence[Record]) -> tuple[str, ...]:
    """Name the fields in which the values differ; all fields when there is nothing to compare with."""
    kinds = {type(value) for value in values}
    if not values or CarriedRecord in kinds:
        return ()
    names = [n for value in values for n in columns_of_kind(kind_of(value)) if n not in HEADER]
    own = tuple(dict.fromkeys(names))
    if len(kinds) > 1:
        return own
    differing = tuple(n for n in own if len({getattr(value, n) for value in values}) > 1)
    return differing or tuple(n for n in own if n not in ("station", "check"))


def _value(record: Record, names: Iterable[str]) -> str:
    if isinstance(record, Withdrawal):
        return tr(TAKEN_BACK)
    if isinstance(record, CarriedRecord):
        return "; ".join(f"{name}: {cell or '-'}" for name, cell in record.cells) or tr("no fields")
    main, told = _main_value(record)
    columns = columns_of_kind(kind_of(record))
    own = [n for n in names if n in columns and n not in told]
    cells = {n: _cell(n, columns[n], getattr(record, n)) for n in own}
    # Beside a value that is told in short, a field without anything in it says nothing.
    rest = [f"{tr(columns[n].title)}: {cell or '-'}" for n, cell in cells.items() if cell or not main]
    return "; ".join(filter(None, (main, *rest)))


def _cell(name: str, column: Column, value: Any) -> str:
    """Write a field for a person; of an id or a SHA-256 as much as people compare by eye."""
    cell = column.to_cell(value)
    match column.form:
        case "record_id":
            return short_id(cell)
        case "digest":
            return cell[:8]
        case "day":
            return day_said(cell)
        case "decimal":
            return decimal_text(cell)
        case "choice" | "flag":
            return said_choice(name, cell)
        case _:
            return cell


def _main_value(record: Record) -> tuple[str, tuple[str, ...]]:
    """Say in short what the usual kinds say, and with which fields that is said."""
    match record:
        case Answer() | AuditAnswer():
            return tr(ANSWER_WORDS[record.answer]), ("answer",)
        case Count() | DatedCount():
            return counts_text(record.nok, record.checked) or tr("0 checked"), ("nok", "checked")
        case Measurement():
            return f"{decimal_text(record.value)} {record.unit_of_measure}", ("value", "unit_of_measure")
        case Setting():
            return f"{decimal_text(record.actual)} {record.unit_of_measure}", ("actual", "unit_of_measure")
        case Note():
            return record.words, ("words",)
        case _:
            return "", ()


def settle(place: Workplace, concern: str, dispute: Dispute, side: int, why: str) -> Record:
    """Let one value hold: a new record that says the same and replaces all that contradict each other.

    Parameters
    ----------
    place
        Where to record it.
    concern
        Id of the concern, or of the audit book.
    dispute
        What is settled, as the person saw it.
    side
        Place of the value that holds, from 0.
    why
        Why that one.

    Returns
    -------
    Record
        The new record, durable.

    Raises
    ------
    InputError
        If the entries are no longer in dispute, others have joined them, or this version cannot settle
        it.
    """
    if dispute not in disputes_of(place, facts_of(place, concern)):
        raise InputError(
            tr("These entries have changed since the page was opened; look at them once more.")
        )
    if not dispute.can_settle:
        raise InputError(
            tr("This version cannot settle these entries; settle them on a tablet with the newest version.")
        )
    chosen = dispute.sides[side].record
    return place.add(
        type(chosen),
        **what_is_said(chosen),
        concern=chosen.concern,
        walk=chosen.walk,
        replaces=tuple(sorted(dispute.ids)),
        why=SETTLED + why,
    )


def disputes_to_json(disputes: Iterable[Dispute]) -> list[dict[str, Any]]:
    """Turn contradictions into JSON values."""
    return [
        {
            "about": dispute.about,
            "kind": dispute.kind,
            "station": dispute.station,
            "check": dispute.check,
            "values": [
                {
                    "value": side.value,
                    "counts": side.counts,
                    "id": side.record.id,
                    "device": side.record.device,
                    "number": side.record.number,
                    "at": side.record.at,
                    "by": side.record.by,
                }
                for side in dispute.sides
            ],
        }
        for dispute in disputes
    ]


def dispute_lines(disputes: Iterable[Dispute]) -> Iterator[str]:
    """Tell contradictions, every value on a line of its own."""
    for dispute in disputes:
        yield tr("Entries disagree, a person has to settle it: {about}", about=dispute.about)
        for side in dispute.sides:
            now = f"  <- {tr('counts for now')}" if side.counts else ""
            yield f"    {side.value} ({side.source}){now}"
