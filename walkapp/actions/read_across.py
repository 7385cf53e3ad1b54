"""Read-across: like stations of all streams, and what is known of each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from walkapp.actions.days import refuse_before, today
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.reasons import NEWER
from walkapp.actions.workplace import Workplace
from walkapp.analysis.wording import moment_text
from walkapp.errors import ChecklistError, InputError
from walkapp.language import day_said, msg, tr
from walkapp.model.checklist import Station, Stream
from walkapp.model.records import Action, ReadAcross

STATUS_WORDS = {
    "": msg("not looked at yet"),
    "to_check": msg("to be checked"),
    "clean": msg("clean"),
    "affected": msg("affected"),
    "fixed": msg("fixed"),
    "does_not_apply": msg("does not apply"),
}
"""What is known of a station, in words; the empty status is that of a station nobody wrote about."""

SETTLED = frozenset({"clean", "fixed", "does_not_apply"})
NO_STATION = msg(
    "Like stations can be named when the first bad station is named, or a corrective action "
    "names its station."
)
NO_STREAM = msg(
    "The checklist of this value stream is not here, so which stations are like the first "
    "bad one is not known; merge a bundle that has it, or name its folder with --checklists."
)
NOT_READ = msg(
    "The checklists have mistakes and cannot be read, so which like stations there are is "
    "not known; 'walkapp validate' lists every mistake."
)
NO_FOLDER = msg(
    "No folder of checklists was given, so which like stations other streams have is not "
    "known; name it with --checklists."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A station at which the same could happen.

    Parameters
    ----------
    stream, station
        Their ids.
    stream_name, station_name
        What they are called; the ids where no checklist here has them.
    is_like
        Whether it is of the same kind as the first bad station; otherwise somebody added it.
    latest
        The newest record about it that holds; none when nobody wrote about it.
    others
        Further records about it that hold, the newest first: they were made apart from each other.
    is_overdue
        Whether it is open after the day until which it was to be seen to.
    """

    stream: str
    station: str
    stream_name: str
    station_name: str
    is_like: bool
    latest: ReadAcross | None
    others: tuple[ReadAcross, ...]
    is_overdue: bool

    @property
    def status(self) -> str:
        """One of the statuses of the record; empty when nobody wrote about it."""
        return self.latest.status if self.latest else ""

    @property
    def is_settled(self) -> bool:
        """Whether nothing is left to do there."""
        return self.status in SETTLED


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadAcrossFacts:
    """Where else the same could happen, and what is known of it.

    Parameters
    ----------
    origin
        The station whose like is looked for; none while it is not known.
    is_named, is_sure
        Whether the counts name it, otherwise a corrective action does; and whether surely.
    candidates
        Overdue ones first, then open ones, then settled ones; in each by stream and station.
    reason
        The record that says why there is no like station; none when nobody wrote so.
    trouble
        Why candidates may be missing; empty when the checklists were read.
    streams
        The streams that were looked through, by id.
    """

    origin: Station | None
    is_named: bool
    is_sure: bool
    candidates: tuple[Candidate, ...]
    reason: ReadAcross | None
    trouble: str
    streams: Mapping[str, Stream]

    @property
    def open(self) -> tuple[Candidate, ...]:
        """Those at which something is left to do."""
        return tuple(one for one in self.candidates if not one.is_settled)

    @property
    def overdue(self) -> tuple[Candidate, ...]:
        """Those that should have been seen to."""
        return tuple(one for one in self.candidates if one.is_overdue)

    @property
    def is_complete(self) -> bool:
        """Whether every like station is clean, fixed or does not apply, and none may be missing."""
        return self._missing() == ""

    @property
    def why(self) -> str:
        """How it stands, in one sentence."""
        return self._missing() or self._done()

    def _missing(self) -> str:
        if self.trouble:
            return self.trouble
        if self.origin is None:
            return tr(NO_STATION)
        if affected := sum(one.status == "affected" for one in self.candidates):
            return tr(
                "{stations} affected and not fixed; {open} in all still open.",
                stations=_stations(affected),
                open=len(self.open),
            )
        if self.open:
            return tr(
                "{open} of {candidates} like stations still open.",
                open=len(self.open),
                candidates=len(self.candidates),
            )
        if not self._answers():
            return tr(
                "No other station of this kind is in the checklists: add one by hand, or "
                "write down why there is none."
            )
        return ""

    def _answers(self) -> bool:
        """Whether there is a like station, or a word why there is none.

        A station of another kind that "does not apply" was written about when another station was named.
        """
        return self.reason is not None or any(
            one.is_like or one.status != "does_not_apply" for one in self.candidates
        )

    def _done(self) -> str:
        if not self.candidates and self.reason is not None:
            return tr("No like station elsewhere: {reason}", reason=self.reason.words)
        return tr(
            "All {candidates} like stations are clean, fixed or do not apply.",
            candidates=len(self.candidates),
        )


