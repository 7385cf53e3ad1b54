"""The audit of a date on paper: for the day on which there is no tablet, or none that is charged.

The page asks what a tablet would ask. Its check number follows from which audit it is and from all that it
asks, so that whoever types it in later is shown the same questions or told that they differ
(:mod:`walkapp.actions.audit_typing`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path

from walkapp.actions.acting import watch_questions
from walkapp.actions.audit_page import counted, day_in_words, in_words, paper_of
from walkapp.actions.auditing import (
    Asked,
    PlannedAudit,
    added_to,
    audited_streams,
    planned_audit,
    questions_of,
    zone_of,
)
from walkapp.actions.workplace import Workplace
from walkapp.analysis.audit_calendar import day_of_work
from walkapp.bundle.places import describe_refusal
from walkapp.errors import InputError
from walkapp.files import safe_name, write_atomically
from walkapp.model.checklist import Stream
from walkapp.model.records import AuditStart
from walkapp.paper.audit_page import print_audits

MOST_QUESTIONS = 500
"""Questions of one audit that are printed; nobody fills in more by hand."""

PAPERS_WORD = "Begun and signed as the paper says; nothing on a tablet can show that it was so."
"""What has to be said wherever it matters when an audit on paper was done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperFacts:
    """What was written.

    Parameters
    ----------
    path
        The PDF.
    pages, questions
        How many it has, of all audits together.
    audits
        One line for each audit.
    notes
        What has to be minded, one sentence each.
    """

    path: Path
    pages: int
    questions: int
    audits: tuple[str, ...]
    notes: tuple[str, ...]


def typed_in_text(start: AuditStart) -> str:
    """Say that an audit was done on paper, and who typed it in when; empty for any other audit."""
    if not start.is_paper:
        return ""
    return f"Done on paper by {start.paper_by}, typed in on {start.at[:10]} by {start.by}."


def stream_to_print(place: Workplace, stream_id: str) -> Stream:
    """Give the value stream that is meant; without an id the only one that has audits.

    Raises
    ------
    ChecklistError
        With every mistake of every folder.
    InputError
        If there is none or more than one to choose from, or the one that is named has no audits.
    """
    if stream_id:
        stream = place.stream(stream_id)
        place.audit_plan(stream)
        return stream
    found = audited_streams(place)
    if not found:
        raise InputError("No value stream here has audits; add audits.toml to the folder of one.")
    if len(found) > 1:
        names = ", ".join(stream.id for stream in found)
        raise InputError(f"More than one value stream has audits; name one with --stream: {names}.")
    return found[0]


def audits_to_print(
    place: Workplace, stream: Stream, layer_id: str, day: date, shift: str = ""
) -> tuple[PlannedAudit, ...]:
    """Give the audits of a layer on a day, past or still to come.

    Parameters
    ----------
    place
        Where the records are.
    stream
        Has audits.
    layer_id
        The layer.
    day
        Any working day of the audit's period.
    shift
        Only that of this shift; of all shifts of the day when empty.

    Raises
    ------
    InputError
        If there is no such layer or shift, or none of its audits on that day.
    """
    calendar = place.audit_plan(stream).calendar
    layers = calendar.scheme.layers
    layer = calendar.scheme.layer(layer_id)
    if layer is None:
        names = ", ".join(one.id for one in layers)
        raise InputError(f"There is no layer {layer_id!r} in {stream.id}; name one of: {names}.")
    shifts = calendar.shifts_of(layer)
    if shift and shift not in shifts:
        names = ", ".join(filter(None, shifts))
        mend = f"name one of: {names}" if names else "leave the shift out, it does not audit by shift"
        raise InputError(f"The layer {layer.id!r} has no shift {shift!r}; {mend}.")
    slots = [s for s in calendar.slots(layer, day, day) if shift in ("", s.shift)]
    if not slots:
        first = max(day, calendar.scheme.calendar.begins)
        last = date.fromordinal(min(first.toordinal() + 366, date.max.toordinal()))
        later = (s.first_on for s in calendar.slots(layer, first, last) if shift in ("", s.shift))
        follows = next(
            (f"the next one is on {day_in_words(one)}" for one in later), "none follows within a year"
        )
        who = f"{layer.name}, shift {shift}" if shift else layer.name
        raise InputError(f"{who} has no audit on {day_in_words(day)}; {follows}.")
    return tuple(planned_audit(place, stream, layer.id, slot.day, slot.shift) for slot in slots)


