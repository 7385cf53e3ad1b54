"""From the records of walks to counts along the stream."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TypeVar

from walkapp.analysis.results import StationTally, Tally
from walkapp.model.checklist import Check, Station, Stream
from walkapp.model.records import (
    Answer,
    Count,
    DatedCount,
    Measurement,
    RatesChosen,
    Record,
    Sample,
    StationWeight,
)


def gather_tallies(stream: Stream, records: Iterable[Record], defect: str) -> tuple[StationTally, ...]:
    """Count, for every station, the parts judged with checks that find the defect.

    Parameters
    ----------
    stream
        The value stream with its checklist.
    records
        The records that hold (see :func:`walkapp.model.standing.standing_of`), in any order.
    defect
        Id of the defect.

    Returns
    -------
    tuple of StationTally
        One for each station in stream order. An answer OK or NOK is one part; a count is as many as
        it says; a measured value is one part, NOK outside the limits. "Not applicable" and records
        that do not fit the checklist (see :func:`unplaced`) count nothing. Questions, process
        settings, photos, and measurements without limits never count, nor do counts of older lots: such
        parts say when the defect started (see :mod:`walkapp.analysis.gather_dated`). Detection and false
        alarm of a check are those that :func:`rates_in_use` gives, or else those of the checklist;
        stations weigh as :func:`weights_in_use` says, and all the same when that is 0 for every one.
    """
    at_station: dict[str, list[Record]] = {}
    for record in records:
        at_station.setdefault(getattr(record, "station", ""), []).append(record)
    tallies = tuple(_tally(station, at_station.get(station.id, ()), defect) for station in stream.stations)
    if any(tally.weight for tally in tallies):
        return tallies
    return tuple(replace(tally, weight=1.0) for tally in tallies)


def rates_in_use(records: Iterable[Record]) -> dict[tuple[str, str], RatesChosen]:
    """Find the rates of inspection studies that checks count with.

    Parameters
    ----------
    records
        Records that hold, in any order.

    Returns
    -------
    dict
        From ids of station and check to the newest choice: the one with the greatest id, so that every
        tablet counts with the same one.
    """
    chosen = (record for record in records if isinstance(record, RatesChosen))
    return _newest(chosen, lambda record: (record.station, record.check))


def weights_in_use(records: Iterable[Record]) -> dict[str, StationWeight]:
    """Find how likely stations were thought to be the origin beforehand.

    Parameters
    ----------
    records
        Records that hold, in any order.

    Returns
    -------
    dict
        From the id of a station to the newest word on it, by record id; none for all others, which
        weigh 1.
    """
    said = (record for record in records if isinstance(record, StationWeight))
    return _newest(said, lambda record: record.station)


R = TypeVar("R", bound=Record)
P = TypeVar("P")


def _newest(records: Iterable[R], place_of: Callable[[R], P]) -> dict[P, R]:
    """The record with the greatest id for each place, so that every tablet takes the same one."""
    found: dict[P, R] = {}
    for record in records:
        place = place_of(record)
        if place not in found or record.id > found[place].id:
            found[place] = record
    return found


def unplaced(stream: Stream, records: Iterable[Record]) -> tuple[Record, ...]:
    """Find the records that the checklist has no place for.

    Parameters
    ----------
    stream
        The value stream with its checklist.
    records
        Records that hold, in any order.

    Returns
    -------
    tuple of Record
        In the order given: those whose station is not in the stream, whose check is not at that
        station, or which judge parts in another way than the check does (a value for a check that
        is answered OK or NOK, or the reverse).
    """
    return tuple(record for record in records if not _has_place(stream, record))


def _has_place(stream: Stream, record: Record) -> bool:
    station_id = getattr(record, "station", "")
    if not station_id:
        return True
    station = stream.station(station_id)
    if station is None:
        return False
    check_id = getattr(record, "check", "")
    if not check_id:
        return True
    check = station.check(check_id)
    return check is not None and _fits(check, record)


def _fits(check: Check, record: Record) -> bool:
    match record:
        case Answer(answer="not_applicable"):
            return True
        case Answer() | Count() | DatedCount():
            return check.kind not in ("measurement", "setting")
        case Measurement():
            return check.kind == "measurement"
        case _:
            return True


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedParts:
    """The parts that one record says were judged for the defect.

    Parameters
    ----------
    record
        The answer, count or measured value.
    checked, nok
        Parts judged, at least 1, and NOK among them.
    """

    record: Record
    checked: int
    nok: int


def gather_judged(stream: Stream, records: Iterable[Record], defect: str) -> tuple[JudgedParts, ...]:
    """Give the records that :func:`gather_tallies` counts, with what each of them counts for.

    Parameters
    ----------
    stream, records, defect
        As there.

    Returns
    -------
    tuple of JudgedParts
        In the order given; their sums are those of the tallies.
    """
    finders = {
        (station.id, check.id): check for station in stream.stations for check in _finders(station, defect)
    }
    return tuple(
        JudgedParts(record=record, checked=checked, nok=nok)
        for record in records
        if (check := finders.get((getattr(record, "station", ""), getattr(record, "check", ""))))
        for checked, nok in _judged(check, (record,))
        if checked
    )


def _finders(station: Station, defect: str) -> list[Check]:
    return [check for check in station.finders(defect) if _judges_parts(check)]


def _tally(station: Station, records: Sequence[Record], defect: str) -> StationTally:
    finders = _finders(station, defect)
    chosen = rates_in_use(records)
    rates = {
        check.id: (float(study.detection), float(study.false_alarm))
        if (study := chosen.get((station.id, check.id)))
        else (check.detection, check.false_alarm)
        for check in finders
    }
    tallies = []
    for check in finders:
        judged = list(_judged(check, records))
        detection, false_alarm = rates[check.id]
        if any(checked for checked, _ in judged):
            tallies.append(
                Tally(
                    checked=sum(checked for checked, _ in judged),
                    nok=sum(nok for _, nok in judged),
                    detection=detection,
                    false_alarm=false_alarm,
                )
            )
    weight = weights_in_use(records).get(station.id)
    days = {record.made_on for record in records if isinstance(record, Sample) and record.made_on}
    counted = StationTally(
        order=station.order,
        name=station.name,
        tallies=tuple(tallies),
        minutes=station.minutes,
        can_be_checked=bool(finders),
        made_on=tuple(sorted(days)),
        sorts=station.sorts,
        weight=float(weight.weight) if weight else 1.0,
    )
    if not finders:
        return counted
    detection, false_alarm = rates[finders[0].id]
    return replace(
        counted,
        seconds_per_part=finders[0].seconds,
        next_detection=detection,
        next_false_alarm=false_alarm,
    )


def _judges_parts(check: Check) -> bool:
    if check.kind == "measurement":
        return check.lsl is not None or check.usl is not None
    return check.kind in ("attribute", "count")


def _judged(check: Check, records: Sequence[Record]) -> Iterator[tuple[int, int]]:
    """Parts checked and NOK, record by record."""
    for record in records:
        if getattr(record, "check", "") != check.id or not _fits(check, record):
            continue
        match record:
            case Answer(answer="not_applicable"):
                continue
            case Answer():
                yield 1, int(record.answer == "not_ok")
            case Count():
                yield record.checked, record.nok
            case Measurement():
                yield 1, int(not check.is_within_limits(Decimal(record.value)))
