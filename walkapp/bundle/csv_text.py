"""CSV as RFC 4180 has it: comma, CRLF, quotes doubled, UTF-8 without byte order mark."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator

from walkapp.bundle.layout import LIMITS
from walkapp.bundle.places import Place
from walkapp.language import msg, tr

__all__ = ["MEND_SPREADSHEET", "read_csv", "write_csv"]

MEND_SPREADSHEET = msg(
    "a table that was saved by another program cannot be taken over, ask for the untouched bundle"
)


_MOST_COMMAS = 100_000
"""Commas in one row, those inside texts too."""


def write_csv(rows: Iterable[Iterable[str]]) -> bytes:
    """Write rows of a table; the same cells always give the same bytes.

    Examples
    --------
    >>> write_csv([["id", "note"], ["a", 'he said "no", then left']])
    b'id,note\\r\\na,"he said ""no"", then left"\\r\\n'
    """
    page = io.StringIO(newline="")
    csv.writer(page, lineterminator="\r\n").writerows(rows)
    return page.getvalue().encode("utf-8")


class _Lines:
    """The lines of a table, watched: the csv module builds a whole row before it can be looked at.

    Attributes
    ----------
    commas
        Commas since it was last set to 0. 25 million empty cells in one row would fill the memory.
    """

    def __init__(self, text: str) -> None:
        self._text = text
        self._next = 0
        self.commas = 0

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        if self._next == len(self._text):
            raise StopIteration
        start, self._next = self._next, self._text.find("\n", self._next) + 1 or len(self._text)
        line = self._text[start : self._next]
        self.commas += line.count(",")
        if self.commas > _MOST_COMMAS:
            raise csv.Error(tr("far too many cells"))
        if "\r" in line.removesuffix("\r\n"):
            raise csv.Error(tr("a carriage return without a line feed"))
        return line


def read_csv(data: bytes, place: Place) -> Iterator[tuple[int, list[str]]]:
    """Read rows of a table one by one, the header first.

    Parameters
    ----------
    data
        The whole file, or a piece of it that begins and ends with a row.
    place
        The file, for complaints.

    Yields
    ------
    tuple of int and list of str
        The row as a spreadsheet counts, the first being 1, and its cells; every row has as many as
        the first.

    Raises
    ------
    BundleError
        If the file is not CSV in UTF-8, or has no header, or a row has too few or too many cells.
    """
    if data.startswith(b"\xef\xbb\xbf"):
        raise place.error(tr("begins with a byte order mark"), tr(MEND_SPREADSHEET))
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise place.error(
            tr("is not UTF-8 at byte {start}", start=error.start), tr(MEND_SPREADSHEET)
        ) from error
    # The module's own limit of 131,072 characters is too short for a record that takes back
    # thousands of others. The limit is one for the whole process; it is only ever raised.
    csv.field_size_limit(max(csv.field_size_limit(), LIMITS.table_bytes))
    lines = _Lines(text)
    reader = csv.reader(lines, strict=True)
    width, row = 0, 0
    try:
        for row, cells in enumerate(reader, start=1):
            width = width or len(cells)
            if not cells or len(cells) != width:
                raise place.at(row=row).error(
                    tr("has {cells} cells, not {width}", cells=len(cells), width=width),
                    tr(MEND_SPREADSHEET),
                )
            yield row, cells
            lines.commas = 0
    except csv.Error as error:
        raise place.at(row=row + 1).error(
            tr("is not CSV ({error})", error=error), tr(MEND_SPREADSHEET)
        ) from error
    if not width:
        raise place.error(tr("is empty, even the column names are missing"))
