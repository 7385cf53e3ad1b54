"""Counts along a stream from a table that a spreadsheet wrote."""

from __future__ import annotations

import re
from collections.abc import Iterator

from walkapp.analysis.csv_rows import CsvFaultError, csv_rows
from walkapp.analysis.results import StationTally, Tally
from walkapp.errors import CountsError

COLUMNS = ("station", "checked", "nok")
FURTHER_COLUMNS = ("detection", "false_alarm", "minutes", "sorts", "weight")
LARGEST_COUNT = 1_000_000
MOST_STATIONS = 1_000
MOST_MINUTES = 1_440.0
MOST_WEIGHT = 1_000.0

_WHOLE = re.compile(r"[0-9]+", re.ASCII)
_NUMBER = re.compile(r"[0-9]{1,6}(\.[0-9]{1,12})?|\.[0-9]{1,12}", re.ASCII)
_NEGATIVE = re.compile(r"[-\u2212][0-9]+([.,][0-9]+)?", re.ASCII)


def parse_counts(
    text: str, name: str, *, detection: float, false_alarm: float, incoming: bool = False
) -> tuple[StationTally, ...]:
    """Read a table with the columns station, checked and nok, in stream order.

    Further columns, each of which may be missing, and each cell of which may be empty: ``detection`` and
    ``false_alarm`` of the station's check, ``minutes`` of walking from the station before, ``sorts`` (yes
    or no), whether parts can be sorted out, reworked or mixed there, and ``weight``, how probable it is
    beforehand, relative to the others, that the defect starts there.

    Parameters
    ----------
    text
        CSV with a header row (RFC 4180), separated by commas or semicolons. Columns may stand in
        any order, unknown ones are ignored; capitals, blanks around names and numbers, and a byte
        order mark do no harm. Empty rows are passed over.
    name
        Name of the file, for the texts of errors.
    detection, false_alarm
        Rates of the checks for which the table gives none; ``0 <= false_alarm < detection <= 1``.
    incoming
        Whether the first row is the incoming material.

    Returns
    -------
    tuple of StationTally
        One for each row, of the orders 1, 2, ... (from 0 with `incoming`); without tallies where nothing
        was checked.

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
    rows = _rows(text, name)
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
        further = _Further(cells, places, name, number)
        d = further.share("detection", detection)
        f = further.share("false_alarm", false_alarm)
        if not f < d:
            raise CountsError(
                f"{name}, row {number}: the detection ({d:g}) must be above the false alarm ({f:g}); a "
                "check that calls good parts NOK as often as bad ones finds nothing."
            )
        tally = Tally(checked=checked, nok=nok, detection=d, false_alarm=f)
        stations.append(
            StationTally(
                order=len(stations) + (0 if incoming else 1),
                name=station,
                tallies=(tally,) if checked else (),
                minutes=further.number("minutes", MOST_MINUTES, 1.0),
                next_detection=d,
                next_false_alarm=f,
                sorts=further.yes_or_no("sorts"),
                weight=further.number("weight", MOST_WEIGHT, 1.0),
            )
        )
        if len(stations) > MOST_STATIONS:
            raise CountsError(
                f"{name}, row {number}: more than {MOST_STATIONS} stations; give one row for each station."
            )
    if not stations:
        raise CountsError(f"{name} has a header but no station; add one row for each station.")
    if not any(station.weight for station in stations):
        raise CountsError(f"{name}, column weight: every station has 0; give one at least more than 0.")
    return tuple(stations)


def _rows(text: str, name: str) -> Iterator[tuple[int, list[str]]]:
    """Rows that are not empty, with the number that a spreadsheet shows."""
    try:
        for row in csv_rows(text, ",;"):
            yield row.number, list(row.cells)
    except CsvFaultError as fault:
        raise CountsError(f"{name}, {fault}.") from fault


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
    for column in FURTHER_COLUMNS:
        if titles.count(column) > 1:
            raise CountsError(
                f"{name}, row {number}: the column {column} is there twice; take one of the two out."
            )
    known = [column for column in (*COLUMNS, *FURTHER_COLUMNS) if column in titles]
    return {column: titles.index(column) for column in known}, len(titles)


class _Further:
    """The columns of a row that may be missing or empty."""

    def __init__(self, cells: list[str], places: dict[str, int], name: str, number: int) -> None:
        self._cells = cells
        self._places = places
        self._row = f"{name}, row {number}"

    def _typed(self, column: str) -> str:
        return self._cells[self._places[column]].strip() if column in self._places else ""

    def share(self, column: str, default: float) -> float:
        return self.number(column, 1.0, default)

    def number(self, column: str, most: float, default: float) -> float:
        typed = self._typed(column)
        if not typed:
            return default
        # A decimal comma, as half of Europe's spreadsheets write it.
        text = typed.replace(",", ".", 1)
        value = float(text) if _NUMBER.fullmatch(text) else -1.0
        if not 0.0 <= value <= most:
            raise CountsError(
                f"{self._row}, column {column}: {_shown(typed)} must be a number from 0 to {most:g}."
            )
        return value

    def yes_or_no(self, column: str) -> bool:
        typed = self._typed(column).casefold()
        if typed not in ("", "yes", "no"):
            raise CountsError(
                f"{self._row}, column {column}: {_shown(self._typed(column))} must be yes or no."
            )
        return typed == "yes"


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
