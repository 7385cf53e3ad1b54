"""Taking back the newest entry of this tablet, one after the other, and what was before it comes back."""

from __future__ import annotations

from collections.abc import Iterable

from walkapp.actions.reading import UNDO, last_undoable
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.model.records import Record, Withdrawal, what_is_said


def newest_entry(place: Workplace, scope: str, kinds: tuple[type[Record], ...]) -> Record | None:
    """Find the entry that :func:`take_back` would take back.

    Parameters
    ----------
    place
        Where the records are.
    scope
        Id of the walk, or of the concern for entries outside any walk.
    kinds
        The kinds of entry that are looked at, those of one page.

    Returns
    -------
    Record or None
        The newest entry of this tablet that was neither taken back nor is itself a taking back.
    """
    records = place.store.records(scope)
    by_id = {record.id: record for record in records}

    def belongs(record: Record) -> bool:
        if isinstance(record, Withdrawal):
            return any(isinstance(by_id.get(replaced), kinds) for replaced in record.replaces)
        return isinstance(record, kinds)

    return last_undoable(r for r in records if r.device == place.store.device and belongs(r))


def take_back(place: Workplace, scope: str, kinds: tuple[type[Record], ...]) -> Record:
    """Take back the newest entry of these kinds of this tablet; what it corrected holds again.

    Parameters
    ----------
    place, scope, kinds
        As for :func:`newest_entry`.

    Raises
    ------
    InputError
        If there is nothing to take back.
    """
    entry = newest_entry(place, scope, kinds)
    if entry is None:
        raise InputError("There is nothing on this page that this tablet could take back.")
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
        A withdrawal, or what the entry had corrected, said again.
    """
    known = tuple(records)
    head = _head_of(entry, known)
    ids = {"concern": entry.concern, "walk": entry.walk}
    by_id = {r.id: r for r in known}
    before = next((by_id[replaced] for replaced in entry.replaces if replaced in by_id), None)
    if before is None or isinstance(before, Withdrawal):
        return place.add(Withdrawal, replaces=(head.id,), why=UNDO, **ids)
    return place.add(type(before), **what_is_said(before), replaces=(head.id,), why=UNDO, **ids)


def _head_of(entry: Record, records: tuple[Record, ...]) -> Record:
    """Follow the corrections of an entry to the one that nothing replaces."""
    replaced_by = {replaced: record for record in records for replaced in record.replaces}
    seen: set[str] = set()
    while entry.id in replaced_by and entry.id not in seen:
        seen.add(entry.id)
        entry = replaced_by[entry.id]
    return entry
