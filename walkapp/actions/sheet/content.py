"""What the sheet of a concern says, gathered from its records; how it looks is decided elsewhere."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from walkapp.actions.concerns import facts_in_words
from walkapp.actions.days import today
from walkapp.actions.disputes import disputes_of
from walkapp.actions.judging import judging_text
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.sheet.evidence import evidence
from walkapp.actions.sheet.origin import Origin, origin_of
from walkapp.actions.sheet.parts import sheet_parts
from walkapp.actions.sheet.proof import cause_part
from walkapp.actions.stages import stages_of
from walkapp.actions.workplace import NOBODY, Workplace
from walkapp.language import day_said, msg, tr, trn, whole_text
from walkapp.model.ids import short_id
from walkapp.paper.sheet_content import SheetContent, SheetGap, SheetPart, SheetStage

__all__ = ["SheetContent", "sheet_content"]

ESCALATION_MISSING = msg(
    "Safety or regulatory: nobody has recorded who was told. Tell at once whom your site's "
    "rules and the customer's requirements name; qualified people decide on delivered and "
    "running parts."
)
SAFETY = msg(
    "Safety or regulatory part: site rules and the customer's requirements come before this "
    "sheet; qualified people decide."
)
INVENTED = msg(
    "Invented data: some of what stands here was made up for showing, and no real part was made."
)

MOST_TABLETS = 4
"""Tablets that are named one by one."""


def sheet_content(place: Workplace, facts: ConcernFacts, *, store_check: str = "") -> SheetContent:
    """Gather what the sheet of a concern says.

    Parameters
    ----------
    place
        Where records, pictures and checklists are, and what day it is.
    facts
        The concern.
    store_check
        What a check of the whole store found, in words; empty while none was made for this sheet.

    Returns
    -------
    SheetContent
        The same for the same records and day. What is not known or not proved is said in its place.
    """
    origin = origin_of(facts)
    pictures, pictures_note, no_pictures = evidence(place, facts)
    stages = stages_of(place, facts)
    parts = (cause_part(facts), *sheet_parts(place, facts, stages))
    return SheetContent(
        concern=facts.id,
        title=facts.what,
        facts=(*facts_in_words(facts), *_defect(facts)),
        how_to_judge=judging_text(facts),
        warnings=tuple(_warnings(place, facts)),
        notices=(tr(INVENTED),),
        answer=origin.answer,
        answer_state=origin.state,
        sentence=origin.sentence,
        stages=tuple(SheetStage(word=one.word, is_reached=one.is_reached, why=one.why) for one in stages),
        stations=origin.stations,
        stations_note=origin.note,
        shares=origin.shares,
        pictures=pictures,
        pictures_note=pictures_note,
        parts=parts,
        sure=origin.sure,
        gaps=tuple(_gaps(facts, origin, no_pictures, parts)),
        made=tuple(_made(place, facts, store_check)),
    )


def _defect(facts: ConcernFacts) -> Iterator[str]:
    defect = facts.stream.defect(facts.concern.defect) if facts.stream else None
    yield tr("Defect: {defect}", defect=defect.name if defect else facts.concern.defect)


def _warnings(place: Workplace, facts: ConcernFacts) -> Iterator[str]:
    if facts.needs_escalation:
        yield tr(ESCALATION_MISSING)
    elif facts.concern.severity == "safety":
        yield tr(SAFETY)
    if any(getattr(record, "invented", False) for record in facts.standing.current):
        yield tr(INVENTED)
    if many := len(disputes_of(place, facts)):
        yield trn(
            "{count} entry is in dispute: tablets say different things, and one is counted until a person "
            "settles it.",
            "{count} entries are in dispute: tablets say different things, and one is counted "
            "until a person "
            "settles it.",
            many,
        )


def _gaps(
    facts: ConcernFacts, origin: Origin, no_pictures: tuple[SheetGap, ...], parts: tuple[SheetPart, ...]
) -> Iterator[SheetGap]:
    if facts.needs_escalation:
        yield SheetGap(
            about="escalation", words=tr("Nobody has recorded who was told of this safety concern.")
        )
    yield from origin.gaps
    yield from no_pictures
    if facts.conflicts:
        yield SheetGap(about="conflicts", words=tr("Entries that disagree are not settled."))
    for part in parts:
        if part.state != "clean":
            yield SheetGap(about=part.name, words=part.sentence)


def _made(place: Workplace, facts: ConcernFacts, store_check: str) -> Iterator[str]:
    """Say when, where and from what the sheet was made; the same all day long."""
    values = {"today": today(place), "device": short_id(place.store.device)}
    yield (
        tr("Made on: {today}, tablet {device}", **values)
        if place.by == NOBODY
        else tr("Made on: {today} by {by}, tablet {device}", by=place.by, **values)
    )
    tablets = Counter(record.device for record in facts.everything)
    named = sorted(tablets, key=lambda one: (-tablets[one], one))
    said = [f"{short_id(one)} {whole_text(tablets[one])}" for one in named[:MOST_TABLETS]]
    if more := len(named) - len(said):
        said.append(tr("{more} more", more=more))
    many = len(facts.everything)
    yield (
        trn(
            "Records: {many} of {count} tablet ({said}), the newest of {what}",
            "Records: {many} of {count} tablets ({said}), the newest of {what}",
            len(named),
            many=whole_text(many),
            said=", ".join(said),
            what=day_said(max(record.at for record in facts.everything)[:10]),
        )
    )
    yield tr("Value stream: {checklist}", checklist=_checklist(facts))
    yield tr("Concern: {id}", id=facts.id)
    yield tr("Store: {what}", what=store_check or _notices(place))


def _checklist(facts: ConcernFacts) -> str:
    if facts.stream is None:
        return tr("{stream}, its checklist is not here", stream=facts.concern.stream)
    return tr("{stream}, checklist {version}", stream=facts.stream.name, version=facts.stream.version)


def _notices(place: Workplace) -> str:
    """Say what is known of the store without checking it anew."""
    notices = place.store.notices
    if not notices:
        return tr("no damage is known; it was not checked anew for this sheet")
    if len(notices) == 1:
        return notices[0]
    return tr("{notice} (and {more} more)", notice=notices[0], more=len(notices) - 1)
