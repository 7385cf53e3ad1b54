"""Layered audits on a desk of the tests: short ways to record what was done, at any time. Invented."""

from __future__ import annotations

import shutil
from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any

from tests.fakes import CHECKLISTS, Desk
from walkapp.actions.audits.reading import zone_of
from walkapp.analysis.audits.calendar import AuditSlot
from walkapp.model.ids import book_id
from walkapp.model.records import (
    AuditAnswer,
    AuditMissed,
    AuditReaction,
    AuditSigned,
    AuditStart,
    FindingClosed,
    Record,
)

STREAM = "washer-reservoir"


class Auditor:
    """Whoever does the audits of a stream on one desk; every entry has the time that it is told.

    Parameters
    ----------
    desk
        Where the records go.
    stream
        Id of the value stream.
    """

    def __init__(self, desk: Desk, stream: str = STREAM) -> None:
        self.place = desk.place
        self.stream = desk.place.stream(stream)
        self.plan = self.place.audit_plan(self.stream)
        self.digest = self.place.keep_checklist(stream)
        self.zone = zone_of(self.stream)

    def slot(self, layer: str, day: str, shift: str = "") -> AuditSlot:
        found = self.plan.scheme.layer(layer)
        slot = self.plan.calendar.slot(found, date.fromisoformat(day), shift)
        assert slot is not None, f"the plan has no audit of {layer} on {day}"
        return slot

    def asked(self, slot: AuditSlot) -> list[tuple[str, str, str]]:
        """Give station, question and words of everything that the plan asks."""
        return [(v.station.id, q.id, q.ask) for v in self.plan.visits(slot) for q in v.questions]

    def audit(
        self,
        slot: AuditSlot,
        *,
        begun: datetime | None = None,
        nok: Iterable[str] = (),
        not_applicable: Iterable[str] = (),
        reactions: Mapping[str, Mapping[str, Any]] | None = None,
        minutes_each: float = 1,
        is_signed: bool = True,
        answers: int | None = None,
        by: str = "SL-AB",
        on_paper: bool = False,
    ) -> AuditStart:
        """Do an audit: all at once on disk.

        Parameters
        ----------
        slot
            Its place in the plan.
        begun
            When; ten minutes after it may be begun when not said.
        nok, not_applicable
            What is answered so, as station/question; all others are OK.
        reactions
            Fields of the reaction to a NOK, by station/question; corrected on the spot when not said.
        minutes_each
            Minutes for each answer.
        is_signed
            Whether it is signed, one minute after the last answer.
        answers
            How many questions are answered; all when not said.
        by
            Role and initials.
        on_paper
            Whether it was done on paper, and typed in now.
        """
        begun = begun or self.plan.calendar.opens_at(slot, self.zone) + timedelta(minutes=10)
        asked = self.asked(slot)[:answers]
        end = begun + timedelta(minutes=minutes_each * len(asked) + 1)
        typed = self.place.now() if on_paper else None
        paper = {"paper_by": by, "paper_from": _text(begun), "paper_until": _text(end)} if on_paper else {}
        common = {"concern": book_id(self.stream.id, slot.day), "by": by}
        start = self.place.new_id()
        entries: list[tuple[type[Record], dict[str, Any]]] = [
            (AuditStart, {
                **common, **paper, "id": start, "at": _text(typed or begun), "stream": self.stream.id,
                "checklist": self.digest, "layer": slot.layer, "day": slot.day.isoformat(),
                "shift": slot.shift,
            })
        ]  # fmt: skip
        told = {"ok": 0, "not_ok": 0, "not_applicable": 0}
        for number, (station, question, ask) in enumerate(asked, 1):
            ref, answer_id = f"{station}/{question}", self.place.new_id()
            at = _text(typed or begun + timedelta(minutes=minutes_each * number))
            word = "not_ok" if ref in nok else "not_applicable" if ref in not_applicable else "ok"
            told[word] += 1
            reason = "station stands" if word == "not_applicable" else ""
            entries.append((AuditAnswer, {
                **common, "id": answer_id, "at": at, "audit": start, "station": station,
                "question": question, "asked": ask, "answer": word, "reason": reason,
            }))  # fmt: skip
            if word == "not_ok":
                said = (reactions or {}).get(ref, {"reaction": "corrected", "what": "put right"})
                if said:
                    about = {"id": self.place.new_id(), "at": at, "audit": start, "finding": answer_id}
                    entries.append((AuditReaction, {**common, **about, **said}))
        if is_signed:
            counts = {"ok": told["ok"], "nok": told["not_ok"], "not_applicable": told["not_applicable"]}
            signed = {"id": self.place.new_id(), "at": _text(typed or end), "audit": start, **counts}
            entries.append((AuditSigned, {**common, **signed}))
        made = self.place.add_all(entries)
        assert isinstance(made[0], AuditStart)
        return made[0]

    def nights_without_looking(self, first: date, last: date) -> None:
        """Let every shift audit: at night in a few seconds and always OK, by day with one NOK in three."""
        layer = self.plan.scheme.layer("shift-lead")
        assert layer is not None
        for number, slot in enumerate(self.plan.calendar.slots(layer, first, last)):
            refs = [f"{station}/{question}" for station, question, _ in self.asked(slot)]
            if slot.shift == "night":
                self.audit(slot, minutes_each=0.02, by="SL-NN")
            else:
                self.audit(slot, minutes_each=0.6, nok=refs[number % 3 :: 3])

    def close(self, start: AuditStart, finding: str, closed_on: str) -> FindingClosed:
        """Say that a finding of an audit, by the id of its NOK, is put right."""
        said = {"finding": finding, "closed_on": closed_on, "evidence": "seen (invented)"}
        return self.place.add(FindingClosed, concern=start.concern, audit=start.id, **said)

    def miss(self, slot: AuditSlot, reason: str = "line stood") -> AuditMissed:
        """Say why an audit was not done."""
        return self.place.add(
            AuditMissed,
            concern=book_id(self.stream.id, slot.day),
            stream=self.stream.id,
            layer=slot.layer,
            day=slot.day.isoformat(),
            shift=slot.shift,
            reason=reason,
        )


def merged(desk: Desk, *others: Desk) -> None:
    """Let the records of other desks come to a desk, one desk after the other."""
    for number, other in zip(count(), others):
        digests = {r.checklist for r in other.records if isinstance(r, AuditStart)}
        checklists = {digest: other.store.checklist(digest) for digest in digests}
        desk.store.merge(other.records, name=f"other {number}", photos={}, checklists=checklists)


def _text(moment: datetime) -> str:
    return moment.isoformat(timespec="milliseconds")


def checklists_of_2020(folder: Path, *, has_audits: bool = True, tells_persons: bool = False) -> Path:
    """Copy a ready-made stream whose audits begin in 2020, so that its days are over on every clock."""
    copy = folder / STREAM
    shutil.copytree(CHECKLISTS / STREAM, copy)
    audits = copy / "audits.toml"
    if has_audits:
        words = audits.read_text(encoding="utf-8").replace("2026-", "2020-")
        if tells_persons:
            words = words.replace("tells_persons = false", "tells_persons = true")
        audits.write_text(words, encoding="utf-8")
    else:
        audits.unlink()
    return folder
