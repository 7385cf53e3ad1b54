"""A folder with the bundles of some plants, and the database that it is asked with."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from walkapp.bundle import FirstBadRow, write_bundle
from walkapp.bundle.plain_tables import END_OF_ROW, PlainTables, with_cells_around
from walkapp.model.ids import is_book
from walkapp.model.records import Record, columns_of_kind, kind_of
from walkapp.model.schema import Column
from walkapp.model.standing import standing_of
from walkapp.rollup import DuckDB, prepare, questions, settle

BOOK_KINDS = ("audit_start", "audit_answer", "audit_signed", "audit_missed", "deliveries")


def write_plant(
    folder: Path, plant: str, name: str, records: Sequence[Record], rows: Sequence[FirstBadRow] = ()
) -> Path:
    """Write a bundle where a plant keeps its own."""
    path = folder / plant / f"{name}.zip"
    path.parent.mkdir(parents=True, exist_ok=True)
    write_bundle(path, records=records, rows=rows, photos={}, checklists={})
    return path


@contextmanager
def asked(sources: Iterable[tuple[str, Path]]) -> Iterator[DuckDB]:
    """Take bundles in, each given by plant and path, and settle what holds."""
    with (
        tempfile.TemporaryDirectory() as room,
        DuckDB(Path(room), end_of_row=END_OF_ROW, threads=1) as database,
    ):
        found = []
        for number, (plant, path) in enumerate(sources):
            with PlainTables(path) as bundle:
                for table in bundle.tables():
                    rows, count = with_cells_around(table, (number, bundle.format))
                    database.add(number, table.kind, table.columns, rows, count)
                found.append((number, plant, path.name, bundle.digest))
        database.flush()
        assert database.unread == set()
        columns = {"bundle": int, "plant": str, "name": str, "digest": str}
        database.put("bundles", columns, found)
        settle(database)
        prepare(database, questions().values())
        yield database


def held_by_the_model(records: Iterable[Record], kind: str) -> set[tuple[Any, ...]]:
    """What holds of a kind, worked out concern by concern as a tablet does, as values of SQL."""
    by_concern: dict[str, list[Record]] = {}
    for record in records:
        by_concern.setdefault(record.concern, []).append(record)
    held = []
    for concern, all_of_it in by_concern.items():
        own = [r for r in all_of_it if not r.walk] if is_book(concern) else all_of_it
        held += [r for r in standing_of(own).current if kind_of(r) == kind]
    columns = columns_of_kind(kind)
    return {
        tuple(_in_sql(column, getattr(record, name)) for name, column in columns.items())
        for record in held
        if not (kind in BOOK_KINDS and record.walk)
    }


def held_by_sql(database: Any, kind: str) -> set[tuple[Any, ...]]:
    """What holds of a kind by the tables of SQL, without the plant."""
    found = [row[1:] for row in database.rows(f"SELECT * FROM held_{kind}")]
    assert len(set(found)) == len(found)
    return set(found)


def _in_sql(column: Column, value: Any) -> Any:
    match column.form:
        case "day":
            return date.fromisoformat(value) if value else None
        case "decimal":
            return Decimal(value) if value else None
        case "record_ids":
            return " ".join(value)
        case _:
            return value
