"""From the records of walks to counts along the stream."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from walkapp.analysis.results import StationTally, Tally
from walkapp.model.checklist import Check, Station, Stream
from walkapp.model.records import Answer, Count, Measurement, Record, Sample


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
        settings, photos, and measurements without limits never count.
    """
    at_station: dict[str, list[Record]] = {}
    for record in records:
        at_station.setdefault(getattr(record, "station", ""), []).append(record)
    return tuple(_tally(station, at_station.get(station.id, ()), defect) for station in stream.stations)


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
        case Answer() | Count():
            return check.kind not in ("measurement", "setting")
        case Measurement():
            return check.kind == "measurement"
        case _:
            return True


def _tally(station: Station, records: Sequence[Record], defect: str) -> StationTally:
    finders = [check for check in station.finders(defect) if _judges_parts(check)]
    tallies = []
    for check in finders:
        judged = list(_judged(check, records))
        if any(checked for checked, _ in judged):
            tallies.append(
                Tally(
                    checked=sum(checked for checked, _ in judged),
                    nok=sum(nok for _, nok in judged),
                    detection=check.detection,
                    false_alarm=check.false_alarm,
                )
            )
    days = {record.made_on for record in records if isinstance(record, Sample) and record.made_on}
    counted = StationTally(
        order=station.order,
        name=station.name,
        tallies=tuple(tallies),
        minutes=station.minutes,
        can_be_checked=bool(finders),
        made_on=tuple(sorted(days)),
        sorts=station.sorts,
    )
    if not finders:
        return counted
    return replace(
        counted,
        seconds_per_part=finders[0].seconds,
        next_detection=finders[0].detection,
        next_false_alarm=finders[0].false_alarm,
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
