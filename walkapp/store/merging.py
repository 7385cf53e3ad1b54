"""Merging: which of the arriving records are new, and the journals in which they are kept.

A store is a set of records by id and content, so merging is the union of sets: in any order, any
number of times, it gives the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from walkapp.model.records import Record, record_to_plain
from walkapp.store.lines import encode_line
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
    """

    new: int
    known: int
    twins: int
    photos: int
    checklists: int
    clashes: int
    new_by_device: Mapping[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sorting:
    """The arriving records, sorted out: `new` ones in a fixed order, the rest counted."""

    new: tuple[Record, ...]
    known: int
    twins: int
    clashes: int


def sort_out(arriving: Iterable[Record], here: Iterable[Record]) -> Sorting:
    """Compare arriving records with those of the store.

    Parameters
    ----------
    arriving
        In any order, repeats allowed.
    here
        All records of the store; passed through once.
    """
    new: dict[bytes, Record] = {}
    count = 0
    for record in arriving:
        new.setdefault(content_of(record), record)
        count += 1
    contents: dict[str, set[bytes]] = {record.id: set() for record in new.values()}
    numbers: dict[tuple[str, int], set[str]] = {(r.device, r.number): set() for r in new.values()}
    for content, record in new.items():
        contents[record.id].add(content)
        numbers[record.device, record.number].add(record.id)
    for record in here:
        if (record.device, record.number) in numbers:
            numbers[record.device, record.number].add(record.id)
        if record.id in contents:
            content = content_of(record)
            contents[record.id].add(content)
            new.pop(content, None)
    return Sorting(
        new=tuple(new[content] for content in sorted(new)),
        known=count - len(new),
        twins=sum(len(kept) > 1 for kept in contents.values()),
        clashes=sum(len(ids) > 1 for ids in numbers.values()),
    )


def lay_out_journals(
    records: Iterable[Record], *, device: str, created: str, app: str
) -> dict[str, tuple[Header, bytes]]:
    """Write records as the journals of a merge: header and content by file name.

    One file for each scope; another part for each further concern that claims the same scope, since
    a header names one concern.
    """
    groups: dict[tuple[str, str], list[Record]] = {}
    for record in records:
        groups.setdefault((record.scope, record.concern), []).append(record)
    parts: dict[str, int] = {}
    files: dict[str, tuple[Header, bytes]] = {}
    for (scope, concern), members in sorted(groups.items()):
        parts[scope] = parts.get(scope, 0) + 1
        header = Header(scope=scope, concern=concern, device=device, created=created, app=app)
        members.sort(key=lambda record: (record.device, record.number, record.id))
        lines = b"".join(encode_line(record_to_plain(record)) for record in members)
        files[journal_name(scope, parts[scope])] = header, header.encode() + lines
    return files
