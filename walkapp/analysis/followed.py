"""One and the same part, told by its tag, followed from station to station.

A part that was judged OK behind one station and NOK behind a later one narrows where the defect came about
as no sample can: nothing else differs but what happened between. It is told and counted here; it changes no
probability, which is worked out of all parts together (:mod:`walkapp.analysis.locate`).
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from walkapp.analysis.gather import gather_judged
from walkapp.model.checklist import Station, Stream
from walkapp.model.records import Answer, Measurement, PartSeen, Record

OK, NOK, BOTH, SEEN, NOT_SEEN = "ok", "not_ok", "both", "seen", "not_seen"
"""How a part stood at a station: OK, NOK, judged both ways, looked at but not judged for the defect, not
looked at."""

TURNED = "turned"
"""OK at one station and all before it, NOK at a later one and all behind it, looked at in that order."""
ALWAYS_OK, ALWAYS_NOK = "always_ok", "always_nok"
CONTRADICTS = "contradicts"
"""NOK and then OK, or judged both ways at one station."""
OUT_OF_ORDER = "out_of_order"
"""As ``TURNED`` along the stream, but the NOK was seen before the OK."""
UNJUDGED = "unjudged"

_NUMBERED = re.compile(r"P[0-9]{1,2}", re.ASCII)
_LONGEST_CHAIN = 100


def is_numbered(tag: str) -> bool:
    """Say whether a tag is a number that the program gave within one walk, such as ``P3``.

    In another walk the same number is on another part.
    """
    return _NUMBERED.fullmatch(tag) is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One look at a part at a station.

    Parameters
    ----------
    entry
        The answer or measurement, as it holds now.
    first
        The same as it was first made: when it was looked at.
    state
        ``ok`` or ``not_ok`` where it judges the part for the defect; ``seen`` otherwise.
    lot
        Lot as it was read off the part; empty where it was not.
    read_by
        ``code`` or ``typed``; empty where the tag was counted up on the page of the measurement.
    """

    entry: Answer | Measurement
    first: Record
    state: str
    lot: str = ""
    read_by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """How a part stood at one station.

    Parameters
    ----------
    station
        The station.
    state
        ``ok``, ``not_ok``, ``both``, ``seen`` or ``not_seen``.
    looks
        In the order in which they were made.
    """

    station: Station
    state: str
    looks: tuple[Look, ...] = ()

    @property
    def is_judged(self) -> bool:
        """Whether it was judged for the defect here."""
        return self.state in (OK, NOK, BOTH)


@dataclass(frozen=True, slots=True, kw_only=True)
class FollowedPart:
    """One tagged part along the stream.

    Parameters
    ----------
    tag
        Its tag.
    walk
        Id of the walk, where the tag is a number that was given within it; empty otherwise.
    stops
        One for each station, in stream order.
    story
        ``turned``, ``always_ok``, ``always_nok``, ``contradicts``, ``out_of_order`` or ``unjudged``.
    counts
        Whether it says where the defect starts: not when it was looked at after a fix that worked.
    """

    tag: str
    walk: str
    stops: tuple[Stop, ...]
    story: str
    counts: bool

    @property
    def key(self) -> str:
        """Tells it from all others of the concern."""
        return f"{self.walk} {self.tag}".strip()

    @property
    def seen(self) -> tuple[Stop, ...]:
        """Where it was looked at."""
        return tuple(stop for stop in self.stops if stop.looks)

    @property
    def judged(self) -> tuple[Stop, ...]:
        """Where it was judged for the defect."""
        return tuple(stop for stop in self.stops if stop.is_judged)

    @property
    def turn(self) -> tuple[Stop, Stop] | None:
        """The last station at which it was OK and the first at which it was NOK; none unless it turned."""
        if self.story not in (TURNED, OUT_OF_ORDER):
            return None
        first_nok = next(i for i, stop in enumerate(self.judged) if stop.state == NOK)
        return self.judged[first_nok - 1], self.judged[first_nok]

    @property
    def lots(self) -> tuple[str, ...]:
        """The lots that were read off it, each once, sorted; more than one is told."""
        return tuple(sorted({look.lot for stop in self.stops for look in stop.looks if look.lot}))


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """Parts that were OK up to one station and NOK from another one on.

    Parameters
    ----------
    after, at
        The last station at which they were OK, and the first at which they were NOK.
    parts
        They, at least one.
    between
        Stations between the two, at which they were not judged.
    """

    after: Station
    at: Station
    parts: tuple[FollowedPart, ...]
    between: tuple[Station, ...]


