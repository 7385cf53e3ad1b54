"""Inspection studies: opened, read part by part in blind order, and their rates chosen for the walk.

Everything that a study is made of lies in the journal of its concern, outside any walk, so that the
readings of several tablets are merged like everything else.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.reasons import CHOSEN_ANEW, NOT_WANTED, UNDO
from walkapp.actions.workplace import Workplace
from walkapp.analysis.agreement import study_agreement
from walkapp.analysis.agreement_results import Reading, StudyResult
from walkapp.analysis.gather import rates_in_use
from walkapp.analysis.study_plan import StudyPart, blind_plan
from walkapp.errors import InputError
from walkapp.language import tr
from walkapp.model.checklist import Check, Station
from walkapp.model.records import KnownPart, RatesChosen, Record, Study, StudyReading, Withdrawal


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """One look of an inspector at one part.

    Parameters
    ----------
    part
        Label of the part.
    repeat
        Which look at it, from 1.
    number
        Its place in the inspector's order over all repeats, from 1.
    """

    part: str
    repeat: int
    number: int


@dataclass(frozen=True)
class StudyFacts:
    """Everything known of one study.

    Parameters
    ----------
    facts
        The concern that it belongs to.
    study
        The record that opened it.
    parts
        Its parts, sorted by label, each label once.
    held
        All its readings that hold, oldest first.
    chosen
        The rates that the study's check counts with now, from this study or another; none for those
        of the checklist.
    """

    facts: ConcernFacts
    study: Study
    parts: tuple[KnownPart, ...]
    held: tuple[StudyReading, ...]
    chosen: RatesChosen | None

    @property
    def station(self) -> Station | None:
        """The station, or none when the checklist does not have it."""
        return self.facts.stream.station(self.study.station) if self.facts.stream else None

    @property
    def check(self) -> Check | None:
        """The check, or none when the checklist does not have it."""
        return self.station.check(self.study.check) if self.station else None

    @cached_property
    def readings(self) -> tuple[StudyReading, ...]:
        """The readings that count: of each look the first, of parts and repeats that the study has."""
        labels = {part.label for part in self.parts}
        first: dict[tuple[str, str, int], StudyReading] = {}
        for reading in self.held:
            if reading.part in labels and reading.repeat <= self.study.repeats:
                first.setdefault((reading.inspector, reading.part, reading.repeat), reading)
        return tuple(first.values())

    @property
    def set_aside(self) -> int:
        """How many readings do not count, for example because two tablets took the same look."""
        return len(self.held) - len(self.readings)

    @property
    def inspectors(self) -> tuple[str, ...]:
        """Who has begun, in the order of their first readings."""
        return tuple(dict.fromkeys(reading.inspector for reading in self.readings))

    def turns(self, inspector: str) -> tuple[Turn, ...]:
        """Give an inspector's looks in blind order.

        Raises
        ------
        InputError
            If the parts cannot make a study, for example because a bundle came without some.
        """
        parts = [StudyPart(label=part.label, defective=part.known == "bad") for part in self.parts]
        rounds = blind_plan(parts, [inspector], self.study.repeats, self.study.seed)
        looks = [(label, one.repeat) for one in rounds for label in one.parts]
        return tuple(
            Turn(part=part, repeat=repeat, number=number)
            for number, (part, repeat) in enumerate(looks, start=1)
        )

    def done(self, inspector: str) -> int:
        """Count the looks that an inspector has taken."""
        return sum(reading.inspector == inspector for reading in self.readings)

    @property
    def looks(self) -> int:
        """How many looks every inspector takes."""
        return len(self.parts) * self.study.repeats

    def next_turn(self, inspector: str) -> Turn | None:
        """Give the first look in blind order that an inspector has not taken; none after the last."""
        taken = {(r.part, r.repeat) for r in self.readings if r.inspector == inspector}
        return next((t for t in self.turns(inspector) if (t.part, t.repeat) not in taken), None)

    @property
    def is_finished(self) -> bool:
        """Whether somebody has begun and everybody who has begun is through."""
        inspectors = self.inspectors
        return bool(inspectors) and all(self.done(one) == self.looks for one in inspectors)

    @cached_property
    def result(self) -> StudyResult:
        """What the study says so far."""
        known = {part.label: part.known == "bad" for part in self.parts}
        return study_agreement(
            Reading(
                part=reading.part,
                defective=known[reading.part],
                inspector=reading.inspector,
                repeat=reading.repeat,
                called_nok=reading.called == "not_ok",
            )
            for reading in self.readings
        )

    def undoable(self, inspector: str, device: str) -> StudyReading | None:
        """Give the reading that "undo" takes back: the newest of this inspector on this tablet."""
        own = [r for r in self.held if r.inspector == inspector and r.device == device]
        return max(own, key=lambda reading: reading.number, default=None)

    def rates(self) -> dict[str, str | int] | None:
        """Give the fields of a rate choice from the readings so far; none when not usable."""
        found, result = self.result.rates, self.result
        if found is None or result.detection is None or result.false_alarm is None:
            return None
        return {
            "detection": f"{found.detection:.6f}",
            "false_alarm": f"{found.false_alarm:.6f}",
            "detection_low": f"{found.detection_low:.6f}",
            "false_alarm_high": f"{found.false_alarm_high:.6f}",
            "bad_parts": result.detection.parts,
            "good_parts": result.false_alarm.parts,
        }

    @property
    def is_chosen(self) -> bool:
        """Whether the check counts with exactly what this study says now."""
        chosen, rates = self.chosen, self.rates()
        return (
            chosen is not None
            and chosen.study == self.study.id
            and rates is not None
            and all(getattr(chosen, name) == value for name, value in rates.items())
        )


def checks_to_study(facts: ConcernFacts) -> tuple[tuple[Station, Check], ...]:
    """List the checks on which parts are judged for the concern's defect, in stream order.

    Raises
    ------
    InputError
        If the checklist of the stream is not known.
    """
    return tuple(
        (station, check)
        for station in facts.known_stream().stations
        for check in station.finders(facts.concern.defect)
        if check.kind in ("attribute", "count")
    )


def open_study(
    place: Workplace,
    facts: ConcernFacts,
    station: str,
    check: str,
    *,
    bad: Sequence[str],
    good: Sequence[str],
    repeats: int,
) -> Study:
    """Open a study with its parts, all or nothing.

    Parameters
    ----------
    place
        Where to write.
    facts
        The concern.
    station, check
        Ids of a station and of a check there that finds the concern's defect.
    bad, good
        Labels of the parts known to be bad and to be good; each label once.
    repeats
        How often each inspector judges each part, at least 1.

    Raises
    ------
    InputError
        If there is no such check, a label is empty or named twice, or bad or good parts are missing.
    RecordError
        If a value is not allowed.
    """
    if (station, check) not in {(s.id, c.id) for s, c in checks_to_study(facts)}:
        raise InputError(
            tr(
                "No check {check} at the station {station} judges parts for this defect; choose another.",
                check=repr(check),
                station=repr(station),
            )
        )
    study = place.new_id()
    parts = [(label, "bad") for label in bad] + [(label, "good") for label in good]
    # Refuses in words what no study can be made of.
    blind_plan([StudyPart(label=p, defective=known == "bad") for p, known in parts], ["."], repeats, study)
    concern = facts.concern.concern
    said: list[tuple[type[Record], Mapping[str, Any]]] = [
        (
            Study,
            {
                "id": study,
                "concern": concern,
                "station": station,
                "check": check,
                "repeats": repeats,
                "seed": study,
                "invented": facts.known_stream().invented,
            },
        )
    ]
    said += [
        (KnownPart, {"concern": concern, "study": study, "label": label, "known": known})
        for label, known in parts
    ]
    return next(made for made in place.add_all(said) if isinstance(made, Study))


def study_facts(place: Workplace, concern: str, study: str) -> StudyFacts:
    """Read one study and its concern.

    Raises
    ------
    InputError
        If the store has no such study.
    """
    found = {one.study.id: one for one in studies_of(concern_facts(place, concern))}
    if study not in found:
        raise InputError(tr("This inspection study is not in this store; merge the bundle that has it."))
    return found[study]


def studies_of(facts: ConcernFacts) -> tuple[StudyFacts, ...]:
    """Give all studies of a concern, newest first."""
    current = facts.standing.current
    chosen = rates_in_use(current)
    found = (
        StudyFacts(
            facts=facts,
            study=study,
            parts=_parts_of(study, current),
            held=tuple(r for r in current if isinstance(r, StudyReading) and r.study == study.id),
            chosen=chosen.get((study.station, study.check)),
        )
        for study in current
        if isinstance(study, Study)
    )
    return tuple(reversed(list(found)))


def _parts_of(study: Study, current: Iterable[Record]) -> tuple[KnownPart, ...]:
    by_label: dict[str, KnownPart] = {}
    for record in current:
        if isinstance(record, KnownPart) and record.study == study.id:
            by_label.setdefault(record.label, record)
    return tuple(by_label[label] for label in sorted(by_label))


def inspector_called(now: StudyFacts, typed: str) -> str:
    """Give the inspector as the study knows them, so that "sl-kb" goes on where "SL-KB" stopped.

    Raises
    ------
    InputError
        If nothing was typed, or it is the person who entered the known answers.
    """
    name = " ".join(unicodedata.normalize("NFC", typed).split())
    if not name:
        raise InputError(tr("Role and initials of the inspector are missing; fill them in."))
    if name.casefold() == now.study.by.casefold():
        raise InputError(
            tr(
                "{by} entered the known answers of this study and cannot be its inspector; hand "
                "the tablet to somebody who does not know them.",
                by=now.study.by,
            )
        )
    return next((one for one in now.inspectors if one.casefold() == name.casefold()), name)


def read_part(place: Workplace, now: StudyFacts, inspector: str, turn: Turn, called: str) -> StudyReading:
    """Record what an inspector said of the part whose turn it is.

    Raises
    ------
    InputError
        If it is not that part's turn, for example because it was judged already.
    """
    if turn != now.next_turn(inspector):
        raise InputError(tr("It is not the turn of part {part}; look at the tablet again.", part=turn.part))
    return place.add(
        StudyReading,
        by=inspector,
        concern=now.study.concern,
        study=now.study.id,
        part=turn.part,
        inspector=inspector,
        repeat=turn.repeat,
        called=called,
    )


def undo_reading(place: Workplace, now: StudyFacts, inspector: str) -> Withdrawal:
    """Take back the inspector's newest reading on this tablet.

    Raises
    ------
    InputError
        If there is none.
    """
    last = now.undoable(inspector, place.store.device)
    if last is None:
        raise InputError(tr("There is no reading to undo on this tablet."))
    return place.add(Withdrawal, by=inspector, concern=now.study.concern, replaces=(last.id,), why=UNDO)


def choose_rates(place: Workplace, now: StudyFacts) -> RatesChosen:
    """Let the study's check count with the study's rates from now on; earlier choices are corrected.

    Raises
    ------
    InputError
        If the study is not usable, or somebody has begun and is not through.
    """
    rates = now.rates()
    if rates is None:
        raise InputError(now.result.verdict)
    if not now.is_finished:
        raise InputError(
            tr("Readings are missing: let every inspector who has begun judge all parts first.")
        )
    earlier = _choices(now)
    said: dict[str, Any] = {**rates, **({"replaces": earlier, "why": CHOSEN_ANEW} if earlier else {})}
    return place.add(
        RatesChosen,
        concern=now.study.concern,
        station=now.study.station,
        check=now.study.check,
        study=now.study.id,
        **said,
    )


def take_back_rates(place: Workplace, now: StudyFacts) -> Withdrawal:
    """Let the study's check count with the checklist's rates again.

    Raises
    ------
    InputError
        If it does so already.
    """
    earlier = _choices(now)
    if not earlier:
        raise InputError(tr("The rates of the checklist count already."))
    return place.add(Withdrawal, concern=now.study.concern, replaces=earlier, why=NOT_WANTED)


def _choices(now: StudyFacts) -> tuple[str, ...]:
    at = (now.study.station, now.study.check)
    return tuple(
        record.id
        for record in now.facts.standing.current
        if isinstance(record, RatesChosen) and (record.station, record.check) == at
    )
