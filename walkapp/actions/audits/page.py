"""What stands on the printed page of an audit, in words, and the numbers by which it is known again."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from datetime import date
from itertools import groupby

from walkapp.actions.audits.book import REACTION_WORDS
from walkapp.actions.audits.reading import Asked
from walkapp.actions.audits.states import PlannedAudit
from walkapp.analysis.audits.calendar import AuditSlot
from walkapp.language import day_said, day_text, month_words, msg, tr, trn, weekday_words
from walkapp.model.auditing import AuditLayer
from walkapp.model.checklist import Stream
from walkapp.model.ids import short_id
from walkapp.model.records import AuditStart
from walkapp.paper.audit_page import AuditPaper, PaperQuestion, PaperStation

HOW_TO_FILL_IN = (
    msg("Cross one box each. NOK: write what was found and done, cross what was done. N/A: write why."),
    msg("Where this page and the rules of the site differ, the rules of the site hold."),
    msg("The page counts once it is typed in, with its check number; it stays marked as done on paper."),
)

PAPERS_WORD = msg("Begun and signed as the paper says; nothing on a tablet can show that it was so.")
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
    spans = tr("{day} to {day2}", day=day_in_words(slot.first_on), day2=day_in_words(slot.last_on))
    if layer.every == "week":
        year, week, _ = slot.day.isocalendar()
        return tr("week {week} of {year}, {spans}", week=week, year=year, spans=spans)
    if layer.every == "month":
        return tr("{month}, {spans}", month=month_words(slot.day), spans=spans)
    return (
        tr("{shift} shift, {day}", shift=slot.shift, day=day_in_words(slot.day))
        if slot.shift
        else day_in_words(slot.day)
    )


def typed_in_text(start: AuditStart) -> str:
    """Say that an audit was done on paper, and who typed it in when; empty for any other audit."""
    if not start.is_paper:
        return ""
    return tr(
        "Done on paper by {paper_by}, typed in on {at} by {by}.",
        paper_by=start.paper_by,
        at=day_said(start.at[:10]),
        by=start.by,
    )


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
    which = tr(
        "{layer}, {when}, {stream}; check number {grouped}",
        layer=layer.name,
        when=when,
        stream=stream.name,
        grouped=_grouped(check),
    )
    belongs = (
        tr("stream {id}, layer {id2}, day {day}", id=stream.id, id2=layer.id, day=slot.day),
        *((tr("shift {shift}", shift=slot.shift),) if slot.shift else ()),
        tr(
            "checklist version {version}, SHA-256 begins with {digest}",
            version=stream.version,
            digest=stream.digest[:8],
        ),
    )
    stations = groupby(asked, key=lambda one: one.station)
    return AuditPaper(
        title=tr("Layered audit on paper: {layer}", layer=layer.name),
        which=which,
        facts=(
            (
                tr("Value stream"),
                tr("{stream}; product: {product}", stream=stream.name, product=stream.product),
            ),
            (tr("Audit of"), when),
            (
                tr("To be done"),
                tr(
                    "begun from {moment} on, signed until {moment2} ({zone})",
                    moment=planned.opens,
                    moment2=planned.due,
                    zone=zone,
                ),
            ),
            (tr("Asks"), _how_many(asked, layer.minutes)),
            (tr("Belongs to"), "; ".join(belongs)),
            *(
                ((tr("Mind"), tr("invented data; no real plant, part or customer is meant")),)
                if stream.invented
                else ()
            ),
        ),
        begun=(tr("Begun on (date)"), tr("at (time)")),
        cautions=stream.cautions,
        notes=tuple(tr(note) for note in HOW_TO_FILL_IN),
        beyond=_beyond(added, numbers, tablet),
        stations=tuple(_station(stream, list(here), numbers) for _, here in stations),
        answers=(tr("OK"), tr("NOK"), tr("N/A")),
        found=tr("NOK: what was found and done. N/A: why"),
        reactions=tuple(tr(words) for words in REACTION_WORDS.values()),
        left_to_do=(tr("Owner"), tr("Until")),
        signing=(
            (tr("Answers in all: OK"), tr("NOK"), tr("N/A")),
            (tr("What else was seen"),),
            (tr("Role and initials, never a name"), tr("Signed on (date)"), tr("at (time)")),
            (tr("Typed in by (role and initials)"), tr("on (date)")),
        ),
    )


def day_in_words(day: date) -> str:
    """Say a day with its weekday."""
    return f"{weekday_words(day)} {day_text(day)}"


def _beyond(added: Sequence[Asked], numbers: dict[str, int], tablet: str) -> tuple[str, ...]:
    if not added:
        return (
            tr(
                "Asked beyond the plan, as the records on tablet {tablet} say when this is printed: "
                "nothing.",
                tablet=short_id(tablet),
            ),
        )
    return (
        tr(
            "Asked beyond the plan, as the records on tablet {tablet} say when this is printed (a number "
            "with a plus is asked for when this page is typed in):",
            tablet=short_id(tablet),
        ),
        *(
            tr(
                "question {numbers}, +{added_number}: {why}",
                numbers=numbers[one.ref],
                added_number=added_number(one.ref),
                why=one.why,
            )
            for one in added
        ),
    )


def _station(stream: Stream, asked: Sequence[Asked], numbers: dict[str, int]) -> PaperStation:
    here = stream.station(asked[0].station)
    name = (
        tr("Station {order}: {here}", order=here.order, here=here.name) if here else asked[0].station_name
    )
    questions = (
        PaperQuestion(number=numbers[one.ref], ask=one.ask, how=_how(one), notes=_why(one)) for one in asked
    )
    return PaperStation(name=name, hazards=asked[0].hazards, questions=tuple(questions))


def _how(one: Asked) -> str:
    return " ".join(filter(None, (one.how, tr("Special characteristic.") if one.special else "")))


def _why(one: Asked) -> tuple[str, ...]:
    return (
        (tr("+{added_number}, beyond the plan: {why}.", added_number=added_number(one.ref), why=one.why),)
        if one.why
        else ()
    )


def _how_many(asked: Sequence[Asked], minutes: int) -> str:
    beyond = sum(bool(one.why) for one in asked)
    stations = len({one.station for one in asked})
    return tr(
        "{questions} of the plan and {beyond} beyond it, at {stations}; may take {minutes}",
        questions=trn("{count} question", "{count} questions", len(asked) - beyond),
        beyond=beyond,
        stations=trn("{count} station", "{count} stations", stations),
        minutes=trn("{count} minute", "{count} minutes", minutes),
    )


def _digits(text: str, many: int) -> str:
    found = int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big")
    return f"{found % 10**many:0{many}}"


def _grouped(digits: str) -> str:
    return f"{digits[:3]} {digits[3:]}"
