"""A page to be sent by mail: one or all concerns in one HTML file, for a reader without app and store.

It says in full what the sheet of a concern says (:func:`walkapp.actions.sheet.content.sheet_content`), with
the figures of the catalogue and the entries that disagree. How large it gets is bounded, and what is left
out is said on the page.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from walkapp import __version__
from walkapp.actions.days import today
from walkapp.actions.disputes import Dispute, disputes_of
from walkapp.actions.figures.catalogue import NOT_ESCALATED, OF_A_CONCERN, kind_words, kinds_of_figures
from walkapp.actions.outputs import make_folder, refuse_other_file, write_out
from walkapp.actions.reading import ConcernFacts, all_concerns, concern_facts
from walkapp.actions.sheet.content import sheet_content
from walkapp.actions.workplace import NOBODY, Workplace
from walkapp.analysis.wording import percent, rounded, share_range
from walkapp.errors import InputError
from walkapp.files import safe_name
from walkapp.language import decimal_text, tr, trn, whole_text
from walkapp.paper.mailed.content import MailConcern, MailDispute, MailPage, MailSide, MailStation
from walkapp.paper.mailed.page import ORIGIN_FIGURE, as_html

__all__ = [
    "MailPage",
    "WrittenPage",
    "gaps_of",
    "mail_page",
    "page_file",
    "page_name",
    "write_page",
    "write_page_into",
    "written_text",
]

MOST_CONCERNS = 20
"""Concerns of one page; drawing more would take minutes."""

WHOLE_UP_TO = 3
"""Concerns of a page that has all figures of each; one with more has the first figure of each."""

MOST_FIGURES = 12
"""Figures of a concern."""

MOST_PICTURE_BYTES = 4_000_000
"""Bytes that all pictures of a page have at most; in mail they take a third more."""

LARGEST_BYTES = 12_000_000
"""Size of a page that is written; many mail programs take nothing larger (common practice, no source)."""

LONGEST_NAME = 64
"""Letters of the name of a file that the window writes."""

MOST_DISPUTES, MOST_SIDES = 40, 12

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenPage:
    """A page on disk.

    Parameters
    ----------
    path
        The file.
    concerns, pictures, figures
        How many it has.
    size_bytes
        Its size.
    notes
        What has to be minded, and what is left out, a sentence each.
    """

    path: Path
    concerns: int
    pictures: int
    figures: int
    size_bytes: int
    notes: tuple[str, ...]


def mail_page(
    place: Workplace, *, concern: str = "", store_check: str = "", progress: Progress | None = None
) -> MailPage:
    """Gather what stands on a page.

    Parameters
    ----------
    place
        Where records, pictures and checklists are, and what day it is.
    concern
        Id of the only concern of the page; all when empty.
    store_check
        What a check of the whole store found, in one sentence; empty when none was made for this page.
    progress
        Called with the number of concerns gathered and of all.

    Raises
    ------
    InputError
        If there is no such concern, or none at all.
    """
    everything = (concern_facts(place, concern),) if concern else all_concerns(place)
    if not everything:
        raise InputError(tr("No concern is recorded here yet, so there is nothing to write a page of."))
    chosen = everything[:MOST_CONCERNS]
    gathered: list[MailConcern] = []
    for facts in chosen:
        gathered.append(_concern(place, facts, store_check, is_whole=len(chosen) <= WHOLE_UP_TO))
        if progress is not None:
            progress(len(gathered), len(chosen))
    concerns, notes = _with_few_pictures(gathered)
    if len(chosen) > WHOLE_UP_TO:
        notes.append(
            tr(
                "Of each concern one figure is drawn; a page of one concern alone, or of up to "
                "{whole_up_to}, has all.",
                whole_up_to=WHOLE_UP_TO,
            )
        )
    if older := len(everything) - len(chosen):
        notes.append(
            trn(
                "{count} older concern not on this page; a page holds {most_concerns}.",
                "{count} older concerns not on this page; a page holds {most_concerns}.",
                older,
                most_concerns=MOST_CONCERNS,
            )
        )
    return MailPage(
        title=chosen[0].what
        if len(chosen) == 1
        else trn("{count} concern", "{count} concerns", len(chosen)),
        made=(_made(place),),
        warnings=tuple(_warnings(gathered)),
        concerns=concerns,
        left_out=tuple(notes),
    )


def page_file(out: Path) -> None:
    """See to it that a page can be written, before any work is done for it.

    Raises
    ------
    InputError
        If the name does not end in .html, something else of that name is there, or its folder is missing.
    """
    if out.suffix.lower() not in (".html", ".htm"):
        raise InputError(tr("{out}: a page is written as HTML; choose a name that ends in .html.", out=out))
    refuse_other_file(out, "html")
    if not out.parent.is_dir():
        raise InputError(
            tr("{parent}: there is no such folder; make it, or choose another.", parent=out.parent)
        )


def write_page(page: MailPage, out: Path) -> WrittenPage:
    """Write a page into one HTML file. Takes seconds the first time, since figures are drawn.

    Parameters
    ----------
    page
        What stands on it.
    out
        The file; an older HTML file of that name is replaced in one step, any other file is refused.

    Raises
    ------
    InputError
        If the page gets too large or the file cannot be written; what was at `out` before stays.
    """
    page_file(out)
    data = as_html(page)
    if len(data) > LARGEST_BYTES:
        raise InputError(
            tr(
                "{out}: the page would have {data} million bytes, too many to be mailed; write "
                "one concern at a time.",
                out=out,
                data=decimal_text(f"{len(data) / 1000000.0:.0f}"),
            )
        )
    write_out(out, data, "html")
    return WrittenPage(
        path=out,
        concerns=len(page.concerns),
        pictures=sum(bool(p.data) for one in page.concerns for p in one.content.pictures),
        figures=sum(len(one.figures) for one in page.concerns),
        size_bytes=len(data),
        notes=(
            *(f"{one.content.title}: {tr(NOT_ESCALATED)}" for one in page.concerns if one.must_escalate),
            *page.left_out,
        ),
    )


def write_page_into(page: MailPage, folder: Path, name: str) -> WrittenPage:
    """Write a page into a folder, made when it is missing; errors as for :func:`write_page`."""
    make_folder(folder)
    return write_page(page, folder / name)


def gaps_of(page: MailPage) -> tuple[tuple[str, str], ...]:
    """Give what the page says is not known, of all its concerns: what it is about, and the words."""
    return tuple((gap.about, gap.words) for one in page.concerns for gap in one.content.gaps)


def written_text(page: WrittenPage) -> str:
    """Say what was written."""
    return tr(
        "{concerns}, {pictures}, {figures}, {what} kB",
        concerns=trn("{count} concern", "{count} concerns", page.concerns),
        pictures=trn("{count} picture", "{count} pictures", page.pictures),
        figures=trn("{count} figure", "{count} figures", page.figures),
        what=whole_text(max(1, round(page.size_bytes / 1000))),
    )


def page_name(place: Workplace, facts: ConcernFacts) -> str:
    """Give the name of the file of a concern's page: the same all day."""
    words = f"page {facts.what[:30]} {facts.id[-6:]} {today(place).isoformat()}"  # no text: name of a file
    return f"{safe_name(words)[:LONGEST_NAME]}.html"


