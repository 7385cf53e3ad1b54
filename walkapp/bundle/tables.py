"""Records as tables of texts, and back."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from walkapp.bundle.cells import neutralise, neutralise_unless_number, restore
from walkapp.bundle.csv_text import read_csv, write_csv
from walkapp.bundle.layout import ASK_AGAIN, ROWS_NAME, UPDATE, is_member_name, kind_of_table, table_name
from walkapp.bundle.places import Place, brief
from walkapp.bundle.rows import FirstBadRow, fields_of_rows, is_free_text, row_from_cells, row_to_cells
from walkapp.errors import RecordError
from walkapp.model.records import (
    HEADER,
    KINDS,
    CarriedRecord,
    Record,
    columns_of_kind,
    kind_of,
    record_from_plain,
)
from walkapp.model.schema import Column, columns_of

__all__ = [
    "Table",
    "latest_time",
    "read_records",
    "read_rows",
    "table_of_rows",
    "tables_of_records",
]

_HEADER_COLUMNS = columns_of(Record)
_CARRIED = Column(form="text", title="Carried on for a newer version", required=False, longest=32_767)
_CARRIED_NAME = re.compile(r"[a-z][a-z0-9_]{0,59}", re.ASCII)
_MEND_CARRIED = "they came from a newer version, update walkapp"
_YEAR_ONE = datetime(1, 1, 1)  # noqa: DTZ001 - only differences are taken


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table of a bundle.

    Parameters
    ----------
    name
        Name of its file without ending.
    title
        What it holds, in words.
    fields
        Its columns by the Table Schema standard.
    cells
        Its rows as values: not yet neutralised, sorted.
    data
        The CSV file.
    """

    name: str
    title: str
    fields: Sequence[Mapping[str, Any]]
    cells: Sequence[Sequence[str]]
    data: bytes

    def column(self, name: str) -> list[str]:
        """Give the values of one column; none when there is no such column."""
        names = [field["name"] for field in self.fields]
        return [cells[names.index(name)] for cells in self.cells] if name in names else []


