"""What a person does on the floor: each call is one or more records, durable when it returns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeVar

from walkapp.actions.changes import WHEN
from walkapp.actions.concerns import moment_told, refuse_odd_days
from walkapp.actions.copies import undo_cover
from walkapp.actions.days import refuse_to_come
from walkapp.actions.intake import Subject, keep_photo
from walkapp.actions.reading import ConcernFacts, WalkFacts
from walkapp.actions.reasons import CORRECTED, COUNTED_ON
from walkapp.actions.undoing import undo_entry
from walkapp.actions.workplace import Workplace
from walkapp.analysis.gather import weights_in_use
from walkapp.errors import InputError
from walkapp.language import tr
from walkapp.model.checklist import Check
from walkapp.model.records import (
    Answer,
    ChangePoint,
    Concern,
    Count,
    Escalation,
    HazardsRead,
    Measurement,
    Note,
    PartSeen,
    Photo,
    PhotoCopy,
    Record,
    Sample,
    Setting,
    StationWeight,
    WalkStart,
)

R = TypeVar("R", bound=Record)


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenPart:
    """Which part the next entry is about, as far as it was read off the part.

    Parameters
    ----------
    part, lot
        Its tag, and its lot; both empty where neither was read.
    read_by
        ``code`` or ``typed``.
    """

    part: str = ""
    lot: str = ""
    read_by: str = "code"


NO_PART = SeenPart()


def open_concern(place: Workplace, **said: Any) -> Concern:
    """Open a concern.

    Parameters
    ----------
    place
        Where to write.
    said
        The fields of :class:`walkapp.model.records.Concern`.

    Raises
    ------
    InputError
        If the checklists do not have the value stream, or it does not have the defect: nothing that
        is checked on the walk could speak of that defect. If a day is still to come or out of order.
    RecordError
        If a value is not allowed.
    """
    stream = place.stream(said["stream"])
    if stream.defect(said["defect"]) is None:
        names = ", ".join(defect.id for defect in stream.defects)
        raise InputError(
            tr(
                "The value stream {id} has no defect {said}; choose one of: {names}.",
                id=repr(stream.id),
                said=repr(said["defect"]),
                names=names,
            )
        )
    refuse_odd_days(place, said)
    concern_id = place.new_id()
    return place.add(Concern, id=concern_id, concern=concern_id, **said)


def record_escalation(
    place: Workplace, concern: str, told: str, *, day: str = "", time: str = ""
) -> Escalation:
    """Record that somebody was told of a safety-class concern.

    Parameters
    ----------
    place, concern
        Where to write, and of which concern.
    told
        The role that was told.
    day, time
        When, by the tablet's clock: ISO 8601 and HH:MM; both empty for just now.

    Raises
    ------
    InputError
        If the time is not one, or still to come.
    RecordError
        If a value is not allowed.
    """
    return place.add(Escalation, concern=concern, told=told, told_at=moment_told(place, day, time))


def start_walk(place: Workplace, facts: ConcernFacts, direction: str) -> WalkStart:
    """Begin a walk with the checklist as it is now; a copy of the checklist goes into the store.

    Raises
    ------
    InputError
        If the checklists folder does not have the concern's stream.
    """
    digest = place.keep_checklist(facts.concern.stream)
    walk_id = place.new_id()
    return place.add(
        WalkStart,
        id=walk_id,
        walk=walk_id,
        concern=facts.concern.concern,
        stream=facts.concern.stream,
        checklist=digest,
        direction=direction,
    )


def weigh_station(
    place: Workplace, facts: ConcernFacts, station: str, weight: str, reason: str
) -> StationWeight:
    """Record how likely somebody thinks a station to be the origin before anything is counted.

    Raises
    ------
    InputError
        If the stream has no such station, or no station would be left that can be the origin.
    RecordError
        If a value is not allowed.
    """
    stream = facts.known_stream()
    if stream.station(station) is None:
        raise InputError(
            tr(
                "The value stream {stream} has no station {station}; choose one of its own.",
                stream=stream.name,
                station=repr(station),
            )
        )
    said = weights_in_use(facts.standing.current)
    others = (float(said[s.id].weight) if s.id in said else 1.0 for s in stream.stations if s.id != station)
    if not (float(weight) or any(others)):
        raise InputError(tr("Every other station is ruled out already; at least one must remain."))
    return place.add(
        StationWeight, concern=facts.concern.concern, station=station, weight=weight, reason=reason
    )


class Walking:
    """One person walking one walk.

    Parameters
    ----------
    place
        Where to write.
    concern, walk
        Ids of the concern and of the walk; the walk is empty for what is said outside any walk.
    """

    def __init__(self, place: Workplace, concern: str, walk: str) -> None:
        self._place = place
        self._ids = {"concern": concern, "walk": walk}

    def confirm_hazards(self, station: str) -> HazardsRead:
        """Record that the cautions of a station were read."""
        return self._place.add(HazardsRead, station=station, **self._ids)

    def say_sample(self, now: WalkFacts, station: str, lot: str, made_on: str) -> Sample:
        """Record where the parts at a station come from; an earlier word is corrected."""
        return self._put(now.sample(station), Sample, station=station, lot=lot, made_on=made_on)

    def judge_part(
        self,
        now: WalkFacts,
        station: str,
        check: str,
        answer: str,
        *,
        unit: str = "",
        seen: SeenPart = NO_PART,
    ) -> Answer:
        """Record one more part judged ``ok`` or ``not_ok``, and which part it was, where that was read."""
        earlier = set_aside_before(now, station, check)
        said = {"station": station, "check": check, "answer": answer, "unit": unit}
        return self._put_seen(earlier, Answer, seen, **said)

    def answer_question(
        self, now: WalkFacts, station: str, check: str, answer: str, *, reason: str = ""
    ) -> Answer:
        """Record the one answer to a question; an earlier answer is corrected."""
        earlier = [r for r in _of_check(now, station, check) if isinstance(r, Answer)]
        return self._put(
            earlier[-1] if earlier else None,
            Answer,
            station=station,
            check=check,
            answer=answer,
            reason=reason,
        )

    def set_aside(self, now: WalkFacts, station: str, check: str, reason: str) -> Answer:
        """Record that a check does not apply here, and why; an earlier reason is corrected."""
        said = {"station": station, "check": check, "answer": "not_applicable", "reason": reason}
        return self._put(set_aside_before(now, station, check), Answer, **said)

    def count(
        self, now: WalkFacts, station: str, check: str, checked: int, nok: int, *, unit: str = ""
    ) -> Count:
        """Record parts checked and NOK; an earlier count of the same check and unit is corrected."""
        return self._put(
            count_of(now, station, check, unit) or set_aside_before(now, station, check),
            Count,
            why=COUNTED_ON,
            station=station,
            check=check,
            checked=checked,
            nok=nok,
            unit=unit,
        )

    def measure(
        self,
        now: WalkFacts,
        station: str,
        check: Check,
        value: str,
        *,
        part: str = "",
        unit: str = "",
        seen: SeenPart = NO_PART,
    ) -> Measurement:
        """Record one measured value, as typed; `seen` where a tag or lot was read off the part."""
        return self._put_seen(
            set_aside_before(now, station, check.id),
            Measurement,
            seen,
            station=station,
            check=check.id,
            value=value,
            unit_of_measure=check.unit,
            part=seen.part or part,
            unit=unit,
        )

    def read_setting(
        self, now: WalkFacts, station: str, check: Check, actual: str, *, set_value: str = ""
    ) -> Setting:
        """Record a process setting; an earlier reading in this walk is corrected."""
        earlier = [r for r in _of_check(now, station, check.id) if isinstance(r, Setting)]
        return self._put(
            earlier[-1] if earlier else set_aside_before(now, station, check.id),
            Setting,
            station=station,
            check=check.id,
            set_value=set_value,
            actual=actual,
            unit_of_measure=check.unit,
        )

    def note(self, station: str, words: str) -> Note:
        """Record a note."""
        return self._place.add(Note, station=station, words=words, **self._ids)

    def report_change(self, station: str, **said: Any) -> ChangePoint:
        """Record a change point; `said` holds the fields of the record kind. Works outside a walk as well.

        Raises
        ------
        InputError
            If the day is still to come.
        """
        refuse_to_come(self._place, tr(WHEN), said.get("changed_on", ""))
        return self._place.add(ChangePoint, station=station, **said, **self._ids)

    def add_photo(
        self,
        station: str,
        data: bytes,
        name: str,
        *,
        check: str = "",
        caption: str = "",
        invented: bool = False,
    ) -> Photo:
        """Record a picture of a station; as :func:`walkapp.actions.intake.keep_photo`."""
        subject = Subject(station=station, check=check, **self._ids)
        return keep_photo(self._place, subject, data, name, caption=caption, invented=invented)

    def undo(self, now: WalkFacts) -> Record:
        """Take back the newest entry of this tablet; a correction goes back to what was before.

        Raises
        ------
        InputError
            If there is nothing to take back.
        """
        entry = now.undoable
        if entry is None:
            raise InputError(tr("There is nothing to undo in this walk."))
        if isinstance(entry, PhotoCopy):
            return undo_cover(self._place, now, entry)
        return undo_entry(self._place, entry, self._place.store.records(self._ids["walk"]))

    def _put_seen(self, earlier: Record | None, kind: type[R], seen: SeenPart, **said: Any) -> R:
        """Record an entry and what was read off its part: both or none."""
        if not (seen.part or seen.lot):
            return self._put(earlier, kind, **said)
        entry_id = self._place.new_id()
        if earlier is not None:
            said |= {"replaces": (earlier.id,), "why": CORRECTED}
        about = {"about": entry_id, "part": seen.part, "lot": seen.lot, "read_by": seen.read_by}
        entries: list[tuple[type[Record], dict[str, Any]]] = [
            (kind, {"id": entry_id, **said, **self._ids}),
            (PartSeen, {**about, **self._ids}),
        ]
        entry, _ = self._place.add_all(entries)
        assert isinstance(entry, kind)
        return entry

    def _put(self, earlier: Record | None, kind: type[R], *, why: str = CORRECTED, **said: Any) -> R:
        """Record `kind`; when `earlier` holds, as a correction of it."""
        if earlier is not None:
            said |= {"replaces": (earlier.id,), "why": why}
        return self._place.add(kind, **said, **self._ids)


def count_of(now: WalkFacts, station: str, check: str, unit: str = "") -> Count | None:
    """Give the count that holds for a check and a parallel unit, or none."""
    found = [r for r in _of_check(now, station, check) if isinstance(r, Count) and r.unit == unit]
    return found[-1] if found else None


def set_aside_before(now: WalkFacts, station: str, check: str) -> Answer | None:
    """Give the record that says a check does not apply, so that an entry after it corrects it."""
    found = (r for r in _of_check(now, station, check) if isinstance(r, Answer))
    return next((r for r in found if r.answer == "not_applicable"), None)


def _of_check(now: WalkFacts, station: str, check: str) -> list[Record]:
    return [r for r in now.at_station(station) if getattr(r, "check", "") == check]
