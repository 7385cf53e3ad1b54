"""The tables of a bundle as they stand in it, for whoever reads millions of rows and makes no records of
them.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Self

from walkapp.bundle.archive import Archive
from walkapp.bundle.csv_text import MEND_SPREADSHEET, read_csv, write_csv
from walkapp.bundle.descriptor import Listing
from walkapp.bundle.layout import LIMITS, PHOTO, ROWS, TABLE, Limits, kind_of_table
from walkapp.bundle.places import Place, brief
from walkapp.bundle.read import open_listed
from walkapp.bundle.rows import row_columns
from walkapp.bundle.tables import check_header, read_rows
from walkapp.files import sha256_of
from walkapp.language import tr

__all__ = ["END_OF_ROW", "PlainTable", "PlainTables", "with_cells_around"]

END_OF_ROW = "e"
"""Stands in a last cell of each row: there are readers that say nothing of empty cells too many."""

_LONGEST_HEADER = 10_000
_C0 = bytes([*(code for code in range(0x20) if code not in (0x09, 0x0A, 0x0D)), 0x7F])
# U+0080 to U+009F in UTF-8.
_C1 = re.compile(rb"\xc2[\x80-\x9f]")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainTable:
    """One table, checked as a file and not yet row by row.

    Parameters
    ----------
    kind
        Kind of record; ``first_bad_station`` for the computed answer.
    columns
        Names of its columns, in order.
    rows
        What stands below the names: CSV in UTF-8, rows as they came.
    ends_with_crlf
        Whether the row of names ends as the standard asks.
    bundle
        File name of the bundle, for complaints.
    """

    kind: str
    columns: tuple[str, ...]
    rows: bytes
    ends_with_crlf: bool
    bundle: str


class PlainTables:
    """A bundle, open for reading its tables one after another.

    Parameters
    ----------
    path
        The zip.
    check_hashes
        Whether the SHA-256 of each table is compared. Pictures are not looked at either way.
    limits
        What it may hold at most.

    Attributes
    ----------
    format : int
        Its format, 1 to 3.
    digest : str
        SHA-256 of its descriptor.

    Raises
    ------
    BundleError
        If it is not a bundle, is damaged or wants to do harm; one sentence.
    """

    def __init__(self, path: Path, *, check_hashes: bool = True, limits: Limits = LIMITS) -> None:
        self._place = Place(bundle=brief(path.name))
        self._check_hashes = check_hashes
        self._archive = Archive(path, self._place, limits)
        try:
            self.format, listings, data, _ = open_listed(self._archive, self._place)
            self.digest = sha256_of(data)
            self._listings = {name: one for name, one in sorted(listings.items()) if TABLE.fullmatch(name)}
            for name, one in listings.items():
                if (found := PHOTO.fullmatch(name)) and found[1] != one.sha256:
                    raise self._place.at(member=name).error(
                        tr("is named by another SHA-256 than the one listed")
                    )
        except BaseException:
            self._archive.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._archive.close()

    def tables(self) -> Iterator[PlainTable]:
        """Read all tables, by name; at most one is held in memory.

        Raises
        ------
        BundleError
            If one is damaged, is no text, or has other columns than its kind has in a bundle of that
            format.
        """
        for name, listing in self._listings.items():
            place = self._place.at(member=name)
            data = self._read(listing)
            header, rows = _split(data, place)
            if name == ROWS:
                read_rows(data, place, self.format)
                header = [column.name for column in row_columns(self.format)]
            else:
                check_header(header, place, self.format)
            _check_text(data, place)
            yield PlainTable(
                kind=kind_of_table(name),
                columns=tuple(header),
                rows=rows,
                ends_with_crlf=data[: len(data) - len(rows)].endswith(b"\r\n"),
                bundle=self._place.bundle,
            )

    def _read(self, listing: Listing) -> bytes:
        if self._check_hashes:
            return b"".join(self._archive.stream_checked(listing))
        return self._archive.read(listing.path)


def _split(data: bytes, place: Place) -> tuple[list[str], bytes]:
    """Give the names of the columns and what stands below them; no name has a line break in it."""
    end = data.find(b"\n") + 1 or len(data)
    if end > _LONGEST_HEADER:
        raise place.at(row=1).error(tr("is no row of column names"))
    for _, header in read_csv(data[:end], place):
        return header, data[end:]
    raise place.error(tr("is empty, even the column names are missing"))


def _check_text(data: bytes, place: Place) -> None:
    """Refuse what no text of a record may hold; whole tables are looked at at once, which is quick."""
    try:
        data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise place.error(
            tr("is not UTF-8 at byte {start}", start=error.start), tr(MEND_SPREADSHEET)
        ) from error
    if len(data.translate(None, _C0)) != len(data) or (b"\xc2" in data and _C1.search(data)):
        raise place.error(tr("holds control characters"), tr(MEND_SPREADSHEET))
    if data.count(b"\r") != data.count(b"\r\n"):
        raise place.error(tr("is not CSV (a carriage return without a line feed)"), tr(MEND_SPREADSHEET))


def with_cells_around(table: PlainTable, cells: Sequence[int]) -> tuple[bytes, int]:
    """Give the rows of a table with the same few numbers in front of each, and :data:`END_OF_ROW` behind
    it.

    Parameters
    ----------
    table
        The table.
    cells
        Whole numbers.

    Returns
    -------
    bytes
        CSV in UTF-8; every row ends with a line feed, and no carriage return is in it.
    int
        How many rows these are. Whoever reads the result finds another number when the table was not CSV as
        it has to be.

    Raises
    ------
    BundleError
        If the rows are not CSV; not every such table is found here.

    Notes
    -----
    No text of a record has a carriage return in it, so that in a bundle a row ends wherever one stands.
    Rows that another program ended with a line feed alone are read and written anew.
    """
    front = "".join(f"{cell}," for cell in cells)
    rows = table.rows
    if not rows:
        return b"", 0
    if not table.ends_with_crlf:
        return _written_anew(table, front)
    body, before = rows.removesuffix(b"\r\n"), front.encode("ascii")
    end = f",{END_OF_ROW}\n".encode("ascii")
    return before + body.replace(b"\r\n", end + before) + end, body.count(b"\r") + 1


def _written_anew(table: PlainTable, front: str) -> tuple[bytes, int]:
    place = Place(bundle=table.bundle, member=f"{table.kind}.csv")
    lines = read_csv(write_csv([table.columns]) + table.rows, place)
    next(lines)
    page, count = io.StringIO(newline=""), 0
    writer = csv.writer(page, lineterminator="\n")
    for _, row in lines:
        page.write(front)
        writer.writerow([*row, END_OF_ROW])
        count += 1
    return page.getvalue().encode("utf-8"), count
