"""What stands on the printed page of an audit, in words, and the numbers by which it is known again."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from itertools import groupby

from walkapp.actions.audits.reading import Asked
from walkapp.actions.audits.states import PlannedAudit
from walkapp.analysis.audits.calendar import AuditSlot
from walkapp.language import day_text, month_words, weekday_words
from walkapp.model.auditing import AuditLayer
from walkapp.model.checklist import Stream
from walkapp.model.ids import short_id
from walkapp.model.records import AuditStart
from walkapp.paper.audit_page import AuditPaper, PaperQuestion, PaperStation

HOW_TO_FILL_IN = (
    "Cross one box each. NOK: write what was found and done, cross what was done. N/A: write why.",
    "Where this page and the rules of the site differ, the rules of the site hold.",
    "The page counts once it is typed in, with its check number; it stays marked as done on paper.",
)

PAPERS_WORD = "Begun and signed as the paper says; nothing on a tablet can show that it was so."
"""What has to be said wherever it matters when an audit on paper was done."""


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
        Worked out from a SHA-256, so that other questions give the same number in one case of a million.
    """
    which = (slot.stream, slot.layer, slot.day.isoformat(), slot.shift)
    return _digits("\n".join((*which, *refs)), 6)


def added_number(ref: str) -> str:
    """Give the four digits that stand on paper for a question beyond the plan."""
    return _digits(ref, 4)


def in_words(layer: AuditLayer, slot: AuditSlot) -> str:
    """Say in words when an audit of the plan is: its shift, day, week or month."""
    spans = f"{day_in_words(slot.first_on)} to {day_in_words(slot.last_on)}"
    if layer.every == "week":
        year, week, _ = slot.day.isocalendar()
        return f"week {week} of {year}, {spans}"
    if layer.every == "month":
        return f"{month_words(slot.day)}, {spans}"
    return f"{slot.shift} shift, {day_in_words(slot.day)}" if slot.shift else day_in_words(slot.day)


def typed_in_text(start: AuditStart) -> str:
    """Say that an audit was done on paper, and who typed it in when; empty for any other audit."""
    if not start.is_paper:
        return ""
    return f"Done on paper by {start.paper_by}, typed in on {start.at[:10]} by {start.by}."


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
                "To be done",
                f"begun from {_moment(planned.opens)} on, signed until {_moment(planned.due)} ({zone})",
            ),
            ("Asks", _how_many(asked, layer.minutes)),
            ("Belongs to", "; ".join(belongs)),
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


def day_in_words(day: date) -> str:
    """Say a day with its weekday."""
    return f"{weekday_words(day)} {day_text(day)}"


def counted(many: int, what: str) -> str:
    """Say how many there are of something."""
    return f"{many} {what}" if many == 1 else f"{many} {what}s"


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
        PaperQuestion(number=numbers[one.ref], ask=one.ask, how=_how(one), notes=_why(one)) for one in asked
    )
    return PaperStation(name=name, hazards=asked[0].hazards, questions=tuple(questions))


def _how(one: Asked) -> str:
    return " ".join(filter(None, (one.how, "Special characteristic." if one.special else "")))


def _why(one: Asked) -> tuple[str, ...]:
    return (f"+{added_number(one.ref)}, beyond the plan: {one.why}.",) if one.why else ()


def _how_many(asked: Sequence[Asked], minutes: int) -> str:
    beyond = sum(bool(one.why) for one in asked)
    stations = len({one.station for one in asked})
    return (
        f"{counted(len(asked) - beyond, 'question')} of the plan and {beyond} beyond it, at "
        f"{counted(stations, 'station')}; may take {counted(minutes, 'minute')}"
    )


def _digits(text: str, many: int) -> str:
    found = int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big")
    return f"{found % 10**many:0{many}}"


def _moment(moment: datetime) -> str:
    return moment.isoformat(sep=" ")[:16]


def _grouped(digits: str) -> str:
    return f"{digits[:3]} {digits[3:]}"
