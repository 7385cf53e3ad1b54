"""What holds at the moment, worked out from records in any order.

Records that replace each other form a *chain*: the original, its corrections, and the withdrawals
of any of them. Usually exactly one record of a chain is not replaced by another (its *head*), and
that one holds. When two tablets corrected the same record apart from each other the chain has
several heads: a conflict. Both stay, the same one is shown on every tablet, and a person settles
it with a record that replaces them all. No clock decides anything here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from walkapp.model.records import Record, Withdrawal, record_to_plain


@dataclass(frozen=True, slots=True)
class Conflict:
    """A chain of corrections with several heads.

    Parameters
    ----------
    heads
        At least two records, sorted by id, then by content.
    shown
        The one that counts until a person settles it: the same on every tablet.
    """

    heads: tuple[Record, ...]
    shown: Record


@dataclass(frozen=True, slots=True)
class Standing:
    """The records that hold, and the conflicts among them.

    Parameters
    ----------
    current
        One record of each chain, without those taken back, sorted by id.
    conflicts
        Chains with several heads, sorted by the id of the shown record.
    """

    current: tuple[Record, ...]
    conflicts: tuple[Conflict, ...]


def standing_of(records: Iterable[Record]) -> Standing:
    """Work out what holds.

    Parameters
    ----------
    records
        Any number in any order; repeats do no harm.

    Returns
    -------
    Standing
        The same for the same set of records, whatever their order.

    Notes
    -----
    A record that replaces itself, or records that replace each other in a ring, would otherwise
    vanish: each record of such a ring counts as a head. Two records with the same id and different
    content are both kept and are a conflict.
    """
    by_id: dict[str, list[Record]] = {}
    for record in records:
        twins = by_id.setdefault(record.id, [])
        if record not in twins:
            twins.append(record)
    current: list[Record] = []
    conflicts: list[Conflict] = []
    for chain in _chains(by_id):
        heads = _heads(chain, by_id)
        shown = heads[-1]
        if len(heads) > 1:
            conflicts.append(Conflict(heads=tuple(heads), shown=shown))
        if not isinstance(shown, Withdrawal):
            current.append(shown)
    current.sort(key=lambda record: record.id)
    conflicts.sort(key=lambda conflict: conflict.shown.id)
    return Standing(current=tuple(current), conflicts=tuple(conflicts))


def _sort_key(record: Record) -> tuple[str, str]:
    return record.id, repr(record_to_plain(record))


def _chains(by_id: dict[str, list[Record]]) -> list[list[str]]:
    """Group the ids that are joined by `replaces`, through ids that are not here as well."""
    leader: dict[str, str] = {}

    def find(record_id: str) -> str:
        leader.setdefault(record_id, record_id)
        while leader[record_id] != record_id:
            leader[record_id] = leader[leader[record_id]]
            record_id = leader[record_id]
        return record_id

    for record_id, twins in by_id.items():
        find(record_id)
        for record in twins:
            for replaced in record.replaces:
                leader[find(replaced)] = find(record_id)
    chains: dict[str, list[str]] = {}
    for record_id in by_id:
        chains.setdefault(find(record_id), []).append(record_id)
    return list(chains.values())


def _heads(chain: list[str], by_id: dict[str, list[Record]]) -> list[Record]:
    """Give the records of a chain that none outside their own ring replaces, sorted."""
    if len(chain) == 1 and len(by_id[chain[0]]) == 1:
        return by_id[chain[0]]
    members = set(chain)
    replaced_by: dict[str, set[str]] = {record_id: set() for record_id in chain}
    for record_id in chain:
        for record in by_id[record_id]:
            for replaced in record.replaces:
                if replaced in members:
                    replaced_by[replaced].add(record_id)
    heads: list[Record] = []
    for record_id in chain:
        above = _reachable(record_id, replaced_by)
        # A head is replaced by nothing, or only by records that it replaces in turn (a ring).
        if all(record_id in _reachable(other, replaced_by) for other in above):
            heads.extend(by_id[record_id])
    return sorted(heads, key=_sort_key)


def _reachable(start: str, arrows: dict[str, set[str]]) -> set[str]:
    found: set[str] = set()
    waiting = list(arrows[start])
    while waiting:
        here = waiting.pop()
        if here not in found:
            found.add(here)
            waiting.extend(arrows[here])
    return found
