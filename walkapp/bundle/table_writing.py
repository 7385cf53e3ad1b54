"""Records and the computed answer as tables, written piece by piece and read back on the way."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from operator import attrgetter
from typing import Any, TypeVar

from walkapp.bundle.columns import TableColumn, carried_columns, columns_of_class
from walkapp.bundle.csv_text import read_csv, write_csv
from walkapp.bundle.layout import ROWS_NAME, is_member_name, table_name
from walkapp.bundle.places import Place, brief
from walkapp.bundle.rows import FirstBadRow, row_columns
from walkapp.bundle.tables import check_carried_names
from walkapp.errors import RecordError
from walkapp.language import msg, tr
from walkapp.model.records import HEADER, KINDS, CarriedRecord, Record, kind_of

__all__ = ["WRITE_AGAIN", "Table", "latest_time", "table_of_rows", "tables_of_records"]

WRITE_AGAIN = msg("write it again")
"""How to mend a bundle that does not read back."""

_ROWS_AT_ONCE = 500
_MEND_CARRIED = msg("they came from a newer version, update walkapp")
_YEAR_ONE = datetime(1, 1, 1)  # noqa: DTZ001 - only differences are taken

R = TypeVar("R")


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table of a bundle.

    Parameters
    ----------
    name
        Name of its file without ending.
    title
        What it holds, in words.
    columns
        Its columns, in order.
    rows
        What becomes its rows, sorted.
    values_of
        Gives the values of one row in the order of the columns.
    """

    name: str
    title: str
    columns: Sequence[TableColumn]
    rows: Sequence[Any]
    values_of: Callable[[Any], Sequence[Any]]

    def column(self, name: str) -> list[str]:
        """Give the values of one column of texts; none when there is no such column.

        Of a kind that this version does not know only a newer one can tell what a column beyond the header
        holds, whatever its name: it counts as none.
        """
        is_carried = any(isinstance(row, CarriedRecord) for row in self.rows[:1])
        if all(column.name != name for column in self.columns) or (is_carried and name not in HEADER):
            return []
        return [getattr(row, name) for row in self.rows]

    def pieces(self, place: Place) -> Iterator[bytes]:
        """Write the table as CSV, piece by piece; together they are the file.

        Raises
        ------
        BundleError
            If the cells of a piece do not read back as the very values that were written.

        Notes
        -----
        What is given out has been through the same steps as on reading: CSV, apostrophes, and each
        column's own reading. A record is checked when it is made, so equal values make an equal
        record, and it is not made a second time. What becomes of the bytes on disk is checked by
        their SHA-256.
        """
        here = place.at(member=f"{self.name}.csv")
        yield write_csv([[column.name for column in self.columns]])
        for start in range(0, len(self.rows), _ROWS_AT_ONCE):
            values = list(zip(*map(self.values_of, self.rows[start : start + _ROWS_AT_ONCE]), strict=True))
            piece = write_csv(zip(*self._cells(values), strict=True))
            self._check(piece, values, here)
            yield piece

    def _cells(self, values: Iterable[Sequence[Any]]) -> Iterator[Iterable[str]]:
        """Cells column by column: whole columns at once take a third of the time."""
        for column, those in zip(self.columns, values, strict=True):
            yield those if column.write is None else map(column.write, those)

    def _check(self, piece: bytes, values: list[tuple[Any, ...]], place: Place) -> None:
        found = zip(*(cells for _, cells in read_csv(piece, place)), strict=True)
        for column, cells, written in zip(self.columns, found, values, strict=True):
            here = place.at(column=column.name)
            try:
                read = cells if column.read is None else tuple(map(column.read, cells))
            except RecordError as error:
                raise here.error(str(error), tr(_MEND_CARRIED)) from error
            if read != written:
                raise here.error(tr("does not read back as it was written"), tr(WRITE_AGAIN))


