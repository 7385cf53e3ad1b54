"""How the columns of a bundle's tables are written and read, whatever the table."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from walkapp.bundle.cells import neutralise, neutralise_unless_number, restore, restore_format_1
from walkapp.bundle.layout import FORMAT
from walkapp.errors import RecordError
from walkapp.model.schema import Column, columns_of

__all__ = ["TableColumn", "carried_columns", "columns_of_class"]

# no text: a column of a file, the same in every language
_CARRIED = Column(
    form="text", title="Carried on for a newer version", required=False, longest=32_767
)  # no text: a column of a file, the same in every language


@dataclass(frozen=True, slots=True, kw_only=True)
class TableColumn:
    """One column of a table.

    Parameters
    ----------
    name
        Its name in the header.
    field
        Its description by the Table Schema standard.
    write, read
        Turn a value into a cell and back; none where the value is a text and is the cell. `read`
        raises `RecordError` for a cell that cannot be one of this column.
    """

    name: str
    field: Mapping[str, Any]
    write: Callable[[Any], str] | None = None
    read: Callable[[str], Any] | None = None


def columns_of_class(kind: type, number: int = FORMAT) -> tuple[TableColumn, ...]:
    """Make table columns of the fields of a record class, as they are read in a bundle of that format."""
    return _columns_of_class(kind, number)


@cache
def _columns_of_class(kind: Any, number: int) -> tuple[TableColumn, ...]:
    return tuple(_column(name, column, _restore_of(number)) for name, column in columns_of(kind).items())


def _restore_of(number: int) -> Callable[[str], str]:
    return restore if number > 1 else restore_format_1


def _column(name: str, column: Column, restore_text: Callable[[str], str]) -> TableColumn:
    field = column.table_schema(name)
    if column.is_free_text:
        return TableColumn(name=name, field=field, write=neutralise, read=restore_text)
    write, read = column.codec or (None, None)
    return TableColumn(name=name, field=field, write=write, read=read)


def carried_columns(names: Iterable[str], number: int = FORMAT) -> tuple[TableColumn, ...]:
    """Make table columns of fields that this version does not know, for a bundle of that format."""
    restore_text = _restore_of(number)

    def read(cell: str) -> str:
        text = restore_text(cell)
        if problem := _CARRIED.problem(text):
            raise RecordError(problem)
        return text

    return tuple(
        TableColumn(
            name=name,
            field={"name": name, "type": "string"},
            write=neutralise_unless_number,
            read=read,
        )
        for name in names
    )
