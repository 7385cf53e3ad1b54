"""The page itself: what it holds, and in which order it is told.

The order is that of a reader who was not there: what is wrong and what has to be minded, the answer and how
sure it is, station by station, then what was done, then what is not known and what all of it rests on.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable, Sequence

from walkapp.language import current, msg, tr, trn, whole_text
from walkapp.paper.figures import Figure
from walkapp.paper.mailed.content import MailConcern, MailPage
from walkapp.paper.mailed.drawings import Shelf, drawing
from walkapp.paper.mailed.markup import NOTHING, Inside, Markup, element, joined
from walkapp.paper.mailed.style import STYLE
from walkapp.paper.sheet_content import SheetContent, SheetEntry, SheetPart, SheetPicture, SheetStage

# no text: HTML
POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
"""What a browser may do for this page: show it. It runs no program and fetches nothing."""

BEGINS = "<!DOCTYPE html>"  # no text: HTML

ORIGIN_FIGURE = "share-by-station"
"""Name of the figure that stands where the page says where the defect starts."""

_MARKS = {
    # no text: HTML
    "clean": '<circle cx="8" cy="8" r="5.6" fill="none" stroke="currentColor" stroke-width="2.6"/>',
    # no text: HTML
    "bad": '<path d="M2.5 2.5 13.5 13.5M13.5 2.5 2.5 13.5" stroke="currentColor" stroke-width="3"/>',
    # no text: HTML
    "undecided": '<circle cx="8" cy="8" r="6" fill="none" stroke="currentColor" stroke-width="1.4"/>'
    '<path d="M8 2a6 6 0 0 1 0 12z" fill="currentColor"/>',
    "not_visited": '<path d="M2.5 8h11" stroke="currentColor" stroke-width="2.4"/>',  # no text: HTML
}
"""The shapes of the states, as on the screens: ring, cross, half disc, dash."""


def as_html(page: MailPage) -> bytes:
    """Write a page as one HTML file in UTF-8; the same page gives the same bytes."""
    shelf = Shelf()
    single = len(page.concerns) == 1
    articles = [
        _concern(one, number, shelf, single=single) for number, one in enumerate(page.concerns, start=1)
    ]
    head = element(
        "head",
        element("meta", charset="utf-8"),
        element("meta", http_equiv="Content-Security-Policy", content=POLICY),
        element("meta", name="viewport", content="width=device-width, initial-scale=1"),  # no text: HTML
        element("meta", name="referrer", content="no-referrer"),
        element("title", page.title),
        element("style", Markup(STYLE)),
    )
    body = element(
        "body",
        shelf.markup,
        element(
            "header",
            element("h1", page.title, dir="auto"),
            *(element("p", line, class_="small") for line in page.made),
            *(_box(line) for line in page.warnings),
            NOTHING if single else _contents(page.concerns),
        ),
        element("main", *articles),
        element(
            "footer",
            element(
                "p",
                tr(
                    "This file is whole in itself: it fetches nothing and runs no program. It "
                    "says what the records said when it was made; site rules, the customer's "
                    "requirements and qualified people come before it."
                ),
            ),
            _list(page.left_out, class_="small"),
        ),
    )
    whole = joined(
        Markup(f"{BEGINS}\n"),
        element("html", head, Markup("\n"), body, lang=current().code.replace("_", "-")),
        Markup("\n"),
    )
    return whole.code.encode()


def _contents(concerns: Sequence[MailConcern]) -> Markup:
    rows = (
        element(
            "li",
            element("a", one.content.title, href=f"#concern-{number}", dir="auto"),
            ". ",
            _state(one.content.answer_state, one.content.answer),
        )
        for number, one in enumerate(concerns, start=1)
    )
    return element("nav", element("ol", *rows), aria_label=tr("Concerns of this page"))


def _concern(one: MailConcern, number: int, shelf: Shelf, *, single: bool) -> Markup:
    content = one.content
    others = [figure for figure in one.figures if figure.name != ORIGIN_FIGURE]
    title = NOTHING if single else element("h2", content.title, dir="auto", id=f"concern-{number}")
    return element(
        "article",
        title,
        *(_box(line, is_notice=line in content.notices) for line in content.warnings),
        element("p", _state(content.answer_state, content.answer), class_="answer"),
        element("p", content.sentence, dir="auto"),
        element("ul", *map(_stage, content.stages), class_="stages") if content.stages else NOTHING,
        _section(tr("What is the problem?"), _facts(content)),
        _section(tr("Where does it start?"), *_origin(one, shelf)),
        _section(tr("What was seen?"), *_pictures(content))
        if content.pictures or content.pictures_note
        else NOTHING,
        *(_part(part) for part in content.parts),
        _section(tr("What else do the figures show?"), *_figures(others, shelf)) if others else NOTHING,
        _section(tr("How far is the work?"), _stages(content)) if content.stages else NOTHING,
        _disputes(one),
        _section(tr("What is not known?"), _gaps(content, one.figures_note)),
        _section(tr("What does this rest on?"), _facts_list(content.made)),
    )


def _section(title: str, *inside: Inside) -> Markup:
    return element("section", element("h3", title), *inside)


def _box(line: str, *, is_notice: bool = False) -> Markup:
    word = tr("Mind") if is_notice else tr("Caution")
    kind = "notice" if is_notice else "caution"
    return element("p", element("b", f"{word}: "), line, class_=f"box {kind}", role="note", dir="auto")


def _state(state: str, words: str) -> Markup:
    """Put words behind the shape of a state."""
    shape = _MARKS.get(state)
    if shape is None:
        return element("span", words)
    mark = element("svg", Markup(shape), class_="mark", viewBox="0 0 16 16", aria_hidden="true")
    return element("span", mark, words, class_=f"state {state.replace('_', '-')}", dir="auto")


def _list(lines: Iterable[str], *, class_: str = "") -> Markup:
    rows = [element("li", line, dir="auto") for line in lines]
    if not rows:
        return NOTHING
    return element("ul", *rows, class_=class_) if class_ else element("ul", *rows)


def _facts(content: SheetContent) -> Markup:
    judge = (
        (tr("How to judge: {how_to_judge}", how_to_judge=content.how_to_judge),)
        if content.how_to_judge
        else ()
    )
    return _facts_list((*content.facts, *judge))


def _facts_list(lines: Iterable[str]) -> Markup:
    """Lay out lines that begin with a label and a colon."""
    pairs = []
    for line in lines:
        label, _, said = line.partition(": ")
        pairs += [element("dt", label), element("dd", said, dir="auto")] if said else [
            element("dt", ""), element("dd", line, dir="auto")
        ]  # fmt: skip
    return element("dl", *pairs)


def _origin(one: MailConcern, shelf: Shelf) -> Iterable[Markup]:
    content = one.content
    if content.stations:
        yield _stream(one)
    else:
        yield element("p", content.stations_note, dir="auto")
    yield from _figures((figure for figure in one.figures if figure.name == ORIGIN_FIGURE), shelf)
    if content.sure:
        yield element("p", element("b", tr("How sure is that?")))
        yield _list(content.sure)


_COLUMNS = (
    msg("Station"),
    msg("Checked"),
    msg("NOK"),
    msg("Share NOK"),
    msg("95 % limits"),
    msg("Starts here"),
    msg("Verdict"),
)


def _stream(one: MailConcern) -> Markup:
    content = one.content
    columns = [tr(name) for name in _COLUMNS]
    heads = (
        element("th", name, scope="col", class_="number" if 0 < at < 6 else "word", role="columnheader")
        for at, name in enumerate(columns)
    )
    rows = []
    for station, more in zip(content.stations, one.stations, strict=True):
        numbers = (
            whole_text(station.checked),
            whole_text(station.nok),
            more.share,
            more.limits,
            more.starts_here,
        )
        name = f"{station.order}. {station.name}"
        mark = element("span", f" ({station.mark})") if station.mark else NOTHING
        rows.append(
            element(
                "tr",
                element("th", name, mark, scope="row", role="rowheader", dir="auto"),
                *(
                    element("td", said, class_="number", role="cell", data_label=label)
                    for label, said in zip(columns[1:], numbers, strict=False)
                ),
                element("td", _state(station.state, station.verdict), role="cell", data_label=columns[-1]),
                role="row",
                class_="first" if station.mark else "station",
            )
        )
    if one.elsewhere:
        rows.append(
            element(
                "tr",
                element("th", tr("Not present in this stream"), scope="row", role="rowheader"),
                *(element("td", "", class_="number", role="cell") for _ in range(4)),
                element("td", one.elsewhere, class_="number", role="cell", data_label=columns[5]),
                element("td", "", role="cell"),
                role="row",
            )
        )
    said = tr(
        "{stations_note} Limits: exact, two-sided 95 % (Clopper-Pearson).",
        stations_note=content.stations_note,
    )
    return element(
        "table",
        element("caption", said, dir="auto"),
        element("thead", element("tr", *heads, role="row"), role="rowgroup"),
        element("tbody", *rows, role="rowgroup"),
        role="table",
    )


def _figures(figures: Iterable[Figure], shelf: Shelf) -> Iterable[Markup]:
    for figure in figures:
        yield element(
            "figure",
            element(
                "div", drawing(figure, shelf, label=figure.title), class_="wide", tabindex="0",
                role="group", aria_label=tr("Figure: {figure}", figure=figure.title),
            ),
            element(
                "figcaption", element("b", figure.title, dir="auto"), _list(figure.notes),
            ),
        )  # fmt: skip


def _pictures(content: SheetContent) -> Iterable[Markup]:
    if content.pictures:
        yield element("div", *(_picture(one) for one in content.pictures), class_="pictures")
    if content.pictures_note:
        yield element("p", content.pictures_note)


def _picture(one: SheetPicture) -> Markup:
    said = ": ".join(filter(None, (one.label, one.caption)))
    caption = element("figcaption", element("b", one.label), one.caption, dir="auto")
    if not one.data:
        return element(
            "figure", element("p", one.trouble, class_="box not-visited"), caption
        )  # no text: HTML
    source = f"data:image/jpeg;base64,{base64.b64encode(one.data).decode()}"
    size = {"width": str(one.width_px), "height": str(one.height_px)}
    return element("figure", element("img", src=source, alt=said, **size), caption)


def _part(part: SheetPart) -> Markup:
    entries = [_entry(one) for one in part.entries]
    more = NOTHING
    if part.left_out:
        more = element("p", trn("{count} more in the store.", "{count} more in the store.", part.left_out))
    return _section(
        part.title,
        element("p", _state(part.state, part.sentence)),
        element("ul", *entries, class_="entries") if entries else NOTHING,
        more,
    )


def _entry(one: SheetEntry) -> Markup:
    text = element("p", one.text, dir="auto")
    if one.words and not one.state:  # a heading of its own
        text = joined(element("p", element("b", one.words)), text)
    elif one.words:
        text = joined(text, element("p", _state(one.state, one.words)))
    return element("li", text, _list(one.detail, class_="detail"))


def _stage(one: SheetStage) -> Markup:
    return element("li", _stage_words(one))


def _stage_words(one: SheetStage) -> Markup:
    return _state("clean" if one.is_reached else "not_visited", one.word)


def _stages(content: SheetContent) -> Markup:
    rows = (
        element("li", element("p", _stage_words(one)), element("p", one.why, dir="auto"))
        for one in content.stages
    )
    return element("ul", *rows, class_="entries")


def _disputes(one: MailConcern) -> Markup:
    if not one.disputes:
        return NOTHING
    rows = []
    for dispute in one.disputes:
        sides = [
            element(
                "li", side.value, element("span", f" ({side.source})"),
                element("b", "; ", tr("counted until it is settled")) if side.counts else NOTHING,
                dir="auto",
            )
            for side in dispute.sides
        ]  # fmt: skip
        more = (
            element(
                "p",
                trn(
                    "{count} more value in the store.",
                    "{count} more values in the store.",
                    dispute.left_out,
                ),
            )
            if dispute.left_out
            else NOTHING
        )
        rows.append(
            element(
                "li", element("p", dispute.about, dir="auto"), element("ul", *sides, class_="sides"), more
            )
        )
    left = one.disputes_left_out
    more = element("p", trn("{count} more in the store.", "{count} more in the store.", left))
    more = more if left else NOTHING
    return _section(tr("Which entries disagree?"), element("ul", *rows, class_="entries"), more)


def _gaps(content: SheetContent, more: Sequence[str]) -> Markup:
    lines = (*(gap.words for gap in content.gaps), *more)
    if not lines:
        return element("p", tr("Nothing that this page asks for is missing from the records."))
    return _list(lines)
