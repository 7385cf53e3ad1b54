"""From the records of audits to what the figures on them are worked out from."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

from walkapp.actions.audits.reading import AuditFacts, audits_between
from walkapp.actions.workplace import Workplace
from walkapp.analysis.audits.facts import AuditDone, Given
from walkapp.model.records import AuditAnswer


def audits_done(place: Workplace, stream: str, first: date, last: date) -> tuple[AuditDone, ...]:
    """Give every audit of a stream that was begun, with its answers.

    Parameters
    ----------
    place
        Where the records are.
    stream
        Id of the value stream.
    first, last
        Days of the plan, both included.

    Returns
    -------
    tuple of AuditDone
        By day of the plan, then id.
    """
    found = []
    everything: dict[str, Mapping[str, AuditAnswer]] = {}
    for facts in audits_between(place, stream, first, last):
        if facts.book not in everything:
            records = place.store.records(facts.book)
            everything[facts.book] = {r.id: r for r in records if isinstance(r, AuditAnswer)}
        found.append(_done(facts, everything[facts.book]))
    return tuple(found)


def _done(facts: AuditFacts, by_id: Mapping[str, AuditAnswer]) -> AuditDone:
    first_said = {answer.ref: _first_said(answer, by_id) for answer in facts.answers.values()}
    expected = {asked.ref: asked.seconds for asked in facts.asked}
    words = {asked.ref: asked.ask for asked in facts.asked}  # in the language of the person
    # On one tablet running numbers tell what came later, never a clock.
    ordered = sorted(facts.answers.values(), key=lambda a: (first_said[a.ref].number, a.id))
    before = facts.begun_at
    given = []
    for answer in ordered:
        at = datetime.fromisoformat(first_said[answer.ref].at)
        seconds = (at - before).total_seconds()
        given.append(
            Given(
                id=answer.id,
                station=answer.station,
                ref=answer.ref,
                asked=words.get(answer.ref, answer.asked),
                answer=answer.answer,
                reason=answer.reason,
                at=at,
                seconds=None if facts.start.is_paper or seconds < 0 else seconds,
                expected=expected.get(answer.ref),
            )
        )
        before = at
    return AuditDone(
        id=facts.start.id,
        layer=facts.start.layer,
        day=date.fromisoformat(facts.start.day),
        shift=facts.start.shift,
        by=facts.by,
        begun=facts.begun_at,
        signed=facts.signed_at,
        is_paper=facts.start.is_paper,
        given=tuple(given),
        unanswered=len(facts.unanswered),
    )


def _first_said(answer: AuditAnswer, by_id: Mapping[str, AuditAnswer]) -> AuditAnswer:
    """Follow the corrections of an answer back to the first tap."""
    seen: set[str] = set()
    while answer.id not in seen:
        seen.add(answer.id)
        answer = next((by_id[one] for one in answer.replaces if one in by_id), answer)
    return answer
