"""Findings of audits after the audit: those of some days, those still open, and what was found before."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from walkapp.actions.audits.book import CLOSED, FINDING_OVERDUE, Finding
from walkapp.actions.audits.reading import stream_of
from walkapp.actions.books import books_of
from walkapp.actions.days import day_of, in_days, today
from walkapp.actions.workplace import Workplace
from walkapp.analysis.wording import days_text
from walkapp.errors import InputError
from walkapp.language import day_said, msg, tr
from walkapp.model.auditing import DEFAULT_REPEAT_DAYS
from walkapp.model.ids import month_of_book
from walkapp.model.records import AuditMissed, AuditReaction, AuditStart, Photo

DAYS_BEFORE = 93
"""Days for which books are looked at before the first day asked about: an audit lies under the first day of
its period, and may have been made up, or typed in from paper, long after."""

GONE_FINDING = msg(
    "This finding is not here: its answer was corrected or taken back, or its bundle is still to be merged."
)


def open_findings(place: Workplace, stream: str = "", *, since: date | None = None) -> tuple[Finding, ...]:
    """Give the findings about which something is left to do.

    Parameters
    ----------
    place
        Where the records are. Only audit books are read, each once until it has one more record.
    stream
        Id of the value stream; those of all streams when empty.
    since
        Only those of audits of the month of this day and later ones; all, however old, when none.

    Returns
    -------
    tuple of Finding
        Overdue ones first, the longest overdue on top; then those about which nobody said yet what was
        done, the oldest first; then the others by the day on which they are due.
    """
    day = today(place)
    found = [finding for finding in _findings(place, stream, since) if finding.is_open(day)]
    return tuple(sorted(found, key=lambda finding: _urgency(finding, day)))


def closed_findings(
    place: Workplace, stream: str = "", *, since: date | None = None
) -> tuple[Finding, ...]:
    """Give the findings about which nothing is left to do, what was put right last first.

    Parameters are those of :func:`open_findings`.
    """
    day = today(place)
    found = [finding for finding in _findings(place, stream, since) if not finding.is_open(day)]
    return tuple(sorted(found, key=lambda one: (one.closed_on, one.answer.id), reverse=True))


def strays(place: Workplace, stream: str = "", *, since: date | None = None) -> int:
    """Count the NOK whose audit is not here: its bundle is still to be merged, or it was taken back."""
    return sum(place.audit_book(book).stray_noks for book in books_of(place, stream, since=since))


def find_finding(place: Workplace, book: str, some_id: str) -> Finding:
    """Give one finding.

    Parameters
    ----------
    place
        Where the records are.
    book
        Id of its audit book.
    some_id
        Its id, also one under which it was known before.

    Raises
    ------
    InputError
        If the store has no such finding.
    """
    for finding in place.audit_book(book).findings:
        if some_id in finding.ids:
            return finding
    raise InputError(tr(GONE_FINDING))


@dataclass(frozen=True, slots=True, kw_only=True)
class Belongs:
    """To what a record of an audit book belongs.

    Parameters
    ----------
    audit, finding
        Ids of the audit and of the finding; empty for none that is here.
    missed
        Why an audit was not done, where the record says so.
    """

    audit: str = ""
    finding: str = ""
    missed: AuditMissed | None = None


def belongs_to(place: Workplace, book: str, record_id: str) -> Belongs:
    """Find the audit or finding to which a record of an audit book belongs.

    Parameters
    ----------
    place
        Where the records are.
    book
        Id of the audit book.
    record_id
        Id of any record in it.
    """
    found = place.audit_book(book)
    record = next((r for r in found.standing.current if r.id == record_id), None)
    if isinstance(record, AuditMissed):
        return Belongs(missed=record)
    about = record.about if isinstance(record, Photo) else getattr(record, "finding", record_id)
    for finding in found.findings:
        if about in finding.ids:
            return Belongs(audit=finding.start.id, finding=finding.answer.id)
    audit = record_id if isinstance(record, AuditStart) else getattr(record, "audit", "")
    return Belongs(audit=audit if any(start.id == audit for start in found.starts) else "")


def earlier_findings(place: Workplace, finding: Finding, repeat_days: int) -> tuple[Finding, ...]:
    """Give the findings of the same question at the same station that make this one a repeat finding.

    Parameters
    ----------
    place
        Where the records are.
    finding
        The finding.
    repeat_days
        A NOK within so many days before is an earlier one of the same, 1 or more.

    Returns
    -------
    tuple of Finding
        Of other audits of the stream, the newest first.
    """
    on = date.fromisoformat(finding.found_on)
    since = _days_before(on, repeat_days)
    found = [
        other
        for book in books_of(place, finding.start.stream, since=_days_before(since, DAYS_BEFORE))
        if f"{month_of_book(book)}" <= finding.found_on
        for other in place.audit_book(book).findings
        if other.answer.ref == finding.answer.ref
        and other.start.id != finding.start.id
        and other.start.stream == finding.start.stream
        and other.found_on >= since.isoformat()
        and _order(other) < _order(finding)
    ]
    return tuple(sorted(found, key=_order, reverse=True))


def said_before(place: Workplace, finding: Finding) -> tuple[AuditReaction, ...]:
    """Give what was said earlier of what was done, and corrected or taken back since, the newest first."""
    holds = {r.id for r in (*finding.others, finding.reaction) if r}
    said = {_said(r) for r in (finding.reaction,) if r}
    found = []
    for record in sorted(place.audit_book(finding.start.concern).records, key=lambda r: r.id, reverse=True):
        if not isinstance(record, AuditReaction) or record.finding not in finding.ids:
            continue
        if record.id not in holds and _said(record) not in said:
            said.add(_said(record))  # An undo says the same once more.
            found.append(record)
    return tuple(found)


def repeat_days_of(place: Workplace, finding: Finding) -> int:
    """Give within how many days a NOK to the same question repeats, by the checklist of its audit."""
    stream = stream_of(place, finding.start)
    return stream.audits.repeat_days if stream and stream.audits else DEFAULT_REPEAT_DAYS


def status_text(finding: Finding, on: date) -> str:
    """Say in a few words how a finding stands on a day, beginning with a small letter.

    For example "overdue by 5 days", or "closed on 2026-03-12".
    """
    status = finding.status(on)
    if status == CLOSED:
        return tr("closed on {closed_on}", closed_on=day_said(finding.closed_on))
    due = day_of(finding.reaction.due_on) if finding.reaction is not None else None
    if due is None:
        return tr(status)
    if status == FINDING_OVERDUE:
        return tr("overdue by {days}", days=days_text((on - due).days))
    return tr("{status}, due {in_days}", status=tr(status), in_days=in_days((due - on).days))


def days_open(finding: Finding, on: date) -> int:
    """Count the days since a finding was found; 0 on that day, and for one from a day still to come."""
    return max((on - date.fromisoformat(finding.found_on)).days, 0)


def _findings(place: Workplace, stream: str, since: date | None) -> Iterator[Finding]:
    for book in books_of(place, stream, since=since):
        for finding in place.audit_book(book).findings:
            if stream in ("", finding.start.stream):
                yield finding


def _urgency(finding: Finding, on: date) -> tuple[int, str, str]:
    status = finding.status(on)
    if finding.reaction is None:
        return 1, finding.found_on, finding.answer.id
    return 0 if status == FINDING_OVERDUE else 2, finding.reaction.due_on, finding.answer.id


def _said(record: AuditReaction) -> tuple[str, ...]:
    return record.reaction, record.what, record.owner, record.due_on


def _order(finding: Finding) -> tuple[str, str]:
    return finding.found_on, finding.answer.id


def _days_before(day: date, days: int) -> date:
    return date.fromordinal(max(day.toordinal() - days, 1))
