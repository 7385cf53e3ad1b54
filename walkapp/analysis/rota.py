"""Rounds: who comes when, so that nothing is left out and what is marked comes more often.

A round is a sequence of turns; in each turn a few of the items (stations, questions) come. In one round
every item comes as many times as it is marked for (1, 2 or 4), spread as evenly as whole turns allow.
Rounds follow each other without end, so that what comes in turn n follows from n alone, and nobody can
choose.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from heapq import heappop, heappush
from math import lcm


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One item of a round.

    Parameters
    ----------
    key
        Unique in the round.
    often
        How many times it comes in a round, relative to the others, 1 or more.
    """

    key: str
    often: int = 1


@dataclass(frozen=True)
class Round:
    """A round that is repeated without end.

    Parameters
    ----------
    turns
        The keys that come in each turn, without repetition, the most urgent first.
    """

    turns: tuple[tuple[str, ...], ...]

    def turn(self, number: int) -> tuple[str, ...]:
        """Give the keys of a turn, 0 or more, of the endless sequence."""
        return self.turns[number % len(self.turns)] if self.turns else ()

    @property
    def keys(self) -> frozenset[str]:
        """All keys that come in it."""
        return frozenset(self._places)

    @cached_property
    def _places(self) -> dict[str, list[int]]:
        places: dict[str, list[int]] = {}
        for place, keys in enumerate(self.turns):
            for key in keys:
                places.setdefault(key, []).append(place)
        return places

    def times_before(self, key: str, number: int) -> int:
        """How many times a key came in the turns before turn `number`, from turn 0."""
        places = self._places.get(key)
        if not places:
            return 0
        rounds, rest = divmod(number, len(self.turns))
        return rounds * len(places) + bisect_left(places, rest)

    def last_before(self, key: str, number: int) -> int:
        """Give the last turn before turn `number` in which a key came; -1 when there is none."""
        times = self.times_before(key, number)
        if not times:
            return -1
        places = self._places[key]
        rounds, place = divmod(times - 1, len(places))
        return rounds * len(self.turns) + places[place]

    def longest_wait(self, key: str) -> int:
        """Give the promise for a key: it comes at least once in any so many turns that follow each other.

        Raises
        ------
        KeyError
            If it is not in the round.
        """
        places = self._places[key]
        following = (*places[1:], places[0] + len(self.turns))
        return max(after - before for before, after in zip(places, following, strict=True))


def build_round(items: Sequence[Item], per_turn: int) -> Round:
    """Spread items over a round.

    Parameters
    ----------
    items
        In the order of precedence among equals; keys are unique.
    per_turn
        How many come in each turn, 1 or more.

    Returns
    -------
    Round
        Every turn has ``min(per_turn, len(items))`` keys, all different. Without items it has no turns.

    Notes
    -----
    The j-th coming of an item that is marked w of W in all belongs into the places from (j - 1) W / w to
    j W / w of the sequence; whichever has to come first is taken first. For one place at a time this keeps
    every count within 1 of its exact share (the chairman assignment problem: R. Tijdeman, Discrete
    Mathematics 32, 1980, from memory). That no key comes twice in a turn may move a coming by a few places.
    Items that are all marked alike come in the order given, one after the other without end, so that each
    comes at least once in any ``ceil(len(items) / per_turn)`` turns.

    Examples
    --------
    >>> build_round([Item(key="a"), Item(key="b", often=2), Item(key="c")], 1).turns
    (('b',), ('a',), ('b',), ('c',))
    """
    if not items:
        return Round(())
    size = min(per_turn, len(items))
    whole = sum(item.often for item in items)
    length = lcm(whole, size)
    waiting = [(0, -(-whole // item.often), rank, 1) for rank, item in enumerate(items)]
    ready: list[tuple[int, int, int]] = []
    turns: list[tuple[str, ...]] = []
    last = [-1] * len(items)
    for place in range(0, length, size):
        chosen: list[int] = []
        held: list[tuple[int, int, int]] = []
        for here in range(place, place + size):
            while waiting and waiting[0][0] <= here:
                _, deadline, rank, times = heappop(waiting)
                heappush(ready, (deadline, rank, times))
            while ready and ready[0][1] in chosen:
                held.append(heappop(ready))
            if ready:
                _, rank, times = heappop(ready)
                _wait_for_next(waiting, items[rank].often, whole, length, rank, times)
                chosen.append(rank)
            else:
                ahead = _ahead(waiting, chosen, items, whole, length)
                chosen.append(_longest_ago(last, chosen) if ahead is None else ahead)
        for one in held:
            heappush(ready, one)
        for rank in chosen:
            last[rank] = place
        turns.append(tuple(items[rank].key for rank in chosen))
    return Round(tuple(turns))


def _longest_ago(last: Sequence[int], chosen: Sequence[int]) -> int:
    """Fill a turn with what came longest ago, where an item is marked for more than once in each turn."""
    return min(
        (rank for rank in range(len(last)) if rank not in chosen), key=lambda rank: (last[rank], rank)
    )


def _wait_for_next(
    waiting: list[tuple[int, int, int, int]], often: int, whole: int, length: int, rank: int, times: int
) -> None:
    """Put the next coming of an item into the queue, unless it belongs to the next round."""
    release = times * whole // often
    if release < length:
        heappush(waiting, (release, -(-(times + 1) * whole // often), rank, times + 1))


def _ahead(
    waiting: list[tuple[int, int, int, int]],
    chosen: Sequence[int],
    items: Sequence[Item],
    whole: int,
    length: int,
) -> int | None:
    """Take the coming that is nearest though its time is not yet there; none when all have come."""
    free = [one for one in waiting if one[2] not in chosen]
    if not free:
        return None
    one = min(free)
    waiting.remove(one)
    # Taking one out of the middle of a heap leaves no heap.
    waiting.sort()
    _wait_for_next(waiting, items[one[2]].often, whole, length, one[2], one[3])
    return one[2]
