"""The places of the tour that show layered audits: due, being done, and what they tell."""

from __future__ import annotations

from walkapp.actions.audits.doing import answer_question, begin_audit
from walkapp.actions.audits.findings import open_findings
from walkapp.actions.audits.reading import AuditFacts, audit_facts
from walkapp.actions.audits.states import MISSED, OPEN, PlannedAudit, planned_between, todays_audits
from walkapp.actions.workplace import Workplace
from walkapp.demo.tablets import SCENARIO, read_scenario
from walkapp.presenters.audits.results import figures_of, results_state
from walkapp.presenters.route import Route


def audit_routes(place: Workplace) -> dict[str, Route]:
    """Name every such place, on the records as they are; two audits are begun for them first.

    Parameters
    ----------
    place
        Where the records are: all of the demo's, on the last day of its audits.
    """
    stream = place.stream(SCENARIO)
    half, whole = _begun(place, "supervisor"), _begun(place, "shift-lead")
    nok, last = half.findings[0].answer.ref, half.unanswered[0].ref
    story = read_scenario("-audits")
    planned = planned_between(place, stream, story["first"].date(), story["until"].date())
    missed = next(one for one in planned if one.state == MISSED and one.missed is None)
    due = next(one for one in todays_audits(place, stream) if one.state == OPEN)
    finding = open_findings(place, stream.id)[0]
    about = {"concern": finding.start.concern, "entry": finding.answer.id}
    results = Route(screen="audit_results", stream=stream.id)
    told = results_state(figures_of(place, results)).sections
    prompt = next(section.rows[0].id for section in told if section.name == "prompts")
    return {
        "audits": Route(screen="audits"),
        "audit-begin": _in_plan("audit_begin", due),
        "audit-cautions": _asked(half, "audit", last),
        "audit-reaction": _asked(half, "reaction", nok),
        "audit-not-applicable": _asked(half, "audit_na", last),
        "audit-list": Route(screen="audit_list", concern=half.book, entry=half.start.id),
        "audit-sign": Route(screen="audit_sign", concern=whole.book, entry=whole.start.id),
        "audit-not-done": _in_plan("audit_missed", missed),
        "audit-to-print": _in_plan("audit_print", due),
        "audit-from-paper": _in_plan("audit_paper", due),
        "findings": Route(screen="findings", stream=stream.id),
        "finding": Route(screen="finding", stream=stream.id, **about),
        "close-finding": Route(screen="close_finding", **about),
        "finding-evidence": Route(screen="evidence", through="finding", **about),
        "audit-results": results,
        "audit-worth-going-to-see": results.down("audit_prompt", entry=prompt),
    }


def _in_plan(screen: str, planned: PlannedAudit) -> Route:
    slot = planned.slot
    return Route(
        screen=screen, stream=slot.stream, layer=slot.layer, day=slot.day.isoformat(), shift=slot.shift
    )


def _asked(audit: AuditFacts, screen: str, ref: str) -> Route:
    station, _, question = ref.partition("/")
    return Route(screen=screen, concern=audit.book, entry=audit.start.id, station=station, check=question)


def _begun(place: Workplace, layer: str) -> AuditFacts:
    """Begin the audit of a layer that is due now, unless it is; answer it but for the last question."""
    stream = place.stream(SCENARIO)
    planned = next(one for one in todays_audits(place, stream, layer=layer) if one.can_be_done)
    if planned.audits:
        return planned.audits[0]
    begun = begin_audit(place, stream, planned)
    asked = audit_facts(place, begun.concern, begun.id).asked
    for number, one in enumerate(asked[: -1 if layer == "supervisor" else None]):
        word = "not_ok" if layer == "supervisor" and number == 1 else "ok"
        answer_question(place, audit_facts(place, begun.concern, begun.id), one.ref, word)
    return audit_facts(place, begun.concern, begun.id)
