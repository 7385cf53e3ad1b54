"""Audits that are due, and what the plan promises, in words and as JSON values."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Any

from walkapp.actions.audits.due import FOLDER, DueAudit, StreamDue
from walkapp.actions.audits.reading import Asked, AuditFacts
from walkapp.actions.audits.states import MISSED, UNFINISHED
from walkapp.analysis.audits.plan import AuditPlan
from walkapp.language import day_text, month_text, msg, tr, trn, weekday_words
from walkapp.model.auditing import AuditLayer, AuditScheme
from walkapp.model.checklist import Stream

EVERY_IN_WORDS = {
    "shift": msg("each shift"),
    "day": msg("each working day"),
    "week": msg("each week"),
    "month": msg("each month"),
}


def promise_lines(stream: Stream, today: date) -> Iterator[str]:
    """Say what layers and questions the audits of a stream have, and what the plan promises from a day on.

    Parameters
    ----------
    stream
        The stream; nothing is said when it has no audits.
    today
        The promises are those of the lists of stations and questions of this day, or of the first day on
        which the layer audits after that.
    """
    if stream.audits is None:
        return
    scheme, plan = stream.audits, AuditPlan(stream)
    yield (
        tr(
            "{id}, audits: {layers}, {questions}, from {begins} on, in the time of {time_zone}",
            id=stream.id,
            layers=trn("{count} layer", "{count} layers", len(scheme.layers)),
            questions=trn("{count} question", "{count} questions", len(scheme.questions)),
            begins=scheme.calendar.begins,
            time_zone=scheme.calendar.time_zone,
        )
    )
    for layer in scheme.layers:
        yield f"    {layer.name}, {tr(EVERY_IN_WORDS[layer.every])}: {_promise(plan, scheme, layer, today)}"


def _promise(plan: AuditPlan, scheme: AuditScheme, layer: AuditLayer, today: date) -> str:
    first = max(today, scheme.calendar.begins, layer.since or date.min)
    slots = plan.calendar.slots(layer, first, first + timedelta(days=400))
    newest = {slot.shift: slot for slot in reversed(slots)}
    found = [promise for slot in newest.values() for promise in plan.promises(slot)]
    if not slots:
        return tr("no audit from {first} on", first=first)
    if not found:
        return tr("no question on {first}", first=first)
    stations = max(promise.audits for promise in found if not promise.question)
    questions = max(promise.audits for promise in found if promise.question)
    values = {"at_least": _at_least(stations), "at_least2": _at_least(questions)}
    if layer.every == "shift":
        return tr("every station {at_least} of that shift, every question {at_least2}", **values)
    return tr("every station {at_least}, every question {at_least2}", **values)


def _at_least(audits: int) -> str:
    return trn("at every audit", "at least once in any {count} audits", audits)


def due_lines(found: Sequence[StreamDue]) -> Iterator[str]:
    """Tell for a terminal what is due: each stream, then each audit with its stations."""
    for place, one in enumerate(found):
        if place:
            yield ""
        day = f"{weekday_words(one.day)}, {day_text(one.day)}"
        read = (
            tr("the checklists folder")
            if one.source == FOLDER
            else tr("the checklist kept with its newest audit")
        )
        yield tr(
            "{stream} ({id}), {day}; plan by {read}, version {version}",
            stream=one.stream.name,
            id=one.stream.id,
            day=day,
            read=read,
            version=one.stream.version,
        )
        if not one.audits:
            yield f"    {tr('No audit is due on this day.')}"
        for audit in one.audits:
            yield from _audit_lines(audit)


def _audit_lines(audit: DueAudit) -> Iterator[str]:
    planned = audit.planned
    told = tr(
        "{layer}, {period}, {at} to {at2}: {state}",
        layer=planned.layer.name,
        period=_period(audit),
        at=planned.opens,
        at2=planned.due,
        state=tr(planned.state),
    )
    yield f"    {told}"
    stations = ", ".join(f"{name} {count}" for name, count in _by_station(audit.asked).items())
    yield "        " + trn(
        "{count} question: {stations}", "{count} questions: {stations}", len(audit.asked), stations=stations
    )
    if audit.added:
        stations = ", ".join(f"{name} {count}" for name, count in _by_station(audit.added).items())
        more = (
            trn(
                "{count} more question added when it was begun: {stations}",
                "{count} more questions added when it was begun: {stations}",
                len(audit.added),
                stations=stations,
            )
            if planned.audits
            else trn(
                "{count} more question would be added by the records of this store: {stations}",
                "{count} more questions would be added by the records of this store: {stations}",
                len(audit.added),
                stations=stations,
            )
        )
        yield f"        {more}"
    yield from (f"        {_done_line(facts)}" for facts in planned.audits)
    if planned.state in (MISSED, UNFINISHED):
        why = tr("why: {reason}", reason=planned.missed.reason if planned.missed else tr("nobody said"))
        yield f"        {why}"


def _done_line(facts: AuditFacts) -> str:
    counts = tr(
        "{count} OK, {count2} NOK, {count3} N/A",
        count=facts.count("ok"),
        count2=facts.count("not_ok"),
        count3=facts.count("not_applicable"),
    )
    signed = (
        tr("signed {at}", at=facts.signed_at)
        if facts.signed_at
        else tr("{unanswered} to be answered", unanswered=len(facts.unanswered))
    )
    values = {"by": facts.by, "at": facts.begun_at, "signed": signed, "counts": counts}
    if facts.start.is_paper:
        return tr("by {by}, on paper, begun {at}, {signed}: {counts}", **values)
    return tr("by {by}, begun {at}, {signed}: {counts}", **values)


def _period(audit: DueAudit) -> str:
    slot = audit.planned.slot
    match audit.planned.layer.every:
        case "shift":
            return tr("{shift} shift", shift=slot.shift)
        case "week":
            year, week, _ = slot.day.isocalendar()
            return tr("week {week} of {year}", week=week, year=year)
        case "month":
            return tr("month {day}", day=month_text(slot.day))
        case _:
            return tr("day")


def _by_station(asked: Sequence[Asked]) -> dict[str, int]:
    counts: dict[str, int] = {}
    for one in asked:
        counts[one.station_name] = counts.get(one.station_name, 0) + 1
    return counts


def due_to_json(found: Sequence[StreamDue]) -> list[dict[str, Any]]:
    """Turn what is due into JSON values: a list of streams, each with its audits."""
    return [
        {
            "stream": one.stream.id,
            "stream_name": one.stream.name,
            "version": one.stream.version,
            "checklist": one.stream.digest,
            "plan_from": one.source,
            "on": one.day.isoformat(),
            "audits": [_audit_to_json(audit) for audit in one.audits],
        }
        for one in found
    ]


def _audit_to_json(audit: DueAudit) -> dict[str, Any]:
    planned = audit.planned
    slot = planned.slot
    return {
        "layer": slot.layer,
        "layer_name": planned.layer.name,
        "every": planned.layer.every,
        "day": slot.day.isoformat(),
        "shift": slot.shift,
        "first_on": slot.first_on.isoformat(),
        "last_on": slot.last_on.isoformat(),
        "opens": planned.opens.isoformat(),
        "due": planned.due.isoformat(),
        "make_up_until": planned.make_up_until.isoformat(),
        "state": planned.state,
        "why_missed": planned.missed.reason if planned.missed else "",
        "questions": [_asked_to_json(asked) for asked in audit.asked],
        "added": [_asked_to_json(asked) for asked in audit.added],
        "added_is": "recorded" if planned.audits else tr("what this store's records would add now"),
        "done": [_done_to_json(facts) for facts in planned.audits],
    }


def _asked_to_json(asked: Asked) -> dict[str, Any]:
    return {
        "station": asked.station,
        "station_name": asked.station_name,
        "question": asked.ref.partition("/")[2],
        "ask": asked.ask,
        "how": asked.how,
        "special": asked.special,
        "seconds": asked.seconds,
        "why_added": asked.why,
    }


def _done_to_json(facts: AuditFacts) -> dict[str, Any]:
    return {
        "audit": facts.start.id,
        "by": facts.by,
        "begun": facts.begun_at.isoformat(),
        "signed": facts.signed_at.isoformat() if facts.signed_at else None,
        "on_paper": facts.start.is_paper,
        "ok": facts.count("ok"),
        "nok": facts.count("not_ok"),
        "not_applicable": facts.count("not_applicable"),
        "unanswered": len(facts.unanswered),
    }
