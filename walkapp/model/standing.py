"""What holds at the moment, worked out from records in any order.

Records that replace each other form a *chain*: the original, its corrections, and the withdrawals
of any of them. Usually exactly one record of a chain is not replaced by another (its *head*), and
that one holds. When two tablets corrected the same record apart from each other the chain has
several heads: a conflict. Both stay, the same one is shown on every tablet, and a person settles
it with a record that replaces them all. No clock decides anything here.

Of a kind whose heads all hold (a mark on a picture) there is nothing to settle: each head holds.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
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
        One record of each chain, or every head of a kind whose heads all hold; without those taken
        back, sorted by id.
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
    by_id: dict[str, dict[Record, None]] = {}
    for record in records:
        by_id.setdefault(record.id, {})[record] = None
    replaced = {
        record_id: {other for record in twins for other in record.replaces}
        for record_id, twins in by_id.items()
    }
    current: list[Record] = []
    conflicts: list[Conflict] = []
    for ids in heads_of_chains(replaced):
        heads = [record for record_id in ids for record in by_id[record_id]]
        if len(heads) > 1:  # nearly always one: to sort it would take most of the time
            heads.sort(key=_sort_key)
            if _all_hold(heads, by_id):
                current += [head for head in heads if not isinstance(head, Withdrawal)]
                continue
            conflicts.append(Conflict(heads=tuple(heads), shown=heads[-1]))
        shown = heads[-1]
        if not isinstance(shown, Withdrawal):
            current.append(shown)
    current.sort(key=lambda record: record.id)
    conflicts.sort(key=lambda conflict: conflict.shown.id)
    return Standing(current=tuple(current), conflicts=tuple(conflicts))


def _all_hold(heads: Iterable[Record], by_id: Mapping[str, Iterable[Record]]) -> bool:
    """Whether heads are all of kinds whose heads hold beside each other, or take back only such records."""
    for head in heads:
        found: Iterable[Record] = [head]
        if isinstance(head, Withdrawal):
            found = [other for replaced in head.replaces for other in by_id.get(replaced, ())]
        if not found or not all(one.heads_all_hold for one in found):
            return False
    return True


def _sort_key(record: Record) -> tuple[str, str]:
    return record.id, repr(record_to_plain(record))


def heads_of_chains(replaced: Mapping[str, Collection[str]]) -> list[list[str]]:
    """Find the heads of every chain.

    Parameters
    ----------
    replaced
        For the id of every record that is here: the ids that it replaces, of records that are here or
        not. Two records that replace one that is not here are in one chain all the same.

    Returns
    -------
    list of list of str
        At least one head for each chain; in an order that follows from that of `replaced`.

    Notes
    -----
    A head is replaced by nothing, or only by records that it replaces in turn, directly or through
    others (a ring). The time grows with the number of records and links, whatever their shape.
    """
    above: dict[str, list[str]] = {record_id: [] for record_id in replaced}
    for record_id, others in replaced.items():
        for other in others:
            if other in above:
                above[other].append(record_id)
    ring = _rings(above)
    beaten = {ring[here] for here, ups in above.items() if any(ring[up] != ring[here] for up in ups)}
    leader = _leaders(replaced)
    heads: dict[str, list[str]] = {}
    for record_id in replaced:
        if ring[record_id] not in beaten:
            heads.setdefault(leader(record_id), []).append(record_id)
    return list(heads.values())


def _leaders(replaced: Mapping[str, Collection[str]]) -> Callable[[str], str]:
    """Join the ids that are linked, through ids that are not here as well; give one name to each group."""
    joined: dict[str, str] = {}

    def find(record_id: str) -> str:
        joined.setdefault(record_id, record_id)
        while joined[record_id] != record_id:
            joined[record_id] = joined[joined[record_id]]
            record_id = joined[record_id]
        return record_id

    for record_id, others in replaced.items():
        for other in others:
            joined[find(other)] = find(record_id)
    return find


def _rings(above: Mapping[str, Sequence[str]]) -> dict[str, int]:
    """Number the rings: two ids have the same number when the arrows lead from each to the other.

    These are the strongly connected components (Tarjan 1972, from memory), found without recursion,
    since a chain may be longer than Python's stack is deep.
    """
    ring: dict[str, int] = {}
    seen: dict[str, int] = {}
    low: dict[str, int] = {}
    open_ids: list[str] = []
    for start in above:
        if start in seen:
            continue
        path = [(start, iter(above[start]))]
        seen[start] = low[start] = len(seen)
        open_ids.append(start)
        while path:
            here, arrows = path[-1]
            for there in arrows:
                if there not in seen:
                    seen[there] = low[there] = len(seen)
                    open_ids.append(there)
                    path.append((there, iter(above[there])))
                    break
                if there not in ring:
                    low[here] = min(low[here], seen[there])
            else:
                path.pop()
                if path:
                    low[path[-1][0]] = min(low[path[-1][0]], low[here])
                if low[here] == seen[here]:
                    number = len(ring)
                    while here not in ring:
                        ring[open_ids.pop()] = number
    return ring
