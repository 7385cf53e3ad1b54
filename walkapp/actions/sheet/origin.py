"""Where the defect starts, as the sheet says it: station by station, and how sure that is."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from walkapp.actions.figures.shares import shares_figure
from walkapp.actions.reading import ConcernFacts
from walkapp.analysis.results import SURE, OriginAnswer, StationVerdict
from walkapp.analysis.wording import VERDICT_MARKS, counts_text, either, parts_in_words, percent
from walkapp.errors import InputError
from walkapp.language import msg, tr, whole_text
from walkapp.paper.figures.shares import SharesFigure
from walkapp.paper.sheet_content import SheetGap, SheetStation

FIRST_BAD, MAYBE_FIRST_BAD = msg("first bad"), msg("most likely first bad")
NO_CHECKLIST = msg("First bad station: cannot be worked out")

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
            answer=tr(NO_CHECKLIST),
            state="not_visited",
            sentence=str(error),
            stations=(),
            note=tr("The value stream is not shown: its checklist is not here."),
            shares=None,
            sure=(),
            gaps=(
                SheetGap(
                    about="checklist",
                    words=tr("The checklist of the value stream is not here, or has mistakes."),
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
        note=tr(
            "{parts} parts checked at {visited} of {stations} stations; NOK of checked. A "
            "verdict needs 95 % probability.",
            parts=whole_text(parts),
            visited=visited,
            stations=len(answer.stations),
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
            return tr(
                "First bad station: none in this stream ({none_probability})",
                none_probability=percent(answer.none_probability),
            )
        return tr("First bad station: not known yet")
    if len(found) > MOST_TIED:
        return tr("First bad station: one of {found}, not told apart yet", found=len(found))
    values = {"names": either([one.station for one in found]), "probability": percent(answer.probability)}
    if answer.is_sure:
        return tr("First bad station: {names} ({probability})", **values)
    if len(found) > 1:
        return tr("First bad station: most likely {names} ({probability} each of them)", **values)
    return tr("First bad station: most likely {names} ({probability})", **values)


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
        mark = tr(FIRST_BAD) if answer.is_sure else tr(MAYBE_FIRST_BAD)
    return SheetStation(
        order=one.order,
        name=one.station,
        checked=one.checked,
        nok=one.nok,
        counted=counts_text(one.nok, one.checked) or tr("none checked"),
        state=VERDICT_MARKS[one.verdict],
        verdict=tr(one.verdict),
        mark=mark,
    )


def _sure(answer: OriginAnswer) -> Iterator[str]:
    yield from answer.warnings
    if answer.beyond is not None:
        yield (
            tr(
                "Sure enough to name it, wrong in at most 1 of 20 such answers. To reach 99 %: "
                "check {parts} at {station}.",
                parts=parts_in_words(answer.beyond.parts),
                station=answer.beyond.station,
            )
        )
    if answer.sensitivity is not None:
        yield answer.sensitivity.sentence
    taken = answer.assumptions
    yield (
        tr(
            "Taken for granted: {detection} of truly defective parts and {false_alarm} of good "
            "parts are called NOK.",
            detection=percent(taken.detection),
            false_alarm=percent(taken.false_alarm),
        )
    )


def _gaps(answer: OriginAnswer, visited: int) -> Iterator[SheetGap]:
    if not visited:
        yield SheetGap(about="walks", words=tr("No station was visited yet."))
    elif not answer.is_sure and not _is_elsewhere(answer):
        words = [tr("The first bad station is not sure.")]
        if answer.next:
            parts = parts_in_words(answer.next.parts)
            words.append(tr("Next: {station}, check {parts}.", station=answer.next.station, parts=parts))
        yield SheetGap(about="walks", words=" ".join(words))
