"""Taking back the newest entry of this tablet, one after the other, and what was before it comes back."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from walkapp.actions.reasons import COVERED, SETTLED, UNCOVERED, UNDO
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.language import tr
from walkapp.model.records import PartSeen, Photo, PhotoCopy, Record, Withdrawal, what_is_said
from walkapp.model.standing import standing_of

Chooses = Callable[[Record], bool]
"""Whether a record is an entry of a page."""


_NEVER_UNDONE = ("walk_start", "hazards_read", "part_seen")
"""The last one comes along with an entry, and is taken back with it."""


def _is_undone_alone(record: Record) -> bool:
    """Whether a record is an entry of its own; a copy that came along with its picture is none."""
    if isinstance(record, PhotoCopy):
        return record.why == COVERED
    return record.kind not in _NEVER_UNDONE and not record.why.startswith(SETTLED)


def last_undoable(own_records: Iterable[Record]) -> Record | None:
    """Find the entry that "undo" takes back next.

    Parameters
    ----------
    own_records
        Records of one walk made by this tablet.

    Returns
    -------
    Record or None
        The newest entry that was neither undone nor is itself an undo.
    """
    stack = undoable(own_records)
    return stack[-1] if stack else None


def undoable(own_records: Iterable[Record]) -> list[Record]:
    """Give the entries that "undo" takes back one after the other, the next one last.

    Parameters
    ----------
    own_records
        As for :func:`last_undoable`.
    """
    stack: list[Record] = []
    own = sorted(own_records, key=lambda r: r.number)
    pictures = {r.id: r.photo for r in own if isinstance(r, PhotoCopy)}
    for record in own:
        if record.why == UNDO:
            if stack:
                stack.pop()
        elif record.why == UNCOVERED:
            of = {pictures[replaced] for replaced in record.replaces if replaced in pictures}
            covers = [r for r in stack if isinstance(r, PhotoCopy) and r.photo in of]
            if covers:
                stack.remove(covers[-1])
        elif _is_undone_alone(record):
            stack.append(record)
    return stack


def newest_entry(
    place: Workplace, scope: str, kinds: tuple[type[Record], ...], only: Chooses | None = None
) -> Record | None:
    """Find the entry that :func:`take_back` would take back.

    Parameters
    ----------
    place
        Where the records are.
    scope
        Id of the walk, or of the concern for entries outside any walk.
    kinds
        The kinds of entry that are looked at, those of one page.
    only
        Which entries of these kinds are looked at, where a page has not all of them.

    Returns
    -------
    Record or None
        The newest entry of this tablet that was neither taken back nor is itself a taking back.
    """
    stack = newest_entries(place, scope, kinds, only)
    return stack[-1] if stack else None


def newest_entries(
    place: Workplace, scope: str, kinds: tuple[type[Record], ...], only: Chooses | None = None
) -> list[Record]:
    """Give all entries that :func:`take_back` would take back one after the other, the next one last."""
    records = place.store.records(scope)
    by_id = {record.id: record for record in records}

    def is_entry(record: Record | None) -> bool:
        return isinstance(record, kinds) and (only is None or only(record))

    def belongs(record: Record) -> bool:
        if isinstance(record, Withdrawal):
            return any(is_entry(by_id.get(replaced)) for replaced in record.replaces)
        return is_entry(record)

    return undoable(r for r in records if r.device == place.store.device and belongs(r))


def take_back(
    place: Workplace, scope: str, kinds: tuple[type[Record], ...], only: Chooses | None = None
) -> Record:
    """Take back the newest entry of these kinds of this tablet; what it corrected holds again.

    Parameters
    ----------
    place, scope, kinds, only
        As for :func:`newest_entry`.

    Raises
    ------
    InputError
        If there is nothing to take back.
    """
    entry = newest_entry(place, scope, kinds, only)
    if entry is None:
        raise InputError(tr("There is nothing on this page that this tablet could take back."))
    return undo_entry(place, entry, place.store.records(scope))


def undo_entry(place: Workplace, entry: Record, records: Iterable[Record]) -> Record:
    """Take an entry back by a new record.

    Parameters
    ----------
    place
        Where to write.
    entry
        The entry.
    records
        All records of its journal.

    Returns
    -------
    Record
        A withdrawal, or what the entry had corrected, said again. With a picture the copy that came along
        with it is withdrawn. One with covered places is not: should the picture be taken in again, here
        or elsewhere, nobody who was covered is to be seen.
    """
    kind, said = what_undoes(entry, records)
    return place.add(kind, **said)


def what_undoes(entry: Record, records: Iterable[Record]) -> tuple[type[Record], Mapping[str, Any]]:
    """Give the record that takes an entry back, as class and fields for :meth:`Workplace.add_all`.

    Parameters
    ----------
    entry, records
        As for :func:`undo_entry`.
    """
    known = tuple(records)
    head = _head_of(entry, known)
    ids = {"concern": entry.concern, "walk": entry.walk}
    by_id = {r.id: r for r in known}
    before = next((by_id[replaced] for replaced in entry.replaces if replaced in by_id), None)
    if before is None or isinstance(before, Withdrawal):
        along = (*_copies_of(entry, known), *_tags_of(entry, known))
        return Withdrawal, {"replaces": (head.id, *along), "why": UNDO, **ids}
    return type(before), {**what_is_said(before), "replaces": (head.id,), "why": UNDO, **ids}


def _copies_of(entry: Record, records: tuple[Record, ...]) -> tuple[str, ...]:
    """Name the copies that came along with a picture; none while the journal has the picture once more."""
    if not isinstance(entry, Photo):
        return ()
    standing = standing_of(r for r in records if isinstance(r, (Photo, PhotoCopy, Withdrawal)))
    same = [r for r in standing.current if isinstance(r, Photo) and r.sha256 == entry.sha256]
    if any(r.id != entry.id for r in same):
        return ()
    heads = (*standing.current, *(head for conflict in standing.conflicts for head in conflict.heads))
    copies = (r for r in heads if isinstance(r, PhotoCopy) and r.photo == entry.sha256)
    return tuple(dict.fromkeys(copy.id for copy in copies if not copy.boxes))


def _tags_of(entry: Record, records: tuple[Record, ...]) -> tuple[str, ...]:
    """Name what says which part an entry is about."""
    return tuple(sorted({r.id for r in records if isinstance(r, PartSeen) and r.about == entry.id}))


def _head_of(entry: Record, records: tuple[Record, ...]) -> Record:
    """Follow the corrections of an entry to the one that nothing replaces."""
    replaced_by = {replaced: record for record in records for replaced in record.replaces}
    seen: set[str] = set()
    while entry.id in replaced_by and entry.id not in seen:
        seen.add(entry.id)
        entry = replaced_by[entry.id]
    return entry
