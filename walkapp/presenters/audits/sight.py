"""The audit that a page is about, found by the page's place in the app."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from walkapp.actions.audits.reading import Asked, AuditFacts, audit_facts
from walkapp.actions.audits.states import OVER, PlannedAudit, planned_audit, planned_of
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.language import tr
from walkapp.model.checklist import Stream
from walkapp.model.records import AuditAnswer
from walkapp.presenters.audits.words import audit_title
from walkapp.presenters.route import Route


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditSight:
    """An audit that is begun, as it stands for this tablet.

    Parameters
    ----------
    facts
        The audit.
    planned
        Its place in the plan, and how it alone stands; none where its checklist is not here.
    is_own
        Whether it was begun on this tablet.
    """

    facts: AuditFacts
    planned: PlannedAudit | None
    is_own: bool

    @property
    def title(self) -> str:
        """Which audit it is."""
        title = audit_title(self.facts, self.planned)
        return tr("{title}, on paper", title=title) if self.facts.start.is_paper else title

    @property
    def why_closed(self) -> str:
        """Why nothing can be answered; empty when it can."""
        if self.facts.signed is not None:
            return tr("This audit is signed.")
        if not self.is_own:
            return tr("This audit was begun on another tablet; it goes on there.")
        if not self.facts.is_whole:
            return tr("The checklist of this audit is not here, so that what is still asked is not known.")
        is_late = self.planned is not None and self.planned.state in OVER
        if is_late and not self.facts.start.is_paper:
            return tr("This audit was not finished in time; it stays so.")
        return ""

    @property
    def can_answer(self) -> bool:
        """Whether questions can be answered now."""
        return not self.why_closed

    def after(self, ref: str) -> Asked | None:
        """Give the next question without an answer: behind a question, else the first of all, else none."""
        refs = [asked.ref for asked in self.facts.asked]
        begin = refs.index(ref) + 1 if ref in refs else 0
        behind = [*self.facts.asked[begin:], *self.facts.asked[:begin]]
        return next((asked for asked in behind if asked.ref not in self.facts.answers), None)


def audit_here(place: Workplace, route: Route) -> AuditSight:
    """Read the audit of a page.

    Parameters
    ----------
    place
        Where the records are.
    route
        The page: `concern` is the audit book, `entry` the audit or a NOK of it.

    Raises
    ------
    InputError
        If the store has no such audit.
    """
    answer = _answer(place, route)
    facts = audit_facts(place, route.concern, answer.audit if answer else route.entry)
    is_own = facts.start.device == place.store.device
    return AuditSight(facts=facts, planned=planned_of(place, facts), is_own=is_own)


def ref_here(place: Workplace, route: Route) -> str:
    """Give the question that a page is about, as :attr:`AuditAnswer.ref` has it; empty for none."""
    if route.check:
        return f"{route.station}/{route.check}"
    answer = _answer(place, route)
    return answer.ref if answer else ""


def _answer(place: Workplace, route: Route) -> AuditAnswer | None:
    """Give the answer that a page's entry is; none where the entry is an audit."""
    records = place.store.records(route.concern)
    found = (r for r in records if r.id == route.entry and isinstance(r, AuditAnswer))
    return next(found, None)


def question_place(route: Route, sight: AuditSight, ref: str) -> Route:
    """Give the page of one question of an audit; without a question its list."""
    station, _, check = ref.partition("/")
    screen = "audit" if ref else "audit_list"
    return replace(route, screen=screen, entry=sight.facts.start.id, station=station, check=check)


def onward(route: Route, sight: AuditSight, ref: str) -> Route:
    """Give the page to go to once all is said of a question: the next one, else the list.

    Parameters
    ----------
    route
        The page that led to the one where it was said.
    sight
        The audit as it stands now.
    ref
        The question.
    """
    if route.screen != "audit":
        return route
    found = sight.after(ref)
    return question_place(route, sight, found.ref if found and sight.can_answer else "")


def planned_here(place: Workplace, route: Route) -> tuple[Stream, PlannedAudit]:
    """Read the audit of the plan that a page is about.

    Raises
    ------
    ChecklistError
        With every mistake of every folder.
    InputError
        If the checklist has no such stream, or its plan no such audit.
    """
    stream = place.stream(route.stream)
    try:
        day = date.fromisoformat(route.day)
    except ValueError:
        raise InputError(tr("This page has lost its audit; go back and choose it once more.")) from None
    return stream, planned_audit(place, stream, route.layer, day, route.shift)


def place_in_plan(planned: PlannedAudit) -> Mapping[str, str]:
    """Give the fields of a route that name an audit of the plan."""
    slot = planned.slot
    return {"stream": slot.stream, "layer": slot.layer, "day": slot.day.isoformat(), "shift": slot.shift}