def _stations(count: int) -> str:
    return tr("1 like station is") if count == 1 else tr("{count} like stations are", count=count)


def read_across_of(place: Workplace, facts: ConcernFacts) -> ReadAcrossFacts:
    """Find the like stations of a concern's first bad station, over all streams of the checklists folder.

    Parameters
    ----------
    place
        Where the records and the checklists are.
    facts
        The concern.

    Returns
    -------
    ReadAcrossFacts
        Stations of the same kind but for the first bad one itself, and those that somebody added. While
        no station is named, the station of the corrective action that is due first takes its place.
    """
    streams, trouble = _streams(place, facts)
    origin, is_named, is_sure = _origin(facts)
    own = facts.concern.stream
    said: dict[tuple[str, str], list[ReadAcross]] = {}
    for record in facts.standing.current:
        if isinstance(record, ReadAcross):
            said.setdefault((record.other_stream, record.other_station), []).append(record)
    itself = (own, origin.id) if origin else None
    about_itself = said.pop(itself, []) if itself else []
    reasons = [record for record in about_itself if record.status == "does_not_apply"]
    like = {
        (stream.id, station.id)
        for stream in streams.values()
        for station in stream.stations
        if origin and station.kind == origin.kind and (stream.id, station.id) != itself
    }
    found = [
        _candidate(streams, where, said.get(where, []), is_like=where in like, day=today(place))
        for where in sorted(like.union(said))
    ]
    # A stable sort: among equals the order of stream and station stays, the same on every tablet.
    found.sort(key=lambda one: (not one.is_overdue, one.is_settled))
    return ReadAcrossFacts(
        origin=origin,
        is_named=is_named,
        is_sure=is_sure,
        candidates=tuple(found),
        reason=reasons[-1] if reasons else None,
        trouble=trouble,
        streams=streams,
    )


def _streams(place: Workplace, facts: ConcernFacts) -> tuple[Mapping[str, Stream], str]:
    own = {facts.stream.id: facts.stream} if facts.stream else {}
    if place.checklists is None:
        return own, tr(NO_FOLDER)
    try:
        return own | dict(place.streams()), "" if own else tr(NO_STREAM)
    except ChecklistError:
        return own, tr(NOT_READ)


def _origin(facts: ConcernFacts) -> tuple[Station | None, bool, bool]:
    stream, answer = facts.stream, facts.quick_answer
    if stream is None or answer is None:
        return None, False, False
    found = next((station for station in stream.stations if station.name == answer.first_bad_station), None)
    if found is not None:
        return found, True, answer.is_sure
    actions = [
        record
        for record in facts.standing.current
        if isinstance(record, Action) and record.aim == "corrective" and stream.station(record.station)
    ]
    first = min(actions, key=lambda action: (action.due_on, action.action), default=None)
    return (stream.station(first.station) if first else None), False, False


def _candidate(
    streams: Mapping[str, Stream],
    where: tuple[str, str],
    records: list[ReadAcross],
    *,
    is_like: bool,
    day: date,
) -> Candidate:
    stream_id, station_id = where
    stream = streams.get(stream_id)
    station = stream.station(station_id) if stream else None
    newest_first = sorted(records, key=lambda record: record.id, reverse=True)
    newest = newest_first[0] if newest_first else None
    is_open = newest is not None and newest.status not in SETTLED
    return Candidate(
        stream=stream_id,
        station=station_id,
        stream_name=stream.name if stream else stream_id,
        station_name=station.name if station else station_id,
        is_like=is_like,
        latest=newest,
        others=tuple(newest_first[1:]),
        is_overdue=bool(newest and is_open and newest.due_on and newest.due_on < day.isoformat()),
    )


