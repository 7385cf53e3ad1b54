"""What an audit asks beyond its plan, because of what was found or fixed lately.

The plan is the same on every tablet. This depends on the records that a tablet has: verification questions
of fixes that are under watch, and questions that were NOK lately and have not been OK often enough since.
It only ever adds, and never more than the layer says, so that nothing of the plan is starved. Tablets with
the same records arrive at the same additions.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from walkapp.analysis.audits.plan import Visit
from walkapp.language import day_said, tr
from walkapp.model.auditing import AuditLayer
from walkapp.model.checklist import Stream
from walkapp.model.records import AuditAnswer, WatchQuestion

OK_AGAIN = 2
"""Answers OK, from any layer, after which a question that was NOK is no longer asked beyond the plan."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Extra:
    """One question beyond the plan.

    Parameters
    ----------
    station
        Id of the station.
    ref
        What is asked, as :attr:`walkapp.model.records.AuditAnswer.ref` has it.
    why
        Why it is asked now, in words.
    """

    station: str
    ref: str
    why: str


def extras_of(
    stream: Stream,
    layer: AuditLayer,
    visits: Sequence[Visit],
    day: date,
    answers: Iterable[AuditAnswer],
    watched: Iterable[WatchQuestion],
) -> tuple[Extra, ...]:
    """Choose what an audit asks beyond its plan.

    Parameters
    ----------
    stream
        Has audits.
    layer
        The layer that audits.
    visits
        What the plan asks; nothing of it is asked twice.
    day
        Day on which the audit is begun.
    answers
        The answers of all audits of the stream that hold, at least those of the last `repeat_days` days.
    watched
        The verification questions of fixes that are done.

    Returns
    -------
    tuple of Extra
        At most ``layer.added``: first what was asked longest ago, or never. So of c candidates each is
        asked at least once in any ``ceil(c / added)`` audits that follow each other, may ask it, and begin
        when the answers of the one before are recorded; times are as the tablets' clocks said.
    """
    scheme = stream.audits
    if scheme is None:
        return ()
    planned = {f"{visit.station.id}/{question.id}" for visit in visits for question in visit.questions}
    last_asked: dict[str, datetime] = {}
    told: dict[str, list[AuditAnswer]] = {}
    for answer in sorted(answers, key=_moment):
        last_asked[answer.ref] = datetime.fromisoformat(answer.at)
        told.setdefault(answer.ref, []).append(answer)
    found: dict[str, Extra] = {}
    for question in watched:
        if stream.station(question.station) and question.from_on <= day.isoformat() <= question.until_on:
            ref = f"{question.station}/{question.id}"
            why = tr("fix under watch until {until_on}", until_on=day_said(question.until_on))
            found[ref] = Extra(station=question.station, ref=ref, why=why)
    since = day - timedelta(days=scheme.repeat_days)
    for ref, given in told.items():
        station, _, question_id = ref.partition("/")
        asked = scheme.question(station, question_id)
        if asked is None or not asked.is_asked_by(layer.id, day):
            continue
        if (nok_on := _nok_without_ok(given)) and nok_on >= since:
            found[ref] = Extra(station=station, ref=ref, why=tr("NOK on {nok_on}", nok_on=nok_on))
    return _first(found, planned, last_asked, layer.added)


def _first(
    found: Mapping[str, Extra], planned: set[str], last_asked: Mapping[str, datetime], most: int
) -> tuple[Extra, ...]:
    waiting = [ref for ref in found if ref not in planned]
    never = datetime.min.replace(tzinfo=UTC)
    waiting.sort(key=lambda ref: (last_asked.get(ref, never), ref))
    return tuple(found[ref] for ref in waiting[:most])


def _nok_without_ok(given: Sequence[AuditAnswer]) -> date | None:
    """Give the day of the last NOK, unless it was OK often enough since; `given` is in order of time."""
    nok_on: date | None = None
    ok_since = 0
    for answer in given:
        if answer.answer == "not_ok":
            nok_on, ok_since = datetime.fromisoformat(answer.at).date(), 0
        elif answer.answer == "ok":
            ok_since += 1
    return nok_on if ok_since < OK_AGAIN else None


def _moment(answer: AuditAnswer) -> tuple[datetime, str]:
    return datetime.fromisoformat(answer.at), answer.id
