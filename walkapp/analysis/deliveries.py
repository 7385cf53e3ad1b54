"""Deliveries month by month from a table that a spreadsheet or another program wrote."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from walkapp.analysis.csv_rows import CsvFaultError, CsvRow, csv_rows
from walkapp.errors import DeliveriesError, Mistake
from walkapp.language import month_text, tr, trn, whole_text

COLUMNS = ("month", "delivered")
FURTHER_COLUMNS = ("part_number", "nok")

MOST_PARTS = 1_000_000_000
"""Parts a month beyond which a number is surely wrong."""

MOST_ROWS = 5_000
MOST_MISTAKES = 30
"""Mistakes that are told; nobody mends hundreds before looking again."""

FIRST_YEAR = 1970
LONGEST_PART_NUMBER = 60

MONTH_EXAMPLE = "2026-03"

_YEAR_FIRST = re.compile(
    r"([0-9]{4})[-/]([0-9]{1,2})(?:-([0-9]{1,2})(?:[ T][0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]+)?)?)?)?",
    re.ASCII,
)
_YEAR_LAST = re.compile(r"([0-9]{1,2})[-/.]([0-9]{4})", re.ASCII)
_DAY_AND_MONTH = re.compile(r"[0-9]{1,2}[-/.][0-9]{1,2}[-/.][0-9]{2,4}", re.ASCII)
_WHOLE = re.compile(r"[0-9]+", re.ASCII)
_WITH_SEPARATORS = re.compile(r"[-+]?[0-9][0-9.,'’\s]*[0-9]|[-+]?[0-9]+[.,]")  # blanks of any kind
_NEGATIVE = re.compile(r"[-−][0-9]+", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryRow:
    """What a row of the table says.

    Parameters
    ----------
    line
        Where it stands, in lines from 1.
    month
        First day of the month.
    part_number
        Empty for all parts of the stream.
    delivered
        Parts delivered, 0 or more.
    nok
        NOK parts as the customer counts them; none when the row says nothing of them.
    """

    line: int
    month: date
    part_number: str
    delivered: int
    nok: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveriesTable:
    """A table of deliveries.

    Parameters
    ----------
    rows
        At least one, each of another month or part number.
    unread
        Names of the columns that say nothing to this program.
    """

    rows: tuple[DeliveryRow, ...]
    unread: tuple[str, ...]


def parse_deliveries(text: str, name: str, today: date) -> DeliveriesTable:
    """Read a table with the columns month and delivered.

    Further columns, which may be missing and each cell of which may be empty: ``part_number``, empty for
    all parts of the stream, and ``nok``, the NOK parts of the month as the customer counts them.

    Parameters
    ----------
    text
        CSV with a header row (RFC 4180), separated by commas, semicolons or tabs. Columns may stand in any
        order; capitals, blanks around names and numbers, and a byte order mark do no harm. Empty rows are
        passed over. A month is written as 2026-03, as a date of it such as 2026-03-31, or as 03/2026.
        Numbers are whole and without separators: what could be read in two ways is refused, never guessed.
    name
        Name of the file, for the texts of errors.
    today
        Later months are refused.

    Raises
    ------
    DeliveriesError
        With all mistakes, up to ``MOST_MISTAKES``: file, line, what is wrong and how to mend it.

    Examples
    --------
    >>> table = parse_deliveries("Month;Delivered\\n2026-03;50000\\n", "d.csv", date(2026, 4, 1))
    >>> [(row.month.isoformat(), row.delivered, row.nok) for row in table.rows]
    [('2026-03-01', 50000, None)]
    """
    return _Reading(name, today).read(text)


def read_month(text: str) -> date | None:
    """Read a month that was typed: 2026-03, a date of it, or 03/2026; none when it is something else.

    Examples
    --------
    >>> read_month("2026-03"), read_month("03/2026"), read_month("03/04/2026")
    (datetime.date(2026, 3, 1), datetime.date(2026, 3, 1), None)
    """
    typed = text.strip()
    if found := _YEAR_FIRST.fullmatch(typed):
        year, month, day = found[1], found[2], found[3] or "1"
    elif found := _YEAR_LAST.fullmatch(typed):
        year, month, day = found[2], found[1], "1"
    else:
        return None
    try:
        return date(int(year), int(month), int(day)).replace(day=1)
    except ValueError:
        return None


def month_problem(month: date | None, typed: str, today: date) -> tuple[str, str] | None:
    """Say what is wrong with a month and how to mend it; none when nothing is.

    Parameters
    ----------
    month
        What :func:`read_month` read.
    typed
        What stood there.
    today
        Later months are still to come.
    """
    if month is None:
        if _DAY_AND_MONTH.fullmatch(typed.strip()):
            return tr("{shown} can be read as two dates", shown=shown(typed)), tr(
                "write the month as {month_example}", month_example=MONTH_EXAMPLE
            )
        return tr("{shown} is no month", shown=shown(typed)), tr(
            "write it as {month_example}", month_example=MONTH_EXAMPLE
        )
    if month > today:
        return tr("{shown} is still to come", shown=shown(typed)), tr(
            "mend it, or the date of this machine"
        )
    if month.year < FIRST_YEAR:
        return tr("{shown} is before {first_year}", shown=shown(typed), first_year=FIRST_YEAR), tr(
            "mend the year"
        )
    return None


def count_problem(typed: str) -> tuple[str, str] | None:
    """Say what is wrong with a number of parts and how to mend it; none when nothing is.

    Examples
    --------
    >>> count_problem("50000")
    >>> count_problem("1.234")
    ("'1.234' can be read in two ways", 'write whole numbers without separators, such as 50000')
    """
    if _WHOLE.fullmatch(typed):
        # Python refuses to read a number of thousands of digits.
        if len(typed.lstrip("0")) > len(str(MOST_PARTS)) or read_count(typed) > MOST_PARTS:
            return tr("{shown} is more than a thousand million parts", shown=shown(typed)), tr(
                "check the number"
            )
        return None
    if _NEGATIVE.fullmatch(typed):
        return tr("{shown} is negative", shown=shown(typed)), tr("give a count of 0 or more")
    if typed[:1] in ("=", "+", "@") or typed[:2] == "-=":
        return tr("{shown} is a formula or a sign, not a number", shown=shown(typed)), tr(
            "save the table with its values"
        )
    if _WITH_SEPARATORS.fullmatch(typed):
        return (
            tr("{shown} can be read in two ways", shown=shown(typed)),
            tr("write whole numbers without separators, such as 50000"),
        )
    return tr("{shown} is not a whole number", shown=shown(typed)), tr("give a count such as 50000")


def read_count(typed: str) -> int:
    """Read a number of which :func:`count_problem` finds nothing wrong."""
    return int(typed.lstrip("0") or "0")


def shown(cell: str) -> str:
    """Quote what stands in a cell, short."""
    return repr(cell if len(cell) <= 40 else f"{cell[:37]}...")


def _cells(many: int) -> str:
    return trn("{count} cell", "{count} cells", many)


class _Reading:
    """Reads one table and gathers all that is wrong with it."""

    def __init__(self, name: str, today: date) -> None:
        self._name = name
        self._today = today
        self._mistakes: list[Mistake] = []

    def read(self, text: str) -> DeliveriesTable:
        rows: list[DeliveryRow] = []
        lines: dict[tuple[date, str], int] = {}
        places: Mapping[str, int] | None = None
        unread: tuple[str, ...] = ()
        width = 0
        for row in self._rows(text):
            if places is None:
                places, width = self._header(row), len(row.cells)
                unread = tuple(
                    cell.strip()
                    for i, cell in enumerate(row.cells)
                    if cell.strip() and i not in places.values()
                )
                continue
            if len(row.cells) != width:
                self._wrong(
                    row.line,
                    tr("it has {cells}, the header has {width}", cells=_cells(len(row.cells)), width=width),
                    tr("give each row one cell for each column"),
                )
            elif (made := self._row(row, places)) is not None:
                key = made.month, made.part_number.casefold()
                earlier = lines.setdefault(key, row.line)
                if earlier != row.line:
                    part = (
                        tr(" of part number {shown}", shown=shown(made.part_number))
                        if made.part_number
                        else ""
                    )
                    self._wrong(
                        row.line,
                        tr(
                            "the month {month}{part} stands in line {earlier} already",
                            month=month_text(made.month),
                            part=part,
                            earlier=earlier,
                        ),
                        tr("add the two rows up, or take one out"),
                    )
                rows.append(made)
            if len(self._mistakes) >= MOST_MISTAKES:
                self._wrong(
                    row.line, tr("there may be more mistakes behind this line"), tr("mend these first")
                )
                break
            if len(rows) > MOST_ROWS:
                self._wrong(
                    row.line,
                    tr("there are more than {most_rows} rows", most_rows=whole_text(MOST_ROWS)),
                    tr("give one row for each month"),
                )
                break
        if places is None and not self._mistakes:
            self._wrong(0, tr("it is empty"), tr("give it the columns month and delivered"))
        elif not rows and not self._mistakes:
            self._wrong(0, tr("it has a header but no month"), tr("add one row for each month"))
        if self._mistakes:
            raise DeliveriesError(self._mistakes)
        return DeliveriesTable(rows=tuple(rows), unread=unread)

    def _rows(self, text: str) -> Iterator[CsvRow]:
        try:
            yield from csv_rows(text, ",;\t")
        except CsvFaultError as fault:
            self._wrong(fault.line, fault.what, fault.mend)

    def _header(self, row: CsvRow) -> Mapping[str, int]:
        titles = [re.sub(r"[\s_-]+", "_", cell.strip().casefold()) for cell in row.cells]
        for column in COLUMNS:
            if column not in titles:
                self._wrong(
                    row.line,
                    tr("the column {column} is missing", column=column),
                    tr("the first row must name the columns month and delivered"),
                )
        for column in (*COLUMNS, *FURTHER_COLUMNS):
            if titles.count(column) > 1:
                self._wrong(
                    row.line,
                    tr("the column {column} is there twice", column=column),
                    tr("take one of the two out"),
                )
        if self._mistakes:
            raise DeliveriesError(self._mistakes)
        return {c: titles.index(c) for c in (*COLUMNS, *FURTHER_COLUMNS) if c in titles}

    def _row(self, row: CsvRow, places: Mapping[str, int]) -> DeliveryRow | None:
        cells = {column: row.cells[place].strip() for column, place in places.items()}
        before = len(self._mistakes)
        month = read_month(cells["month"])
        if not cells["month"]:
            self._wrong(
                row.line,
                tr("the month is missing"),
                tr("write it as {month_example}", month_example=MONTH_EXAMPLE),
            )
        elif problem := month_problem(month, cells["month"], self._today):
            self._wrong(row.line, *problem)
        if not cells["delivered"]:
            self._wrong(
                row.line, tr("the number delivered is missing"), tr("write 0 where nothing was delivered")
            )
        elif problem := count_problem(cells["delivered"]):
            self._wrong(row.line, tr("delivered: {problem}", problem=problem[0]), problem[1])
        if cells.get("nok") and (problem := count_problem(cells["nok"])):
            self._wrong(row.line, tr("nok: {problem}", problem=problem[0]), problem[1])
        part = " ".join(cells.get("part_number", "").split())
        if not part.isprintable():
            self._wrong(
                row.line,
                tr("part_number: {shown} holds a character that cannot be shown", shown=shown(part)),
                tr("type it anew"),
            )
        elif len(part) > LONGEST_PART_NUMBER:
            self._wrong(
                row.line,
                tr("part_number: {shown} has more than 60 characters", shown=shown(part)),
                tr("shorten it"),
            )
        if len(self._mistakes) > before or month is None:
            return None
        return DeliveryRow(
            line=row.line,
            month=month,
            part_number=part,
            delivered=read_count(cells["delivered"]),
            nok=read_count(cells["nok"]) if cells.get("nok") else None,
        )

    def _wrong(self, line: int, what: str, mend: str) -> None:
        self._mistakes.append(Mistake(self._name, line, what, mend))
