"""Counts along a stream from a table that a spreadsheet wrote."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator

from walkapp.analysis.results import StationTally, Tally
from walkapp.errors import CountsError

COLUMNS = ("station", "checked", "nok")
LARGEST_COUNT = 1_000_000
MOST_STATIONS = 1_000

_WHOLE = re.compile(r"[0-9]+", re.ASCII)
_NEGATIVE = re.compile(r"[-\u2212][0-9]+([.,][0-9]+)?", re.ASCII)

LONGEST_CELL = 10_000
"""Characters of a cell beyond which a quotation mark is surely missing."""


def parse_counts(text: str, name: str, *, detection: float, false_alarm: float) -> tuple[StationTally, ...]:
    """Read a table with the columns station, checked and nok, in stream order.

    Parameters
    ----------
    text
        CSV with a header row (RFC 4180), separated by commas or semicolons. Columns may stand in
        any order, further ones are ignored; capitals, blanks around names and numbers, and a byte
        order mark do no harm. Empty rows are passed over.
    name
        Name of the file, for the texts of errors.
    detection, false_alarm
        Rates of the check that all counts come from; ``0 <= false_alarm < detection <= 1``.

    Returns
    -------
    tuple of StationTally
        One for each row, of the orders 1, 2, ...; without tallies where nothing was checked.

    Raises
    ------
    CountsError
        On the first mistake: one sentence with file, row as a spreadsheet shows it (the header is
        row 1), column, and how to mend it.

    Examples
    --------
    >>> found = parse_counts("Station;Checked;NOK\\nMoulding;20;0\\nLeak test;20;9\\n", "counts.csv",
    ...     detection=0.9, false_alarm=0.005)
    >>> [(station.name, station.checked, station.nok) for station in found]
    [('Moulding', 20, 0), ('Leak test', 20, 9)]
    """
    if not 0.0 <= false_alarm < detection <= 1.0:
        raise CountsError(
            f"The detection ({detection:g}) must be above the false alarm ({false_alarm:g}) and both must "
            "lie between 0 and 1; give them as shares, for example 0.9 and 0.005."
        )
    rows = _rows(text.removeprefix("\ufeff"), name)
    places, width = _header(rows, name)
    stations: list[StationTally] = []
    row_of: dict[str, int] = {}
    for number, cells in rows:
        if len(cells) != width:
            raise CountsError(
                f"{name}, row {number}: it has {len(cells)} cells, the header has {width}; "
                "give each row one cell for each column."
            )
        station = _station(cells[places["station"]], name, number, row_of)
        checked = _count(cells[places["checked"]], name, number, "checked")
        nok = _count(cells[places["nok"]], name, number, "nok")
        if nok > checked:
            raise CountsError(
                f"{name}, row {number}, column nok: {nok} NOK of {checked} checked cannot be; "
                "mend one of the two numbers."
            )
        tally = Tally(checked=checked, nok=nok, detection=detection, false_alarm=false_alarm)
        stations.append(
            StationTally(
                order=len(stations) + 1,
                name=station,
                tallies=(tally,) if checked else (),
                next_detection=detection,
                next_false_alarm=false_alarm,
            )
        )
        if len(stations) > MOST_STATIONS:
            raise CountsError(
                f"{name}, row {number}: more than {MOST_STATIONS} stations; give one row for each station."
            )
    if not stations:
        raise CountsError(f"{name} has a header but no station; add one row for each station.")
    return tuple(stations)


def _rows(text: str, name: str) -> Iterator[tuple[int, list[str]]]:
    """Rows that are not empty, with the number that a spreadsheet shows."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    separator = _separator(lines)
    reader = csv.reader((line + "\n" for line in lines), delimiter=separator, strict=True)
    number = 0
    while True:
        number += 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise CountsError(_what_csv_says(str(error), name, number)) from error
        if any(len(cell) > LONGEST_CELL for cell in cells):
            # The csv module's own limit is one for the whole process, and others raise it.
            raise CountsError(_what_csv_says("field limit", name, number))
        if any("\0" in cell for cell in cells):
            raise CountsError(
                f"{name}, row {number}: it holds a NUL character, so this is not a CSV text; "
                "save the table as CSV (UTF-8)."
            )
        if any(cell.strip() for cell in cells):
            yield number, cells


def _separator(lines: list[str]) -> str:
    first = next((line for line in lines if line.strip(" \t,;")), "")
    return ";" if first.count(";") > first.count(",") else ","


def _what_csv_says(error: str, name: str, number: int) -> str:
    if "unexpected end of data" in error:
        return (
            f"{name}, row {number}: a quotation mark is opened and never closed; close it or take it out."
        )
    if "field limit" in error:
        return f"{name}, row {number}: a cell is far too long; look for a missing quotation mark."
    return (
        f"{name}, row {number}: there is text behind a closing quotation mark; double the quotation "
        "marks inside a quoted cell."
    )


def _header(rows: Iterator[tuple[int, list[str]]], name: str) -> tuple[dict[str, int], int]:
    """Place of each column needed, and the number of all columns."""
    number, cells = next(rows, (0, []))
    if not cells:
        raise CountsError(f"{name} is empty; give it the columns station, checked and nok.")
    titles = [cell.strip().casefold() for cell in cells]
    for column in COLUMNS:
        if column not in titles:
            raise CountsError(
                f"{name}, row {number}: the column {column} is missing; "
                "the first row must name the columns station, checked and nok."
            )
        if titles.count(column) > 1:
            raise CountsError(
                f"{name}, row {number}: the column {column} is there twice; take one of the two out."
            )
    return {column: titles.index(column) for column in COLUMNS}, len(titles)


def _station(cell: str, name: str, number: int, row_of: dict[str, int]) -> str:
    station = " ".join(cell.split())
    where = f"{name}, row {number}, column station"
    if not station:
        raise CountsError(f"{where}: the name is missing; give the station a name.")
    if not station.isprintable():
        raise CountsError(
            f"{where}: {_shown(cell)} holds a character that cannot be shown; type the name anew."
        )
    earlier = row_of.setdefault(station.casefold(), number)
    if earlier != number:
        raise CountsError(
            f"{where}: {_shown(station)} stands in row {earlier} already; "
            "add the two rows up, or give one of them another name."
        )
    return station


def _count(cell: str, name: str, number: int, column: str) -> int:
    typed = cell.strip()
    where = f"{name}, row {number}, column {column}"
    if not typed:
        raise CountsError(f"{where}: the number is missing; write 0 where nothing was counted.")
    if _NEGATIVE.fullmatch(typed):
        raise CountsError(f"{where}: {_shown(typed)} is negative; give a count of 0 or more.")
    if not _WHOLE.fullmatch(typed):
        raise CountsError(f"{where}: {_shown(typed)} is not a whole number; give a count such as 20.")
    digits = typed.lstrip("0") or "0"
    if len(digits) > len(str(LARGEST_COUNT)) or int(digits) > LARGEST_COUNT:
        raise CountsError(
            f"{where}: {_shown(typed)} is more than a million parts; check the number, or split the count."
        )
    return int(digits)


def _shown(cell: str) -> str:
    return repr(cell if len(cell) <= 40 else cell[:37] + "...")
