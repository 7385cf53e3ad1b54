"""From the records of walks to the values of each station in the order of time, for a chart."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from walkapp.analysis.gather_dated import samples_by_walk
from walkapp.analysis.gather_measured import decimals_of, limits_of, take_measurements
from walkapp.analysis.measured_results import Limits
from walkapp.model.checklist import Check, Station, Stream
from walkapp.model.records import Measurement, Record


@dataclass(frozen=True, slots=True, kw_only=True)
class SeriesValue:
    """One part.

    Parameters
    ----------
    value
        Its value, exact; the mean of several readings of one tagged part.
    day
        Day on which it was made or, where that is not known, measured; ISO 8601.
    """

    value: Fraction
    day: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """The values of one characteristic at one station.

    Parameters
    ----------
    station, check
        Where, and by which check.
    values
        By day, then in the order in which they were measured; at least one.
    limits
        The tolerance.
    decimals
        Most decimals that a value was typed with.
    units
        Parallel units (cavities, fixtures) that made the parts, sorted, as far as they are known.
    undated
        Parts of which only the day of measuring is known.
    repeated
        Parts measured more than once.
    left_out
        Values recorded in another unit.
    """

    station: Station
    check: Check
    values: tuple[SeriesValue, ...]
    limits: Limits
    decimals: int
    units: tuple[str, ...]
    undated: int
    repeated: int
    left_out: int


def gather_series(stream: Stream, records: Iterable[Record]) -> tuple[Series, ...]:
    """Collect the values of every characteristic at every station that has any.

    Parameters
    ----------
    stream
        The value stream with its checklist.
    records
        The records that hold, over all walks, in any order.

    Returns
    -------
    tuple of Series
        In the order in which the stream first measures the characteristics, then in stream order. Which
        values count is as in :func:`walkapp.analysis.gather_measured.gather_characteristics`. A tag is one
        part within one walk.
    """
    everything = tuple(records)
    found = []
    for taken in take_measurements(stream, everything):
        for check in taken.checks:
            station = stream.station(check.station)
            own = [record for record in taken.usable if record.station == check.station]
            if station is not None and own:
                here = [record for record in everything if getattr(record, "station", "") == station.id]
                days = {walk: day for walk, (day, _) in samples_by_walk(here).items() if day}
                other = sum(record.station == station.id for record in taken.other_unit)
                found.append(_series(station, check, own, days, other))
    return tuple(found)


def _series(
    station: Station, check: Check, own: Sequence[Measurement], days: Mapping[str, str], left_out: int
) -> Series:
    parts: dict[tuple[str, str], list[Measurement]] = {}
    for record in own:
        # An untagged value is a part of its own.
        parts.setdefault((record.walk, record.part) if record.part else (record.id, ""), []).append(record)
    of_parts = sorted(parts.values(), key=lambda same: (_day(same[0], days), same[0].id))
    return Series(
        station=station,
        check=check,
        values=tuple(
            SeriesValue(
                value=sum((Fraction(Decimal(one.value)) for one in same), Fraction(0)) / len(same),
                day=_day(same[0], days),
            )
            for same in of_parts
        ),
        limits=limits_of(check),
        decimals=max(decimals_of(record.value) for record in own),
        units=tuple(sorted({record.unit for record in own if record.unit})),
        undated=sum(same[0].walk not in days for same in of_parts),
        repeated=sum(len(same) > 1 for same in of_parts),
        left_out=left_out,
    )


def _day(record: Measurement, days: Mapping[str, str]) -> str:
    return days.get(record.walk) or record.at[:10]
