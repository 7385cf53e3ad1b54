"""Deliveries are recorded: typed in, corrected, taken back, or read from a CSV after a look at it."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from walkapp.actions.days import today
from walkapp.actions.desk import DeskFacts
from walkapp.actions.ppm import part_key, says_the_same
from walkapp.actions.undoing import newest_entries, what_undoes
from walkapp.actions.workplace import Workplace
from walkapp.analysis.deliveries import (
    MOST_PARTS,
    DeliveriesTable,
    DeliveryRow,
    month_problem,
    parse_deliveries,
)
from walkapp.errors import InputError
from walkapp.files import read_text
from walkapp.model.records import Deliveries, Record, Withdrawal

LARGEST_CSV_BYTES = 1_000_000

CSV_ENDINGS = (".csv", ".tsv", ".txt")

MOST_FILES = 12
"""Tables of a folder that are offered, the newest ones."""

_MOST_NAMES = 20_000
_LONGEST_SOURCE = 120
READ_AGAIN = "read again from"
"""Begins the reason of a correction that came from a file."""


def record_deliveries(
    place: Workplace,
    facts: DeskFacts,
    *,
    month: date,
    delivered: int,
    part_number: str = "",
    customer_nok: int | None = None,
    entry: str = "",
    why: str = "",
) -> Deliveries:
    """Record how many parts went out in a month, or correct what was recorded.

    Parameters
    ----------
    place
        Where to write.
    facts
        The stream as the person saw it.
    month
        First day of the month.
    delivered
        Parts delivered, 0 or more.
    part_number
        Empty for all parts of the stream.
    customer_nok
        NOK parts as the customer counts them; none when that is not known.
    entry
        Id of the record that is corrected; empty for a new one.
    why
        Why it is corrected.

    Raises
    ------
    InputError
        If the month is still to come or recorded already, a number cannot be true, or nothing changes.
    """
    if problem := month_problem(month, month.isoformat()[:7], today(place)):
        raise InputError(f"Month: {problem[0]}; {problem[1]}.")
    for label, count in (("Parts delivered", delivered), ("NOK parts", customer_nok)):
        if count is not None and not 0 <= count <= MOST_PARTS:
            raise InputError(f"{label}: {count:,} must be from 0 to {MOST_PARTS:,}; check the number.")
    said = _said(facts, month, part_number, delivered, customer_nok)
    here = standing_deliveries(facts, month, part_number)
    if not entry:
        if here:
            raise InputError(
                f"{month:%Y-%m} is recorded already ({here[-1].delivered:,} delivered); correct that entry."
            )
        return place.add(Deliveries, concern=facts.book, **said)
    earlier = _standing(facts, entry)
    is_same_month = _key(earlier) == (said["month"], part_key(part_number))
    if here and not is_same_month:
        raise InputError(f"{month:%Y-%m} is recorded already; correct that entry and take this one back.")
    # Whoever corrects a month that was recorded twice says what it is: neither of the two counts any more.
    others = [one for one in here if one.id != earlier.id]
    if not others and all(getattr(earlier, n) == value for n, value in said.items() if n != "source"):
        raise InputError("Nothing was changed, so nothing was recorded.")
    if not why.strip():
        raise InputError("Say why it is corrected.")
    replaced = (earlier.id, *(one.id for one in others))
    return place.add(Deliveries, concern=facts.book, **said, replaces=replaced, why=why)


def take_out_deliveries(place: Workplace, facts: DeskFacts, entry: str, why: str) -> Withdrawal:
    """Take a record of deliveries back, whoever made it; what else is recorded of the month counts then.

    Raises
    ------
    InputError
        If it is not recorded any more, or no reason is given.
    """
    earlier = _standing(facts, entry)
    if not why.strip():
        raise InputError("Say why it is taken back.")
    return place.add(Withdrawal, concern=facts.book, replaces=(earlier.id,), why=why)


def standing_deliveries(facts: DeskFacts, month: date, part_number: str = "") -> tuple[Deliveries, ...]:
    """Give the records of a month and part number that hold, the oldest first; the last one counts."""
    wanted = month.isoformat(), part_key(part_number)
    return tuple(r for r in facts.kept(Deliveries) if _key(r) == wanted)


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
        return (
            f"adds {len(self.adds)}, corrects {len(self.corrects)}, "
            f"leaves {left} as {'it is' if left == 1 else 'they are'}"
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
        known.setdefault(_key(record), []).append(record)
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
        said = _said(facts, row.month, earlier[0].part_number, row.delivered, nok, plan.source)
        replaced = tuple(one.id for one in earlier)
        yield Deliveries, {"concern": facts.book, **said, "replaces": replaced, "why": why}
    for row in plan.adds:
        said = _said(facts, row.month, row.part_number, row.delivered, row.nok, plan.source)
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
    told += [f"{_row_name(row)}: {_row_words(row.delivered, row.nok)}, new" for row in plan.adds]
    yield from told[:most]
    if len(told) > most:
        yield f"and {len(told) - most:,} more"
    if plan.table.unread:
        names = ", ".join(name[:40] for name in plan.table.unread[:10])
        yield f"Columns that are not read: {names}"


def _correction_words(row: DeliveryRow, earlier: Sequence[Deliveries]) -> str:
    before = _row_words(earlier[0].delivered, earlier[0].customer_nok)
    nok = earlier[0].customer_nok if row.nok is None else row.nok
    many = f" ({len(earlier)} entries)" if len(earlier) > 1 else ""
    return f"{_row_name(row)}: {_row_words(row.delivered, nok)} instead of {before}{many}"


def _row_name(row: DeliveryRow) -> str:
    return f"{row.month:%Y-%m}" + (f", part number {row.part_number}" if row.part_number else "")


def _row_words(delivered: int, nok: int | None) -> str:
    return f"{delivered:,} delivered" + ("" if nok is None else f", {nok:,} NOK by the customer")


def newest_together(place: Workplace, book: str) -> list[Record]:
    """Give what "undo" takes back: the newest entry of this tablet, with all that came from the same file.

    Parameters
    ----------
    place
        Where the records are.
    book
        Id of the desk book.

    Returns
    -------
    list of Record
        The newest first; empty when there is nothing to take back. A table names each month once, so the
        entries of one reading follow each other and name no month twice.
    """
    stack = newest_entries(place, book, (Deliveries,))
    found: list[Record] = []
    seen: set[tuple[str, str]] = set()
    for entry in reversed(stack):
        if found and not _came_together(found, entry, seen):
            break
        found.append(entry)
        if not isinstance(entry, Deliveries) or not entry.source:
            break
        seen.add(_key(entry))
    return found


def _came_together(found: Sequence[Record], entry: Record, seen: set[tuple[str, str]]) -> bool:
    newer = found[-1]
    return (
        isinstance(entry, Deliveries)
        and isinstance(newer, Deliveries)
        and entry.source == newer.source
        and entry.number == newer.number - 1
        and _key(entry) not in seen
        # A reading records its corrections first: an addition before a correction is of an earlier one.
        and not (newer.replaces and not entry.replaces)
    )


def take_back_together(place: Workplace, book: str) -> tuple[Record, ...]:
    """Take back what :func:`newest_together` gives, all of it or nothing.

    Raises
    ------
    InputError
        If there is nothing to take back.
    """
    found = newest_together(place, book)
    if not found:
        raise InputError("There is nothing on this page that this tablet could take back.")
    records = place.store.records(book)
    return place.add_all([what_undoes(entry, records) for entry in found])


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
                if entry.name.startswith(".") or not entry.name.lower().endswith(CSV_ENDINGS):
                    continue
                facts = entry.stat(follow_symlinks=False)
                if entry.is_file(follow_symlinks=False) and 0 < facts.st_size <= LARGEST_CSV_BYTES:
                    yield FoundTable(
                        path=folder / entry.name, size_bytes=facts.st_size, written=facts.st_mtime
                    )
    except OSError:
        return  # it is not there, as a camera that is not connected


def _said(
    facts: DeskFacts,
    month: date,
    part_number: str,
    delivered: int,
    customer_nok: int | None,
    source: str = "",
) -> dict[str, Any]:
    return {
        "stream": facts.stream,
        "month": month.replace(day=1).isoformat(),
        "part_number": " ".join(part_number.split()),
        "delivered": delivered,
        "customer_nok": customer_nok,
        "source": source,
    }


def _standing(facts: DeskFacts, entry: str) -> Deliveries:
    found = next((r for r in facts.kept(Deliveries) if r.id == entry), None)
    if found is None:
        raise InputError("This entry holds no longer: it was corrected or taken back; look again.")
    return found


def _says(row: DeliveryRow, record: Deliveries) -> bool:
    return row.delivered == record.delivered and row.nok in (None, record.customer_nok)


def _key(record: Deliveries) -> tuple[str, str]:
    return record.month, part_key(record.part_number)


def _source_of(path: Path) -> str:
    """Give the name of a file as a record can hold it, whatever letters the system allows in it."""
    name = "".join(letter if letter.isprintable() else "?" for letter in path.name)
    return " ".join(name.split())[-_LONGEST_SOURCE:].strip() or "a file"