def asked_on_paper(place: Workplace, stream: Stream, planned: PlannedAudit) -> tuple[Asked, ...]:
    """Give what the paper of an audit asks: the plan, and what this tablet would add.

    What is added is what would be if the audit began today or, when it is still to come, on its first day.
    """
    today = day_of_work(stream, place.now().astimezone(zone_of(stream)))
    extras = added_to(place, stream, planned, day=max(today, planned.slot.first_on))
    reasons = {extra.ref: extra.why for extra in extras}
    watched = watch_questions(place, stream.id)
    asked = questions_of(place, stream, planned.slot, reasons, watched)
    return tuple(replace(one, why=reasons.get(one.ref, "")) for one in asked)


def write_papers(place: Workplace, stream: Stream, audits: Sequence[PlannedAudit], out: Path) -> PaperFacts:
    """Print audits into one PDF, each beginning on a page of its own. Takes seconds the first time.

    Parameters
    ----------
    place
        Where the records are.
    stream, audits
        The audits, at least one.
    out
        The PDF to write; an older one of that name is replaced in one step.

    Raises
    ------
    InputError
        If an audit asks nothing or far too much, or the file cannot be written; what was at `out` before
        is then still there.
    """
    _refuse_other_file(out)
    asked = [asked_on_paper(place, stream, planned) for planned in audits]
    for planned, questions in zip(audits, asked, strict=True):
        if not 0 < len(questions) <= MOST_QUESTIONS:
            raise InputError(
                f"{planned.layer.name}, {in_words(planned.layer, planned.slot)}: this audit asks "
                f"{len(questions)} questions, and between 1 and {MOST_QUESTIONS} can be printed; change "
                "the layer in audits.toml."
            )
    papers = [
        paper_of(stream, planned, questions, place.store.device)
        for planned, questions in zip(audits, asked, strict=True)
    ]
    printed = print_audits(papers)
    try:
        write_atomically(out, printed.data)
    except OSError as error:
        what, mend = describe_refusal(error)
        raise InputError(f"{out}: cannot be written: {what}; {mend}.") from error
    return PaperFacts(
        path=out,
        pages=sum(printed.pages),
        questions=sum(map(len, asked)),
        audits=tuple(map(_line, audits, asked, printed.pages)),
        notes=tuple(_notes(audits, place.now(), has_numbers=printed.has_numbers)),
    )


def paper_name(planned: PlannedAudit) -> str:
    """Give the name of the PDF of an audit."""
    slot = planned.slot
    words = ("audit", slot.stream, slot.layer, slot.day.isoformat(), slot.shift)
    return f"{safe_name('-'.join(filter(None, words)))[:110]}.pdf"


def _refuse_other_file(out: Path) -> None:
    """Refuse to write over something that is no printed page, such as a checklist."""
    try:
        if not out.exists():
            return
        with out.open("rb") as file:
            is_pdf = file.read(5) == b"%PDF-"
    except OSError as error:
        what, mend = describe_refusal(error)
        raise InputError(f"{out}: cannot be written: {what}; {mend}.") from error
    if not is_pdf:
        raise InputError(f"{out}: is there already and is no PDF; choose another name for the page.")


def _line(planned: PlannedAudit, asked: Sequence[Asked], pages: int) -> str:
    beyond = sum(bool(one.why) for one in asked)
    return (
        f"{planned.layer.name}, {in_words(planned.layer, planned.slot)}: {counted(pages, 'page')}, "
        f"{counted(len(asked) - beyond, 'question')} of the plan and {beyond} beyond it"
    )


def _notes(audits: Sequence[PlannedAudit], now: datetime, *, has_numbers: bool) -> Iterable[str]:
    for planned in audits:
        if why := why_not_typed_in(planned, now):
            yield f"{planned.layer.name}, {in_words(planned.layer, planned.slot)}: {why}"
    if has_numbers:
        yield (
            "Some letters cannot be printed and stand on the page by their number, such as <U+4E2D>; "
            "Latin, Greek and Cyrillic letters can."
        )


def why_not_typed_in(planned: PlannedAudit, now: datetime) -> str:
    """Say why a page of this audit that is begun now could not be typed in; empty when it could."""
    if planned.audits:
        return "This audit is begun or done already; a page of it cannot be typed in any more."
    if now >= planned.make_up_until:
        return (
            f"This audit could be made up until {planned.make_up_until:%Y-%m-%d %H:%M}; a page of it can "
            "be typed in only if it was begun before that."
        )
    return ""
