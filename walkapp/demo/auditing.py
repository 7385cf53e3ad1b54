"""Eight weeks of audits of the demo, from a TOML file that says who does them and what they find.

Everything is made up. The plan, the questions and what is asked beyond the plan come from the program;
every entry goes through the same actions as on the floor, with a clock and a chance of its own.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from walkapp.actions.audits.book import Finding
from walkapp.actions.audits.doing import (
    OnPaper,
    answer_question,
    begin_audit,
    begin_on_paper,
    close_finding,
    react,
    say_missed,
    sign_audit,
)
from walkapp.actions.audits.reading import AuditFacts, audit_facts
from walkapp.actions.audits.states import PlannedAudit, added_to, planned_audit, planned_between
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.merging import merge_bundles
from walkapp.demo.tablets import SCENARIO, Tablet, open_tablet, read_scenario
from walkapp.model.checklist import Stream
from walkapp.model.records import AuditStart

Said = Mapping[str, Any]

SECONDS_TO_WALK = 45
"""Time from one station to the next that the demo adds to the first answer of a station."""


def audit_floor(out: Path, checklists: Path, bundle: Path) -> list[Path]:
    """Let the tablets of the layers do eight weeks of audits.

    Parameters
    ----------
    out
        Folder for their stores and bundles.
    checklists
        Folder of the value streams.
    bundle
        The desk's bundle: with it the verification questions come.

    Returns
    -------
    list of Path
        A bundle of each tablet.
    """
    story = read_scenario("-audits")
    written = []
    for said in story["tablet"]:
        facts = {**said, "by": said["name"], "starts": story["first"]}
        tablet = open_tablet(facts, out / said["name"], checklists)
        with tablet.place.store:
            merge_bundles(tablet.place, [bundle])
            AuditRecorder(tablet, story, said["layers"]).record_all()
            written.append(bundle_concerns(tablet.place, out / f"{said['name']}.zip").path)
    return written


@dataclass(frozen=True, slots=True, order=True)
class _ToClose:
    """A finding that is closed later.

    Parameters
    ----------
    at
        When.
    book, audit, finding
        Ids of the audit book, the audit and the NOK answer.
    owner, evidence
        Who closes it, and what shows it.
    """

    at: datetime
    book: str
    audit: str
    finding: str
    owner: str
    evidence: str


@dataclass(slots=True)
class AuditRecorder:
    """Records the audits of some layers on one tablet, in the order of time.

    Parameters
    ----------
    tablet
        Its store is open.
    story
        What the TOML file says.
    layers
        Ids of the layers.
    """

    tablet: Tablet
    story: Said
    layers: Sequence[str]
    _chance: random.Random = field(init=False)
    _turns: dict[str, int] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        self._chance = random.Random(self.tablet.facts["seed"])

    def record_all(self) -> None:
        """Record every audit, and after it the findings that were closed by then."""
        place = self.tablet.place
        stream = place.stream(SCENARIO)
        planned = planned_between(place, stream, self.story["first"].date(), self.story["until"].date())
        waiting: list[_ToClose] = []
        for one in sorted(planned, key=lambda p: (self._begins(p), p.layer.id)):
            if one.layer.id not in self.layers:
                continue
            waiting = self._close(waiting, self._begins(one))
            if not_done := self._said("not_done", one):
                self._miss(stream, one, not_done)
            elif self._begins(one) < self.story["until"]:
                waiting += self._audit(stream, one)
        self._close(waiting, self.story["until"])

    def _begins(self, planned: PlannedAudit) -> datetime:
        how = (self._said("otherwise", planned) or {}).get("how", "")
        if how == "made up":
            return planned.due + timedelta(hours=30)
        if how == "late":
            return planned.due - timedelta(minutes=4)
        return planned.opens + timedelta(minutes=self._auditor(planned)["after"])

    def _auditor(self, planned: PlannedAudit) -> Said:
        return next(
            said
            for said in self.story["auditor"]
            if said["layer"] == planned.layer.id and said.get("shift", "") == planned.slot.shift
        )

    def _said(self, table: str, planned: PlannedAudit) -> Said | None:
        slot = planned.slot
        for said in self.story[table]:
            here = said["layer"] == slot.layer and said.get("shift", "") == slot.shift
            if here and slot.day in said["days"]:
                found: Said = said
                return found
        return None

    def _miss(self, stream: Stream, planned: PlannedAudit, said: Said) -> None:
        if "reason" in said:
            self.tablet.clock.time = planned.due + timedelta(hours=2)
            self.tablet.place.by = self._auditor(planned)["by"]
            now = planned_audit(
                self.tablet.place, stream, planned.layer.id, planned.slot.day, planned.slot.shift
            )
            say_missed(self.tablet.place, stream, now, said["reason"])

    def _audit(self, stream: Stream, planned: PlannedAudit) -> Iterator[_ToClose]:
        """Do one audit; give when which of its findings are closed."""
        place, clock, auditor = self.tablet.place, self.tablet.clock, self._auditor(planned)
        clock.time, place.by = self._begins(planned), auditor["by"]
        how = (self._said("otherwise", planned) or {}).get("how", "")
        begun = (
            self._begin_on_paper(stream, planned)
            if how == "on paper"
            else begin_audit(place, stream, planned)
        )
        station = ""
        for asked in self._now(begun).asked:
            walk = SECONDS_TO_WALK if asked.station != station else 0
            station = asked.station
            wobble = self._chance.uniform(0.7, 1.4)
            clock.time += timedelta(seconds=asked.seconds * auditor["pace"] * wobble + walk)
            nok = self._nok(asked.ref, planned) if auditor.get("looks", True) else None
            answer = answer_question(place, self._now(begun), asked.ref, "not_ok" if nok else "ok")
            if nok:
                finding = next(f for f in self._now(begun).findings if f.answer.id == answer.id)
                yield from self._react(begun, finding, nok)
        if how == "late":
            clock.time = max(clock.time, planned.due + timedelta(minutes=6))
        sign_audit(place, self._now(begun))

    def _now(self, begun: AuditStart) -> AuditFacts:
        return audit_facts(self.tablet.place, begun.concern, begun.id)

    def _begin_on_paper(self, stream: Stream, planned: PlannedAudit) -> AuditStart:
        begun = self.tablet.clock.time
        added = tuple(extra.ref for extra in added_to(self.tablet.place, stream, planned))
        paper = OnPaper(
            by=self.tablet.place.by, begun=begun, signed=begun + timedelta(minutes=12), added=added
        )
        self.tablet.clock.time = planned.due + timedelta(hours=3)
        return begin_on_paper(self.tablet.place, stream, planned, paper)

    def _nok(self, ref: str, planned: PlannedAudit) -> Said | None:
        """Say what is found NOK, and what is done about it in turn; none when it is OK."""
        station, _, question = ref.partition("/")
        for place, said in enumerate(self.story["nok"]):
            day: date = planned.slot.last_on
            if (
                (said["station"], said["question"]) == (station, question)
                and planned.layer.id in said.get("layers", (planned.layer.id,))
                and said.get("from", day) <= day <= said.get("until", day)
                and self._chance.random() < said["share"]
            ):
                turn = self._turns[str(place)] = self._turns.get(str(place), -1) + 1
                found: Said = said["reactions"][turn % len(said["reactions"])]
                return found
        return None

    def _react(self, begun: AuditStart, finding: Finding, said: Said) -> Iterator[_ToClose]:
        clock = self.tablet.clock
        clock.time += timedelta(seconds=self._chance.uniform(30, 60))
        due = clock.time.date() + timedelta(days=said.get("due", 0))
        react(
            self.tablet.place,
            self._now(begun),
            finding,
            said["reaction"],
            said["what"],
            owner=said.get("owner", ""),
            due_on=due.isoformat() if "due" in said else "",
        )
        if "closed" in said:
            yield _ToClose(
                at=clock.time + timedelta(days=said["closed"]),
                book=begun.concern,
                audit=begun.id,
                finding=finding.answer.id,
                owner=said["owner"],
                evidence=said["evidence"],
            )

    def _close(self, waiting: Sequence[_ToClose], now: datetime) -> list[_ToClose]:
        """Close the findings whose time has come; give the others."""
        place = self.tablet.place
        for one in sorted(waiting):
            if one.at <= now:
                self.tablet.clock.time, place.by = one.at, one.owner
                audit = audit_facts(place, one.book, one.audit)
                found = next(f for f in audit.findings if f.answer.id == one.finding)
                close_finding(place, found, one.at.date().isoformat(), one.evidence)
        return [one for one in waiting if one.at > now]
