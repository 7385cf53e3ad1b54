"""Where the defect starts, as the sheet says it: station by station, and how sure that is."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from walkapp.actions.figures.shares import shares_figure
from walkapp.actions.reading import ConcernFacts
from walkapp.analysis.results import SURE, OriginAnswer, StationVerdict
from walkapp.analysis.wording import VERDICT_MARKS, counts_text, named, parts_in_words, percent
from walkapp.errors import InputError
from walkapp.paper.figures.shares import SharesFigure
from walkapp.paper.sheet_content import SheetGap, SheetStation

FIRST_BAD, MAYBE_FIRST_BAD = "first bad", "most likely first bad"
NO_CHECKLIST = "First bad station: cannot be worked out"

MOST_TIED = 2
"""Stations between which nothing tells that are named in the short answer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """Where the defect starts, in the words of the sheet.

    Parameters
    ----------
    answer, state, sentence, stations, note, shares, sure
        See :class:`walkapp.paper.sheet_content.SheetContent`.
    gaps
        What is missing for an answer.
    """

    answer: str
    state: str
    sentence: str
    stations: tuple[SheetStation, ...]
    note: str
    shares: SharesFigure | None
    sure: tuple[str, ...]
    gaps: tuple[SheetGap, ...]


def origin_of(facts: ConcernFacts) -> Origin:
    """Say where the defect of a concern starts, or why that cannot be said."""
    try:
        answer = facts.locate()
    except InputError as error:
        return Origin(
            answer=NO_CHECKLIST,
            state="not_visited",
            sentence=str(error),
            stations=(),
            note="The value stream is not shown: its checklist is not here.",
            shares=None,
            sure=(),
            gaps=(
                SheetGap(
                    about="checklist",
                    words="The checklist of the value stream is not here, or has mistakes.",
                ),
            ),
        )
    parts = sum(one.checked for one in answer.stations)
    visited = sum(one.checked > 0 for one in answer.stations)
    return Origin(
        answer=_short(answer),
        state=_state(answer),
        sentence=answer.sentence,
        stations=tuple(_station(answer, one) for one in answer.stations),
        note=(
            f"{parts:,} parts checked at {visited} of {len(answer.stations)} stations; NOK of checked. "
            "A verdict needs 95 % probability."
        ),
        shares=shares_figure(answer) if parts else None,
        sure=tuple(_sure(answer)),
        gaps=tuple(_gaps(answer, visited)),
    )


def _named(answer: OriginAnswer) -> tuple[StationVerdict, ...]:
    """Give the station that is named, and those that are as probable; none when none is named."""
    if answer.probability is None:
        return ()
    return tuple(
        one
        for one in answer.stations
        if one.station == answer.first_bad_station
        or math.isclose(one.probability_origin, answer.probability, rel_tol=1e-9)
    )


def _short(answer: OriginAnswer) -> str:
    found = _named(answer)
    if answer.probability is None or not found:
        if _is_elsewhere(answer):
            return f"First bad station: none in this stream ({percent(answer.none_probability)})"
        return "First bad station: not known yet"
    if len(found) > MOST_TIED:
        return f"First bad station: one of {len(found)}, not told apart yet"
    likely = "" if answer.is_sure else "most likely "
    each = " each" if len(found) > 1 else ""
    names = named([one.station for one in found], "or")
    return f"First bad station: {likely}{names} ({percent(answer.probability)}{each})"


def _is_elsewhere(answer: OriginAnswer) -> bool:
    """Whether the counts say surely that the defect is not in this stream."""
    return answer.first_bad_station is None and answer.none_probability >= SURE


def _state(answer: OriginAnswer) -> str:
    if answer.is_sure:
        return "bad"
    if _is_elsewhere(answer):
        return "clean"
    return "undecided" if any(one.checked for one in answer.stations) else "not_visited"


def _station(answer: OriginAnswer, one: StationVerdict) -> SheetStation:
    mark = ""
    if one in _named(answer):
        mark = FIRST_BAD if answer.is_sure else MAYBE_FIRST_BAD
    return SheetStation(
        order=one.order,
        name=one.station,
        checked=one.checked,
        nok=one.nok,
        counted=counts_text(one.nok, one.checked) or "none checked",
        state=VERDICT_MARKS[one.verdict],
        verdict=one.verdict,
        mark=mark,
    )


def _sure(answer: OriginAnswer) -> Iterator[str]:
    yield from answer.warnings
    if answer.beyond is not None:
        yield (
            f"Sure enough to name it, wrong in at most 1 of 20 such answers. To reach 99 %: check "
            f"{parts_in_words(answer.beyond.parts)} at {answer.beyond.station}."
        )
    if answer.sensitivity is not None:
        yield answer.sensitivity.sentence
    taken = answer.assumptions
    yield (
        f"Taken for granted: {percent(taken.detection)} of truly defective parts and "
        f"{percent(taken.false_alarm)} of good parts are called NOK."
    )


def _gaps(answer: OriginAnswer, visited: int) -> Iterator[SheetGap]:
    if not visited:
        yield SheetGap(about="walks", words="No station was visited yet.")
    elif not answer.is_sure and not _is_elsewhere(answer):
        go = (
            f" Next: {answer.next.station}, check {parts_in_words(answer.next.parts)}."
            if answer.next
            else ""
        )
        yield SheetGap(about="walks", words=f"The first bad station is not sure.{go}")
