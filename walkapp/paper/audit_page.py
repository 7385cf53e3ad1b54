"""The page of an audit: what is asked, and room to write the answers by hand.

A page of our own: head, cautions, what is asked beyond the plan, each station with what can hurt there
before its questions, and the signature. It needs no colour.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from walkapp.language import tr
from walkapp.paper.drawing import A4, Page, draw, printable, wide
from walkapp.paper.flow import (
    LINE_HEIGHT,
    Block,
    Box,
    Mark,
    Row,
    Rule,
    Words,
    height_of,
    moved,
    paginate,
    placed,
    text_rows,
)

LEFT, RIGHT, TOP, BOTTOM = 54.0, 34.0, 28.0, 28.0
"""Margins in points; the left one leaves room for a file's holes."""

WIDTH = A4[0] - LEFT - RIGHT

SMALL, BODY, ASKED, HEADING, TITLE = 9.0, 9.5, 10.5, 12.0, 15.0
"""Sizes of letters in points; none is smaller than 9."""

_WRITING = 22.0
"""Height of a line to write on by hand: 7.8 mm."""

_SIDE = 13.0
_INDENT = 24.0
_GAP = 12.0
_LABELS = 96.0

_MOST_AGAIN = 150.0
"""Of what can hurt at a station at most so much stands again where its questions go on on a new page."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperQuestion:
    """One question on the page.

    Parameters
    ----------
    number
        Its number on the page, from 1.
    ask, how
        The question, and how it is judged; the second may be empty.
    notes
        What else there is to know about it, a line each.
    """

    number: int
    ask: str
    how: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperStation:
    """One station on the page.

    Parameters
    ----------
    name
        Its name.
    hazards
        What can hurt somebody there, a line each.
    questions
        What is asked there, at least one.
    """

    name: str
    hazards: tuple[str, ...]
    questions: tuple[PaperQuestion, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditPaper:
    """Everything that stands on the pages of one audit.

    Parameters
    ----------
    title
        What it is.
    which
        Which audit it is, in one line; it stands on each page.
    facts
        Pairs of a label and what there is to say.
    begun
        Labels of the blanks that are filled in before the first question.
    cautions
        What has to be minded before anything else, a line each.
    notes
        How the page is filled in, a line each.
    beyond
        What is asked beyond the plan and why; the first line says what this is about.
    stations
        In the order in which they are walked, at least one.
    answers
        Words of the boxes of each question.
    found
        Label of the line for what was found.
    reactions
        Words of the boxes below that line.
    left_to_do
        Labels of the blanks beside those boxes.
    signing
        Lines of blanks at the foot: the labels of each.
    """

    title: str
    which: str
    facts: tuple[tuple[str, str], ...]
    begun: tuple[str, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    beyond: tuple[str, ...]
    stations: tuple[PaperStation, ...]
    answers: tuple[str, ...]
    found: str
    reactions: tuple[str, ...]
    left_to_do: tuple[str, ...]
    signing: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """Pages as PDF.

    Parameters
    ----------
    data
        The file.
    pages
        How many pages each audit has.
    has_numbers
        Whether a letter had to be shown by its number (see :func:`walkapp.paper.drawing.printable`).
    """

    data: bytes
    pages: tuple[int, ...]
    has_numbers: bool


def print_audits(papers: Sequence[AuditPaper]) -> Printed:
    """Draw audits, each beginning on a page of its own.

    Parameters
    ----------
    papers
        At least one.

    Returns
    -------
    Printed
        The same bytes for the same audits.
    """
    laid = [_lay_out(paper) for paper in papers]
    pages = [page for one in laid for page in one]
    texts = [mark.text for page in pages for mark in page.marks if isinstance(mark, Words)]
    return Printed(
        data=draw(pages, printable("; ".join(paper.which for paper in papers))),
        pages=tuple(map(len, laid)),
        has_numbers=any("<U+" in text for text in texts),
    )


def _lay_out(paper: AuditPaper) -> list[Page]:
    """Lay out the pages of one audit; each begins with which audit and which page it is."""
    width, height = A4
    numbered = WIDTH - wide(tr(" page {page} of {pages}", page=999, pages=999), SMALL)
    which = _text(paper.which, width=numbered, size=SMALL) or (Row(height=SMALL * LINE_HEIGHT),)
    head = (*which, Row(height=10, marks=(Rule(x=0, y=4, length=WIDTH, thick=1),)))
    room = height - TOP - BOTTOM - height_of(head)
    laid = paginate(_blocks(paper), room)
    pages = []
    for number, rows in enumerate(laid, start=1):
        count = tr("page {number} of {laid}", number=number, laid=len(laid))
        at = WIDTH - wide(count, SMALL)
        told = Row(height=0, marks=(Words(x=at, y=SMALL, text=count, size=SMALL),))
        marks = placed((told, *head, *rows), left=LEFT, top=TOP)
        pages.append(Page(width=width, height=height, marks=marks))
    return pages


def _blocks(paper: AuditPaper) -> Iterator[Block]:
    rows = [*_text(paper.title, size=TITLE, bold=True), _space(6)]
    for label, words in paper.facts:
        rows += _beside(label, words)
    yield Block(rows=(*rows, _blanks(paper.begun), _space(8)))
    yield Block(rows=(*_list(paper.cautions, bold=True), _space(6)))
    yield Block(rows=(*_list(paper.notes), _space(6)))
    if paper.beyond:
        first, *others = paper.beyond
        yield Block(rows=(*_text(first, size=BODY), *_list(others), _space(6)))
    for station in paper.stations:
        yield from _station(paper, station)
    yield _signing(paper)


def _station(paper: AuditPaper, station: PaperStation) -> Iterator[Block]:
    rule = Row(height=8, marks=(Rule(x=0, y=3, length=WIDTH, thick=2),))
    name = _text(station.name, size=HEADING, bold=True)
    hazards = _list(station.hazards, bold=True)
    heading = (rule, *name, *hazards, _space(5))
    more = (rule, *_text(tr("{station}, continued", station=station.name), size=HEADING, bold=True))
    again = (*more, *hazards, _space(5))
    if height_of(again) > _MOST_AGAIN:
        pointer = tr("What can hurt here stands on a page before this one: read it again.")
        again = (*more, *_text(pointer, size=BODY, bold=True), _space(5))
    for place, question in enumerate(station.questions):
        rows = _question(paper, question)
        yield Block(rows=rows if place else (*heading, *rows), again=again, opens=not place)


def _question(paper: AuditPaper, question: PaperQuestion) -> tuple[Row, ...]:
    boxes, at = _boxes(paper.answers, y=14, size=BODY, bold=True)
    first, *others = _text(
        question.ask, x=_INDENT, width=WIDTH - _INDENT - at - _GAP, size=ASKED, bold=True
    ) or (Row(height=ASKED * LINE_HEIGHT),)
    number = Words(x=0, y=14, text=f"{question.number}", size=ASKED, bold=True)
    lower = [moved(mark, down=14 - ASKED) for mark in first.marks]
    answered = [moved(mark, right=WIDTH - at) for mark in boxes]
    rows = [Row(height=first.height + 14 - ASKED, marks=(number, *lower, *answered)), *others, _space(3)]
    for note in (question.how, *question.notes):
        rows += _text(note, x=_INDENT, width=WIDTH - _INDENT, size=SMALL)
    rows.append(_blanks((paper.found,), x=_INDENT))
    rows.append(_blanks(("",), x=_INDENT))
    rows.append(_reaction(paper))
    rows.append(_space(7))
    return tuple(rows)


def _reaction(paper: AuditPaper) -> Row:
    """What was done about it: boxes, then blanks in what is left of the line."""
    y = _WRITING - 6
    boxes, at = _boxes(paper.reactions, y=y, size=SMALL)
    marks = [moved(mark, right=_INDENT) for mark in boxes]
    start = _INDENT + at + _GAP
    blanks = _blanks(paper.left_to_do, x=start)
    return Row(height=_WRITING, marks=(*marks, *blanks.marks))


def _signing(paper: AuditPaper) -> Block:
    rows = [Row(height=10, marks=(Rule(x=0, y=4, length=WIDTH, thick=2),))]
    rows += [_blanks(labels) for labels in paper.signing]
    return Block(rows=tuple(rows))


def _boxes(words: Sequence[str], *, y: float, size: float, bold: bool = False) -> tuple[list[Mark], float]:
    """Boxes with words behind them, and how far they reach to the right."""
    marks: list[Mark] = []
    x = 0.0
    for word in words:
        shown = printable(word)
        marks.append(Box(x=x, y=y - _SIDE + 2, side=_SIDE))
        marks.append(Words(x=x + _SIDE + 4, y=y, text=shown, size=size, bold=bold))
        x += _SIDE + 4 + wide(shown, size, bold) + _GAP
    return marks, x - _GAP


def _blanks(labels: Sequence[str], *, x: float = 0.0) -> Row:
    """Labels, each with a line behind it; what is left of the width is shared out evenly."""
    shown = [printable(label) for label in labels]
    y = _WRITING - 6
    taken = sum(wide(label, SMALL) + (4 if label else 0) for label in shown) + _GAP * (len(shown) - 1)
    length = (WIDTH - x - taken) / len(shown)
    marks: list[Mark] = []
    for label in shown:
        if label:
            marks.append(Words(x=x, y=y, text=label, size=SMALL))
            x += wide(label, SMALL) + 4
        marks.append(Rule(x=x, y=y + 2, length=length))
        x += length + _GAP
    return Row(height=_WRITING, marks=tuple(marks))


def _beside(label: str, words: str) -> Iterator[Row]:
    """A label, with what there is to say beside it."""
    said = _text(words, x=_LABELS, width=WIDTH - _LABELS, size=BODY)
    for place, row in enumerate(said):
        name = Words(x=0, y=BODY, text=printable(label), size=BODY, bold=True)
        yield row if place else Row(height=row.height, marks=(name, *row.marks))


def _list(texts: Sequence[str], *, bold: bool = False) -> tuple[Row, ...]:
    rows: list[Row] = []
    for text in texts:
        said = _text(text, x=_GAP, width=WIDTH - _GAP, size=BODY, bold=bold)
        for place, row in enumerate(said):
            dot = Words(x=0, y=BODY, text="•", size=BODY, bold=bold)
            rows.append(row if place else Row(height=row.height, marks=(dot, *row.marks)))
    return tuple(rows)


def _text(
    text: str, *, x: float = 0.0, width: float = WIDTH, size: float, bold: bool = False
) -> tuple[Row, ...]:
    measure = partial(wide, size=size, bold=bold)
    return text_rows(printable(text), x=x, width=width, size=size, measure=measure, bold=bold)


def _space(height: float) -> Row:
    return Row(height=height)