def _concern(place: Workplace, facts: ConcernFacts, store_check: str, *, is_whole: bool) -> MailConcern:
    content = sheet_content(place, facts, store_check=store_check or _store_words(place))
    answer = facts.quick_answer
    kinds = kinds_of_figures(place, facts, *(OF_A_CONCERN if is_whole else (ORIGIN_FIGURE,)))
    figures = [figure for kind in kinds for figure in kind.figures]
    notes = [
        tr("No figure “{kind}”: {rstrip}.", kind=kind_words(k.kind), rstrip=k.why_not.rstrip("."))
        for k in kinds
        if k.why_not
    ]
    if (more := len(figures) - MOST_FIGURES) > 0:
        notes.append(
            trn(
                "{count} more figure can be drawn from the store.",
                "{count} more figures can be drawn from the store.",
                more,
            )
        )
    disputes = disputes_of(place, facts)
    return MailConcern(
        content=content,
        stations=tuple(
            MailStation(
                share=decimal_text(f"{rounded(100 * one.nok / one.checked, 1)} %") if one.checked else "–",
                limits=share_range(one.interval.low, one.interval.high) if one.interval else "–",
                starts_here=percent(one.probability_origin),
            )
            for one in (answer.stations if answer and content.stations else ())
        ),
        elsewhere=percent(answer.none_probability) if answer else "",
        figures=tuple(figures[:MOST_FIGURES]),
        figures_note=tuple(notes),
        disputes=tuple(_dispute(one) for one in disputes[:MOST_DISPUTES]),
        disputes_left_out=max(0, len(disputes) - MOST_DISPUTES),
        must_escalate=facts.needs_escalation,
    )