@dataclass(frozen=True)
class Followed:
    """All parts of a concern that can be followed.

    Parameters
    ----------
    parts
        Sorted by tag, then by walk.
    """

    parts: tuple[FollowedPart, ...]

    @cached_property
    def counted(self) -> tuple[FollowedPart, ...]:
        """The parts that were judged at two stations or more, before a fix that worked."""
        return tuple(part for part in self.parts if part.counts and len(part.judged) > 1)

    @cached_property
    def turns(self) -> tuple[Turn, ...]:
        """Where parts turned from OK to NOK; most parts first, then in stream order."""
        found: dict[tuple[int, int], list[FollowedPart]] = {}
        for part in self.counted:
            if part.story == TURNED and part.turn is not None:
                after, at = part.turn
                found.setdefault((after.station.order, at.station.order), []).append(part)
        turns = [
            Turn(
                after=parts[0].turn[0].station,
                at=parts[0].turn[1].station,
                parts=tuple(parts),
                between=tuple(s.station for s in parts[0].stops if after < s.station.order < at),
            )
            for (after, at), parts in found.items()
            if parts[0].turn is not None
        ]
        return tuple(sorted(turns, key=lambda t: (-len(t.parts), t.at.order, t.after.order)))

    def of_story(self, *stories: str) -> tuple[FollowedPart, ...]:
        """Give the counted parts of these stories; of contradictions those that are not counted as well."""
        parts = self.parts if CONTRADICTS in stories else self.counted
        return tuple(part for part in parts if part.story in stories)

    def of_tag(self, tag: str, walk: str = "") -> FollowedPart | None:
        """Give the part of a tag as it is read in a walk; none where nobody has looked at it."""
        key = f"{walk} {tag}" if is_numbered(tag) else tag
        return next((part for part in self.parts if part.key == key), None)

    def to_come(self, station: Station) -> tuple[FollowedPart, ...]:
        """Give the parts that were looked at before a station in the stream, and not at it or behind it."""
        return tuple(
            part for part in self.parts if part.seen and part.seen[-1].station.order < station.order
        )


def follow_parts(
    stream: Stream,
    records: Iterable[Record],
    everything: Iterable[Record],
    defect: str,
    *,
    left_out: Collection[str] = (),
) -> Followed:
    """Put together what is known of each tagged part.

    Parameters
    ----------
    stream
        The value stream with its checklist.
    records
        The records that hold (see :func:`walkapp.model.standing.standing_of`), in any order.
    everything
        All records, with those that no longer hold: a tag stays with an entry that was corrected.
    defect
        Id of the defect.
    left_out
        Ids of entries on parts from after a fix that worked: such parts are told and not counted.

    Returns
    -------
    Followed
        What judges a part is as in :func:`walkapp.analysis.gather.gather_tallies`. What was looked at first
        follows from the ids of the entries, which rise on each tablet whatever its clock does; between
        tablets their clocks decide.
    """
    held = tuple(records)
    chains = _Chains(held, everything)
    entries = [r for r in held if _is_look(r) and stream.station(getattr(r, "station", "")) is not None]
    nok = {id(j.record): j.nok > 0 for j in gather_judged(stream, entries, defect)}
    tagged = _tags(held, chains)
    looks: dict[tuple[str, str], dict[str, list[Look]]] = {}
    for entry in entries:
        assert isinstance(entry, Answer | Measurement)
        seen = tagged.get(entry.id)
        tag = (seen.part if seen else "") or (entry.part if isinstance(entry, Measurement) else "")
        if not tag:
            continue
        state = SEEN if id(entry) not in nok else NOK if nok[id(entry)] else OK
        look = Look(
            entry=entry,
            first=chains.first_of(entry),
            state=state,
            lot=seen.lot if seen else "",
            read_by=seen.read_by if seen else "",
        )
        key = (tag, entry.walk if is_numbered(tag) else "")
        looks.setdefault(key, {}).setdefault(entry.station, []).append(look)
    out = frozenset(left_out)
    return Followed(tuple(_part(stream, key, at_station, out) for key, at_station in sorted(looks.items())))


