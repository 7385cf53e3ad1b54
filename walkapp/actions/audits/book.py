"""Audit books: the records of a month of audits that hold, sorted out by audit, and their findings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from walkapp.actions.reasons import SETTLED, UNDO
from walkapp.actions.workplace import Workplace
from walkapp.language import msg
from walkapp.model.ids import book_id
from walkapp.model.records import (
    AuditAnswer,
    AuditMissed,
    AuditReaction,
    AuditStart,
    FindingClosed,
    Photo,
    Record,
    what_is_said,
)
from walkapp.model.standing import standing_of

NO_REACTION, CORRECTED, FINDING_OPEN, FINDING_OVERDUE, CLOSED = (
    msg("no reaction yet"),
    msg("corrected on the spot"),
    msg("open"),
    msg("overdue"),
    msg("closed"),
)
"""How a finding, a NOK of an audit, stands."""

REACTION_WORDS = {
    "corrected": CORRECTED,
    "contained": msg("contained"),
    "escalated": msg("escalated"),
}
"""What was done about a finding, as it is told, said with :func:`walkapp.language.tr`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """A NOK of an audit.

    Parameters
    ----------
    answer
        The NOK; its id is the finding's id.
    start
        The audit.
    reaction
        What was done about it; none before that. Of several that contradict each other the newest that
        leaves something to do, so that no word "corrected" hides another one.
    closed
        When it was put right for good; none before that. Of several the first; one that another tablet
        contradicts does not count.
    pictures
        Pictures that show it.
    others
        Reactions of other tablets that contradict `reaction`, until somebody says it once more.
    ids
        Ids under which the NOK is known, its own first: an undo, or a decision between tablets, says the
        same once more under a new one.
    """

    answer: AuditAnswer
    start: AuditStart
    reaction: AuditReaction | None = None
    closed: FindingClosed | None = None
    pictures: tuple[Photo, ...] = ()
    others: tuple[AuditReaction, ...] = ()
    ids: tuple[str, ...] = ()

    @property
    def found_on(self) -> str:
        """The day on which it was found, ISO 8601."""
        return (self.start.paper_until or self.answer.at)[:10]

    @property
    def closed_on(self) -> str:
        """The day on which it was put right; empty while it is not."""
        if self.closed is not None:
            return self.closed.closed_on
        is_corrected = self.reaction is not None and self.reaction.reaction == "corrected"
        return self.found_on if is_corrected else ""

    def status(self, today: date) -> str:
        """How it stands on a day: one of the words of this module."""
        if self.closed is not None:
            return CLOSED
        if self.reaction is None:
            return NO_REACTION
        if self.reaction.reaction == "corrected":
            return CORRECTED
        return FINDING_OVERDUE if self.reaction.due_on < today.isoformat() else FINDING_OPEN

    def is_open(self, today: date) -> bool:
        """Whether something is left to do."""
        return self.status(today) not in (CORRECTED, CLOSED)


class AuditBook:
    """The records of one audit book that hold, sorted out by audit.

    Parameters
    ----------
    records
        All records of the book. Those of a walk that claims the book's id as its own are left out.
    """

    def __init__(self, records: Sequence[Record]) -> None:
        self.records = records
        own = [record for record in records if not record.walk]
        self.standing = standing_of(own)
        self._by_audit: dict[str, list[Record]] = {}
        self._pictures: dict[str, list[Photo]] = {}
        self.starts: list[AuditStart] = []
        self.missed: list[AuditMissed] = []
        for record in self.standing.current:
            if isinstance(record, AuditStart):
                self.starts.append(record)
            elif isinstance(record, AuditMissed):
                self.missed.append(record)
            elif isinstance(record, Photo):
                self._pictures.setdefault(record.about, []).append(record)
            elif audit := getattr(record, "audit", ""):
                self._by_audit.setdefault(audit, []).append(record)
        self._answers = {r.id: r for r in own if isinstance(r, AuditAnswer)}
        self._reactions: dict[str, list[AuditReaction]] = {}
        self._closed: dict[str, list[FindingClosed]] = {}
        heads = [head for conflict in self.standing.conflicts for head in conflict.heads]
        for record in dict.fromkeys((*self.standing.current, *heads)):
            if isinstance(record, AuditReaction):
                self._reactions.setdefault(record.finding, []).append(record)
            elif isinstance(record, FindingClosed) and record not in heads:
                self._closed.setdefault(record.finding, []).append(record)

    def of(self, audit: str) -> tuple[Record, ...]:
        """Give what belongs to one audit, by id."""
        return tuple(self._by_audit.get(audit, ()))

    def findings_of(self, start: AuditStart) -> tuple[Finding, ...]:
        """Give the findings of one audit, by id."""
        answers = {r.ref: r for r in self.of(start.id) if isinstance(r, AuditAnswer)}
        found = (self._finding(r, start) for r in answers.values() if r.answer == "not_ok")
        return tuple(sorted(found, key=lambda finding: finding.answer.id))

    def _finding(self, answer: AuditAnswer, start: AuditStart) -> Finding:
        ids = (answer.id, *self._said_again(answer))
        reactions = sorted(
            (r for one in ids for r in self._reactions.get(one, ())),
            key=lambda r: (r.reaction != "corrected", r.id, r.due_on, r.what),
        )
        closed = (r for one in ids for r in self._closed.get(one, ()))
        pictures = (r for one in ids for r in self._pictures.get(one, ()))
        return Finding(
            answer=answer,
            start=start,
            reaction=reactions[-1] if reactions else None,
            closed=min(closed, key=lambda r: r.id, default=None),
            pictures=tuple(sorted(pictures, key=lambda r: r.id)),
            others=tuple(reactions[:-1]),
            ids=ids,
        )

    def _said_again(self, answer: AuditAnswer) -> Iterator[str]:
        """Give the ids of earlier answers that this one only says again, by an undo or a decision."""
        seen = {answer.id}
        while answer.why == UNDO or answer.why.startswith(SETTLED):
            waiting, before = list(answer.replaces), None
            while waiting and before is None:
                record = self._answers.get(waiting.pop(0))
                if record is None or record.id in seen:
                    continue
                seen.add(record.id)
                waiting += record.replaces
                before = record if what_is_said(record) == what_is_said(answer) else None
            if before is None:
                return
            yield before.id
            answer = before

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """The findings of all audits that are here."""
        return tuple(finding for start in self.starts for finding in self.findings_of(start))

    @cached_property
    def stray_noks(self) -> int:
        """How many NOK there are whose audit is not here."""
        here = {start.id for start in self.starts}
        said = (r for audit, records in self._by_audit.items() if audit not in here for r in records)
        return sum(isinstance(r, AuditAnswer) and r.answer == "not_ok" for r in said)

    def answers(self) -> Iterator[AuditAnswer]:
        """Give all answers of audits that are here."""
        for start in self.starts:
            yield from (r for r in self.of(start.id) if isinstance(r, AuditAnswer))


def books_between(place: Workplace, stream: str, first: date, last: date) -> Iterator[AuditBook]:
    """Give the audit books of the months from one day to another, both included."""
    day = first.replace(day=1)
    while day <= last:
        yield place.audit_book(book_id(stream, day))
        if (day.year, day.month) == (date.max.year, date.max.month):
            return
        day = (day + timedelta(days=32)).replace(day=1)


def lies_right(record: AuditStart | AuditMissed) -> bool:
    """Whether a record lies in the book of its stream and day, where every tablet looks for it."""
    return record.concern == book_id(record.stream, date.fromisoformat(record.day))
