"""What the audits of a stream say over some days: the figures, gathered from its records."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from walkapp.actions.audits.book import FINDING_OVERDUE, Finding
from walkapp.actions.audits.findings import closed_findings, open_findings
from walkapp.actions.audits.gathering import audits_done
from walkapp.actions.audits.reading import asked_words, audited_streams, zone_of
from walkapp.actions.audits.states import (
    BEGUN,
    IN_TIME,
    LATE,
    MADE_UP,
    MISSED,
    OPEN,
    TO_COME,
    UNFINISHED,
    PlannedAudit,
    planned_between,
)
from walkapp.actions.days import today
from walkapp.actions.workplace import Workplace
from walkapp.analysis.audits.calendar import day_of_work
from walkapp.analysis.audits.completion import Completion, CompletionResults, DueAudit, completion_results
from walkapp.analysis.audits.conformity import ConformityResults, conformity_results
from walkapp.analysis.audits.facts import AuditDone, Prompt
from walkapp.analysis.audits.findings import (
    Ageing,
    FindingCounts,
    FindingSeen,
    RepeatResults,
    ageing_of,
    finding_counts,
    repeat_results,
)
from walkapp.analysis.audits.layers import disagreements_of
from walkapp.analysis.audits.plan import AuditPlan
from walkapp.analysis.audits.signs import signs_of
from walkapp.errors import InputError
from walkapp.language import tr
from walkapp.model.checklist import Stream

WEEKS = 8
"""Weeks that are told when nothing else is said."""

MOST_DAYS = 3660
"""Days that may be told at once: ten years."""

OUTCOME_OF = {
    OPEN: "open",
    BEGUN: "open",
    IN_TIME: "in_time",
    LATE: "late",
    MADE_UP: "made_up",
    MISSED: "missed",
    UNFINISHED: "not_finished",
}
"""How an audit that is due is counted, by how it stands."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """The days that are told.

    Parameters
    ----------
    first, last
        Days of work, both included. An audit of a week or month counts when a working day of its period
        lies among them.
    weeks
        How many weeks up to today they are; none for other days.
    """

    first: date
    last: date
    weeks: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditFigures:
    """What the audits of a stream say over some days, as things stand now.

    Parameters
    ----------
    stream
        The stream, with its checklist as it is now.
    span
        The days.
    completion, conformity, findings, repeats
        Of the audits of these days.
    ageing
        Of all findings of the stream that are open, however old.
    prompts
        What is worth going to see.
    disagreements
        Questions on which layers disagree.
    beyond_plan
        Audits of these days that the plan does not have, as after a layer was taken out of it.
    done_twice
        Audits of the plan that were begun more than once, as by two tablets.
    without_signature
        Audits that have answers and no signature.
    """

    stream: Stream
    span: Span
    completion: CompletionResults
    conformity: ConformityResults
    findings: FindingCounts
    ageing: Ageing
    repeats: RepeatResults
    prompts: tuple[Prompt, ...]
    disagreements: tuple[Prompt, ...]
    beyond_plan: int
    done_twice: int
    without_signature: int

    @property
    def layer_names(self) -> Mapping[str, str]:
        """Names of the layers of the checklist, by id."""
        assert self.stream.audits is not None
        return {layer.id: layer.name for layer in self.stream.audits.layers}

    def station_name(self, station_id: str) -> str:
        """Give the name of a station; its id where the checklist does not have it."""
        station = self.stream.station(station_id)
        return station.name if station else station_id

    def group_name(self, layer: str, shift: str) -> str:
        """Name a layer, and its shift where it audits every shift."""
        return group_name(self.layer_names, layer, shift)


def group_name(layer_names: Mapping[str, str], layer: str, shift: str) -> str:
    """Name a layer, and its shift where it audits every shift; a layer that is not known by its id."""
    return ", ".join(filter(None, (layer_names.get(layer, layer), shift)))


def choose_streams(place: Workplace, stream_id: str = "") -> tuple[Stream, ...]:
    """Give the streams whose audits are told: one, or all that have audits.

    Raises
    ------
    InputError
        If there is no such stream, or it has no audits, or none has.
    ChecklistError
        With every mistake of every folder.
    """
    if stream_id:
        stream = place.stream(stream_id)
        place.audit_plan(stream)  # refuses one without audits
        return (stream,)
    found = audited_streams(place)
    if not found:
        raise InputError(
            tr(
                "No value stream of the checklists folder has audits; add audits.toml to the "
                "folder of one, or choose another folder with --checklists."
            )
        )
    return found


def choose_span(
    place: Workplace, stream: Stream, first: date | None = None, last: date | None = None
) -> Span:
    """Choose the days that are told: the last eight weeks when nothing else is said.

    Raises
    ------
    InputError
        If they are out of order or too many.
    """
    now = _today_of(place, stream)
    last = last or now
    first = first or _weeks_before(last, WEEKS)
    if last < first:
        raise InputError(
            tr(
                "The days end on {last}, before they begin on {first}; mend one of the two.",
                last=last,
                first=first,
            )
        )
    if (last - first).days >= MOST_DAYS:
        raise InputError(
            tr("From {first} to {last} is too long; choose ten years at most.", first=first, last=last)
        )
    weeks, rest = divmod((last - first).days + 1, 7)
    return Span(first=first, last=last, weeks=weeks if last == now and not rest else None)


def last_weeks(place: Workplace, stream: Stream, weeks: int) -> Span:
    """Give so many weeks up to today."""
    last = _today_of(place, stream)
    return Span(first=_weeks_before(last, weeks), last=last, weeks=weeks)


def _today_of(place: Workplace, stream: Stream) -> date:
    return day_of_work(stream, place.now().astimezone(zone_of(stream)))


def _weeks_before(last: date, weeks: int) -> date:
    """Give the first of so many weeks that end with a day."""
    return date.fromordinal(max(last.toordinal() - 7 * weeks + 1, 1))


def audit_figures(place: Workplace, stream: Stream, span: Span) -> AuditFigures:
    """Work out what the audits of a stream say.

    Parameters
    ----------
    place
        Where the records are; its clock says what is over.
    stream
        The stream, with its checklist as it is now.
    span
        The days.

    Raises
    ------
    InputError
        If the stream has no audits.
    """
    plan, now = place.audit_plan(stream), place.now()
    planned = _begun_by_now(place, stream, span)
    keys = {one.slot.key for one in planned}
    done = _done_of(place, stream, span, planned)
    layers = {layer.id: layer.name for layer in plan.scheme.layers}
    findings = (*open_findings(place, stream.id), *closed_findings(place, stream.id))
    day = today(place)
    seen = [
        replace(finding_seen(finding, day), asked=asked_words(place, finding.start, finding.answer))
        for finding in findings
    ]
    ids = {audit.id for audit in done}
    counted = [one for one in seen if one.audit in ids]
    return AuditFigures(
        stream=stream,
        span=span,
        completion=completion_results(
            (_due(plan, one, now) for one in planned),
            done,
            tuple(layers),
            tuple(station.id for station in stream.stations),
        ),
        conformity=conformity_results(done),
        findings=finding_counts(counted),
        ageing=ageing_of(seen, day),
        repeats=repeat_results(seen, plan.scheme.repeat_days, ids),
        prompts=signs_of(done, _who(layers, tells_persons=plan.scheme.tells_persons)),
        disagreements=tuple(_with_station(stream, one) for one in disagreements_of(done, layers)),
        beyond_plan=sum((audit.layer, audit.day, audit.shift) not in keys for audit in done),
        done_twice=sum(len(one.audits) > 1 for one in planned),
        without_signature=sum(audit.signed is None and bool(audit.given) for audit in done),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditsOver:
    """The audits of a stream over some days, one by one.

    Parameters
    ----------
    due
        Those of the plan whose time has begun.
    done
        Those that were begun, with their answers.
    """

    due: tuple[DueAudit, ...]
    done: tuple[AuditDone, ...]


def audits_over(place: Workplace, stream: Stream, span: Span) -> AuditsOver:
    """Gather the audits that :func:`audit_figures` counts; parameters and errors are the same."""
    plan, now = place.audit_plan(stream), place.now()
    planned = _begun_by_now(place, stream, span)
    return AuditsOver(
        due=tuple(_due(plan, one, now) for one in planned), done=_done_of(place, stream, span, planned)
    )


def _done_of(
    place: Workplace, stream: Stream, span: Span, planned: Sequence[PlannedAudit]
) -> tuple[AuditDone, ...]:
    keys = {one.slot.key for one in planned}
    begins = min((one.slot.day for one in planned), default=span.first)
    return tuple(
        audit
        for audit in audits_done(place, stream.id, min(begins, span.first), span.last)
        if (audit.layer, audit.day, audit.shift) in keys or span.first <= audit.day
    )


def completion_in_short(place: Workplace, stream: Stream, span: Span) -> Completion:
    """Count the audits of the plan alone; parameters and errors as for :func:`audit_figures`."""
    plan, now = place.audit_plan(stream), place.now()
    due = (_due(plan, one, now) for one in _begun_by_now(place, stream, span))
    return completion_results(due, (), (), ()).all


def ageing_in_short(place: Workplace, stream: Stream) -> Ageing:
    """Say how long the open findings of a stream are open."""
    day = today(place)
    return ageing_of((finding_seen(finding, day) for finding in open_findings(place, stream.id)), day)


def _begun_by_now(place: Workplace, stream: Stream, span: Span) -> list[PlannedAudit]:
    """Give the audits of the plan whose time has begun."""
    planned = planned_between(place, stream, span.first, span.last)
    return [one for one in planned if one.state != TO_COME]


def _due(plan: AuditPlan, planned: PlannedAudit, now: datetime) -> DueAudit:
    outcome = OUTCOME_OF[planned.state]
    signed = [facts for facts in planned.audits if facts.signed is not None]
    return DueAudit(
        layer=planned.layer.id,
        shift=planned.slot.shift,
        last_on=planned.slot.last_on,
        outcome=outcome,
        is_over=planned.due <= now or outcome not in ("in_time", "open"),
        stations=tuple(visit.station.id for visit in plan.visits(planned.slot)),
        visited=frozenset(answer.station for facts in signed for answer in facts.answers.values()),
        has_reason=planned.missed is not None,
        is_paper=bool(planned.audits) and planned.audits[0].start.is_paper,
    )


def finding_seen(finding: Finding, today: date) -> FindingSeen:
    """Take what the figures need out of a finding, as it stands on a day."""
    return FindingSeen(
        id=finding.answer.id,
        audit=finding.start.id,
        layer=finding.start.layer,
        shift=finding.start.shift,
        station=finding.answer.station,
        ref=finding.answer.ref,
        asked=finding.answer.asked,
        found_on=date.fromisoformat(finding.found_on),
        reaction=finding.reaction.reaction if finding.reaction else "",
        is_open=finding.is_open(today),
        is_overdue=finding.status(today) == FINDING_OVERDUE,
    )


def _with_station(stream: Stream, prompt: Prompt) -> Prompt:
    """Let a place that begins with the id of a station begin with its name."""
    station_id, joint, rest = prompt.where.partition(": ")
    station = stream.station(station_id)
    return replace(prompt, where=f"{station.name}{joint}{rest}") if station else prompt


def _who(layers: Mapping[str, str], *, tells_persons: bool) -> Callable[[AuditDone], str]:
    """Say how audits are told apart: by role and initials only where the site has agreed to that."""
    if tells_persons:
        return lambda audit: audit.by
    return lambda audit: group_name(layers, audit.layer, audit.shift)
