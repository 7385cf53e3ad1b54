"""What the answer stands on at one station: counts by check and tablet, entries, pictures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from walkapp.actions.reading import ConcernFacts
from walkapp.actions.review import judged_parts
from walkapp.analysis.filtering import NOT_KNOWN, shift_of, unit_of
from walkapp.analysis.gather import JudgedParts
from walkapp.analysis.gather_dated import samples_by_walk
from walkapp.errors import InputError
from walkapp.language import tr
from walkapp.model.checklist import Station
from walkapp.model.records import HazardsRead, Photo, PhotoCopy, Record

MOST_BEFORE = 20
"""Earlier versions of an entry that are told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedGroup:
    """The parts that one tablet judged with one check at a station.

    Parameters
    ----------
    check, title
        Id and title of the check.
    tablet
        Id of the tablet.
    entries
        The records, the newest first by id.
    """

    check: str
    title: str
    tablet: str
    entries: tuple[JudgedParts, ...]

    @property
    def checked(self) -> int:
        """Parts judged."""
        return sum(one.checked for one in self.entries)

    @property
    def nok(self) -> int:
        """NOK among them."""
        return sum(one.nok for one in self.entries)


@dataclass(frozen=True, slots=True, kw_only=True)
class StationEvidence:
    """Everything that was recorded of a concern at one station.

    Parameters
    ----------
    station
        The station.
    groups
        What the answer counts, in the order of the checks, then by tablet.
    others
        Entries that the answer does not count: questions, settings, notes, change points, lots, parts from
        after a fix that worked, and what does not fit the checklist; the newest first by id.
    photos
        Pictures taken here, the newest first by id.
    """

    station: Station
    groups: tuple[JudgedGroup, ...]
    others: tuple[Record, ...]
    photos: tuple[Photo, ...]

    @property
    def checked(self) -> int:
        """Parts that the answer counts here."""
        return sum(group.checked for group in self.groups)

    @property
    def nok(self) -> int:
        """NOK among them."""
        return sum(group.nok for group in self.groups)

    @property
    def tablets(self) -> tuple[str, ...]:
        """Ids of the tablets that judged them, sorted."""
        return tuple(sorted({group.tablet for group in self.groups}))

    def group(self, check: str, tablet: str) -> JudgedGroup | None:
        """Give what one tablet judged with one check, or none."""
        return next((g for g in self.groups if (g.check, g.tablet) == (check, tablet)), None)


def evidence_by_station(facts: ConcernFacts) -> tuple[StationEvidence, ...]:
    """Gather what a concern's answer stands on, station by station in stream order.

    Parameters
    ----------
    facts
        The concern, or a part of it (:func:`walkapp.actions.review.narrowed`).

    Raises
    ------
    InputError
        If the checklist of the stream is not known.
    """
    stream = facts.known_stream()
    judged: dict[str, list[JudgedParts]] = {}
    counted = set()
    for one in judged_parts(facts):
        judged.setdefault(one.record.station, []).append(one)  # type: ignore[attr-defined]
        counted.add(id(one.record))
    rest: dict[str, list[Record]] = {}
    for record in facts.standing.current:
        if id(record) not in counted and not isinstance(record, (PhotoCopy, HazardsRead)):
            rest.setdefault(getattr(record, "station", ""), []).append(record)
    return tuple(
        _evidence(station, judged.get(station.id, ()), rest.get(station.id, ()))
        for station in stream.stations
    )


def station_evidence(facts: ConcernFacts, station_id: str) -> StationEvidence:
    """Gather what a concern's answer stands on at one station.

    Raises
    ------
    InputError
        If the checklist is not known, or has no such station.
    """
    found = next((one for one in evidence_by_station(facts) if one.station.id == station_id), None)
    if found is None:
        raise InputError(
            tr(
                "The checklist has no station {station_id}; go back and choose one.",
                station_id=repr(station_id),
            )
        )
    return found


def _evidence(station: Station, judged: Sequence[JudgedParts], rest: Sequence[Record]) -> StationEvidence:
    members: dict[tuple[str, str], list[JudgedParts]] = {}
    for one in judged:
        members.setdefault((getattr(one.record, "check", ""), one.record.device), []).append(one)
    places = {check.id: place for place, check in enumerate(station.checks)}
    titles = {check.id: check.title for check in station.checks}
    photos = [record for record in rest if isinstance(record, Photo)]
    return StationEvidence(
        station=station,
        groups=tuple(
            JudgedGroup(
                check=check,
                title=titles[check],
                tablet=tablet,
                entries=tuple(sorted(members[check, tablet], key=_id_of_judged, reverse=True)),
            )
            for check, tablet in sorted(members, key=lambda one: (places[one[0]], one[1]))
        ),
        others=tuple(sorted((r for r in rest if not isinstance(r, Photo)), key=_id, reverse=True)),
        photos=tuple(sorted(photos, key=_id, reverse=True)),
    )


def _id(record: Record) -> str:
    return record.id


def _id_of_judged(one: JudgedParts) -> str:
    return one.record.id


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryOrigin:
    """Where an entry and its parts come from.

    Parameters
    ----------
    record
        The entry as it holds.
    shift
        The shift in which it was made; empty where the checklist has no shifts.
    unit
        Cavity, fixture or machine, as "cavity 3"; empty where it was not recorded.
    lot, made_on
        Of the parts that this walk checked here, where they are not in doubt; else empty.
    before
        What it replaces, the newest first.
    """

    record: Record
    shift: str
    unit: str
    lot: str
    made_on: str
    before: tuple[Record, ...]


def entry_origins(facts: ConcernFacts, records: Sequence[Record]) -> tuple[EntryOrigin, ...]:
    """Say where entries come from, in the order given."""
    made: dict[str, dict[str, tuple[str, str]]] = {}
    stations = {getattr(record, "station", "") for record in records}
    here: dict[str, list[Record]] = {station: [] for station in stations}
    for one in facts.standing.current:
        if (station := getattr(one, "station", "")) in stations:
            here[station].append(one)
    for station in stations:
        made[station] = samples_by_walk(here[station])
    by_id = {record.id: record for record in facts.everything}

    def origin(record: Record) -> EntryOrigin:
        unit = unit_of(facts.stream, record)
        day, lot = made[getattr(record, "station", "")].get(record.walk, ("", ""))
        return EntryOrigin(
            record=record,
            shift=shift_of(facts.stream, record) if facts.stream and facts.stream.shifts else "",
            unit="" if unit == NOT_KNOWN else unit,
            lot=lot,
            made_on=day,
            before=_before(record, by_id),
        )

    return tuple(map(origin, records))


def _before(record: Record, by_id: dict[str, Record]) -> tuple[Record, ...]:
    """What a record replaces, directly or through others; records that replace each other end it."""
    found: dict[str, Record] = {}
    waiting = list(record.replaces)
    while waiting and len(found) < MOST_BEFORE:
        one = by_id.get(waiting.pop(0))
        if one is not None and one.id not in found and one.id != record.id:
            found[one.id] = one
            waiting += one.replaces
    return tuple(sorted(found.values(), key=_id, reverse=True))


def entry_of(facts: ConcernFacts, entry_id: str) -> Record:
    """Give the entry of that id that holds.

    Raises
    ------
    InputError
        If there is none now.
    """
    found = next((record for record in facts.standing.current if record.id == entry_id), None)
    if found is None:
        raise InputError(tr("This entry was taken back or corrected meanwhile; go back and choose again."))
    return found