def _is_look(record: Record) -> bool:
    return isinstance(record, Measurement) or (
        isinstance(record, Answer) and record.answer != "not_applicable"
    )


def _part(
    stream: Stream, key: tuple[str, str], at_station: Mapping[str, list[Look]], left_out: frozenset[str]
) -> FollowedPart:
    tag, walk = key
    stops = tuple(_stop(station, at_station.get(station.id, ())) for station in stream.stations)
    counts = not any(look.entry.id in left_out for stop in stops for look in stop.looks)
    return FollowedPart(tag=tag, walk=walk, stops=stops, story=_story(stops), counts=counts)


def _stop(station: Station, looks: Iterable[Look]) -> Stop:
    ordered = tuple(sorted(looks, key=lambda look: (look.first.id, look.entry.id)))
    states = {look.state for look in ordered}
    if not states:
        return Stop(station=station, state=NOT_SEEN)
    judged = states - {SEEN}
    state = SEEN if not judged else BOTH if len(judged) > 1 else judged.pop()
    return Stop(station=station, state=state, looks=ordered)


def _story(stops: Iterable[Stop]) -> str:
    judged = [stop for stop in stops if stop.is_judged]
    states = [stop.state for stop in judged]
    if not states:
        return UNJUDGED
    if BOTH in states or (NOK in states and OK in states[states.index(NOK) :]):
        return CONTRADICTS
    if NOK not in states:
        return ALWAYS_OK
    if OK not in states:
        return ALWAYS_NOK
    last_ok = max(look.first.id for stop in judged for look in stop.looks if look.state == OK)
    first_nok = min(look.first.id for stop in judged for look in stop.looks if look.state == NOK)
    return TURNED if last_ok < first_nok else OUT_OF_ORDER


def _tags(records: Iterable[Record], chains: _Chains) -> dict[str, PartSeen]:
    """Give the tag of each entry that holds, by its id; of several the newest, by id."""
    found: dict[str, PartSeen] = {}
    for record in sorted((r for r in records if isinstance(r, PartSeen)), key=lambda r: r.id):
        entry = chains.current_of(record.about)
        if entry is not None:
            found[entry] = record
    return found


class _Chains:
    """Follows entries through their corrections, each of them once."""

    def __init__(self, held: Iterable[Record], everything: Iterable[Record]) -> None:
        self._held = {r.id for r in held if _is_look(r)}
        self._by_id: dict[str, Record] = {}
        self._replaced_by: dict[str, list[str]] = {}
        for record in everything:
            self._by_id[record.id] = record
            for replaced in record.replaces:
                self._replaced_by.setdefault(replaced, []).append(record.id)
        self._found: dict[str, str | None] = {}

    def current_of(self, entry: str) -> str | None:
        """Give the id of the look that an entry has become; none where it is none any more."""
        if entry in self._found:
            return self._found[entry]
        trail, to_see, found = [], [entry], None
        seen = {entry}
        while to_see and found is None:
            here = to_see.pop()
            trail.append(here)
            found = here if here in self._held else self._found.get(here)
            for after in sorted(self._replaced_by.get(here, ()), reverse=True):
                if after not in seen and after not in self._found:
                    seen.add(after)
                    to_see.append(after)
        for here in trail:
            self._found[here] = found
        return found

    def first_of(self, entry: Answer | Measurement) -> Record:
        """Give an entry as it was first made, before it was corrected as a look."""
        first: Record = entry
        for _ in range(_LONGEST_CHAIN):
            before = next(self._looks_before(first), None)
            if before is None or before.id >= first.id:
                break
            first = before
        return first

    def _looks_before(self, record: Record) -> Iterator[Record]:
        for replaced in sorted(record.replaces):
            before = self._by_id.get(replaced)
            if before is not None and _is_look(before) and type(before) is type(record):
                yield before
