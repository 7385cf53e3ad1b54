"""From the records of walks to the groupings of each station: by parallel unit, walk, lot and shift.

What counts as a part is the business of :func:`walkapp.analysis.gather.gather_tallies`; here the
records are only divided before they are counted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from walkapp.analysis.gather import gather_tallies
from walkapp.analysis.units import Grouping, UnitTally
from walkapp.analysis.wording import by_grouping, named
from walkapp.language import day_said, msg, tr, trn
from walkapp.model.checklist import OUTSIDE_SHIFTS, Station, Stream
from walkapp.model.records import Record, Sample, WalkStart

WALK, LOT, SHIFT = "walk", "lot", "shift"
"""Names of the groupings that are not parallel units."""

SHIFT_OF_JUDGING = msg("A shift here is the one in which parts were judged, not the one that made them.")
"""Told wherever a shift is named: parts may have waited."""

UNIT = "unit"
"""Name of the grouping by units that the checklist does not list."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StationGroupings:
    """The ways in which the parts of one station can be divided.

    Parameters
    ----------
    order, station, name
        Place in the stream, id and name of the station.
    checked, nok
        All parts judged for the defect here.
    groupings
        First that by the station's parallel units, then by walk, by lot and by shift where there are
        parts of at least two of them. All of them are to be compared together.
    notes
        Parts that a grouping leaves out, and groupings that cannot be told apart, one line each.
    """

    order: int
    station: str
    name: str
    checked: int
    nok: int
    groupings: tuple[Grouping, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Division:
    """The records of one station by what is known of their parts; an empty name for "not known"."""

    name: str
    units: Mapping[str, UnitTally]
    members: Mapping[str, tuple[str, ...]]

    @property
    def checked(self) -> tuple[str, ...]:
        return tuple(name for name, unit in self.units.items() if name and unit.checked)

    @property
    def unknown(self) -> int:
        return self.units[""].checked if "" in self.units else 0

    def grouping(self) -> Grouping:
        return Grouping(name=self.name, units=tuple(unit for name, unit in self.units.items() if name))


def gather_groupings(
    stream: Stream, records: Iterable[Record], defect: str
) -> tuple[StationGroupings, ...]:
    """Divide the parts judged at every station.

    Parameters
    ----------
    stream
        The value stream with its checklist.
    records
        The records that hold, over all walks, in any order.
    defect
        Id of the defect.

    Returns
    -------
    tuple of StationGroupings
        One for each station in stream order. Parts whose unit or lot was not recorded are in no unit
        of that grouping, and a note says how many. A lot is known where all samples that one walk
        recorded at the station name the same one. A shift is the one in which the record that holds
        was made, by the local time it was recorded with: the shift of judging, not of making, and for a
        corrected record that of the correction. Records in no shift are a group of their own; a
        checklist without shifts has no such grouping. Where lots or shifts divide the parts just as
        walks do, or shifts just as lots do, only the first of these is a grouping and a note says so:
        one comparison made twice would be corrected for twice.
    """
    ordered = sorted(records, key=lambda record: record.id)
    walks = walk_names(ordered)
    totals = gather_tallies(stream, ordered, defect)
    found = []
    for station, total in zip(stream.stations, totals, strict=True):
        here = [record for record in ordered if getattr(record, "station", "") == station.id]
        groupings: tuple[Grouping, ...] = ()
        notes: tuple[str, ...] = ()
        if total.checked:
            groupings, notes = _groupings(stream, station, here, defect, walks)
        found.append(
            StationGroupings(
                order=station.order,
                station=station.id,
                name=station.name,
                checked=total.checked,
                nok=total.nok,
                groupings=groupings,
                notes=notes,
            )
        )
    return tuple(found)


def walk_names(records: Iterable[Record]) -> dict[str, str]:
    """Name every walk for people.

    Parameters
    ----------
    records
        Records that hold, in any order.

    Returns
    -------
    dict
        From the id of a walk to "walk of 2026-03-03 by QE-RT"; with the time of day, and then the end
        of its id, where two would have the same name.
    """
    starts = sorted((r for r in records if isinstance(r, WalkStart)), key=lambda record: record.id)
    forms: tuple[Callable[[WalkStart], str], ...] = (
        lambda r: tr("walk of {at} by {by}", at=day_said(r.at[:10]), by=r.by),
        lambda r: tr("walk of {at} {at2} by {by}", at=day_said(r.at[:10]), at2=r.at[11:16], by=r.by),
        lambda r: tr(
            "walk of {at} {at2} by {by} ({id})",
            at=day_said(r.at[:10]),
            at2=r.at[11:16],
            by=r.by,
            id=r.id[-6:],
        ),
    )
    names: dict[str, str] = {}
    for form in forms:
        unnamed = [start for start in starts if start.id not in names]
        written = [form(start) for start in unnamed]
        for start, name in zip(unnamed, written, strict=True):
            if written.count(name) == 1 or form is forms[-1]:
                names[start.id] = name
    return names


def _groupings(
    stream: Stream, station: Station, here: Sequence[Record], defect: str, walks: Mapping[str, str]
) -> tuple[tuple[Grouping, ...], tuple[str, ...]]:
    lots = _lots(here)
    alone = replace(stream, stations=(station,))
    checks = {check.id for check in station.finders(defect)}
    parts = [
        record
        for record in here
        if getattr(record, "check", "") in checks and gather_tallies(alone, [record], defect)[0].checked
    ]

    def divide(name: str, key: Callable[[Record], str], known: Sequence[str] = ()) -> _Division:
        return _divide(alone, parts, defect, name, key, known)

    kind = station.units.kind if station.units else UNIT
    units = divide(
        kind, lambda record: getattr(record, "unit", ""), station.units.names if station.units else ()
    )
    by_walk = divide(WALK, lambda record: walks.get(record.walk, ""))
    by_lot = divide(LOT, lambda record: lots.get(record.walk, ""))
    by_shift = divide(
        SHIFT,
        lambda record: shift.name if (shift := stream.shift_of(record.at)) else OUTSIDE_SHIFTS,
        [shift.name for shift in stream.shifts],
    )
    kept: list[_Division] = []
    notes: list[str] = []
    if station.units or units.checked:
        kept.append(units)
    others: list[_Division] = []
    for division in (by_walk, by_lot, by_shift):
        if len(division.checked) < 2:
            continue
        twin = next((other for other in others if _is_same(other, division)), None)
        if twin:
            notes.append(_alike(twin, division))
        else:
            others.append(division)
    kept += others
    notes = [*_unknown(kept), *notes]
    if len(by_shift.checked) > 1:
        notes.append(tr(SHIFT_OF_JUDGING))
    return tuple(division.grouping() for division in kept), tuple(notes)


def _divide(
    alone: Stream,
    parts: Sequence[Record],
    defect: str,
    name: str,
    key: Callable[[Record], str],
    known: Sequence[str],
) -> _Division:
    members: dict[str, list[Record]] = {unit: [] for unit in known}
    for record in parts:
        members.setdefault(key(record), []).append(record)
    units: dict[str, UnitTally] = {}
    for unit, records in members.items():
        (tally,) = gather_tallies(alone, records, defect)
        if tally.checked or unit in known:
            units[unit] = UnitTally(name=_shown(unit), checked=tally.checked, nok=tally.nok)
    ids = {unit: tuple(r.id for r in members[unit]) for unit in units if units[unit].checked}
    return _Division(name, units, ids)


def _shown(unit: str) -> str:
    """Name a unit for people; only what the program says of one is in their language."""
    if unit == OUTSIDE_SHIFTS:
        return tr(OUTSIDE_SHIFTS)
    return unit or tr("not known")


def _lots(here: Sequence[Record]) -> dict[str, str]:
    """Lot of the parts that each walk checked at a station, where it is not in doubt."""
    said: dict[str, set[str]] = {}
    for record in here:
        if isinstance(record, Sample):
            said.setdefault(record.walk, set()).add(record.lot)
    return {walk: next(iter(lots)) for walk, lots in said.items() if len(lots) == 1}


def _is_same(one: _Division, other: _Division) -> bool:
    if "" in one.members or "" in other.members:
        return False
    return sorted(one.members.values()) == sorted(other.members.values())


def _alike(kept: _Division, same: _Division) -> str:
    """Say which unit of the grouping that is kept is which of the one that divides the same parts."""
    name_of = {members: name for name, members in same.members.items()}
    whole, each = _CANNOT_BE_TOLD_APART[kept.name, same.name]
    told = [
        tr(
            _OUTSIDE[kept.name] if name_of[members] == OUTSIDE_SHIFTS else each,
            kept=name,
            same=name_of[members],
        )
        for name, members in kept.members.items()
    ]
    return tr(whole, told=named(told))


_CANNOT_BE_TOLD_APART = {
    (WALK, LOT): (
        msg("Lots and walks cannot be told apart here: {told}."),
        msg("the {kept} had lot {same}"),
    ),
    (WALK, SHIFT): (
        msg("Shifts and walks cannot be told apart here: {told}."),
        msg("the {kept} was in shift {same}"),
    ),
    (LOT, SHIFT): (
        msg("Shifts and lots cannot be told apart here: {told}."),
        msg("lot {kept} was in shift {same}"),
    ),
}
"""What is said of two groupings that divide the same parts, and of each of their units."""

_OUTSIDE = {
    WALK: msg("the {kept} was outside every shift"),
    LOT: msg("lot {kept} was outside every shift"),
}


def _unknown(kept: Sequence[_Division]) -> Iterator[str]:
    for division in kept:
        if division.unknown:
            yield trn(
                "{count} part is not in the comparison {by_grouping}: that was not recorded of it.",
                "{count} parts are not in the comparison {by_grouping}: that was not recorded of them.",
                division.unknown,
                by_grouping=by_grouping(division.name),
            )
