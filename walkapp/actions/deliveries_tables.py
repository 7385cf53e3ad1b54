"""Tables of deliveries: found, looked at, and read."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from walkapp.actions.deliveries import delivery_fields, delivery_key
from walkapp.actions.desk import DeskFacts
from walkapp.actions.ppm_months import part_key, says_the_same
from walkapp.actions.workplace import Workplace
from walkapp.analysis.deliveries import DeliveriesTable, DeliveryRow, parse_deliveries
from walkapp.files import read_text
from walkapp.language import month_text, msg, tr, trn, whole_text
from walkapp.model.records import Deliveries, Record

LARGEST_CSV_BYTES = 1_000_000

CSV_ENDINGS = (".csv", ".tsv", ".txt")

MOST_FILES = 12
"""Tables of a folder that are offered, the newest ones."""

READ_AGAIN = msg("read again from")
"""Begins the reason of a correction that came from a file."""

_MOST_NAMES = 20_000
_LONGEST_SOURCE = 120


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportPlan:
    """What reading a table would do; nothing is done yet.

    Parameters
    ----------
    source
        Name of the file.
    table
        What it says.
    adds
        Rows of months that are not recorded yet.
    corrects
        Rows that say something else than what is recorded, each with the records that it would replace,
        the one that counts first.
    leaves
        Rows that say what is recorded already.
    """

    source: str
    table: DeliveriesTable
    adds: tuple[DeliveryRow, ...]
    corrects: tuple[tuple[DeliveryRow, tuple[Deliveries, ...]], ...]
    leaves: tuple[DeliveryRow, ...]

    @property
    def does_something(self) -> bool:
        """Whether anything would be recorded."""
        return bool(self.adds or self.corrects)

    @property
    def counted(self) -> str:
        """How many rows it adds, corrects and leaves.

        It begins with a small letter and has no full stop: "adds 3, corrects 1, leaves 8 as they are".
        """
        left = len(self.leaves)
        return trn(
            "adds {adds}, corrects {corrects}, leaves {count} as it is",
            "adds {adds}, corrects {corrects}, leaves {count} as they are",
            left,
            adds=len(self.adds),
            corrects=len(self.corrects),
        )


def plan_import(facts: DeskFacts, path: Path, on: date) -> ImportPlan:
    """Read a CSV of deliveries and say what it would do.

    Parameters
    ----------
    facts
        What is known of the stream.
    path
        The file, as :func:`walkapp.analysis.deliveries.parse_deliveries` reads it: at most a million bytes,
        UTF-8, or UTF-16 with a byte order mark.
    on
        The day by the tablet's clock; later months are refused.

    Raises
    ------
    InputError
        If the file cannot be read.
    DeliveriesError
        With all mistakes in it.

    Notes
    -----
    A row says nothing of the NOK parts while its table has no such column, or the cell is empty: then what
    is recorded of them stays.
    """
    table = parse_deliveries(read_text(path, most_bytes=LARGEST_CSV_BYTES), path.name, on)
    known: dict[tuple[str, str], list[Deliveries]] = {}
    for record in facts.kept(Deliveries):
        known.setdefault(delivery_key(record), []).append(record)
    adds: list[DeliveryRow] = []
    corrects: list[tuple[DeliveryRow, tuple[Deliveries, ...]]] = []
    leaves: list[DeliveryRow] = []
    for row in table.rows:
        here = known.get((row.month.isoformat(), part_key(row.part_number)), [])
        if not here:
            adds.append(row)
        elif all(_says(row, one) and says_the_same(one, here[-1]) for one in here):
            leaves.append(row)
        else:
            corrects.append((row, tuple(reversed(here))))
    return ImportPlan(
        source=_source_of(path),
        table=table,
        adds=tuple(adds),
        corrects=tuple(corrects),
        leaves=tuple(leaves),
    )


def load_deliveries(place: Workplace, facts: DeskFacts, plan: ImportPlan) -> tuple[Record, ...]:
    """Record what a plan says, all of it or nothing; a table that was read before adds nothing.

    Parameters
    ----------
    place
        Where to write.
    facts, plan
        The stream, and the plan that was made of these facts.
    """
    entries = list(_entries(facts, plan))
    return place.add_all(entries) if entries else ()


def _entries(facts: DeskFacts, plan: ImportPlan) -> Iterator[tuple[type[Deliveries], Mapping[str, Any]]]:
    why = f"{READ_AGAIN} {plan.source}"
    for row, earlier in plan.corrects:
        nok = earlier[0].customer_nok if row.nok is None else row.nok
        said = delivery_fields(facts, row.month, earlier[0].part_number, row.delivered, nok, plan.source)
        replaced = tuple(one.id for one in earlier)
        yield Deliveries, {"concern": facts.book, **said, "replaces": replaced, "why": why}
    for row in plan.adds:
        said = delivery_fields(facts, row.month, row.part_number, row.delivered, row.nok, plan.source)
        yield Deliveries, {"concern": facts.book, **said}


def plan_lines(plan: ImportPlan, *, most: int = 30) -> Iterator[str]:
    """Tell what a plan does, row by row: corrections first, then what is new.

    Parameters
    ----------
    plan
        What would be done.
    most
        Rows that are told at most.
    """
    told = [_correction_words(row, earlier) for row, earlier in plan.corrects]
    told += [
        tr("{row_name}: {row}, new", row_name=_row_name(row), row=_row_words(row.delivered, row.nok))
        for row in plan.adds
    ]
    yield from told[:most]
    if len(told) > most:
        yield tr("and {told} more", told=whole_text(len(told) - most))
    if plan.table.unread:
        names = ", ".join(name[:40] for name in plan.table.unread[:10])
        yield tr("Columns that are not read: {names}", names=names)


def _correction_words(row: DeliveryRow, earlier: Sequence[Deliveries]) -> str:
    before = _row_words(earlier[0].delivered, earlier[0].customer_nok)
    nok = earlier[0].customer_nok if row.nok is None else row.nok
    many = tr(" ({earlier} entries)", earlier=len(earlier)) if len(earlier) > 1 else ""
    return tr(
        "{row_name}: {row} instead of {before}{many}",
        row_name=_row_name(row),
        row=_row_words(row.delivered, nok),
        before=before,
        many=many,
    )


def _row_name(row: DeliveryRow) -> str:
    return month_text(row.month) + (
        tr(", part number {part_number}", part_number=row.part_number) if row.part_number else ""
    )


def _row_words(delivered: int, nok: int | None) -> str:
    return tr("{delivered} delivered", delivered=whole_text(delivered)) + (
        "" if nok is None else tr(", {nok} NOK by the customer", nok=whole_text(nok))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundTable:
    """A file that has the name of a table; what it holds is not looked at.

    Parameters
    ----------
    path
        Where it is.
    size_bytes
        At least 1.
    written
        When it was last written: seconds since 1970 in UTC.
    """

    path: Path
    size_bytes: int
    written: float


def tables_in(folders: Iterable[Path]) -> tuple[FoundTable, ...]:
    """List the files of some folders that may be tables, the newest of each folder, the newest first.

    Parameters
    ----------
    folders
        Where to look; folders inside them are not entered, and those that cannot be read are passed over.
    """
    found: dict[Path, FoundTable] = {}
    for folder in folders:
        each = sorted(_tables_of(folder), key=lambda one: (-one.written, one.path.name))
        found |= {one.path: one for one in each[:MOST_FILES]}
    return tuple(sorted(found.values(), key=lambda one: (-one.written, str(one.path))))


def _tables_of(folder: Path) -> Iterator[FoundTable]:
    try:
        with os.scandir(folder) as entries:
            for many, entry in enumerate(entries):
                if many >= _MOST_NAMES:
                    return
                if not _is_table_name(entry.name):
                    continue
                facts = entry.stat(follow_symlinks=False)
                if entry.is_file(follow_symlinks=False) and 0 < facts.st_size <= LARGEST_CSV_BYTES:
                    yield FoundTable(
                        path=folder / entry.name, size_bytes=facts.st_size, written=facts.st_mtime
                    )
    except OSError:
        return  # it is not there, as a camera that is not connected


def _is_table_name(name: str) -> bool:
    # A name that is no text of this system cannot be remembered as the place where a person was.
    is_text = name.isprintable() or not any("\ud800" <= letter <= "\udfff" for letter in name)
    return is_text and name.lower().endswith(CSV_ENDINGS) and not name.startswith(".")


def _says(row: DeliveryRow, record: Deliveries) -> bool:
    return row.delivered == record.delivered and row.nok in (None, record.customer_nok)


def _source_of(path: Path) -> str:
    """Give the name of a file as a record can hold it, whatever letters the system allows in it."""
    name = "".join(letter if letter.isprintable() else "?" for letter in path.name)
    return " ".join(name.split())[-_LONGEST_SOURCE:].strip() or tr("a file")
