"""Layered audits: begun, answered, what was done about a NOK, signed, or not done.

All of them lie in the audit book of their stream and month (:func:`walkapp.model.ids.book_id`): its id
stands where records of a concern have the concern's.
"""

from __future__ import annotations

from typing import ClassVar

from walkapp.errors import RecordError
from walkapp.model.records.base import Record
from walkapp.model.records.walks import ANSWERS
from walkapp.model.schema import choice, day, digest, key, moment, record_id, record_kind, text, whole

REACTIONS = ("corrected", "contained", "escalated")
"""What was done about a NOK: put right on the spot, held back until it is, or handed upwards."""


@record_kind
class AuditStart(Record):
    """An audit of the plan begins. Its id is the audit's id."""

    kind: ClassVar[str] = "audit_start"
    title: ClassVar[str] = "Audits: which layer began which audit of the plan, with which checklist"

    stream: str = key("Id of the value stream")
    checklist: str = digest("SHA-256 of the checklist folder as it was when the audit began")
    layer: str = key("Id of the layer")
    day: str = day("Day of the plan: of the shift, the working day, the Monday or first of the month")
    shift: str = text("Name of the shift of the plan, for a layer that audits every shift",
                      longest=20, default="")  # fmt: skip
    added: str = text(
        "What this audit asks beyond the plan, in order: station/question, or station/id of a "
        "verification question, separated by spaces",
        default="",
    )
    paper_by: str = text("Role and initials on the paper, when it was done on paper and typed in",
                         longest=40, default="")  # fmt: skip
    paper_from: str = moment("When it was begun, as written on the paper", default="")
    paper_until: str = moment("When it was signed, as written on the paper", default="")

    def _check_together(self) -> None:
        said = (self.paper_by, self.paper_from, self.paper_until)
        if any(said) and not all(said):
            raise RecordError("paper_by, paper_from and paper_until belong together")

    @property
    def is_paper(self) -> bool:
        """Whether it was done on paper and typed in later."""
        return bool(self.paper_by)


@record_kind
class AuditAnswer(Record):
    """One question of an audit answered."""

    kind: ClassVar[str] = "audit_answer"
    title: ClassVar[str] = "Answers of audits: one question at one station"

    audit: str = record_id("Id of the audit")
    station: str = key("Id of the station")
    question: str = key(
        "Id of the question of the checklist; empty for a verification question", default=""
    )
    watch: str = record_id("Id of the verification question; empty for one of the checklist", default="")
    asked: str = text("The question as it was asked", longest=200)
    answer: str = choice("The answer", ANSWERS)
    reason: str = text("Why it does not apply", longest=400, default="")

    def _check_together(self) -> None:
        if bool(self.question) == bool(self.watch):
            raise RecordError("either question or watch must be given, not both")
        if self.answer == "not_applicable" and not self.reason:
            raise RecordError("reason is missing: not_applicable needs one")

    @property
    def ref(self) -> str:
        """What was asked, as a text: station, then question or verification question."""
        return f"{self.station}/{self.question or self.watch}"


@record_kind
class AuditReaction(Record):
    """What was done about a NOK of an audit."""

    kind: ClassVar[str] = "audit_reaction"
    title: ClassVar[str] = "Reactions: what was done about each NOK of an audit"

    audit: str = record_id("Id of the audit")
    finding: str = record_id("Id of the NOK answer")
    reaction: str = choice("What was done", REACTIONS)
    what: str = text("What was found and done", longest=400)
    owner: str = text("Role or initials of who sees to the rest, never a name", longest=40, default="")
    due_on: str = day("Until when", default="")

    def _check_together(self) -> None:
        if self.reaction != "corrected" and not (self.owner and self.due_on):
            raise RecordError(f"owner and due_on are needed: {self.reaction} leaves something to do")


@record_kind
class FindingClosed(Record):
    """A finding of an audit is put right for good."""

    kind: ClassVar[str] = "finding_closed"
    title: ClassVar[str] = "Findings closed: when, and what shows it"

    audit: str = record_id("Id of the audit")
    finding: str = record_id("Id of the NOK answer")
    closed_on: str = day("When it was put right")
    evidence: str = text("What shows it", longest=400)


@record_kind
class AuditSigned(Record):
    """An audit was signed by who did it."""

    kind: ClassVar[str] = "audit_signed"
    title: ClassVar[str] = "Audits signed: by role and initials, with what was signed"

    audit: str = record_id("Id of the audit")
    ok: int = whole("Questions answered OK when it was signed", most=10_000)
    nok: int = whole("Questions answered NOK", most=10_000)
    not_applicable: int = whole("Questions that did not apply", most=10_000)
    note: str = text("What else was seen", longest=400, default="")


@record_kind
class AuditMissed(Record):
    """Why an audit of the plan was not done."""

    kind: ClassVar[str] = "audit_missed"
    title: ClassVar[str] = "Audits not done: why"

    stream: str = key("Id of the value stream")
    layer: str = key("Id of the layer")
    day: str = day("Day of the plan")
    shift: str = text("Name of the shift of the plan, for a layer that audits every shift",
                      longest=20, default="")  # fmt: skip
    reason: str = text("Why it was not done", longest=400)
