"""Merging: which of the arriving records are new, and the journals in which they are kept.

A store is a set of records by id and content, so merging is the union of sets: in any order, any
number of times, it gives the same.
"""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from walkapp.errors import RecordError
from walkapp.model.records import KINDS, Record, record_from_plain, record_to_plain
from walkapp.model.standing import heads_of_chains
from walkapp.store.memory import content_of
from walkapp.store.reading import Header, journal_name


@dataclass(frozen=True, slots=True, kw_only=True)
class MergeReport:
    """What a merge brought.

    Parameters
    ----------
    new, known
        How many of the arriving records were added, and how many were here already (or came twice).
    twins
        Ids among the arriving ones that now have several contents: all are kept, a person decides.
    photos, checklists
        How many pictures and checklists were added.
    clashes
        Running numbers among the arriving ones that one tablet's id has given to several records:
        two tablets have the same id, so one of them needs a new store.
    new_by_device
        How many of the new records say that they are from each tablet, by its id.
    new_by_kind
        How many of the new records are of each kind, by its name in journals and bundles.
    new_by_concern
        How many of the new records belong to each concern, or book, by its id.
    """

    new: int
    known: int
    twins: int
    photos: int
    checklists: int
    clashes: int
    new_by_device: Mapping[str, int]
    new_by_kind: Mapping[str, int]
    new_by_concern: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class NewRecord:
    """A record that was not here, and its journal line."""

    record: Record
    line: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Sorting:
    """The arriving records, sorted out: `new` ones in a fixed order, the rest counted."""

    new: tuple[NewRecord, ...]
    known: int
    twins: int
    clashes: int


class KnownRecords:
    """What a store holds, in as little memory as tells which arriving records are new.

    It is made once for a whole run of merges and grows with them, so that their time grows with the
    number of records and not with its square. A record takes about 400 bytes.
    """

    def __init__(self) -> None:
        self._contents: dict[str, bytes | frozenset[bytes]] = {}
        self._numbers: dict[str, dict[int, str | frozenset[str]]] = {}
        self._replaced: dict[str, set[str]] = {}

    def add(self, record_id: str, device: str, number: int, replaces: Sequence[str], line: bytes) -> bool:
        """Take a record into account by its journal line; say whether it was not known before."""
        content = hashlib.blake2b(line, digest_size=16).digest()
        before = self._contents.setdefault(record_id, content)
        if before is not content:
            kept = before if isinstance(before, frozenset) else frozenset((before,))
            if content in kept:
                return False
            self._contents[record_id] = kept | {content}
        if replaces:
            self._replaced.setdefault(record_id, set()).update(replaces)
        of_device = self._numbers.setdefault(device, {})
        claimed = of_device.setdefault(number, record_id)
        if claimed != record_id:
            ids = claimed if isinstance(claimed, frozenset) else frozenset((claimed,))
            of_device[number] = ids | {record_id}
        return True

    def add_line(self, line: bytes, plain: Mapping[str, Any]) -> None:
        """Take a line of a journal into account as the record that it is read as."""
        if "cells" in plain and plain.get("kind") in KINDS:
            # An older version carried it before this one knew the kind.
            with contextlib.suppress(RecordError):
                record = record_from_plain(plain)
                line, plain = content_of(record), record_to_plain(record)
        found, device, number, replaces = (plain.get(n) for n in ("id", "device", "number", "replaces"))
        if (
            isinstance(found, str)
            and isinstance(device, str)
            and isinstance(number, int)
            and isinstance(replaces, list)
            and all(isinstance(other, str) for other in replaces)
        ):
            self.add(found, device, number, replaces, line)

    def has_twins(self, record_id: str) -> bool:
        """Whether several contents have this id."""
        return isinstance(self._contents[record_id], frozenset)

    def is_clash(self, device: str, number: int) -> bool:
        """Whether one tablet's id has given this number to several records."""
        return isinstance(self._numbers[device][number], frozenset)

    def disputed(self) -> list[frozenset[str]]:
        """Ids of the heads of every chain that has several; worked out from ids alone."""
        linked = set(self._replaced).union(*self._replaced.values())
        linked.update(record_id for record_id in self._contents if self.has_twins(record_id))
        here = {i: self._replaced.get(i, set()) for i in linked if i in self._contents}
        return [
            frozenset(heads)
            for heads in heads_of_chains(here)
            if len(heads) > 1 or any(map(self.has_twins, heads))
        ]


def sort_out(
    arriving: Iterable[Record], known: KnownRecords, progress: Callable[[], None] = lambda: None
) -> Sorting:
    """Compare arriving records with those of the store.

    Parameters
    ----------
    arriving
        In any order, repeats allowed.
    known
        What the store holds; knows the arriving ones too when this returns.
    progress
        Called once for each record.
    """
    new: list[NewRecord] = []
    ids: set[str] = set()
    numbers: set[tuple[str, int]] = set()
    count = 0
    for record in arriving:
        line = content_of(record)
        if known.add(record.id, record.device, record.number, record.replaces, line):
            new.append(NewRecord(record, line))
        ids.add(record.id)
        numbers.add((record.device, record.number))
        count += 1
        progress()
    return Sorting(
        new=tuple(sorted(new, key=lambda one: one.line)),
        known=count - len(new),
        twins=sum(map(known.has_twins, ids)),
        clashes=sum(known.is_clash(device, number) for device, number in numbers),
    )


def lay_out_journals(
    new: Iterable[NewRecord], *, make_header: Callable[[str, str], Header]
) -> dict[str, tuple[Header, bytes]]:
    """Write new records as the journals of a merge: header and content by file name.

    One file for each scope; another part for each further concern that claims the same scope, since
    a header names one concern.

    Parameters
    ----------
    new
        The records.
    make_header
        Gives the header for a scope and its concern.
    """
    groups: dict[tuple[str, str], list[NewRecord]] = {}
    for one in new:
        groups.setdefault((one.record.scope, one.record.concern), []).append(one)
    parts: dict[str, int] = {}
    files: dict[str, tuple[Header, bytes]] = {}
    for (scope, concern), members in sorted(groups.items()):
        parts[scope] = parts.get(scope, 0) + 1
        header = make_header(scope, concern)
        members.sort(key=lambda one: (one.record.device, one.record.number, one.record.id))
        files[journal_name(scope, parts[scope])] = (
            header,
            header.encode() + b"".join(m.line for m in members),
        )
    return files
