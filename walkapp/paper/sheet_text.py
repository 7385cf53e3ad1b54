"""The texts of a sheet in the room they have: whole where they fit, otherwise shortened, and that is said.

What is most important stands first and stays longest: a part keeps its heading and sentence, then as many
entries as can be told in two lines each, and counts those it leaves out.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from walkapp.language import msg, tr, trn, whole_text
from walkapp.paper.drawing import printable, wide
from walkapp.paper.flow import LINE_HEIGHT, Mark, Row, Rule, Run, Shape, Words, height_of, wrap_runs
from walkapp.paper.sheet_content import SheetEntry, SheetPart

FLOOR = 8.5
"""Size in points of the smallest letters; printed on A4, at 70.7 %, they are 6 points high."""

CUT = "..."
"""Stands where a text is shortened."""

MORE_IN_STORE = msg("{cut} (more in the store)")

LONGEST = 1500
"""Letters of a text that are looked at: no part of a sheet has room for more of one."""

LEAST_LINES = 2
"""Lines that an entry has at least: one for what it says and one for who and until when."""

MOST_STEPS = 20
"""How often each entry may become a line longer while there is room."""

SENTENCE_LINES = 5
"""Lines of the sentence of a part where there is not room for all."""

SLACK = 1e-6
"""By how much a sum of heights may be above the room for it: what rounding makes of equal ones."""

INDENT = 1.4
"""Room for a shape before a text, as a multiple of the size of its letters."""


@lru_cache(maxsize=1024)
def _wrapped(runs: tuple[Run, ...], width: float, size: float, most: int) -> tuple[tuple[Run, ...], ...]:
    return wrap_runs(runs, width, lambda text, bold: wide(text, size, bold), most)


def lines_of(
    runs: tuple[Run, ...], width: float, size: float, most: int = 0
) -> tuple[tuple[Run, ...], ...]:
    """Break printable runs into lines; where there are more than `most`, the last one says so.

    Parameters
    ----------
    runs
        The text; see :data:`walkapp.paper.flow.Run`.
    width
        Room for a line.
    size
        Size of the letters.
    most
        How many lines there may be; 0 for any number.
    """
    lines = _wrapped(runs, width, size, most)
    if not most or len(lines) <= most:
        return lines
    *kept, last = lines[:most]
    text, bold = last[-1]
    before = last[:-1]
    used = sum(wide(f"{one} ", size, is_bold) for one, is_bold in before)
    while text and used + wide(f"{text.rstrip()}{CUT}", size, bold) > width:
        text = text[:-1]
    return (*kept, (*before, (f"{text.rstrip()}{CUT}", bold)))


def run(text: str, *, bold: bool = False) -> Run:
    """Make a printable run of any text; what is longer than any part has room for is cut at once."""
    shown = printable(text[:LONGEST])
    return (f"{shown}{tr(MORE_IN_STORE, cut=CUT)}" if len(text) > LONGEST else shown), bold


def rows_of(
    lines: Sequence[Sequence[Run]], *, x: float, size: float, is_white: bool = False
) -> tuple[Row, ...]:
    """Make a row of each line."""
    rows = []
    for line in lines:
        marks: list[Mark] = []
        at = x
        for text, bold in line:
            marks.append(Words(x=at, y=size, text=text, size=size, bold=bold, is_white=is_white))
            at += wide(f"{text} ", size, bold)
        rows.append(Row(height=size * LINE_HEIGHT, marks=tuple(marks)))
    return tuple(rows)


def text_block(
    text: str, *, width: float, size: float, bold: bool = False, most: int = 0, is_white: bool = False
) -> tuple[Row, ...]:
    """Make the rows of one text, shortened where it has more than `most` lines."""
    return rows_of(
        lines_of((run(text, bold=bold),), width, size, most), x=0.0, size=size, is_white=is_white
    )


def listed(texts: Sequence[str], *, width: float, size: float, height: float) -> tuple[Row, ...]:
    """Make the rows of a list in the height there is: whole, or shortened and counted."""
    whole = [_dotted(text, width, size, 0) for text in texts]
    if height_of(row for rows in whole for row in rows) <= height + SLACK:
        return tuple(row for rows in whole for row in rows)
    cut = [_dotted(text, width, size, LEAST_LINES) for text in texts]
    for many in range(len(cut), -1, -1):
        rows = [row for entry in cut[:many] for row in entry]
        if more := len(cut) - many:
            told = trn("and {count} more", "and {count} more", more)
            rows += text_block(told, width=width, size=size, bold=True)
        if height_of(rows) <= height + SLACK:
            return tuple(rows)
    return ()


def _dotted(text: str, width: float, size: float, most: int) -> tuple[Row, ...]:
    indent = size * INDENT / 2
    lines = lines_of((run(text),), width - indent, size, most)
    rows = rows_of(lines, x=indent, size=size)
    dot = Words(x=0.0, y=size, text="•", size=size)
    return tuple(
        row if place else Row(height=row.height, marks=(dot, *row.marks)) for place, row in enumerate(rows)
    )


def whole_part(part: SheetPart, *, width: float, size: float, height: float) -> tuple[Row, ...]:
    """Make all rows of a part, or as many as show that they are higher than `height`."""
    told = [*_heading(part, width, size), *_sentence(part, width, size, 0)]
    high = height_of(told)
    for one in part.entries:
        if high > height + SLACK:
            break
        rows = _entry(one, width, size, 0)
        told += rows
        high += height_of(rows)
    return (*told, *_left_out(part.left_out, width, size))


def part_rows(part: SheetPart, *, width: float, size: float, height: float) -> tuple[Row, ...]:
    """Make the rows of a part in the height there is.

    Parameters
    ----------
    part
        What it says.
    width
        Room for a line.
    size
        Size of its letters; its heading is larger.
    height
        Room for all rows.

    Returns
    -------
    tuple of Row
        Never higher than `height` where that holds heading, one line of the sentence and one to say what is
        left out.
    """
    told = whole_part(part, width=width, size=size, height=height)
    if height_of(told) <= height + SLACK:
        return told
    head = _heading(part, width, size)
    if height_of(head) + 2 * size * LINE_HEIGHT > height + SLACK:
        return (*head, *_in_one_line(part, width, size))
    above = (*head, *_sentence(part, width, size, SENTENCE_LINES))
    if not part.entries or height_of(above) + (LEAST_LINES + 1) * size * LINE_HEIGHT > height:
        room = height - height_of(head) - size * LINE_HEIGHT * bool(part.entries or part.left_out)
        above = (*head, *_sentence(part, width, size, max(1, int(room // (size * LINE_HEIGHT)))))
    few = _entries_that_fit(part, width, size, height - height_of(above))
    return (*above, *few)


def _in_one_line(part: SheetPart, width: float, size: float) -> tuple[Row, ...]:
    """Say in one line how a part stands and how much of it there is in the store."""
    many = part.left_out + len(part.entries)
    more = (tr("(+{many} in the store)", many=whole_text(many)), True)
    room = _inner(width, size) - wide(f" {more[0]}", size, bold=True)
    lines = lines_of((run(part.sentence, bold=True),), room, size, 1) or ((),)
    return _with_shape(part.state, [(*lines[0], more)], size)


def _entries_that_fit(part: SheetPart, width: float, size: float, height: float) -> tuple[Row, ...]:
    """Take as many entries as there is room for, as long as they can be, and say what is left out."""
    least = [_entry(one, width, size, LEAST_LINES) for one in part.entries]
    many = len(least)
    note = _shortened(part.left_out, width, size)
    while many and _high(least[:many]) > height - height_of(note) + SLACK:
        many -= 1
        note = _shortened(part.left_out + len(least) - many, width, size)
    if height_of(note) > height + SLACK:
        return ()
    room, line = height - height_of(note), size * LINE_HEIGHT
    made = least[:many]

    def grow(place: int, most: int, limit: float) -> None:
        """Let an entry have up to so many lines, as far as there is room."""
        now = len(made[place]) - 1
        lines = min(most, now + int((limit - _high(made) + SLACK) // line))
        if lines > now:
            made[place] = _entry(part.entries[place], width, size, lines)

    # What stands first is told whole where half of the free room holds it; then all get longer together.
    if many:
        grow(0, LONGEST, (room + _high(made)) / 2)
    for most in range(LEAST_LINES + 1, LEAST_LINES + MOST_STEPS):
        for place in range(many):
            grow(place, most, room)
    return (*(row for rows in made for row in rows), *note)


def _high(entries: Sequence[Sequence[Row]]) -> float:
    return sum(height_of(rows) for rows in entries)


def _heading(part: SheetPart, width: float, size: float) -> tuple[Row, ...]:
    rule = Row(height=size * 0.5, marks=(Rule(x=0.0, y=1.0, length=width, thick=1.4),))
    title = text_block(part.title, width=width, size=size * HEADING, bold=True, most=2)
    return (rule, *title)


HEADING = 1.2
"""Size of a heading, as a multiple of that of the other letters."""


def _sentence(part: SheetPart, width: float, size: float, most: int) -> tuple[Row, ...]:
    return _with_shape(
        part.state, lines_of((run(part.sentence, bold=True),), _inner(width, size), size, most), size
    )


def _entry(entry: SheetEntry, width: float, size: float, most: int) -> tuple[Row, ...]:
    lines = _entry_lines(entry, _inner(width, size), size, most)
    return (Row(height=size * 0.3), *_with_shape(entry.state, lines, size))


def _inner(width: float, size: float) -> float:
    return width - size * INDENT


def _entry_lines(entry: SheetEntry, width: float, size: float, most: int) -> tuple[tuple[Run, ...], ...]:
    """Break an entry into lines: how it stands, what it is, what else there is to know.

    Where there are too many lines, further details go first, then the end of the text: who sees to an
    action and until when stays.
    """
    words = (run(f"{entry.words}:", bold=True),) if entry.words else ()
    details = tuple(run(_ended(one)) for one in entry.detail)
    text = run(_ended(entry.text) if details else entry.text)
    lines = _wrapped((*words, text, *details), width, size, most)
    if not most or len(lines) <= most:
        return lines
    for kept in range(len(details) - 1, 0, -1):
        last, bold = details[kept - 1]
        lines = _wrapped((*words, text, *details[: kept - 1], (f"{last} {CUT}", bold)), width, size, most)
        if len(lines) <= most:
            return lines
    if details and len(_wrapped(details[:1], width, size, most)) < most:
        shown = text[0].split()
        low, high = 0, len(shown)
        while low < high:
            middle = (low + high + 1) // 2
            lines = _wrapped((*words, _first(shown, middle), details[0]), width, size, most)
            low, high = (middle, high) if len(lines) <= most else (low, middle - 1)
        if low:
            return _wrapped((*words, _first(shown, low), details[0]), width, size, most)
    return lines_of((*words, text, *details[:1]), width, size, most)


def _first(words: Sequence[str], many: int) -> Run:
    return f"{' '.join(words[:many])}{CUT}", False


def _ended(text: str) -> str:
    """End a text like a sentence, so that the next one can follow on its line."""
    return text if text.endswith((".", "!", "?", ":", ";")) or not text else f"{text}."


def _with_shape(state: str, lines: Sequence[Sequence[Run]], size: float) -> tuple[Row, ...]:
    """Make rows that leave room for a shape, which stands before the first one."""
    rows = rows_of(lines, x=size * INDENT, size=size)
    if not state or not rows:
        return rows
    shape = Shape(x=size * 0.45, y=size * 0.66, side=size * 0.72, state=state)
    return (Row(height=rows[0].height, marks=(shape, *rows[0].marks)), *rows[1:])


def _left_out(many: int, width: float, size: float) -> tuple[Row, ...]:
    """Say how many entries are left out; nothing for none."""
    if not many:
        return ()
    return text_block(
        trn("and {count} more (in the store)", "and {count} more (in the store)", many),
        width=width,
        size=size,
        bold=True,
    )


def _shortened(many: int, width: float, size: float) -> tuple[Row, ...]:
    """Say that something is shortened, and how many entries are left out."""
    if many:
        return _left_out(many, width, size)
    return text_block(tr(MORE_IN_STORE, cut=CUT), width=width, size=size, bold=True)
