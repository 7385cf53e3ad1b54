"""The texts of a sheet in the room they have: whole where they fit, otherwise shortened, and that is said.

What is most important stands first and stays longest: a part keeps its heading and sentence, then as many
entries as can be told in two lines each, and counts those it leaves out.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from walkapp.paper.drawing import letters_of, printable
from walkapp.paper.flow import LINE_HEIGHT, Mark, Row, Rule, Run, Shape, Words, height_of, wrap_runs
from walkapp.paper.sheet_content import SheetEntry, SheetPart

CUT = "..."
"""Stands where a text is shortened."""

MORE_IN_STORE = f"{CUT} (more in the store)"

LONGEST = 1500
"""Letters of a text that are looked at: no part of a sheet has room for more of one."""

LEAST_LINES = 2
"""Lines that an entry has at least: one for what it says and one for who and until when."""

CAPS = (16, 12, 9, 7, 5, 4, 3, LEAST_LINES)
"""How many lines an entry may have, tried one after the other until all fit."""

SENTENCE_LINES = 5
"""Lines of the sentence of a part where there is not room for all."""

SLACK = 1e-6
"""By how much a sum of heights may be above the room for it: what rounding makes of equal ones."""

INDENT = 1.4
"""Room for a shape before a text, as a multiple of the size of its letters."""


def wide(text: str, size: float, bold: bool = False) -> float:
    """Give the width of a text."""
    return letters_of(bold).width(text, size)


@lru_cache(maxsize=4096)
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
    lines = wrap_runs(runs, width, lambda text, bold: wide(text, size, bold))
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
    return (f"{shown}{CUT}" if len(text) > LONGEST else shown), bold


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


def listed(
    texts: Sequence[str], *, width: float, size: float, height: float, noun: tuple[str, str]
) -> tuple[Row, ...]:
    """Make the rows of a list in the height there is: whole, or shortened and counted."""
    whole = [_dotted(text, width, size, 0) for text in texts]
    if height_of(row for rows in whole for row in rows) <= height + SLACK:
        return tuple(row for rows in whole for row in rows)
    cut = [_dotted(text, width, size, LEAST_LINES) for text in texts]
    return _as_many(cut, 0, noun, width=width, size=size, height=height)


def _dotted(text: str, width: float, size: float, most: int) -> tuple[Row, ...]:
    indent = size * INDENT / 2
    lines = lines_of((run(text),), width - indent, size, most)
    rows = rows_of(lines, x=indent, size=size)
    dot = Words(x=0.0, y=size, text="•", size=size)
    return tuple(
        row if place else Row(height=row.height, marks=(dot, *row.marks)) for place, row in enumerate(rows)
    )


def part_rows(part: SheetPart, *, width: float, size: float, height: float = 0.0) -> tuple[Row, ...]:
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
        Room for all rows; 0 for as much as they need.

    Returns
    -------
    tuple of Row
        Never higher than `height` where that holds heading, one line of the sentence and one to say what is
        left out.
    """
    head = _heading(part, width, size)
    whole = (*head, *_sentence(part, width, size, 0))
    rows = _entries(part, width, size, 0)
    told = (
        *whole,
        *(row for entry in rows for row in entry),
        *_left_out(part.left_out, part.noun, width, size),
    )
    if not height or height_of(told) <= height + SLACK:
        return told
    above = (*head, *_sentence(part, width, size, SENTENCE_LINES))
    if not part.entries or height_of(above) + (LEAST_LINES + 1) * size * LINE_HEIGHT > height:
        room = height - height_of(head) - size * LINE_HEIGHT * bool(part.entries)
        above = (*head, *_sentence(part, width, size, max(1, int(room // (size * LINE_HEIGHT)))))
    note = _shortened(part.left_out, part.noun, width, size)
    room = height - height_of(above) - height_of(note)
    for cap in CAPS:
        rows = _entries(part, width, size, cap)
        if height_of(row for entry in rows for row in entry) <= room + SLACK:
            kept = _longer(rows, _entries(part, width, size, 0), room)
            return (*above, *(row for entry in kept for row in entry), *note)
    few = _entries(part, width, size, LEAST_LINES)
    left = height - height_of(above)
    return (*above, *_as_many(few, part.left_out, part.noun, width=width, size=size, height=left))


def _longer(
    cut: Sequence[tuple[Row, ...]], whole: Sequence[tuple[Row, ...]], room: float
) -> list[tuple[Row, ...]]:
    """Give what room is left to the entries, the first ones first, each of which is then told whole."""
    kept = list(cut)
    left = room - height_of(row for entry in kept for row in entry)
    for place, (short, long) in enumerate(zip(cut, whole, strict=True)):
        more = height_of(long) - height_of(short)
        if more <= left + SLACK:
            kept[place] = long
            left -= more
    return kept


def _as_many(
    entries: Sequence[tuple[Row, ...]],
    left_out: int,
    noun: tuple[str, str],
    *,
    width: float,
    size: float,
    height: float,
) -> tuple[Row, ...]:
    """Take as many entries as there is room for, and say how many are left out."""
    for many in range(len(entries), -1, -1):
        rows = [row for entry in entries[:many] for row in entry]
        rows += _shortened(left_out + len(entries) - many, noun, width, size)
        if height_of(rows) <= height + SLACK:
            return tuple(rows)
    return ()


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


def _entries(part: SheetPart, width: float, size: float, cap: int) -> list[tuple[Row, ...]]:
    """Make the rows of each entry; the first one may have about twice as many lines."""
    made = []
    for place, entry in enumerate(part.entries):
        most = cap if place or not cap else 2 * cap + 2
        rows = _with_shape(entry.state, _entry_lines(entry, _inner(width, size), size, most), size)
        made.append((Row(height=size * 0.3), *rows))
    return made


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
    lines = lines_of((*words, text, *details), width, size)
    if not most or len(lines) <= most:
        return lines
    for kept in range(len(details) - 1, 0, -1):
        last, bold = details[kept - 1]
        lines = lines_of((*words, text, *details[: kept - 1], (f"{last} {CUT}", bold)), width, size)
        if len(lines) <= most:
            return lines
    if details and len(lines_of(details[:1], width, size)) < most:
        shown = text[0].split()
        low, high = 0, len(shown)
        while low < high:
            middle = (low + high + 1) // 2
            lines = lines_of((*words, _first(shown, middle), details[0]), width, size)
            low, high = (middle, high) if len(lines) <= most else (low, middle - 1)
        if low:
            return lines_of((*words, _first(shown, low), details[0]), width, size)
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


def _left_out(many: int, noun: tuple[str, str], width: float, size: float) -> tuple[Row, ...]:
    """Say how many entries are left out; nothing for none."""
    if not many:
        return ()
    return text_block(
        f"and {many:,} more {noun[many != 1]} (in the store)", width=width, size=size, bold=True
    )


def _shortened(many: int, noun: tuple[str, str], width: float, size: float) -> tuple[Row, ...]:
    """Say that something is shortened, and how many entries are left out."""
    if many:
        return _left_out(many, noun, width, size)
    return text_block(MORE_IN_STORE, width=width, size=size, bold=True)
