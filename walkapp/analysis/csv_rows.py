"""Rows of a CSV text that a spreadsheet wrote."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass

from walkapp.language import tr

LONGEST_CELL = 10_000
"""Characters of a cell beyond which a quotation mark is surely missing."""

# no text: what the csv module of the standard library says
_TOO_LONG = "field limit"


@dataclass(frozen=True, slots=True)
class CsvRow:
    """One row that is not empty.

    Parameters
    ----------
    number
        The number that a spreadsheet shows, from 1.
    line
        Where it begins in the text, in lines from 1.
    cells
        Its cells.
    """

    number: int
    line: int
    cells: tuple[str, ...]


class CsvFaultError(ValueError):
    """A text that cannot be taken apart as CSV; whoever reads a table says so in its own words.

    Parameters
    ----------
    number, line
        Of the row that is wrong, as in :class:`CsvRow`.
    what, mend
        What is wrong and what to do about it, without a full stop.
    """

    def __init__(self, number: int, line: int, what: str, mend: str) -> None:
        super().__init__(tr("row {number}: {what}; {mend}", number=number, what=what, mend=mend))
        self.number = number
        self.line = line
        self.what = what
        self.mend = mend


def csv_rows(text: str, separators: str) -> Iterator[CsvRow]:
    """Give the rows of a table that are not empty (RFC 4180).

    Parameters
    ----------
    text
        The table; any of the three kinds of line end, with or without a byte order mark.
    separators
        Characters that may separate cells: the one that is most frequent in the first row does, and the
        first of them when none is in it.

    Raises
    ------
    CsvFaultError
        At the first row that is none. Nothing that follows can be told apart then.

    Examples
    --------
    >>> [row.cells for row in csv_rows('month;delivered\\r\\n\\r\\n2026-03;"50000"\\r\\n', ",;")]
    [('month', 'delivered'), ('2026-03', '50000')]
    """
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    separator = _separator(lines, separators)
    reader = csv.reader((line + "\n" for line in lines), delimiter=separator, strict=True)
    number = 0
    while True:
        number += 1
        line = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise CsvFaultError(number, line, *_what_csv_says(str(error))) from error
        if any(len(cell) > LONGEST_CELL for cell in cells):
            # The csv module's own limit is one for the whole process, and others raise it.
            raise CsvFaultError(number, line, *_what_csv_says(_TOO_LONG))
        if any("\0" in cell for cell in cells):
            raise CsvFaultError(
                number,
                line,
                tr("it holds a NUL character, so this is not a CSV text"),
                tr("save the table as CSV (UTF-8)"),
            )
        if any(cell.strip() for cell in cells):
            yield CsvRow(number, line, tuple(cells))


def _separator(lines: list[str], separators: str) -> str:
    first = next((line for line in lines if line.strip(f" \t{separators}")), "")
    return max(separators, key=first.count)


def _what_csv_says(error: str) -> tuple[str, str]:
    if "unexpected end of data" in error:
        return tr("a quotation mark is opened and never closed"), tr("close it or take it out")
    if _TOO_LONG in error:
        return tr("a cell is far too long"), tr("look for a missing quotation mark")
    return (
        tr("there is text behind a closing quotation mark"),
        tr("double the quotation marks inside a quoted cell"),
    )
