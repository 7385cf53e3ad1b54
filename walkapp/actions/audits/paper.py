"""The audit of a date on paper: for the day on which there is no tablet, or none that is charged.

The page asks what a tablet would ask. Its check number follows from which audit it is and from all that it
asks, so that whoever types it in later is shown the same questions or told that they differ
(:mod:`walkapp.actions.audits.typing_in`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path

from walkapp.actions.acting import watch_questions
from walkapp.actions.audits.due import planning_streams
from walkapp.actions.audits.page import day_in_words, in_words, paper_of
from walkapp.actions.audits.reading import Asked, questions_of, zone_of
from walkapp.actions.audits.states import PlannedAudit, added_to, planned_audit
from walkapp.actions.outputs import refuse_other_file, write_out
from walkapp.actions.workplace import Workplace
from walkapp.analysis.audits.calendar import day_of_work
from walkapp.errors import InputError
from walkapp.files import safe_name
from walkapp.language import msg, tr, trn
from walkapp.model.checklist import Stream
from walkapp.paper.audit_page import AuditPaper, print_audits

MOST_QUESTIONS = 500
"""Questions of one audit that are printed; nobody fills in more by hand."""


NUMBERS_SHOWN = msg(
    "Some letters cannot be printed and stand on the page by their number, such as <U+4E2D>; "
    "Latin, Greek and Cyrillic letters can."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Papers:
    """Audits that are to be printed.

    Parameters
    ----------
    papers
        What stands on the pages of each.
    questions
        How many they ask, all together.
    audits
        One line for each audit.
    notes
        What has to be minded, one sentence each.
    """

    papers: tuple[AuditPaper, ...]
    questions: int
    audits: tuple[str, ...]
    notes: tuple[str, ...]


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


def stream_to_print(place: Workplace, stream_id: str) -> Stream:
    """Give the value stream that is meant; without an id the only one that has audits.

    Parameters
    ----------
    place
        Where the checklists are; without a folder of them, those kept with the newest audits.
    stream_id
        The stream, or empty.

    Raises
    ------
    ChecklistError
        With every mistake of every folder.
    InputError
        If there is none or more than one to choose from, or none of that id has audits.
    """
    found = planning_streams(place)
    if not found:
        raise InputError(tr("No value stream here has audits; add audits.toml to the folder of one."))
    chosen = [stream for stream in found if stream_id in ("", stream.id)]
    names = ", ".join(stream.id for stream in found)
    if not chosen:
        raise InputError(
            tr(
                "There are no audits of a stream {stream_id}; name one of: {names}.",
                stream_id=repr(stream_id),
                names=names,
            )
        )
    if len(chosen) > 1:
        raise InputError(
            tr("More than one value stream has audits; name one with --stream: {names}.", names=names)
        )
    return chosen[0]


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
        raise InputError(
            tr(
                "There is no layer {layer_id} in {id}; name one of: {names}.",
                layer_id=repr(layer_id),
                id=stream.id,
                names=names,
            )
        )
    shifts = calendar.shifts_of(layer)
    if shift and shift not in shifts:
        names = ", ".join(filter(None, shifts))
        mend = (
            tr("name one of: {names}", names=names)
            if names
            else tr("leave the shift out, it does not audit by shift")
        )
        raise InputError(
            tr(
                "The layer {id} has no shift {shift}; {mend}.",
                id=repr(layer.id),
                shift=repr(shift),
                mend=mend,
            )
        )
    slots = [s for s in calendar.slots(layer, day, day) if shift in ("", s.shift)]
    if not slots:
        first = max(day, calendar.scheme.calendar.begins)
        last = date.fromordinal(min(first.toordinal() + 366, date.max.toordinal()))
        later = (s.first_on for s in calendar.slots(layer, first, last) if shift in ("", s.shift))
        follows = next(
            (tr("the next one is on {day}", day=day_in_words(one)) for one in later),
            tr("none follows within a year"),
        )
        who = tr("{layer}, shift {shift}", layer=layer.name, shift=shift) if shift else layer.name
        raise InputError(
            tr("{who} has no audit on {day}; {follows}.", who=who, day=day_in_words(day), follows=follows)
        )
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


def papers_to_print(place: Workplace, stream: Stream, audits: Sequence[PlannedAudit]) -> Papers:
    """Put together what stands on the pages of audits.

    Parameters
    ----------
    place
        Where the records are.
    stream, audits
        The audits, at least one.

    Raises
    ------
    InputError
        If an audit asks nothing, or more than anybody fills in by hand.
    """
    papers, lines, notes, many = [], [], [], 0
    for planned in audits:
        which = f"{planned.layer.name}, {in_words(planned.layer, planned.slot)}"
        asked = asked_on_paper(place, stream, planned)
        if not 0 < len(asked) <= MOST_QUESTIONS:
            raise InputError(
                tr(
                    "{which}: this audit asks {asked} questions, and between 1 and "
                    "{most_questions} can be printed; change the layer in audits.toml.",
                    which=which,
                    asked=len(asked),
                    most_questions=MOST_QUESTIONS,
                )
            )
        papers.append(paper_of(stream, planned, asked, place.store.device))
        beyond = sum(bool(one.why) for one in asked)
        lines.append(
            tr(
                "{which}: {questions} of the plan, {beyond} beyond it",
                which=which,
                questions=trn("{count} question", "{count} questions", len(asked) - beyond),
                beyond=beyond,
            )
        )
        if why := why_not_typed_in(planned, place.now()):
            notes.append(f"{which}: {why}")
        many += len(asked)
    return Papers(papers=tuple(papers), questions=many, audits=tuple(lines), notes=tuple(notes))


def write_papers(papers: Papers, out: Path) -> PaperFacts:
    """Print audits into one PDF, each beginning on a page of its own. Takes seconds the first time.

    Parameters
    ----------
    papers
        What stands on the pages.
    out
        The PDF to write; an older PDF of that name is replaced in one step, any other file is refused.

    Raises
    ------
    InputError
        If the file cannot be written; what was at `out` before is then still there.
    """
    refuse_other_file(out, "pdf")
    printed = print_audits(papers.papers)
    write_out(out, printed.data, "pdf")
    pages = zip(papers.audits, printed.pages, strict=True)
    return PaperFacts(
        path=out,
        pages=sum(printed.pages),
        questions=papers.questions,
        audits=tuple(f"{line}, {trn('{count} page', '{count} pages', many)}" for line, many in pages),
        notes=(*papers.notes, *((tr(NUMBERS_SHOWN),) if printed.has_numbers else ())),
    )


def paper_name(planned: PlannedAudit) -> str:
    """Give the name of the PDF of an audit."""
    slot = planned.slot
    words = ("audit", slot.stream, slot.layer, slot.day.isoformat(), slot.shift)
    return f"{safe_name('-'.join(filter(None, words)))[:110]}.pdf"


def why_not_typed_in(planned: PlannedAudit, now: datetime) -> str:
    """Say why a page of this audit that is begun now could not be typed in; empty when it could."""
    if planned.audits:
        return tr("This audit is begun or done already; a page of it cannot be typed in any more.")
    if now >= planned.make_up_until:
        return tr(
            "This audit could be made up until {make_up_until}; a page of it can be typed in "
            "only if it was begun before that.",
            make_up_until=planned.make_up_until,
        )
    return ""
