"""The sheet of a concern: one page for a wall, laid out by the questions that a team asks in front of it.

From two metres: what is wrong, where it starts, how far the work is, which station it is. From one metre:
pictures and counts, then the cause, whether bad parts still get out, what is done, whether it worked, what
was learned and where else it could happen. Last, how sure all that is, what is missing, and what the page
was made from. It needs no colour.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from walkapp.language import msg, tr
from walkapp.paper.drawing import A3_ACROSS, Page, draw, draw_png, printable
from walkapp.paper.figures.plane import SMALL
from walkapp.paper.figures.shares import SharesFigure
from walkapp.paper.flow import (
    LINE_HEIGHT,
    Band,
    Mark,
    Picture,
    Plot,
    Row,
    Rule,
    Shape,
    Words,
    height_of,
    placed,
)
from walkapp.paper.sheet_content import SheetContent, SheetPart, SheetPicture
from walkapp.paper.sheet_stream import MOST_STATIONS, around_first_bad, stream_rows
from walkapp.paper.sheet_text import (
    FLOOR,
    lines_of,
    listed,
    part_rows,
    rows_of,
    run,
    text_block,
    whole_part,
)

MARGIN = 28.35
"""10 mm: what most printers leave white."""

LEFT, TOP = MARGIN, MARGIN
WIDTH, HEIGHT = A3_ACROSS[0] - 2 * MARGIN, A3_ACROSS[1] - 2 * MARGIN
GAP = 14.0

TITLE_SIZES = (30.0, 26.0, 23.0, 20.0, 18.0)
"""Of what is wrong and where it starts: 30 points can be read from more than two metres."""

STAGE_SIZES = (12.0, 11.0, 10.0, 9.0, FLOOR)
"""Sizes of the stages in points: the largest at which the words of all fit their cells."""

BODY_SIZES = (13.0, 12.0, 11.5, 11.0, 10.5, 10.0, 9.5, 9.0, FLOOR)
"""Sizes of the letters of the parts: the largest at which all of it fits, or the last and shortened."""

COLUMNS = (396.0, 255.0, 236.0, 204.8)
"""Widths: evidence; cause; containment and actions; results, lessons and read-across."""

SURE_WIDTH = 440.0
"""Width of what is said of how sure the answer is; beside it stands what is missing."""

SHARES = {"containment": 0.42, "actions": 0.58, "results": 0.4, "lessons": 0.3, "read_across": 0.3}
"""How parts that stand below each other share a column that is too small for all of them."""

FIGURE_LETTERS = FLOOR / SMALL
"""The notes of a figure are smaller than its letters, and not below the floor."""

AROUND_FIGURE, FIGURE_ROW = 100.0, 12.5
"""Height of what stands around the rows of a figure, and of each row that can be read."""

FIGURE_SHARE = 0.52
"""How much of the height the figure may take where there are pictures too."""

LEAST_FIGURE_ROWS = 4

NO_FIGURE = msg("The shares by station have no room here; 'walkapp figure' draws them.")


_SURE = msg("How sure is this?")
_MISSING = msg("What is missing?")
_NOTHING_MISSING = msg("Nothing that this sheet looks for is missing.")


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedSheet:
    """A sheet as a file.

    Parameters
    ----------
    data
        The file.
    has_numbers
        Whether a letter had to be shown by its number (see :func:`walkapp.paper.drawing.printable`).
    """

    data: bytes
    has_numbers: bool


def print_sheet(content: SheetContent) -> PrintedSheet:
    """Draw a sheet as PDF: one A3 page on its side. The same content gives the same bytes."""
    page = lay_out(content)
    return PrintedSheet(data=draw([page], _title(content)), has_numbers=_has_numbers(page))


def picture_sheet(content: SheetContent, *, dots: float) -> PrintedSheet:
    """Draw a sheet as PNG, with so many pixels an inch of A3."""
    page = lay_out(content)
    return PrintedSheet(data=draw_png(page, _title(content), dots=dots), has_numbers=_has_numbers(page))


def _title(content: SheetContent) -> str:
    return printable(content.title)


def _has_numbers(page: Page) -> bool:
    return any("<U+" in mark.text for mark in page.marks if isinstance(mark, Words))


def lay_out(content: SheetContent) -> Page:
    """Lay out a sheet; everything stands inside the margins, whatever the content."""
    marks: list[Mark] = []
    y = TOP
    for block in (_warnings(content), _head(content), _stages(content), stream_rows(content, WIDTH)):
        marks += placed(block, left=LEFT, top=y)
        y += height_of(block)
    y += 4
    made = _made(content)
    bottom = TOP + HEIGHT - height_of(made)
    marks += placed(made, left=LEFT, top=bottom)
    marks += _evidence(content, LEFT, y, COLUMNS[0], bottom - y - 3)
    doubt = _doubt(content)
    bottom -= height_of(doubt)
    marks += placed(doubt, left=LEFT + COLUMNS[0] + GAP, top=bottom)
    marks += _columns(content, y, bottom - GAP / 2)
    return Page(width=A3_ACROSS[0], height=A3_ACROSS[1], marks=tuple(marks))


def _warnings(content: SheetContent) -> tuple[Row, ...]:
    """What has to be minded, in full: white on black across the page."""
    size = 11.5
    rows = [
        row
        for text in content.warnings
        for row in rows_of(
            lines_of((run(text, bold=True),), WIDTH - 2 * GAP, size), x=GAP, size=size, is_white=True
        )
    ]
    if not rows:
        return ()
    band = Band(x=0.0, y=0.0, width=WIDTH, height=height_of(rows) + 4, grey=0.0)
    return (Row(height=2.0, marks=(band,)), *rows, Row(height=8.0))


def _head(content: SheetContent) -> tuple[Row, ...]:
    """What is wrong on the left, where it starts on the right."""
    right = 0.36 * WIDTH
    left = WIDTH - right - 2 * GAP
    problem = _large(content.title, left)
    facts = text_block("  |  ".join(content.facts), width=left, size=10.0, most=2)
    judge = text_block(
        tr("How to judge: {how}", how=content.how_to_judge or tr("not said")), width=left, size=10.0, most=2
    )
    told = (*problem, Row(height=3.0), *facts, *judge)
    inner = right - 2 * GAP
    shape = 24.0
    answer = _large(content.answer, inner - shape - GAP) or (Row(height=shape),)
    sentence = text_block(content.sentence, width=inner, size=10.0, most=3)
    said = (*_shifted(answer, shape + GAP), Row(height=3.0), *sentence)
    height = max(height_of(told), max(height_of(said), shape) + 14)
    frame = Band(x=WIDTH - right, y=0.0, width=right, height=height, thick=2.5)
    top = (height - height_of(said)) / 2
    at = WIDTH - right + GAP
    middle = top + max(height_of(answer[:1]), shape) / 2
    mark = Shape(x=at + shape / 2, y=middle, side=shape, state=content.answer_state)
    texts = (*placed(told, left=0.0, top=0.0), *placed(said, left=at, top=top))
    return (Row(height=height + 8, marks=(frame, mark, *texts)),)


def _large(text: str, width: float) -> tuple[Row, ...]:
    """Make a text as large as it can be in two lines, or in three of the smallest large letters."""
    for size in TITLE_SIZES:
        rows = text_block(text, width=width, size=size, bold=True)
        if len(rows) <= 2:
            return rows
    return text_block(text, width=width, size=TITLE_SIZES[-1], bold=True, most=3)


def _shifted(rows: Iterable[Row], right: float) -> tuple[Row, ...]:
    return tuple(replace(row, marks=placed((row,), left=right, top=0.0)) for row in rows)


def _stages(content: SheetContent) -> tuple[Row, ...]:
    """How far the work is: a cell for each stage, grey once it is reached."""
    if not content.stages:
        return ()
    height = 21.0
    width = WIDTH / len(content.stages)
    words = [(run(stage.word, bold=True),) for stage in content.stages]
    size = next(
        (one for one in STAGE_SIZES if all(len(lines_of(told, width - 32, one)) < 2 for told in words)),
        STAGE_SIZES[-1],
    )
    marks: list[Mark] = []
    for place, (stage, told) in enumerate(zip(content.stages, words, strict=True)):
        x = place * width
        grey = 0.88 if stage.is_reached else None
        marks.append(Band(x=x + 1, y=0.0, width=width - 2, height=height, grey=grey, thick=0.8))
        state = "clean" if stage.is_reached else "undecided"
        marks.append(Shape(x=x + 14, y=height / 2, side=10.0, state=state))
        (line,) = lines_of(told, width - 32, size, 1) or ((),)
        top = (height - size * LINE_HEIGHT) / 2
        marks += placed(rows_of([line], x=x + 25, size=size), left=0.0, top=top)
    return (Row(height=height + 8, marks=tuple(marks)),)


def _columns(content: SheetContent, top: float, bottom: float) -> list[Mark]:
    """The parts in three columns, in letters as large as the room allows."""
    height = bottom - top
    parts = {part.name: part for part in content.parts}
    stacks = [
        [parts[name] for name in names if name in parts]
        for names in (("cause",), ("containment", "actions"), ("results", "lessons", "read_across"))
    ]
    size = _body_size(stacks, height)
    marks: list[Mark] = []
    x = LEFT + COLUMNS[0] + GAP
    for stack, width in zip(stacks, COLUMNS[1:], strict=True):
        y = top
        for part, room in zip(stack, _rooms(stack, width, size, height), strict=True):
            rows = part_rows(part, width=width, size=size, height=room - GAP / 2)
            marks += placed(rows, left=x, top=y)
            y += room
        x += width + GAP
    return marks


def _body_size(stacks: Sequence[Sequence[SheetPart]], height: float) -> float:
    """Give the greatest size at which everything is told whole; the floor where none is."""

    def is_whole(size: float) -> bool:
        return all(
            sum(_needed(part, width, size, height) for part in stack) <= height
            for stack, width in zip(stacks, COLUMNS[1:], strict=True)
        )

    # Most often either all fits in large letters or nothing helps: the floor is tried first.
    return next(filter(is_whole, BODY_SIZES), FLOOR) if is_whole(FLOOR) else FLOOR


def _needed(part: SheetPart, width: float, size: float, height: float) -> float:
    return height_of(whole_part(part, width=width, size=size, height=height)) + GAP / 2


def _rooms(stack: Sequence[SheetPart], width: float, size: float, height: float) -> list[float]:
    """Share out the height of a column: what one part does not need goes to the others."""
    needed = [_needed(part, width, size, height) for part in stack]
    rooms = [0.0] * len(stack)
    left, waiting = height, list(range(len(stack)))
    while waiting:
        whole = sum(SHARES.get(stack[place].name, 1.0) for place in waiting)
        given = {place: left * SHARES.get(stack[place].name, 1.0) / whole for place in waiting}
        content = [place for place in waiting if needed[place] <= given[place]]
        for place in content or waiting:
            rooms[place] = needed[place] if content else given[place]
            left -= rooms[place]
        waiting = [place for place in waiting if place not in (content or waiting)]
    return rooms


def _evidence(content: SheetContent, x: float, top: float, width: float, height: float) -> list[Mark]:
    """The figure of the shares above, the pictures below it."""
    marks: list[Mark] = []
    y = top
    pictures = content.pictures
    if content.shares is not None:
        most = height * (FIGURE_SHARE if pictures else 1.0)
        figure = _shown_shares(content, content.shares, int((most - AROUND_FIGURE) // FIGURE_ROW))
        if figure is None:
            told = text_block(tr(NO_FIGURE), width=width, size=9.0)
            marks += placed(told, left=x, top=y)
            y += height_of(told) + 4
        else:
            room = min(AROUND_FIGURE + FIGURE_ROW * len(figure.rows), most)
            marks.append(Plot(x=x, y=y, width=width, height=room, figure=figure, size=FIGURE_LETTERS))
            y += room + 6
    note = text_block(content.pictures_note, width=width, size=9.0, most=1)
    left = top + height - y - height_of(note)
    rows = [pictures[start : start + 2] for start in range(0, len(pictures), 2)]
    for row in rows:
        cell = (width - GAP / 2 * (len(rows[0]) - 1)) / len(rows[0])
        captions = [text_block(one.caption, width=cell, size=FLOOR, most=2) for one in row]
        below = max(map(height_of, captions))
        for place, (picture, caption) in enumerate(zip(row, captions, strict=True)):
            at = x + place * (cell + GAP / 2)
            marks += _cell(picture, at, y, cell, left / len(rows) - below - 4)
            marks += placed(caption, left=at, top=y + left / len(rows) - below - 4)
        y += left / len(rows)
    marks += placed(note, left=x, top=y)
    return marks


def _shown_shares(content: SheetContent, figure: SharesFigure, most: int) -> SharesFigure | None:
    """Give the figure of as many stations as there is room for; none where that is too little."""
    drawn = around_first_bad(content.stations, min(most, MOST_STATIONS))
    rows = figure.rows[drawn]
    if len(rows) < min(LEAST_FIGURE_ROWS, len(figure.rows)):
        return None
    # The answer, which is the title of the figure elsewhere, stands here in large letters.
    title = (
        tr("NOK parts by station ({rows} of {rows2} stations)", rows=len(rows), rows2=len(figure.rows))
        if len(rows) < len(figure.rows)
        else tr("NOK parts by station")
    )
    return replace(figure, title=title, rows=rows)


def _cell(picture: SheetPicture, x: float, y: float, width: float, height: float) -> list[Mark]:
    """A picture as large as the room allows, with what it is above it."""
    label = text_block(picture.label, width=width, size=9.5, bold=True, most=1)
    marks = list(placed(label, left=x, top=y))
    y += height_of(label)
    room = max(height - height_of(label) - 1, 1.0)
    if picture.data:
        scale = min(width / picture.width_px, room / picture.height_px)
        sides = {"width": picture.width_px * scale, "height": picture.height_px * scale}
        return [*marks, Picture(x=x, y=y, data=picture.data, **sides)]
    marks.append(Band(x=x, y=y, width=width, height=room, grey=0.92, thick=0.8))
    trouble = text_block(picture.trouble, width=width - 8, size=9.5, most=2)
    return [*marks, *placed(trouble, left=x + 4, top=y + 2)]


def _doubt(content: SheetContent) -> tuple[Row, ...]:
    """How sure it is, and what is missing, below the parts."""
    size, title = 9.0, 10.0
    room = 7 * size * LINE_HEIGHT
    whole = WIDTH - COLUMNS[0] - GAP
    right = whole - SURE_WIDTH - GAP
    sure = listed(content.sure, width=SURE_WIDTH, size=size, height=room)
    gaps = [gap.words for gap in content.gaps] or [tr(_NOTHING_MISSING)]
    missing = listed(gaps, width=right, size=size, height=room)
    heads: list[Mark] = [
        Words(x=0.0, y=title, text=tr(_SURE), size=title, bold=True),
        Words(x=SURE_WIDTH + GAP, y=title, text=tr(_MISSING), size=title, bold=True),
    ]
    below = (*placed(sure, left=0.0, top=0.0), *placed(missing, left=SURE_WIDTH + GAP, top=0.0))
    return (
        Row(height=4.0, marks=(Rule(x=0.0, y=0.0, length=whole, thick=1.4),)),
        Row(height=title * LINE_HEIGHT, marks=tuple(heads)),
        Row(height=max(height_of(sure), height_of(missing)), marks=below),
    )


def _made(content: SheetContent) -> tuple[Row, ...]:
    """What the sheet was made from, at the foot."""
    made = text_block("  |  ".join(content.made), width=WIDTH, size=FLOOR, most=2)
    return (Row(height=5.0, marks=(Rule(x=0.0, y=3.0, length=WIDTH),)), *made)
