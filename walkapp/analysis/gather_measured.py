"""From the records of walks to the values of each characteristic along the stream."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from walkapp.analysis.gather import unplaced
from walkapp.analysis.gather_units import walk_names
from walkapp.analysis.measured_results import Limits, MeasuredStation, Reading
from walkapp.analysis.moments import exact
from walkapp.model.checklist import Check, Station, Stream
from walkapp.model.records import Measurement, Record


@dataclass(frozen=True, slots=True, kw_only=True)
class Characteristic:
    """One thing that is measured, with its values along the stream.

    Parameters
    ----------
    id, title
        Its id, and the title of the first check that measures it.
    unit
        Unit of its values.
    special
        Whether any of its checks is marked as a special characteristic.
    checked_at, station_names
        Ids and names of the stations whose checklist measures it, in stream order; at least one.
    stations
        All stations of the stream in order, each with its own limits; without readings where nothing
        was measured.
    decimals
        Most decimals that a value was typed with.
    left_out
        Values that were recorded in another unit, with an earlier checklist.
    """

    id: str
    title: str
    unit: str
    special: bool
    checked_at: tuple[str, ...]
    station_names: tuple[str, ...]
    stations: tuple[MeasuredStation, ...]
    decimals: int
    left_out: int = 0


def gather_characteristics(stream: Stream, records: Iterable[Record]) -> tuple[Characteristic, ...]:
    """Collect the values of every characteristic of the checklist.

    Parameters
    ----------
    stream
        The value stream with its checklist.
    records
        The records that hold, over all walks, in any order.

    Returns
    -------
    tuple of Characteristic
        In the order in which the stream first measures them, also those without a value. The values
        of a station are in the order of their records' ids, and keep every digit that was typed.

        A tag is followed within one walk only: P1 of another walk may be another part. Where the
        tags of several walks meet, the name of the walk is added to each. The group of a value is its
        parallel unit.
    """
    ordered = sorted(records, key=lambda record: record.id)
    walks = walk_names(ordered)
    return tuple(_characteristic(stream, taken, walks) for taken in take_measurements(stream, ordered))


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """The measurements of one characteristic.

    Parameters
    ----------
    checks
        What measures it, in stream order, one check for each station; at least one.
    usable
        Its measurements in its unit, ordered by id.
    other_unit
        Those in another unit, as from an earlier checklist.
    """

    checks: tuple[Check, ...]
    usable: tuple[Measurement, ...]
    other_unit: tuple[Measurement, ...]


def take_measurements(stream: Stream, records: Iterable[Record]) -> tuple[Taken, ...]:
    """Find the measurements that fit the checklist; parameters and order as for
    :func:`gather_characteristics`.
    """
    ordered = sorted(records, key=lambda record: record.id)
    lost = {record.id for record in unplaced(stream, ordered)}
    fitting = [r for r in ordered if isinstance(r, Measurement) and r.id not in lost]
    checks: dict[str, list[Check]] = {}
    for station in stream.stations:
        for check in station.checks:
            if check.measures:
                checks.setdefault(check.measures, []).append(check)
    found = []
    for same in checks.values():
        at = {check.station: check.id for check in same}
        own = [r for r in fitting if at.get(r.station) == r.check]
        found.append(
            Taken(
                checks=tuple(same),
                usable=tuple(r for r in own if r.unit_of_measure == same[0].unit),
                other_unit=tuple(r for r in own if r.unit_of_measure != same[0].unit),
            )
        )
    return tuple(found)


def _characteristic(stream: Stream, taken: Taken, walks: dict[str, str]) -> Characteristic:
    first, usable = taken.checks[0], taken.usable
    at = {check.station: check for check in taken.checks}
    several = len({r.walk for r in usable if r.part}) > 1

    def reading(record: Measurement) -> Reading:
        part = record.part
        if part and several:
            part = f"{part}, {walks.get(record.walk, record.walk[-6:])}"
        return Reading(value=Decimal(record.value), part=part, group=record.unit)

    def measured(station: Station) -> MeasuredStation:
        return MeasuredStation(
            order=station.order,
            name=station.name,
            readings=tuple(reading(r) for r in usable if r.station == station.id),
            limits=limits_of(at[station.id]) if station.id in at else Limits(),
        )

    return Characteristic(
        id=first.measures,
        title=first.title,
        unit=first.unit,
        special=any(check.special for check in taken.checks),
        checked_at=tuple(at),
        station_names=tuple(station.name for station in stream.stations if station.id in at),
        stations=tuple(measured(station) for station in stream.stations),
        decimals=max((decimals_of(r.value) for r in usable), default=0),
        left_out=len(taken.other_unit),
    )


def _is_readable(number: Decimal) -> bool:
    try:
        exact(number)
    except ValueError:
        return False
    return True


def limits_of(check: Check) -> Limits:
    """Give the tolerance of a check, without what numbers cannot tell apart."""
    lsl, usl, nominal = (
        limit if limit is not None and _is_readable(limit) else None
        for limit in (check.lsl, check.usl, check.nominal)
    )
    if lsl is not None and usl is not None and float(lsl) >= float(usl):
        return Limits(nominal=nominal)  # nearer to each other than numbers can tell
    return Limits(lsl=lsl, usl=usl, nominal=nominal)


def decimals_of(value: str) -> int:
    """Count the decimals of a value as it was typed."""
    exponent = Decimal(value).as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0
