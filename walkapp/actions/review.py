"""Reviewing a concern: the answer of a part of its records beside that of all, and what each stands on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from walkapp.actions.reading import ConcernFacts
from walkapp.analysis.filtering import (
    NOT_KNOWN,
    RecordFilter,
    filter_records,
    shift_of,
    unit_of,
    unit_words,
)
from walkapp.analysis.gather import JudgedParts, gather_judged
from walkapp.analysis.results import OriginAnswer
from walkapp.analysis.wording import percent
from walkapp.language import day_said, tr, whole_text
from walkapp.model.checklist import OUTSIDE_SHIFTS
from walkapp.model.ids import short_id
from walkapp.model.records import Record


def narrowed(facts: ConcernFacts, wanted: RecordFilter) -> ConcernFacts:
    """Give a concern as if only a part of its records of parts had been made.

    Parameters
    ----------
    facts
        The concern.
    wanted
        What is looked at. What is done about the concern, its walks and the rates of its checks stay
        (:func:`walkapp.analysis.filtering.filter_records`).
    """
    if wanted.is_empty:
        return facts
    kept = filter_records(facts.stream, facts.standing.current, wanted)
    left_out = {id(r) for r in facts.standing.current} - {id(r) for r in kept}
    conflicts = tuple(conflict for conflict in facts.conflicts if id(conflict.shown) not in left_out)
    return replace(facts, standing=replace(facts.standing, current=kept, conflicts=conflicts))


def judged_parts(facts: ConcernFacts) -> tuple[JudgedParts, ...]:
    """Give the parts that the answer of a concern counts, record by record; none without its checklist."""
    if facts.stream is None:
        return ()
    return gather_judged(facts.stream, facts.origin_records, facts.concern.defect)


@dataclass(frozen=True, slots=True, kw_only=True)
class FilterValue:
    """A value by which records can be filtered.

    Parameters
    ----------
    value
        As :class:`RecordFilter` has it.
    words
        As people are told it.
    parts
        Parts judged with it, of all records.
    """

    value: str
    words: str
    parts: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FilterValues:
    """The values that occur among the parts that the answer of a concern counts.

    Parameters
    ----------
    days
        Days on which parts were judged, the oldest first.
    shifts
        In the order of the checklist; none where the checklist has no shifts.
    tablets
        By id.
    units
        By name, "not known" last; none where no unit was ever recorded.
    """

    days: tuple[FilterValue, ...]
    shifts: tuple[FilterValue, ...]
    tablets: tuple[FilterValue, ...]
    units: tuple[FilterValue, ...]


def filter_values(facts: ConcernFacts) -> FilterValues:
    """Find the values by which the records of a concern can be filtered."""
    judged, stream = judged_parts(facts), facts.stream

    def found(name: Callable[[Record], str]) -> Counter[str]:
        parts: Counter[str] = Counter()
        for one in judged:
            parts[name(one.record)] += one.checked
        return parts

    days, tablets = found(lambda r: r.at[:10]), found(lambda r: r.device)
    units = found(lambda r: unit_of(stream, r))
    shifts = found(lambda r: shift_of(stream, r)) if stream and stream.shifts else Counter()
    known_shifts = [shift.name for shift in stream.shifts] if stream else []
    return FilterValues(
        days=_values(days, sorted(days), day_said),
        shifts=_values(
            shifts, [name for name in (*known_shifts, OUTSIDE_SHIFTS) if name in shifts], _shift_words
        ),
        tablets=tuple(
            FilterValue(value=one, words=words, parts=tablets[one])
            for one, words in tablet_names(tablets).items()
        ),
        units=_values(units, sorted(units, key=_unit_order), unit_words)
        if set(units) - {NOT_KNOWN}
        else (),
    )


def tablet_names(tablets: Iterable[str]) -> dict[str, str]:
    """Name tablets by the end of their ids, or by whole ids where two end alike; sorted by id."""
    ids = sorted(set(tablets))
    ends = Counter(short_id(one) for one in ids)
    return {
        one: tr("tablet {tablet}", tablet=short_id(one) if ends[short_id(one)] == 1 else one) for one in ids
    }


def _values(
    parts: Counter[str], names: list[str], words: Callable[[str], str] = str
) -> tuple[FilterValue, ...]:
    return tuple(FilterValue(value=name, words=words(name), parts=parts[name]) for name in names)


def _shift_words(shift: str) -> str:
    return tr(OUTSIDE_SHIFTS) if shift == OUTSIDE_SHIFTS else shift


def _unit_order(name: str) -> tuple[bool, str, int, str]:
    """Sort cavity 9 before cavity 10, and what is not known last."""
    kind, _, unit = name.partition(" ")
    # A number of more letters than a unit may have was never written by this program.
    number = int(unit) if unit.isdecimal() and len(unit) <= 40 else 0
    return name == NOT_KNOWN, kind, number, unit


def filter_words(wanted: RecordFilter) -> str:
    """Say which part of the records is looked at, as "tablet 00a1, cavity 3"; empty for all of them."""
    days = ""
    if wanted.since and wanted.since == wanted.until:
        days = tr("judged on {since}", since=day_said(wanted.since))
    elif wanted.since or wanted.until:
        days = _judged_between(wanted.since, wanted.until)
    shift = ""
    if wanted.shift:
        shift = (
            tr(OUTSIDE_SHIFTS)
            if wanted.shift == OUTSIDE_SHIFTS
            else tr("shift {shift}", shift=wanted.shift)
        )
    tablet = tr("tablet {tablet}", tablet=short_id(wanted.tablet)) if wanted.tablet else ""
    unit = unit_words(wanted.unit) if wanted.unit else ""
    return ", ".join(filter(None, (days, shift, tablet, unit)))


def _judged_between(since: str, until: str) -> str:
    if not until:
        return tr("judged from {since}", since=day_said(since))
    if not since:
        return tr("judged until {until}", until=day_said(until))
    return tr("judged from {since} until {until}", since=day_said(since), until=day_said(until))


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """The answer of a part of the records, and that of all of them.

    Parameters
    ----------
    wanted
        What is looked at.
    facts
        The concern with that part of its records.
    answer
        What that part says.
    whole
        What all records say; the same as `answer` where all are looked at.
    parts, of_parts
        Parts judged that `answer` counts, and that `whole` counts.
    """

    wanted: RecordFilter
    facts: ConcernFacts
    answer: OriginAnswer
    whole: OriginAnswer
    parts: int
    of_parts: int

    @property
    def part_words(self) -> str:
        """Which part of the records this is of, as "62 of 140 parts: tablet 00a1 only"; empty for all."""
        if self.wanted.is_empty:
            return ""
        return tr(
            "{parts} of {of_parts} parts: {filter} only",
            parts=whole_text(self.parts),
            of_parts=whole_text(self.of_parts),
            filter=filter_words(self.wanted),
        )

    @property
    def differs(self) -> str:
        """Says that a part of the records names something else than all of them; else empty."""
        part, whole = self.answer.first_bad_station, self.whole.first_bad_station
        if self.wanted.is_empty or not self.parts or part == whole:
            return ""
        return tr(
            "All records say {named}; this part of them says {named2}. A part chosen after "
            "looking can differ by chance alone: find out why before anything is stopped or "
            "released on it.",
            named=_named(self.whole),
            named2=_named(self.answer),
        )

    @property
    def whole_words(self) -> str:
        """What all records say, to stand beside the answer of a part; empty where all are looked at."""
        if self.wanted.is_empty:
            return ""
        return tr(
            "All {of_parts} parts: {sentence}",
            of_parts=whole_text(self.of_parts),
            sentence=self.whole.sentence,
        )


def _named(answer: OriginAnswer) -> str:
    if answer.first_bad_station is None or answer.probability is None:
        return tr(
            "no station (not present in this stream: {none_probability})",
            none_probability=percent(answer.none_probability),
        )
    return f"{answer.first_bad_station} ({percent(answer.probability)})"


def review(facts: ConcernFacts, wanted: RecordFilter) -> Review:
    """Work out where the defect starts, from a part of the records and from all of them.

    Parameters
    ----------
    facts
        The concern.
    wanted
        What is looked at.

    Raises
    ------
    InputError
        If the checklist of the stream is not known.
    """
    part = narrowed(facts, wanted)
    whole = facts.locate(thorough=wanted.is_empty)
    answer = whole if wanted.is_empty else part.locate()
    return Review(
        wanted=wanted,
        facts=part,
        answer=answer,
        whole=whole,
        parts=sum(one.checked for one in answer.stations),
        of_parts=sum(one.checked for one in whole.stations),
    )