def _dispute(one: Dispute) -> MailDispute:
    # The value that counts is never among those left out.
    sides = sorted(one.sides, key=lambda side: not side.counts)[:MOST_SIDES]
    return MailDispute(
        about=one.about,
        sides=tuple(MailSide(value=s.value, source=s.source, counts=s.counts) for s in sides),
        left_out=len(one.sides) - len(sides),
    )


def _with_few_pictures(concerns: Sequence[MailConcern]) -> tuple[tuple[MailConcern, ...], list[str]]:
    """Leave pictures out once there are enough bytes of them; say of how many concerns."""
    room, without, kept = MOST_PICTURE_BYTES, 0, []
    for one in concerns:
        size = sum(len(picture.data) for picture in one.content.pictures)
        if size > room:
            without += 1
            many = len(one.content.pictures)
            said = trn(
                "{count} picture left out, or the page could not be mailed.",
                "{count} pictures left out, or the page could not be mailed.",
                many,
            )
            note = " ".join(filter(None, (said, one.content.pictures_note)))
            one = replace(one, content=replace(one.content, pictures=(), pictures_note=note))
        else:
            room -= size
        kept.append(one)
    if not without:
        return tuple(kept), []
    left_out = (
        trn(
            "Pictures of {count} concern left out, or the page could not be mailed; a page of one concern "
            "alone has them.",
            "Pictures of {count} concerns left out, or the page could not be mailed; a page of one concern "
            "alone has them.",
            without,
        )
        if len(concerns) > 1
        else trn(
            "Pictures of {count} concern left out, or the page could not be mailed.",
            "Pictures of {count} concerns left out, or the page could not be mailed.",
            without,
        )
    )
    return tuple(kept), [left_out]


def _warnings(concerns: Sequence[MailConcern]) -> Iterator[str]:
    """Say above a list of concerns what else would be found only far below."""
    many = sum(one.must_escalate for one in concerns)
    if len(concerns) > 1 and many:
        yield trn(
            "{count} concern is safety or regulatory, and nobody has recorded who was told. Tell at once "
            "whom the site's rules and the customer's requirements name.",
            "{count} concerns are safety or regulatory, and nobody has recorded who was told. Tell at once "
            "whom the site's rules and the customer's requirements name.",
            many,
        )


def _made(place: Workplace) -> str:
    values = {"today": today(place), "version": __version__}
    if place.by == NOBODY:
        return tr("Made on {today} with walkapp {version}.", **values)
    return tr("Made on {today} by {by} with walkapp {version}.", by=place.by, **values)


def _store_words(place: Workplace) -> str:
    """Say what is known of the store; where its files lie is nobody's business elsewhere."""
    many = len(place.store.notices)
    if not many:
        return tr("no damage is known; it was not checked anew for this page")
    return trn(
        "{count} notice of damage, so some entries may be missing here",
        "{count} notices of damage, so some entries may be missing here",
        many,
    )
