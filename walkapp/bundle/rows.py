"""Rows of ``first_bad_station.csv``: the computed answer, written for people, never merged back."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable
from functools import cache
from typing import Any

from walkapp.bundle.columns import TableColumn, columns_of_class
from walkapp.bundle.layout import FORMAT
from walkapp.errors import RecordError
from walkapp.language import tr
from walkapp.model.schema import check_values, key, record_id, record_kind, text, whole

__all__ = ["FirstBadRow", "row_columns", "row_from_cells"]

_NUMBER = re.compile(r"[0-9]{1,3}(\.[0-9]{1,20})?(e-[0-9]{1,3})?", re.ASCII)


@record_kind
class FirstBadRow:
    """What is known of one station for one concern.

    Parameters
    ----------
    share, low95, high95
        NOK parts divided by parts checked and the exact 95 % interval, 0 to 1; none when no part
        was checked.
    probability_origin
        Probability that the defect starts here, 0 to 1; none when unknown.

    Raises
    ------
    RecordError
        At construction, naming the first field that holds something it may not.
    """

    concern: str = record_id("Id of the concern")  # no text: a column of a file, the same in every language
    defect: str = key("Id of the defect")  # no text: a column of a file, the same in every language
    station_order: int = whole(
        "Place in the stream: 1, 2, ...; 0 for incoming material"
    )  # no text: a column of a file, the same in every language
    station: str = text("Station", longest=200)  # no text: a column of a file, the same in every language
    checked: int = whole("Parts checked")  # no text: a column of a file, the same in every language
    nok: int = whole("Parts that were NOK")  # no text: a column of a file, the same in every language
    share: float | None = None
    low95: float | None = None
    high95: float | None = None
    probability_origin: float | None = None
    # no text: a column of a file, the same in every language
    verdict: str = text("What is said of the station, in words", longest=200)
    # no text: a column of a file, the same in every language
    first_bad_station: str = text(
        "The first bad station of the concern; empty when unknown",
        longest=200,
        default="",
    )
    # no text: a column of a file, the same in every language
    stream: str = key("Id of the value stream", default="")

    def __post_init__(self) -> None:
        check_values(self)
        for name in _NUMBERS:
            value = getattr(self, name)
            if value is not None and not 0 <= value <= 1:
                raise RecordError(
                    tr("{name} must be from 0 to 1, not {value}", name=name, value=repr(value))
                )


# no text: columns of a file, the same in every language
_NUMBERS = {
    "share": "NOK parts divided by parts checked, 0 to 1",
    "low95": "Lower end of the exact 95 % interval of the share",
    "high95": "Upper end of the exact 95 % interval of the share",
    "probability_origin": "Probability that the defect starts at this station, 0 to 1",
}


def _number_to_cell(value: float | None) -> str:
    """Write a number in the shortest form that reads back the same."""
    return "" if value is None else repr(float(value) + 0.0)  # no minus zero


def _number_from_cell(cell: str) -> float | None:
    if cell == "":
        return None
    if not _NUMBER.fullmatch(cell):
        raise RecordError(tr("must be a number from 0 to 1"))
    return float(cell)


@cache
def row_columns(number: int = FORMAT) -> tuple[TableColumn, ...]:
    """Give the columns in the order of the table, as they are read in a bundle of that format."""
    known = {column.name: column for column in columns_of_class(FirstBadRow, number)}
    names = (field.name for field in dataclasses.fields(FirstBadRow))
    return tuple(known.get(name) or _number_column(name) for name in names)


def _number_column(name: str) -> TableColumn:
    return TableColumn(
        name=name,
        field={
            "name": name,
            "type": "number",
            "description": _NUMBERS[name],
            "constraints": {"minimum": 0, "maximum": 1},
        },
        write=_number_to_cell,
        read=_number_from_cell,
    )


def row_from_cells(columns: Iterable[TableColumn], cells: Iterable[str]) -> FirstBadRow:
    """Read a row from its cells, which are in the order of the columns.

    Raises
    ------
    RecordError
        Naming the first column that holds something it may not.
    """
    values: dict[str, Any] = {}
    for column, cell in zip(columns, cells, strict=True):
        try:
            values[column.name] = cell if column.read is None else column.read(cell)
        except RecordError as error:
            raise RecordError(f"{column.name} {error}") from None
    return FirstBadRow(**values)
