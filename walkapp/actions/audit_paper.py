"""The audit of a date on paper: for the day on which there is no tablet, or none that is charged.

The page asks what a tablet would ask. Its check number follows from which audit it is and from all that it
asks, so that whoever types it in later is shown the same questions or told that they differ
(:mod:`walkapp.actions.audit_typing`).
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from itertools import groupby
from pathlib import Path

from walkapp.actions.acting import watch_questions
from walkapp.actions.auditing import (
    BEGUN,
    DONE,
    UNFINISHED,
    Asked,
    PlannedAudit,
    added_to,
    audited_streams,
    planned_audit,
    questions_of,
    zone_of,
)
from walkapp.actions.workplace import Workplace
from walkapp.analysis.audit_calendar import AuditSlot, day_of_work
from walkapp.bundle.places import describe_refusal
from walkapp.errors import InputError
from walkapp.files import safe_name, write_atomically
from walkapp.model.auditing import AuditLayer
from walkapp.model.checklist import Stream
from walkapp.model.ids import short_id
from walkapp.model.records import AuditStart
from walkapp.paper.audit_page import AuditPaper, PaperQuestion, PaperStation, print_audits

MOST_QUESTIONS = 500
"""Questions of one audit that are printed; nobody fills in more by hand."""

HOW_TO_FILL_IN = (
    "Cross one box for each question. At every NOK write what was found and done, and cross what was done; "
    "at every N/A write why.",
    "Where this page and the rules of the site differ, the rules of the site hold.",
    "The page counts once it is typed in; from then on the audit is marked as done on paper.",
)

PAPERS_WORD = "Begun and signed as the paper says; nothing on a tablet can show that it was so."
"""What has to be said wherever it matters when an audit on paper was done."""

_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip


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


def check_number(slot: AuditSlot, refs: Iterable[str]) -> str:
    """Give the six digits that tell which audit a paper is and what it asks.

    Parameters
    ----------
    slot
        The audit's place in the plan.
    refs
        All that it asks, in order, as :attr:`AuditAnswer.ref` has it.

    Returns
    -------
    str
        The first digits of a SHA-256, so that other questions give the same number in one case of a
        million.
    """
    which = (slot.stream, slot.layer, slot.day.isoformat(), slot.shift)
    return _digits("\n".join((*which, *refs)), 6)


def added_number(ref: str) -> str:
    """Give the four digits that stand on paper for a question beyond the plan."""
    return _digits(ref, 4)


def _digits(text: str, many: int) -> str:
    found = int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big")
    return f"{found % 10**many:0{many}}"


def in_words(layer: AuditLayer, slot: AuditSlot) -> str:
    """Say in words when an audit of the plan is: its shift, day, week or month."""
    spans = f"{_day(slot.first_on)} to {_day(slot.last_on)}"
    if layer.every == "week":
        year, week, _ = slot.day.isocalendar()
        return f"week {week} of {year}, {spans}"
    if layer.every == "month":
        return f"{_MONTHS[slot.day.month - 1]} {slot.day.year}, {spans}"
    return f"shift {slot.shift}, {_day(slot.day)}" if slot.shift else _day(slot.day)


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
        follows = next((f"the next one is on {_day(one)}" for one in later), "none follows within a year")
        who = f"{layer.name}, shift {shift}" if shift else layer.name
        raise InputError(f"{who} has no audit on {_day(day)}; {follows}.")
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


def paper_of(stream: Stream, planned: PlannedAudit, asked: Sequence[Asked], tablet: str) -> AuditPaper:
    """Say what stands on the page of an audit.

    Parameters
    ----------
    stream, planned
        The audit.
    asked
        What it asks, in order, at least one question.
    tablet
        Id of the tablet that prints it.
    """
    slot, layer = planned.slot, planned.layer
    check = check_number(slot, (one.ref for one in asked))
    when = in_words(layer, slot)
    numbers = {one.ref: place for place, one in enumerate(asked, start=1)}
    added = [one for one in asked if one.why]
    zone = stream.audits.calendar.time_zone if stream.audits else ""
    which = f"{layer.name}, {when}, {stream.name}; check number {_grouped(check)}"
    belongs = (
        f"stream {stream.id}, layer {layer.id}, day {slot.day}",
        *((f"shift {slot.shift}",) if slot.shift else ()),
        f"checklist version {stream.version}, SHA-256 begins with {stream.digest[:8]}",
    )
    stations = groupby(asked, key=lambda one: one.station)
    return AuditPaper(
        title=f"Layered audit on paper: {layer.name}",
        which=which,
        facts=(
            ("Value stream", f"{stream.name}; product: {stream.product}"),
            ("Audit of", when),
            (
                "To be signed",
                f"until {_moment(planned.due)} ({zone}); begun from {_moment(planned.opens)} on",
            ),
            ("Asks", _how_many(asked, layer.minutes)),
            ("Belongs to", "; ".join(belongs)),
            ("Check number", f"{_grouped(check)}, asked for when this page is typed in"),
            *(
                (("Mind", "invented data; no real plant, part or customer is meant"),)
                if stream.invented
                else ()
            ),
        ),
        begun=("Begun on (date)", "at (time)"),
        cautions=stream.cautions,
        notes=HOW_TO_FILL_IN,
        beyond=_beyond(added, numbers, tablet),
        stations=tuple(_station(stream, list(here), numbers) for _, here in stations),
        answers=("OK", "NOK", "N/A"),
        found="NOK: what was found and done. N/A: why",
        reactions=("corrected on the spot", "contained", "escalated"),
        left_to_do=("Owner", "Until"),
        signing=(
            ("Answers in all: OK", "NOK", "N/A"),
            ("What else was seen",),
            ("Role and initials, never a name", "Signed on (date)", "at (time)"),
            ("Typed in by (role and initials)", "on (date)"),
        ),
    )


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
                f"{len(questions)} questions, and between 1 and {MOST_QUESTIONS} can be printed; change the "
                "layer in audits.toml."
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
        notes=tuple(_notes(audits, has_numbers=printed.has_numbers)),
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


def _beyond(added: Sequence[Asked], numbers: dict[str, int], tablet: str) -> tuple[str, ...]:
    known = f"as the records on tablet {short_id(tablet)} say when this is printed"
    if not added:
        return (f"Asked beyond the plan, {known}: nothing.",)
    return (
        f"Asked beyond the plan, {known} (a number with a plus is asked for when this page is typed in):",
        *(f"question {numbers[one.ref]}, +{added_number(one.ref)}: {one.why}" for one in added),
    )


def _station(stream: Stream, asked: Sequence[Asked], numbers: dict[str, int]) -> PaperStation:
    here = stream.station(asked[0].station)
    name = f"Station {here.order}: {here.name}" if here else asked[0].station_name
    questions = (
        PaperQuestion(number=numbers[one.ref], ask=one.ask, how=one.how, notes=_question_notes(one))
        for one in asked
    )
    return PaperStation(name=name, hazards=asked[0].hazards, questions=tuple(questions))


def _question_notes(one: Asked) -> tuple[str, ...]:
    special = ("Special characteristic.",) if one.special else ()
    return (*special, f"+{added_number(one.ref)}, beyond the plan: {one.why}.") if one.why else special


def _how_many(asked: Sequence[Asked], minutes: int) -> str:
    beyond = sum(bool(one.why) for one in asked)
    stations = len({one.station for one in asked})
    return (
        f"{_counted(len(asked) - beyond, 'question')} of the plan and {beyond} beyond it, at "
        f"{_counted(stations, 'station')}; may take {minutes} minutes"
    )


def _line(planned: PlannedAudit, asked: Sequence[Asked], pages: int) -> str:
    beyond = sum(bool(one.why) for one in asked)
    return (
        f"{planned.layer.name}, {in_words(planned.layer, planned.slot)}: {_counted(pages, 'page')}, "
        f"{_counted(len(asked) - beyond, 'question')} of the plan and {beyond} beyond it"
    )


def _notes(audits: Sequence[PlannedAudit], *, has_numbers: bool) -> Iterable[str]:
    for planned in audits:
        if planned.state in (*DONE, BEGUN, UNFINISHED):
            how = "begun" if planned.state in (BEGUN, UNFINISHED) else "done"
            yield (
                f"The audit of {planned.layer.name}, {in_words(planned.layer, planned.slot)}, is {how} "
                "already; a page of it cannot be typed in."
            )
    if has_numbers:
        yield (
            "Some letters cannot be printed and stand on the page by their number, such as <U+4E2D>; Latin, "
            "Greek and Cyrillic letters can."
        )


def _counted(many: int, what: str) -> str:
    return f"{many} {what}" if many == 1 else f"{many} {what}s"


def _day(day: date) -> str:
    return f"{_WEEKDAYS[day.weekday()]} {day}"


def _moment(moment: datetime) -> str:
    return f"{_day(moment.date())} {moment:%H:%M}"


def _grouped(digits: str) -> str:
    return f"{digits[:3]} {digits[3:]}"
