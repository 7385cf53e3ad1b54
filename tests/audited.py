"""Audits done on a desk of the tests, with findings, and what was done about them. Invented."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

from tests.fakes import Desk
from walkapp.actions.audits.book import Finding
from walkapp.actions.audits.doing import answer_question, begin_audit, close_finding, react, sign_audit
from walkapp.actions.audits.findings import find_finding
from walkapp.actions.audits.reading import AuditFacts, audit_facts
from walkapp.actions.audits.states import OPEN, todays_audits
from walkapp.model.records import FindingClosed

STREAM = "washer-reservoir"
MONDAY = datetime(2026, 3, 9, 6, 30, tzinfo=timezone(timedelta(hours=1)))
LATER = {"reaction": "contained", "what": "Parts held and marked", "owner": "SL", "due_on": "2026-03-12"}


class Audited:
    """Whoever audits on one desk; it is Monday morning, 9 March, until the clock is moved."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.place = desk.place
        self.stream = desk.place.stream(STREAM)

    def days_later(self, days: int) -> None:
        """Move the clock to half past six in the morning, so many days after that Monday."""
        self.place.now.time = MONDAY + timedelta(days=days)  # type: ignore[attr-defined]

    def begin(self, layer: str = "shift-lead", shift: str = "") -> AuditFacts:
        """Begin the audit of a layer that is due now."""
        planned = next(
            one
            for one in todays_audits(self.place, self.stream, layer=layer)
            if one.state == OPEN and shift in ("", one.slot.shift)
        )
        start = begin_audit(self.place, self.stream, planned)
        return audit_facts(self.place, start.concern, start.id)

    def answer(self, audit: AuditFacts, words: str = "NOK") -> AuditFacts:
        """Answer everything: the first questions as told, all others OK."""
        said = {"O": "ok", "N": "not_ok", "A": "not_applicable"}
        given = words.replace("NOK", "N")
        for number, asked in enumerate(audit.asked):
            word = said[given[number]] if number < len(given) else "ok"
            reason = "station not running" if word == "not_applicable" else ""
            answer_question(self.place, self.again(audit), asked.ref, word, reason)
        return self.again(audit)

    def finding(self, layer: str = "shift-lead", **said: Any) -> Finding:
        """Do an audit with one NOK to the end; with nothing to say about it, it is left unsigned."""
        audit = self.answer(self.begin(layer))
        (found,) = audit.findings
        if said:
            react(self.place, audit, found, said.pop("reaction"), said.pop("what"), **said)
            sign_audit(self.place, self.again(audit))
        return self.now(found)

    def react(self, finding: Finding, **said: Any) -> Finding:
        """Say what was done, or say it once more."""
        audit = audit_facts(self.place, finding.start.concern, finding.start.id)
        react(self.place, audit, self.now(finding), said.pop("reaction"), said.pop("what"), **said)
        return self.now(finding)

    def close(self, finding: Finding, day: str, evidence: str = "Box locked") -> FindingClosed:
        """Say that it is put right."""
        return close_finding(self.place, self.now(finding), day, evidence)

    def again(self, audit: AuditFacts) -> AuditFacts:
        """Read an audit once more."""
        return audit_facts(self.place, audit.book, audit.start.id)

    def now(self, finding: Finding) -> Finding:
        """Read a finding once more."""
        return find_finding(self.place, finding.start.concern, finding.answer.id)


def audited(folder: Path, *, seed: int = 0, by: str = "SL-AB", **more: Any) -> Audited:
    """Open a desk on that Monday."""
    return Audited(Desk(folder, seed=seed, by=by, starts=MONDAY, **more))