def tables_of_records(records: Iterable[Record], place: Place) -> list[Table]:
    """Write records as tables.

    Parameters
    ----------
    records
        In any order; equal ones count once.
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
    for record in set(records):
        names = tuple(n for n, _ in record.cells) if isinstance(record, CarriedRecord) else ()
        groups.setdefault(kind_of(record), {}).setdefault(names, []).append(record)
    return [
        _carried_table(kind, number, names, group, place)
        if kind not in KINDS
        else _known_table(kind, group)
        for kind, layouts in sorted(groups.items())
        for number, (names, group) in enumerate(sorted(layouts.items()), start=1)
    ]


def _known_table(kind: str, records: Iterable[Record]) -> Table:
    columns = columns_of_kind(kind)
    rows = sorted(
        (_sort_key(record), [column.to_cell(getattr(record, name)) for name, column in columns.items()])
        for record in records
    )
    return Table(
        name=kind,
        title=KINDS[kind].title,
        fields=[column.table_schema(name) for name, column in columns.items()],
        cells=[cells for _, cells in rows],
        data=write_csv(
            list(columns),
            (
                [
                    neutralise(c) if col.is_free_text else c
                    for col, c in zip(columns.values(), cells, strict=True)
                ]
                for _, cells in rows
            ),
        ),
    )


def _carried_table(
    kind: str, number: int, names: tuple[str, ...], records: Iterable[Record], place: Place
) -> Table:
    name = table_name(kind, number)
    if not is_member_name(f"{name}.csv") or kind == ROWS_NAME:
        raise place.error(
            f"holds records of the kind {brief(kind)}, which cannot name a table", _MEND_CARRIED
        )
    _check_carried_names(names, place.at(member=f"{name}.csv"), _MEND_CARRIED)
    rows = sorted(
        (
            _sort_key(record),
            [column.to_cell(getattr(record, n)) for n, column in _HEADER_COLUMNS.items()]
            + [cell for _, cell in record.cells],
        )
        for record in records
        if isinstance(record, CarriedRecord)
    )
    free = [c.is_free_text for c in _HEADER_COLUMNS.values()]
    return Table(
        name=name,
        title="Records of a newer version, passed on as they came",
        fields=[
            *(column.table_schema(n) for n, column in _HEADER_COLUMNS.items()),
            *({"name": n, "type": "string"} for n in names),
        ],
        cells=[cells for _, cells in rows],
        data=write_csv(
            [*HEADER, *names],
            (
                [neutralise(c) if f else c for f, c in zip(free, cells, strict=False)]
                + [neutralise_unless_number(c) for c in cells[len(free) :]]
                for _, cells in rows
            ),
        ),
    )


def _check_carried_names(names: Sequence[str], place: Place, mend: str = ASK_AGAIN) -> None:
    if len({*HEADER, *names}) != len(HEADER) + len(names):
        raise place.error("has two columns of the same name", mend)
    for name in names:
        if not _CARRIED_NAME.fullmatch(name):
            raise place.at(column=name).error("is not the name of a column", mend)


def _sort_key(record: Record) -> tuple[str, str, str, int, str]:
    return record.concern, record.walk, record.device, record.number, record.id


def read_records(data: bytes, place: Place) -> Iterator[Record]:
    """Read the records of one table.

    Parameters
    ----------
    data
        The CSV file.
    place
        Where it is; the member's name says which kind of record it holds.

    Raises
    ------
    BundleError
        Naming row and column, if anything is not as it has to be.
    """
    rows = read_csv(data, place)
    _, header = next(rows)
    kind = kind_of_table(place.member)
    if kind in KINDS:
        columns = columns_of_kind(kind)
        _check_header(header, list(columns), place)
        return (_known_record(kind, columns, cells, row) for row, cells in rows)
    _check_header(header[: len(HEADER)], list(HEADER), place)
    names = header[len(HEADER) :]
    _check_carried_names(names, place)
    return (_carried_record(kind, names, cells, row) for row, cells in rows)


def _check_header(header: Sequence[str], wanted: Sequence[str], place: Place) -> None:
    for name in header:
        if name not in wanted:
            raise place.at(column=name).error("is not a column that this version knows", UPDATE)
    for name in wanted:
        if name not in header:
            raise place.at(column=name).error("is missing")
    if list(header) != list(wanted):
        raise place.error("has its columns in another order or twice")


def _known_record(kind: str, columns: Mapping[str, Column], cells: list[str], place: Place) -> Record:
    return _record({"kind": kind, **_values(columns, cells, place)}, columns, place)


def _carried_record(kind: str, names: list[str], cells: list[str], place: Place) -> Record:
    values = _values(_HEADER_COLUMNS, cells[: len(HEADER)], place)
    carried = [[n, restore(c)] for n, c in zip(names, cells[len(HEADER) :], strict=True)]
    for name, cell in carried:
        if problem := _CARRIED.problem(cell):
            raise place.at(column=name).error(problem)
    return _record({"kind": kind, **values, "cells": carried}, _HEADER_COLUMNS, place)


def _values(columns: Mapping[str, Column], cells: list[str], place: Place) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for (name, column), cell in zip(columns.items(), cells, strict=True):
        try:
            values[name] = column.from_cell(restore(cell) if column.is_free_text else cell)
        except RecordError as error:
            raise place.at(column=name).error(str(error)) from error
    return values


def _record(plain: Mapping[str, Any], columns: Mapping[str, Column], place: Place) -> Record:
    try:
        return record_from_plain(plain)
    except RecordError as error:
        for name, column in columns.items():
            if problem := column.problem(plain[name]):
                raise place.at(column=name).error(problem) from error
        raise place.error(str(error)) from error


def table_of_rows(rows: Iterable[FirstBadRow]) -> Table:
    """Write the computed answer as a table; the same rows in any order give the same table."""
    fields = fields_of_rows()
    free = [is_free_text(field["name"]) for field in fields]
    cells = [
        c for _, c in sorted(((r.concern, r.stream, r.station_order), row_to_cells(r)) for r in set(rows))
    ]
    return Table(
        name=ROWS_NAME,
        title="First bad station: computed from the records when the bundle was written",
        fields=fields,
        cells=cells,
        data=write_csv(
            [field["name"] for field in fields],
            ([neutralise(c) if f else c for f, c in zip(free, line, strict=True)] for line in cells),
        ),
    )


def read_rows(data: bytes, place: Place) -> tuple[FirstBadRow, ...]:
    """Read the computed answer.

    Raises
    ------
    BundleError
        Naming row and column, if anything is not as it has to be.
    """
    lines = read_csv(data, place)
    _, header = next(lines)
    names = [field["name"] for field in fields_of_rows()]
    _check_header(header, names, place)
    found = []
    for row, cells in lines:
        texts = {n: restore(c) if is_free_text(n) else c for n, c in zip(names, cells, strict=True)}
        try:
            found.append(row_from_cells(texts))
        except RecordError as error:
            raise row.error(str(error)) from error
    return tuple(found)


def latest_time(records: Iterable[Record]) -> str:
    """Give the latest time at which a record was made, as it was written; empty without records."""
    return max(((_instant(record.at), record.at) for record in records), default=(timedelta(), ""))[1]


def _instant(moment: str) -> timedelta:
    """Time since year 1 in UTC; unlike a date it may be negative, as in the first hours of year 1."""
    at = datetime.fromisoformat(moment)
    return at.replace(tzinfo=None) - _YEAR_ONE - (at.utcoffset() or timedelta())
