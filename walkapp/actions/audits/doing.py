"""Doing an audit: begin, answer, react to what is NOK, sign; or say why it was not done.

Every call puts one record on disk and gives it back; nothing is changed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from walkapp.actions.audits.book import Finding
from walkapp.actions.audits.reading import AuditFacts, stream_of
from walkapp.actions.audits.states import (
    BEGUN,
    DONE,
    MISSED,
    OPEN,
    TO_COME,
    UNFINISHED,
    PlannedAudit,
    added_to,
    planned_audit,
)
from walkapp.actions.days import refuse_before, refuse_to_come, today
from walkapp.actions.reasons import CORRECTED
from walkapp.actions.undoing import newest_entry, take_back
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.language import in_english, msg, tr, trn
from walkapp.model.checklist import Stream
from walkapp.model.ids import book_id
from walkapp.model.records import (
    AuditAnswer,
    AuditMissed,
    AuditReaction,
    AuditSigned,
    AuditStart,
    FindingClosed,
    Photo,
    Record,
)

AUDIT_KINDS: tuple[type[Record], ...] = (AuditStart, AuditAnswer, AuditReaction, AuditSigned, Photo)
"""Kinds of entry that "undo" takes back on the pages of an audit; last of all that it was begun."""

FINDING_KINDS: tuple[type[Record], ...] = (AuditReaction, FindingClosed, Photo)
"""Kinds of entry that "undo" takes back on the page of a finding."""


BEGUN_HERE = msg("This audit is begun on this tablet already; open it from the list and go on with it.")


@dataclass(frozen=True, slots=True, kw_only=True)
class OnPaper:
    """What the paper says of an audit that was done on it.

    Parameters
    ----------
    by
        Role and initials of who did it.
    begun, signed
        When it was begun and signed, with offset from UTC.
    added
        What was printed beyond the plan, as :attr:`AuditAnswer.ref` has it, in order.
    """

    by: str
    begun: datetime
    signed: datetime
    added: tuple[str, ...] = ()


def begin_audit(place: Workplace, stream: Stream, planned: PlannedAudit) -> AuditStart:
    """Begin an audit of the plan, or one that is made up.

    Parameters
    ----------
    place
        Where to write.
    stream
        The stream, with its checklist as it is now; it is kept as the audit's.
    planned
        The audit.

    Raises
    ------
    InputError
        If its time has not come, or it cannot be made up any more, or it is done or begun already.
    """
    now_planned = planned_audit(place, stream, planned.layer.id, planned.slot.day, planned.slot.shift)
    refusal = why_not_begin(place, now_planned)
    if refusal:
        raise InputError(refusal)
    extras = added_to(place, stream, now_planned)
    return _start(place, stream, planned, [extra.ref for extra in extras])


def _start(
    place: Workplace, stream: Stream, planned: PlannedAudit, added: Iterable[str], **paper: str
) -> AuditStart:
    return place.add(
        AuditStart,
        concern=book_id(stream.id, planned.slot.day),
        stream=stream.id,
        checklist=place.keep_checklist(stream.id),
        layer=planned.layer.id,
        day=planned.slot.day.isoformat(),
        shift=planned.slot.shift,
        added=" ".join(added),
        **paper,
    )


def why_not_begin(place: Workplace, planned: PlannedAudit) -> str:
    """Say why an audit cannot be begun now on this tablet; empty when it can, be it to make it up.

    One that another tablet began and nobody signed may be begun anew: that tablet may be broken or gone.
    Both stay on record, and the better one counts.
    """
    now = place.now()
    if planned.state == TO_COME:
        return tr("This audit may be begun from {opens} on.", opens=planned.opens)
    if planned.state == OPEN or planned.can_be_made_up(now):
        return ""
    if planned.state == MISSED:
        return tr(
            "This audit could be made up until {make_up_until}; it stays missed.",
            make_up_until=planned.make_up_until,
        )
    if planned.state == BEGUN:
        return tr(BEGUN_HERE) if _is_begun_here(place, planned) else ""
    if planned.state == UNFINISHED:
        return tr("This audit was begun and not finished in time; it stays so.")
    return tr("This audit is done already.")


def _is_begun_here(place: Workplace, planned: PlannedAudit) -> bool:
    return any(audit.start.device == place.store.device for audit in planned.audits)


def begin_on_paper(place: Workplace, stream: Stream, planned: PlannedAudit, paper: OnPaper) -> AuditStart:
    """Begin to type in an audit that was done on paper; it stays marked as such.

    Parameters
    ----------
    place, stream, planned
        As for :func:`begin_audit`.
    paper
        What the paper says. Nothing is added beyond what was printed.

    Raises
    ------
    InputError
        If the times on the paper are not in order, lie in the future, before the audit's time or after
        the time in which it can be made up, or the audit is done already or begun on this tablet.
    """
    begun, signed = paper.begun, paper.signed
    if signed < begun:
        raise InputError(tr("Signed: that is before it was begun; mend one of the two times."))
    if signed > place.now():
        raise InputError(tr("Signed: that is still to come; mend it, or the clock of the tablet."))
    if begun < planned.opens:
        raise InputError(
            tr(
                "Begun: the audit's time begins at {opens}; mend the time.",
                opens=planned.opens,
            )
        )
    if begun >= planned.make_up_until:
        raise InputError(
            tr(
                "Begun: this audit could be made up until {make_up_until}; mend the time, or it "
                "stays missed.",
                make_up_until=planned.make_up_until,
            )
        )
    if _is_begun_here(place, planned) or planned.state in DONE:
        raise InputError(tr("This audit is begun here or done already; open it from the list."))
    return _start(
        place,
        stream,
        planned,
        paper.added,
        paper_by=paper.by,
        paper_from=begun.isoformat(timespec="seconds"),
        paper_until=signed.isoformat(timespec="seconds"),
    )


def answer_question(
    place: Workplace, audit: AuditFacts, ref: str, word: str, reason: str = ""
) -> AuditAnswer:
    """Answer a question; an earlier answer to it is corrected.

    Parameters
    ----------
    place
        Where to write.
    audit
        The audit.
    ref
        What is asked, as :attr:`AuditAnswer.ref` has it.
    word
        ``ok``, ``not_ok`` or ``not_applicable``.
    reason
        Why it does not apply.

    Raises
    ------
    InputError
        If the audit was signed, is another tablet's, does not ask this, or nothing would change.
    RecordError
        If a reason is missing.
    """
    _refuse_closed(place, audit)
    asked = next((one for one in audit.asked if one.ref == ref), None)
    if asked is None:
        raise InputError(tr("This audit does not ask that question; go back to its list."))
    before = audit.answers.get(ref)
    if before is not None and (before.answer, before.reason) == (word, reason):
        raise InputError(tr("This is what was answered already; go on to the next question."))
    station, _, name = ref.partition("/")
    scheme = audit.stream.audits if audit.stream is not None else None
    is_asked_by_plan = scheme is not None and scheme.question(station, name) is not None
    is_watch = bool(before.watch) if before is not None else not is_asked_by_plan
    return place.add(
        AuditAnswer,
        concern=audit.book,
        audit=audit.start.id,
        station=station,
        question="" if is_watch else name,
        watch=name if is_watch else "",
        asked=_in_own_words(place, audit, station, name) or asked.ask,
        answer=word,
        reason=reason,
        replaces=(before.id,) if before else (),
        why=CORRECTED if before else "",
    )


def _in_own_words(place: Workplace, audit: AuditFacts, station: str, question: str) -> str:
    """Give a question as its checklist has it, for a record; empty where that is not here."""
    with in_english():
        stream = stream_of(place, audit.start)
    found = stream.audits.question(station, question) if stream and stream.audits else None
    return found.ask if found else ""


def react(
    place: Workplace,
    audit: AuditFacts,
    finding: Finding,
    reaction: str,
    what: str,
    *,
    owner: str = "",
    due_on: str = "",
) -> AuditReaction:
    """Say what was done about a NOK; said once more, it is corrected, and settled where tablets disagree.

    Parameters
    ----------
    place, audit
        As for :func:`answer_question`.
    finding
        The NOK.
    reaction
        ``corrected`` (on the spot), ``contained`` or ``escalated``.
    what
        What was found and done.
    owner, due_on
        Who sees to the rest and until when; needed unless it was corrected.

    Raises
    ------
    InputError
        If it is due before it was found.
    RecordError
        If something is missing.
    """
    refuse_before(tr("Until when"), due_on, tr("the day it was found"), finding.found_on)
    is_corrected = reaction == "corrected"
    before = finding.reaction
    return place.add(
        AuditReaction,
        concern=audit.book,
        audit=audit.start.id,
        finding=finding.answer.id,
        reaction=reaction,
        what=what,
        owner="" if is_corrected else owner,
        due_on="" if is_corrected else due_on,
        # Where tablets contradict each other, this settles it.
        replaces=tuple(dict.fromkeys(r.id for r in (*finding.others, before))) if before else (),
        why=CORRECTED if before else "",
    )


def close_finding(place: Workplace, finding: Finding, closed_on: str, evidence: str) -> FindingClosed:
    """Say that a finding is put right for good, on whichever tablet.

    Raises
    ------
    InputError
        If it is closed already, or the day is still to come or before it was found.
    RecordError
        If something is missing.
    """
    if not finding.is_open(today(place)):
        raise InputError(tr("This finding is closed already."))
    refuse_to_come(place, tr("Put right on"), closed_on)
    refuse_before(tr("Put right on"), closed_on, tr("the day it was found"), finding.found_on)
    return place.add(
        FindingClosed,
        concern=finding.start.concern,
        audit=finding.start.id,
        finding=finding.answer.id,
        closed_on=closed_on,
        evidence=evidence,
    )


def sign_audit(place: Workplace, audit: AuditFacts, note: str = "") -> AuditSigned:
    """Sign an audit: every question is answered, and something was done about every NOK.

    Raises
    ------
    InputError
        If something is still to be answered or done, or it is signed already, or another tablet's.
    """
    _refuse_closed(place, audit)
    if not audit.is_whole:
        raise InputError(
            tr(
                "The checklist that this audit was begun with is not here, so that nobody can "
                "tell whether all of it is answered; merge a bundle that has it before it is "
                "signed."
            )
        )
    if many := len(audit.unanswered):
        raise InputError(
            trn(
                "{count} question is still to be answered before it can be signed.",
                "{count} questions are still to be answered before it can be signed.",
                many,
            )
        )
    if many := len(audit.without_reaction):
        raise InputError(
            tr("{many} NOK without a word on what was done; say it before it is signed.", many=many)
        )
    return place.add(
        AuditSigned,
        concern=audit.book,
        audit=audit.start.id,
        ok=audit.count("ok"),
        nok=audit.count("not_ok"),
        not_applicable=audit.count("not_applicable"),
        note=note,
    )


def say_missed(place: Workplace, stream: Stream, planned: PlannedAudit, reason: str) -> AuditMissed:
    """Say why an audit was not done; it stays missed, and counts as missed.

    Raises
    ------
    InputError
        If its time is not over, or it was done.
    RecordError
        If the reason is missing.
    """
    if planned.state not in (MISSED, UNFINISHED):
        raise InputError(tr("This audit is not missed: its time is not over, or it was done."))
    before = planned.missed
    return place.add(
        AuditMissed,
        concern=book_id(stream.id, planned.slot.day),
        stream=stream.id,
        layer=planned.layer.id,
        day=planned.slot.day.isoformat(),
        shift=planned.slot.shift,
        reason=reason,
        replaces=(before.id,) if before else (),
        why=CORRECTED if before else "",
    )


def newest_of(place: Workplace, audit: AuditFacts) -> Record | None:
    """Find the entry of an audit that :func:`undo_newest` would take back, or none."""
    findings = _own_findings(place, audit)
    return newest_entry(place, audit.book, AUDIT_KINDS, lambda r: _belongs(r, audit.start.id, findings))


def undo_newest(place: Workplace, audit: AuditFacts) -> Record:
    """Take back the newest entry of this tablet in an audit, a signature too; what was before holds again.

    When nothing else is left, that it was begun is taken back: then the audit is as if nobody had begun it.

    Raises
    ------
    InputError
        If there is nothing to take back.
    """
    findings = _own_findings(place, audit)
    return take_back(place, audit.book, AUDIT_KINDS, lambda r: _belongs(r, audit.start.id, findings))


def _own_findings(place: Workplace, audit: AuditFacts) -> frozenset[str]:
    """Ids of all answers of the audit, those that no longer hold among them: pictures are about them."""
    records: Iterable[Record] = place.store.records(audit.book)
    return frozenset(r.id for r in records if isinstance(r, AuditAnswer) and r.audit == audit.start.id)


def _belongs(record: Record, audit: str, findings: frozenset[str]) -> bool:
    if isinstance(record, Photo):
        return record.about in findings
    if isinstance(record, AuditStart):
        return record.id == audit
    return getattr(record, "audit", "") == audit


def _refuse_closed(place: Workplace, audit: AuditFacts) -> None:
    if audit.start.device != place.store.device:
        raise InputError(tr("This audit was begun on another tablet; go on with it there."))
    if audit.signed is not None:
        raise InputError(tr("This audit is signed; undo takes the signature back first."))