def tables_of_records(records: Sequence[Record], place: Place) -> list[Table]:
    """Arrange records in tables.

    Parameters
    ----------
    records
        Each once, in any order.
    place
        The bundle, for complaints.

    Returns
    -------
    list of Table
        One for each kind that there is; of a kind that this version does not know, one for each
        set of columns. The same records always give the same tables.

    Raises
    ------
    BundleError
        If a carried record has a kind or field that cannot be the name of a table or column.
    """
    groups: dict[str, dict[tuple[str, ...], list[Record]]] = {}
    for record in records:
        names = tuple(n for n, _ in record.cells) if isinstance(record, CarriedRecord) else ()
        groups.setdefault(kind_of(record), {}).setdefault(names, []).append(record)
    return [
        _known_table(kind, group) if kind in KINDS else _carried_table(kind, number, names, group, place)
        for kind, layouts in sorted(groups.items())
        for number, (names, group) in enumerate(sorted(layouts.items()), start=1)
    ]


def _known_table(kind: str, records: list[Record]) -> Table:
    columns = columns_of_class(KINDS[kind])
    values_of = attrgetter(*(column.name for column in columns))
    return Table(
        name=kind,
        title=KINDS[kind].title,
        columns=columns,
        rows=_sorted(records, columns, values_of),
        values_of=values_of,
    )


def _carried_table(
    kind: str, number: int, names: tuple[str, ...], records: list[Record], place: Place
) -> Table:
    name = table_name(kind, number)
    if not is_member_name(f"{name}.csv") or kind == ROWS_NAME:
        raise place.error(
            tr("holds records of the kind {brief}, which cannot name a table", brief=brief(kind)),
            tr(_MEND_CARRIED),
        )
    check_carried_names(names, place.at(member=f"{name}.csv"), tr(_MEND_CARRIED))
    columns = (*columns_of_class(Record), *carried_columns(names))
    return Table(
        name=name,
        # no text: a column of a file, the same in every language
        title="Records of a newer version, passed on as they came",
        columns=columns,
        rows=_sorted(records, columns, _carried_values),
        values_of=_carried_values,
    )


_header_values = attrgetter(*HEADER)


def _carried_values(record: CarriedRecord) -> tuple[Any, ...]:
    return (*_header_values(record), *(cell for _, cell in record.cells))


_record_place = attrgetter("concern", "walk", "device", "number", "id")


def _sorted(
    records: list[Record], columns: Sequence[TableColumn], values_of: Callable[[Any], Sequence[Any]]
) -> list[Record]:
    if len({record.id for record in records}) == len(records):
        return sorted(records, key=_record_place)
    # Records of one id, as a cloned tablet makes them.
    return _sorted_by_all(records, _record_place, columns, values_of)


def _sorted_by_all(
    rows: Iterable[R],
    place_of: Callable[[R], tuple[Any, ...]],
    columns: Sequence[TableColumn],
    values_of: Callable[[R], Sequence[Any]],
) -> list[R]:
    """Sort by place, then by the cells."""

    def cells(row: R) -> Iterator[str]:
        for column, value in zip(columns, values_of(row), strict=True):
            yield value if column.write is None else column.write(value)

    return sorted(rows, key=lambda row: (*place_of(row), *cells(row)))


def table_of_rows(rows: Iterable[FirstBadRow]) -> Table:
    """Arrange the computed answer in a table; the same rows in any order give the same table."""
    columns = row_columns()
    values_of = attrgetter(*(column.name for column in columns))
    place_of = attrgetter("concern", "stream", "station_order")
    return Table(
        name=ROWS_NAME,
        # no text: a column of a file, the same in every language
        title="First bad station: computed from the records when the bundle was written",
        columns=columns,
        rows=_sorted_by_all(set(rows), place_of, columns, values_of),
        values_of=values_of,
    )


def latest_time(records: Iterable[Record]) -> str:
    """Give the latest time at which a record was made, as it was written; empty without records."""
    latest: dict[tuple[int, str], str] = {}
    for at in (record.at for record in records):
        # Times of one length and one offset are in order as texts; reading all of them takes long.
        alike = len(at), "Z" if at.endswith("Z") else at[-6:]
        latest[alike] = max(latest.get(alike, ""), at)
    return max(((_instant(at), at) for at in latest.values()), default=(timedelta(), ""))[1]


def _instant(moment: str) -> timedelta:
    """Time since year 1 in UTC; unlike a date it may be negative, as in the first hours of year 1."""
    at = datetime.fromisoformat(moment)
    return at.replace(tzinfo=None) - _YEAR_ONE - (at.utcoffset() or timedelta())
