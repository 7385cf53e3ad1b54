"""Records and the computed answer, read from the tables of a bundle."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from walkapp.bundle.columns import TableColumn, carried_columns, columns_of_class
from walkapp.bundle.csv_text import read_csv
from walkapp.bundle.layout import FORMAT, UPDATE, kind_of_table
from walkapp.bundle.places import Place
from walkapp.bundle.rows import FirstBadRow, row_columns, row_from_cells
from walkapp.errors import RecordError
from walkapp.language import tr
from walkapp.model.records import HEADER, KINDS, CarriedRecord, Record, columns_of_kind
from walkapp.model.schema import Column, columns_of

__all__ = ["check_carried_names", "check_header", "read_records", "read_rows"]

_HEADER = columns_of(Record)
_CARRIED_NAME = re.compile(r"[a-z][a-z0-9_]{0,59}", re.ASCII)


def check_carried_names(names: Sequence[str], place: Place, mend: str = "") -> None:
    """Refuse names that cannot be columns of a kind that this version does not know.

    Raises
    ------
    BundleError
        Naming the first one.
    """
    if len({*HEADER, *names}) != len(HEADER) + len(names):
        raise place.error(tr("has two columns of the same name"), mend)
    for name in names:
        if not _CARRIED_NAME.fullmatch(name):
            raise place.at(column=name).error(tr("is not the name of a column"), mend)


def read_records(data: bytes, place: Place, number: int) -> Iterator[Record]:
    """Read the records of one table.

    Parameters
    ----------
    data
        The CSV file.
    place
        Where it is; the member's name says which kind of record it holds.
    number
        Format of the bundle.

    Raises
    ------
    BundleError
        Naming row and column, if anything is not as it has to be.
    """
    lines = read_csv(data, place)
    _, header = next(lines)
    kind = kind_of_table(place.member)
    check_header(header, place, number)
    if kind in KINDS:
        known = columns_of_kind(kind)
        columns = tuple(c for c in columns_of_class(KINDS[kind], number) if c.name in header)
        for row, cells in lines:
            values = _values(columns, cells, place, row)
            yield _record(KINDS[kind], values, known, place, row)
    else:
        names = header[len(HEADER) :]
        columns = (*columns_of_class(Record, number), *carried_columns(names, number))
        for row, cells in lines:
            values = _values(columns, cells, place, row)
            carried = tuple((name, values.pop(name)) for name in names)
            values |= {"carried_kind": kind, "cells": carried}
            yield _record(CarriedRecord, values, _HEADER, place, row)


def check_header(header: Sequence[str], place: Place, number: int) -> None:
    """Refuse a table whose columns are not those of its kind.

    Parameters
    ----------
    header
        Names of the columns as they stand in its first row.
    place
        Where it is; the member's name says which kind of record it holds.
    number
        Format of the bundle.

    Raises
    ------
    BundleError
        Naming the first column that is wrong.
    """
    kind = kind_of_table(place.member)
    if kind in KINDS:
        known = columns_of_kind(kind)
        # A table of an older format lacks what came later, and nothing of that must hold anything.
        older = (
            {name for name, column in known.items() if not column.required} if number < FORMAT else set()
        )
        wanted = [name for name in known if name in header or name not in older]
        _check_header(header, wanted, place)
    else:
        _check_header(header[: len(HEADER)], list(HEADER), place)
        check_carried_names(header[len(HEADER) :], place)


def _check_header(header: Sequence[str], wanted: Sequence[str], place: Place) -> None:
    for name in header:
        if name not in wanted:
            raise place.at(column=name).error(tr("is not a column that this version knows"), tr(UPDATE))
    for name in wanted:
        if name not in header:
            raise place.at(column=name).error(tr("is missing"))
    if list(header) != list(wanted):
        raise place.error(tr("has its columns in another order or twice"))


def _values(columns: Sequence[TableColumn], cells: list[str], place: Place, row: int) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for column, cell in zip(columns, cells, strict=True):
        try:
            values[column.name] = cell if column.read is None else column.read(cell)
        except RecordError as error:
            raise place.at(row=row, column=column.name).error(str(error)) from error
    return values


def _record(
    kind: type[Record], values: dict[str, Any], columns: Mapping[str, Column], place: Place, row: int
) -> Record:
    try:
        return kind(**values)
    except RecordError as error:
        for name, column in columns.items():
            if name in values and (problem := column.problem(values[name])):
                raise place.at(row=row, column=name).error(problem) from error
        raise place.at(row=row).error(str(error)) from error


def read_rows(data: bytes, place: Place, number: int) -> tuple[FirstBadRow, ...]:
    """Read the computed answer in a bundle of that format.

    Raises
    ------
    BundleError
        Naming row and column, if anything is not as it has to be.
    """
    lines = read_csv(data, place)
    _, header = next(lines)
    columns = row_columns(number)
    _check_header(header, [column.name for column in columns], place)
    found = []
    for row, cells in lines:
        try:
            found.append(row_from_cells(columns, cells))
        except RecordError as error:
            raise place.at(row=row).error(str(error)) from error
    return tuple(found)