def record_read_across(
    place: Workplace,
    facts: ConcernFacts,
    stream: str,
    station: str,
    *,
    status: str,
    words: str = "",
    owner: str = "",
    due_on: str = "",
) -> ReadAcross:
    """Record what is known of another station; it takes the place of the newest word on that station.

    Parameters
    ----------
    place
        Where to record it.
    facts
        The concern.
    stream, station
        Ids of the other station.
    status
        One of ``walkapp.model.records.READ_ACROSS``.
    words
        What was found there, or why it does not apply; needed but for ``to_check``.
    owner
        Role or initials of who sees to it.
    due_on
        ISO 8601; not before today unless it is the day that was written before.

    Raises
    ------
    InputError
        If it is the first bad station itself, or the day has passed.
    RecordError
        If a value is not allowed.
    """
    found = read_across_of(place, facts)
    if found.origin is not None and (stream, station) == (facts.concern.stream, found.origin.id):
        raise InputError(
            tr("{origin} is where the defect was found: choose another station.", origin=found.origin.name)
        )
    before = next(
        (one.latest for one in found.candidates if (one.stream, one.station) == (stream, station)), None
    )
    if status not in SETTLED and not (before and before.due_on == due_on):
        refuse_before(tr("Until"), due_on, tr("today"), today(place).isoformat())
    return place.add(
        ReadAcross,
        concern=facts.concern.concern,
        other_stream=stream,
        other_station=station,
        status=status,
        words=words,
        owner=owner,
        due_on=due_on,
        **({"replaces": (before.id,), "why": NEWER} if before else {}),
    )


def record_no_like_station(place: Workplace, facts: ConcernFacts, words: str) -> ReadAcross:
    """Record why there is no like station anywhere: a word about the first bad station itself.

    Raises
    ------
    InputError
        If the first bad station is not known.
    """
    found = read_across_of(place, facts)
    if found.origin is None:
        raise InputError(tr(NO_STATION))
    return place.add(
        ReadAcross,
        concern=facts.concern.concern,
        other_stream=facts.concern.stream,
        other_station=found.origin.id,
        status="does_not_apply",
        words=words,
        **({"replaces": (found.reason.id,), "why": NEWER} if found.reason else {}),
    )


def source_text(record: ReadAcross) -> str:
    """Say what a record says and who said it when, in a few words."""
    words = f": {record.words}" if record.words else ""
    return f"{tr(STATUS_WORDS[record.status])}{words} ({record.by}, {moment_text(record.at)})"


def read_across_lines(found: ReadAcrossFacts) -> Iterator[str]:
    """Tell it for a terminal; nothing while nobody wrote anything."""
    if found.reason is None and all(one.latest is None for one in found.candidates):
        return
    yield tr("Read-across: {why}", why=found.why)
    for one in found.candidates:
        yield f"    {one.station_name}, {one.stream_name}: {_told(one)}"
        for other in one.others:
            yield f"        {tr('another record says: {source}', source=source_text(other))}"


def _told(one: Candidate) -> str:
    if one.latest is None:
        return tr(STATUS_WORDS[""])
    told = source_text(one.latest)
    if one.latest.due_on and not one.is_settled:
        told = tr("{told}, until {due_on}", told=told, due_on=day_said(one.latest.due_on))
    return tr("OVERDUE, {told}", told=told) if one.is_overdue else told


def read_across_to_json(found: ReadAcrossFacts) -> dict[str, Any]:
    """Turn it into JSON values."""
    return {
        "complete": found.is_complete,
        "why": found.why,
        "station": found.origin.id if found.origin else None,
        "kind": found.origin.kind if found.origin else None,
        "no_like_station": found.reason.words if found.reason else None,
        "stations": [
            {
                "stream": one.stream,
                "station": one.station,
                "name": one.station_name,
                "same_kind": one.is_like,
                "status": one.status or None,
                "overdue": one.is_overdue,
                "words": one.latest.words if one.latest else "",
                "owner": one.latest.owner if one.latest else "",
                "due_on": one.latest.due_on if one.latest else "",
                "at": one.latest.at if one.latest else "",
                "by": one.latest.by if one.latest else "",
                "other_records": len(one.others),
            }
            for one in found.candidates
        ],
    }
