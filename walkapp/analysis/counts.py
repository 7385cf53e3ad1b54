"""Counts along a stream from a table that a spreadsheet wrote."""

from __future__ import annotations

import re
from collections.abc import Iterator

from walkapp.analysis.csv_rows import CsvFaultError, csv_rows
from walkapp.analysis.results import StationTally, Tally
from walkapp.errors import CountsError
from walkapp.language import decimal_text, tr

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
            tr(
                "The detection ({detection}) must be above the false alarm ({false_alarm}) and "
                "both must lie between 0 and 1; give them as shares, for example 0.9 and 0.005.",
                detection=decimal_text(f"{detection:g}"),
                false_alarm=decimal_text(f"{false_alarm:g}"),
            )
        )
    rows = _rows(text, name)
    places, width = _header(rows, name)
    stations: list[StationTally] = []
    row_of: dict[str, int] = {}
    for number, cells in rows:
        if len(cells) != width:
            raise CountsError(
                tr(
                    "{name}, row {number}: it has {cells} cells, the header has {width}; give "
                    "each row one cell for each column.",
                    name=name,
                    number=number,
                    cells=len(cells),
                    width=width,
                )
            )
        station = _station(cells[places["station"]], name, number, row_of)
        checked = _count(cells[places["checked"]], name, number, "checked")
        nok = _count(cells[places["nok"]], name, number, "nok")
        if nok > checked:
            raise CountsError(
                tr(
                    "{name}, row {number}, column nok: {nok} NOK of {checked} checked cannot be; "
                    "mend one of the two numbers.",
                    name=name,
                    number=number,
                    nok=nok,
                    checked=checked,
                )
            )
        further = _Further(cells, places, name, number)
        d = further.share("detection", detection)
        f = further.share("false_alarm", false_alarm)
        if not f < d:
            raise CountsError(
                tr(
                    "{name}, row {number}: the detection ({d}) must be above the false alarm "
                    "({f}); a check that calls good parts NOK as often as bad ones finds nothing.",
                    name=name,
                    number=number,
                    d=decimal_text(f"{d:g}"),
                    f=decimal_text(f"{f:g}"),
                )
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
                tr(
                    "{name}, row {number}: more than {most_stations} stations; give one row for "
                    "each station.",
                    name=name,
                    number=number,
                    most_stations=MOST_STATIONS,
                )
            )
    if not stations:
        raise CountsError(
            tr("{name} has a header but no station; add one row for each station.", name=name)
        )
    if not any(station.weight for station in stations):
        raise CountsError(
            tr("{name}, column weight: every station has 0; give one at least more than 0.", name=name)
        )
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
        raise CountsError(tr("{name} is empty; give it the columns station, checked and nok.", name=name))
    titles = [cell.strip().casefold() for cell in cells]
    for column in COLUMNS:
        if column not in titles:
            raise CountsError(
                tr(
                    "{name}, row {number}: the column {column} is missing; the first row must "
                    "name the columns station, checked and nok.",
                    name=name,
                    number=number,
                    column=column,
                )
            )
        if titles.count(column) > 1:
            raise CountsError(
                tr(
                    "{name}, row {number}: the column {column} is there twice; take one of the two out.",
                    name=name,
                    number=number,
                    column=column,
                )
            )
    for column in FURTHER_COLUMNS:
        if titles.count(column) > 1:
            raise CountsError(
                tr(
                    "{name}, row {number}: the column {column} is there twice; take one of the two out.",
                    name=name,
                    number=number,
                    column=column,
                )
            )
    known = [column for column in (*COLUMNS, *FURTHER_COLUMNS) if column in titles]
    return {column: titles.index(column) for column in known}, len(titles)


class _Further:
    """The columns of a row that may be missing or empty."""

    def __init__(self, cells: list[str], places: dict[str, int], name: str, number: int) -> None:
        self._cells = cells
        self._places = places
        self._row = tr("{name}, row {number}", name=name, number=number)

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
                tr(
                    "{row}, column {column}: {shown} must be a number from 0 to {most}.",
                    row=self._row,
                    column=column,
                    shown=_shown(typed),
                    most=decimal_text(f"{most:g}"),
                )
            )
        return value

    def yes_or_no(self, column: str) -> bool:
        typed = self._typed(column).casefold()
        if typed not in ("", "yes", "no"):
            raise CountsError(
                tr(
                    "{row}, column {column}: {shown} must be yes or no.",
                    row=self._row,
                    column=column,
                    shown=_shown(self._typed(column)),
                )
            )
        return typed == "yes"


def _station(cell: str, name: str, number: int, row_of: dict[str, int]) -> str:
    station = " ".join(cell.split())
    where = tr("{name}, row {number}, column station", name=name, number=number)
    if not station:
        raise CountsError(tr("{where}: the name is missing; give the station a name.", where=where))
    if not station.isprintable():
        raise CountsError(
            tr(
                "{where}: {shown} holds a character that cannot be shown; type the name anew.",
                where=where,
                shown=_shown(cell),
            )
        )
    earlier = row_of.setdefault(station.casefold(), number)
    if earlier != number:
        raise CountsError(
            tr(
                "{where}: {shown} stands in row {earlier} already; add the two rows up, or give "
                "one of them another name.",
                where=where,
                shown=_shown(station),
                earlier=earlier,
            )
        )
    return station


def _count(cell: str, name: str, number: int, column: str) -> int:
    typed = cell.strip()
    where = tr("{name}, row {number}, column {column}", name=name, number=number, column=column)
    if not typed:
        raise CountsError(
            tr("{where}: the number is missing; write 0 where nothing was counted.", where=where)
        )
    if _NEGATIVE.fullmatch(typed):
        raise CountsError(
            tr("{where}: {shown} is negative; give a count of 0 or more.", where=where, shown=_shown(typed))
        )
    if not _WHOLE.fullmatch(typed):
        raise CountsError(
            tr(
                "{where}: {shown} is not a whole number; give a count such as 20.",
                where=where,
                shown=_shown(typed),
            )
        )
    digits = typed.lstrip("0") or "0"
    if len(digits) > len(str(LARGEST_COUNT)) or int(digits) > LARGEST_COUNT:
        raise CountsError(
            tr(
                "{where}: {shown} is more than a million parts; check the number, or split the count.",
                where=where,
                shown=_shown(typed),
            )
        )
    return int(digits)


def _shown(cell: str) -> str:
    return repr(cell if len(cell) <= 40 else cell[:37] + "...")
