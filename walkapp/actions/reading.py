"""What the store knows of a concern and of a walk."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any, TypeVar

from walkapp.actions.undoing import last_undoable
from walkapp.actions.workplace import Workplace
from walkapp.analysis.after_fix import FixDays, fix_days, parts_from_after
from walkapp.analysis.gather import gather_tallies, rates_in_use, unplaced, weights_in_use
from walkapp.analysis.locate import locate
from walkapp.analysis.results import OriginAnswer
from walkapp.analysis.wording import percent, percent_at_most
from walkapp.errors import ChecklistError, InputError
from walkapp.language import day_said, decimal_text, tr, trn
from walkapp.model.checklist import CLEAN_CONFIDENCE, CLEAN_SHARE, Station, Stream
from walkapp.model.ids import is_book
from walkapp.model.records import (
    Answer,
    Concern,
    Count,
    DatedCount,
    Escalation,
    HazardsRead,
    Measurement,
    Record,
    Sample,
    Setting,
    Study,
    WalkStart,
)
from walkapp.model.standing import Conflict, Standing, standing_of
from walkapp.store import Store

T = TypeVar("T")


@dataclass(frozen=True)
class ConcernFacts:
    """Everything known of one concern, over all its walks and tablets.

    Parameters
    ----------
    concern
        The record that opened it, as corrected.
    stream
        The value stream, with the checklist of the latest walk; none when nobody has the checklist.
    walks
        The starts of its walks, oldest first.
    standing
        The records that hold, of the concern and of all its walks.
    everything
        All its records, those that no longer hold among them, in no meaningful order.
    """

    concern: Concern
    stream: Stream | None
    walks: tuple[WalkStart, ...]
    standing: Standing
    everything: tuple[Record, ...] = ()

    @property
    def id(self) -> str:
        """Id of the concern."""
        return self.concern.concern

    @property
    def what(self) -> str:
        """What is wrong, in words."""
        return self.concern.what

    @property
    def conflicts(self) -> tuple[Conflict, ...]:
        """Corrections that contradict each other."""
        return self.standing.conflicts

    @cached_property
    def escalations(self) -> tuple[Escalation, ...]:
        """Who was told of a safety-class concern, the first who was told first."""
        told = (r for r in self.standing.current if isinstance(r, Escalation))
        return tuple(sorted(told, key=lambda r: (datetime.fromisoformat(r.told_at), r.id)))

    @property
    def needs_escalation(self) -> bool:
        """Whether this is a safety-class concern and nobody has recorded who was told."""
        return self.concern.severity == "safety" and not self.escalations

    @cached_property
    def fix_days(self) -> FixDays:
        """When corrective actions were done."""
        return fix_days(self.standing.current)

    @cached_property
    def after_fix(self) -> tuple[Record, ...]:
        """The records of parts from after an action that worked: they do not say where it started."""
        return parts_from_after(self.standing.current, self.fix_days.worked)

    @cached_property
    def origin_records(self) -> tuple[Record, ...]:
        """The records that hold, without those: what says where and when the defect started."""
        left_out = {id(record) for record in self.after_fix}
        return tuple(record for record in self.standing.current if id(record) not in left_out)

    @cached_property
    def quick_answer(self) -> OriginAnswer | None:
        """Where the defect starts, not thoroughly worked out; none while the checklist is not known."""
        try:
            return self.locate(thorough=False)
        except InputError:
            return None

    def once(self, work: Callable[[ConcernFacts], T]) -> T:
        """Work something out of these records, which never change, and keep it for whoever asks again."""
        if work not in self._worked_out:
            self._worked_out[work] = work(self)
        found: T = self._worked_out[work]
        return found

    @cached_property
    def _worked_out(self) -> dict[Callable[[ConcernFacts], Any], Any]:
        return {}

    def locate(
        self,
        *,
        here: int | None = None,
        clean_share: float = CLEAN_SHARE,
        clean_confidence: float = CLEAN_CONFIDENCE,
        thorough: bool = True,
    ) -> OriginAnswer:
        """Work out where the defect starts.

        Parameters
        ----------
        here
            Order of the station at which the walker stands; none when not known.
        clean_share, clean_confidence
            "Clean" means: below this share of affected parts, with this confidence; between 0 and 1.
        thorough
            Whether to work out as well how much the answer depends on the checks, and how to be surer.

        Raises
        ------
        InputError
            If the checklist of the stream is not known.
        """
        stream = self.known_stream()
        answer = locate(
            gather_tallies(stream, self.origin_records, self.concern.defect),
            share_low=float(self.concern.share_low or 0),
            share_high=float(self.concern.share_high or 1),
            here=here,
            clean_share=clean_share,
            clean_confidence=clean_confidence,
            thorough=thorough,
        )
        return answer.with_warnings(self._record_warnings(stream))

    def known_stream(self) -> Stream:
        """Give the stream.

        Raises
        ------
        InputError
            If the checklist of the stream is not known.
        """
        if self.stream is None:
            raise InputError(
                tr(
                    "The checklist of the value stream {stream} is not here, or has mistakes; "
                    "start walkapp with --checklists and its folder, mend what 'walkapp "
                    "validate' lists, or merge a bundle that has it.",
                    stream=repr(self.concern.stream),
                )
            )
        return self.stream

    def _record_warnings(self, stream: Stream) -> tuple[str, ...]:
        said: list[str] = []
        if self.conflicts:
            many = len(self.conflicts)
            said.append(
                trn(
                    "{count} entry was corrected differently on two tablets; both are kept and "
                    "one is counted until a person settles it.",
                    "{count} entries were corrected differently on two tablets; both are kept "
                    "and one is counted until a person settles it.",
                    many,
                )
            )
        lost = unplaced(stream, self.standing.current)
        if lost:
            many = len(lost)
            said.append(
                trn(
                    "{count} record does not fit the checklist (version {version}) and is not counted.",
                    "{count} records do not fit the checklist (version {version}) and are not counted.",
                    many,
                    version=stream.version,
                )
            )
        return (
            *said,
            *self._fixes_said(),
            *self._weights_said(stream),
            *self._where_rates_come_from(stream),
        )

    def _fixes_said(self) -> Iterator[str]:
        worked, unchecked = self.fix_days.worked, self.fix_days.unchecked
        if many := len(self.after_fix):
            yield (
                tr(
                    "{entries} on parts from after the corrective action of {worked}, which "
                    "worked, is left out here.",
                    entries=_entries(many),
                    worked=worked,
                )
                if many == 1
                else tr(
                    "{entries} on parts from after the corrective action of {worked}, which "
                    "worked, are left out here.",
                    entries=_entries(many),
                    worked=worked,
                )
            )
        if many := len(parts_from_after(self.origin_records, unchecked)):
            yield (
                tr(
                    "{entries} is on parts from after the corrective action of {unchecked}, "
                    "whose effect is not checked yet: if it worked, they blur where the defect "
                    "started.",
                    entries=_entries(many),
                    unchecked=unchecked,
                )
                if many == 1
                else tr(
                    "{entries} are on parts from after the corrective action of {unchecked}, "
                    "whose effect is not checked yet: if it worked, they blur where the defect "
                    "started.",
                    entries=_entries(many),
                    unchecked=unchecked,
                )
            )

    def _weights_said(self, stream: Stream) -> tuple[str, ...]:
        said = weights_in_use(self.standing.current)
        if all(station.id in said and not float(said[station.id].weight) for station in stream.stations):
            words = tr("Every station was given the weight 0: no weight is counted until one has another.")
            return (words,)
        return tuple(
            tr(
                "Beforehand {station} was taken to be {weight} times as likely as another "
                "station ({by}, {at}: {reason}).",
                station=station.name,
                weight=decimal_text(f"{float(weight.weight):g}"),
                by=weight.by,
                at=day_said(weight.at[:10]),
                reason=weight.reason,
            )
            for station in stream.stations
            if (weight := said.get(station.id)) and float(weight.weight) != 1
        )

    def _where_rates_come_from(self, stream: Stream) -> tuple[str, ...]:
        chosen = rates_in_use(self.standing.current)
        studies = {r.id: r for r in self.standing.current if isinstance(r, Study)}
        said = []
        for station in stream.stations:
            for check in station.finders(self.concern.defect):
                rates = chosen.get((station.id, check.id))
                if rates is None:
                    continue
                study = studies.get(rates.study)
                values = {
                    "station": station.name,
                    "check": check.title,
                    "bad_parts": rates.bad_parts,
                    "good_parts": rates.good_parts,
                    "by": rates.by,
                    "at": day_said(rates.at[:10]),
                    "detection": percent(float(rates.detection)),
                    "low": percent(float(rates.detection_low)),
                    "alarm": percent_at_most(float(rates.false_alarm)),
                    "high": percent_at_most(float(rates.false_alarm_high)),
                }
                if study is None:
                    said.append(
                        tr(
                            "{station}, {check}: the rates come from an inspection study, {bad_parts} bad "
                            "and {good_parts} good parts (chosen by {by}, {at}): of truly defective parts "
                            "{detection} are called NOK (at least {low}), of good parts {alarm} (at most "
                            "{high}; each limit one-sided 95 %).",
                            **values,
                        )
                    )
                elif study.invented:
                    said.append(
                        tr(
                            "{station}, {check}: the rates come from the invented inspection study of "
                            "{day}, {bad_parts} bad and {good_parts} good parts (chosen by {by}, {at}): of "
                            "truly defective parts {detection} are called NOK (at least {low}), of good "
                            "parts {alarm} (at most {high}; each limit one-sided 95 %).",
                            day=day_said(study.at[:10]),
                            **values,
                        )
                    )
                else:
                    said.append(
                        tr(
                            "{station}, {check}: the rates come from the inspection study of {day}, "
                            "{bad_parts} bad and {good_parts} good parts (chosen by {by}, {at}): of truly "
                            "defective parts {detection} are called NOK (at least {low}), of good parts "
                            "{alarm} (at most {high}; each limit one-sided 95 %).",
                            day=day_said(study.at[:10]),
                            **values,
                        )
                    )
        return tuple(said)


def _entries(many: int) -> str:
    return trn("{count} entry", "{count} entries", many)


@dataclass(frozen=True)
class CheckProgress:
    """What one walk has recorded for one check.

    Parameters
    ----------
    check
        Id of the check.
    checked, nok
        Parts judged, or values taken, and NOK or out of limits among them.
    not_applicable
        The reason when the check does not apply; empty otherwise.
    latest
        The newest record of the check, or none.
    """

    check: str
    checked: int
    nok: int
    not_applicable: str
    latest: Record | None

    @property
    def is_begun(self) -> bool:
        """Whether anything was recorded."""
        return self.latest is not None


@dataclass(frozen=True)
class WalkFacts:
    """One walk, seen from the tablet that walks it.

    Parameters
    ----------
    facts
        The concern that it belongs to, with all walks.
    start
        The record that began the walk.
    stream
        The stream with the checklist as it was when the walk began.
    current
        The records of this walk that hold.
    undoable
        The record that "undo" would take back, or none.
    """

    facts: ConcernFacts
    start: WalkStart
    stream: Stream
    current: tuple[Record, ...]
    undoable: Record | None

    @cached_property
    def hazards_read(self) -> frozenset[str]:
        """Ids of the stations whose cautions were confirmed in this walk."""
        return frozenset(r.station for r in self.current if isinstance(r, HazardsRead))

    def at_station(self, station: str) -> tuple[Record, ...]:
        """Give the records of one station, oldest first."""
        return tuple(r for r in self.current if getattr(r, "station", "") == station)

    @property
    def resume_station(self) -> str:
        """Id of the station to go on at: where the last entry was made.

        A walk without entries begins at the last station when it goes up the stream, where the guide
        points to when it is guided, and at the first station otherwise.
        """
        visited = [station for r in self.current if (station := getattr(r, "station", ""))]
        if visited:
            return visited[-1]
        if self.start.direction == "up":
            return self.stream.stations[-1].id
        advice = self.facts.locate(thorough=False).next if self.start.direction == "guided" else None
        advised = (s.id for s in self.stream.stations if advice and s.name == advice.station)
        return next(advised, self.stream.stations[0].id)

    def sample(self, station: str) -> Sample | None:
        """Give the newest word on where the parts at a station come from."""
        samples = [r for r in self.at_station(station) if isinstance(r, Sample)]
        return samples[-1] if samples else None

    def progress(self, station: Station, check_id: str) -> CheckProgress:
        """Sum up what was recorded for one check."""
        check = station.check(check_id)
        records = [
            r
            for r in self.at_station(station.id)
            if getattr(r, "check", "") == check_id and not isinstance(r, DatedCount)
        ]
        checked = nok = 0
        reason = ""
        for record in records:
            match record:
                case Answer(answer="not_applicable"):
                    reason = record.reason
                case Answer():
                    checked, nok = checked + 1, nok + (record.answer == "not_ok")
                case Count():
                    checked, nok = checked + record.checked, nok + record.nok
                case Measurement() | Setting():
                    value = record.value if isinstance(record, Measurement) else record.actual
                    outside = check is not None and not check.is_within_limits_text(value)
                    checked, nok = checked + 1, nok + outside
                case _:
                    checked += 1
        return CheckProgress(check_id, checked, nok, reason, records[-1] if records else None)


def concern_facts(place: Workplace, concern_id: str) -> ConcernFacts:
    """Read everything known of a concern.

    Raises
    ------
    InputError
        If the store has no such concern.
    """
    own = place.store.records(concern_id)
    everything = tuple(records_of(place.store, concern_id))
    standing = standing_of(everything)
    # A record of a walk may claim to replace the concern itself; that hides neither it nor all others.
    opened = (*standing.current, *standing_of(own).current)
    concern = next((r for r in opened if isinstance(r, Concern)), None)
    if concern is None:
        raise InputError(
            tr(
                "There is no concern {concern_id} in this store; see 'walkapp summary' for its list.",
                concern_id=repr(concern_id),
            )
        )
    walks = tuple(r for r in standing.current if isinstance(r, WalkStart))
    return ConcernFacts(concern, _stream_of(place, concern, walks), walks, standing, everything)


def records_of(store: Store, concern: str) -> Iterator[Record]:
    """Give all records of a concern and of its walks, or of an audit book, journal by journal."""
    yield from store.records(concern)
    for walk in store.walks(concern):
        # A walk that claims the id of an audit book does not make the audits those of its concern.
        yield from (r for r in store.records(walk) if r.concern == concern or not is_book(walk))


def _stream_of(place: Workplace, concern: Concern, walks: Iterable[WalkStart]) -> Stream | None:
    for walk in reversed(tuple(walks)):
        # One that cannot be read, as from a newer version, must not hold up the other concerns.
        with suppress(ChecklistError):
            kept = place.kept_stream(walk.stream, walk.checklist)
            if kept is not None:
                return kept
    try:
        return place.streams().get(concern.stream)
    except ChecklistError:
        return None  # home says what is wrong with the checklists; the records are read all the same


def concern_ids(place: Workplace) -> tuple[str, ...]:
    """Give the ids of all concerns, sorted; the books in which the audits of years lie are none."""
    return tuple(one for one in place.store.concerns() if not is_book(one))


def all_concerns(place: Workplace) -> tuple[ConcernFacts, ...]:
    """Read every concern of the store, newest first."""
    opened = (
        concern_id
        for concern_id in concern_ids(place)
        if any(isinstance(r, Concern) for r in standing_of(place.store.records(concern_id)).current)
    )
    return tuple(concern_facts(place, concern_id) for concern_id in sorted(opened, reverse=True))


def walk_facts(place: Workplace, concern_id: str, walk_id: str) -> WalkFacts:
    """Read one walk and its concern.

    Raises
    ------
    InputError
        If the store has no such walk, or not the checklist that it was walked with.
    """
    facts = concern_facts(place, concern_id)
    start = next((walk for walk in facts.walks if walk.id == walk_id), None)
    if start is None:
        raise InputError(
            tr("There is no walk {walk_id} of this concern in this store.", walk_id=repr(walk_id))
        )
    stream = place.kept_stream(start.stream, start.checklist)
    if stream is None:
        raise InputError(
            tr(
                "The checklist that this walk was begun with is not in this store; merge a "
                "bundle that has it."
            )
        )
    current = tuple(r for r in facts.standing.current if r.walk == walk_id)
    mine = tuple(r for r in place.store.records(walk_id) if r.device == place.store.device)
    return WalkFacts(facts, start, stream, current, last_undoable(mine))
