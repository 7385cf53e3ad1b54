"""Rounds: who comes when, so that nothing is left out and what is marked comes more often.

A round is a sequence of turns; in each turn a few of the items (stations, questions) come, each at most
once. Rounds follow each other without end, so that what comes in turn n follows from n alone, and nobody
can choose. Where the list of items changes, everything comes once, what has waited longest first; then the
new round begins.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from heapq import heappop, heappush
from math import gcd

LARGEST_ROUND = 5_000
"""Comings of a round up to which its promises are read off its turns."""


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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Share:
    """How often an item comes: in ``part`` of ``whole`` turns, at most in each."""

    part: int
    whole: int

    def window(self, times: int) -> tuple[int, int]:
        """Give the turns of a coming, numbered from 1: the first one, and the one behind the last."""
        return (times - 1) * self.whole // self.part, -(-times * self.whole // self.part)

    def urgency(self, times: int) -> tuple[int, int, int]:
        """Give what is compared with others, the smallest first: the rule PD2 (see :func:`build_round`)."""
        _, end = self.window(times)
        overlaps = self.window(times + 1)[0] < end
        rest = self.whole - self.part
        if not overlaps or rest > self.part:
            return end, -overlaps, 0
        filled = -(-end * rest // self.whole)
        return end, -1, -filled * self.whole // rest


class Round:
    """A round that is repeated without end; its turns are worked out as far as they are asked for.

    Parameters
    ----------
    items
        In the order of precedence among equals; keys are unique.
    per_turn
        How many come in each turn, 1 or more; all of them where there are fewer.
    """

    def __init__(self, items: Sequence[Item], per_turn: int) -> None:
        self.items = tuple(items)
        self.per_turn = min(per_turn, len(self.items))
        self._turns: list[tuple[str, ...]] = []
        self._next = self._play()

    @cached_property
    def keys(self) -> frozenset[str]:
        """All keys that come in it."""
        return frozenset(item.key for item in self.items)

    @cached_property
    def length(self) -> int:
        """How many turns it has; 0 without items."""
        if not self.items:
            return 0
        whole = self._shares[0].whole
        return whole // gcd(whole, *(share.part for share in self._shares))

    @property
    def turns(self) -> tuple[tuple[str, ...], ...]:
        """The keys that come in each turn of one round."""
        self._reach(self.length)
        return tuple(self._turns)

    def turn(self, number: int) -> tuple[str, ...]:
        """Give the keys of a turn, 0 or more, of the endless sequence; none without items."""
        if not self.items:
            return ()
        place = number % self.length
        self._reach(place + 1)
        return self._turns[place]

    def times_before(self, key: str, number: int) -> int:
        """How many times a key came in the turns before turn `number`, from turn 0."""
        if key not in self.keys:
            return 0
        rounds, rest = divmod(number, self.length)
        self._reach(self.length if rounds else rest)
        places = self._places[key]
        return rounds * len(places) + bisect_left(places, rest)

    def longest_wait(self, key: str) -> int:
        """Give the promise for a key: it comes at least once in any so many turns that follow each other.

        No fewer turns would do, but for a round of more than :data:`LARGEST_ROUND` comings, which is not
        worked out for this: there it is what the windows of a share w allow at most, ``ceil(2 / w)``.

        Raises
        ------
        KeyError
            If it is not in the round.
        """
        if key not in self.keys:
            raise KeyError(key)
        if self._is_alike:
            return self.all_in  # one after the other, without a look at each turn
        if self.length * self.per_turn > LARGEST_ROUND:
            return self._bounds[key]
        return self._waits[key]

    @property
    def all_in(self) -> int:
        """The fewest turns in which every item can come once."""
        return -(-len(self.items) // self.per_turn) if self.items else 0

    @cached_property
    def _shares(self) -> tuple[_Share, ...]:
        return _shares(self.items, self.per_turn)

    @cached_property
    def _places(self) -> dict[str, list[int]]:
        return {item.key: [] for item in self.items}

    @cached_property
    def _is_alike(self) -> bool:
        return len(set(self._shares)) == 1

    @cached_property
    def _bounds(self) -> dict[str, int]:
        return {
            item.key: 1 if share.part == share.whole else -(-2 * share.whole // share.part)
            for item, share in zip(self.items, self._shares, strict=True)
        }

    @cached_property
    def _waits(self) -> dict[str, int]:
        self._reach(self.length)
        return {key: self._longest_gap(places) for key, places in self._places.items()}

    def _longest_gap(self, places: Sequence[int]) -> int:
        following = (*places[1:], places[0] + self.length)
        return max(after - before for before, after in zip(places, following, strict=True))

    def _reach(self, count: int) -> None:
        """Work out the first turns, at most one round."""
        while len(self._turns) < min(count, self.length):
            keys = tuple(self.items[rank].key for rank in next(self._next))
            for key in keys:
                self._places[key].append(len(self._turns))
            self._turns.append(keys)

    def _play(self) -> Iterator[list[int]]:
        """Give turn after turn the ranks of the items that come, the most urgent first."""
        waiting = [(0, rank, 1) for rank in range(len(self.items))]
        ready: list[tuple[tuple[int, int, int], int, int]] = []
        for turn in range(self.length):
            while waiting and waiting[0][0] <= turn:
                _, rank, times = heappop(waiting)
                heappush(ready, (self._shares[rank].urgency(times), rank, times))
            chosen = [heappop(ready) for _ in range(self.per_turn)]
            for _, rank, times in chosen:
                heappush(waiting, (self._shares[rank].window(times + 1)[0], rank, times + 1))
            yield [rank for _, rank, _ in chosen]


def _shares(items: Sequence[Item], size: int) -> tuple[_Share, ...]:
    """Give the share of each item: by how often it is marked, and none comes twice in a turn."""
    whole, seats = sum(item.often for item in items), size
    always: set[int] = set()
    for rank in sorted(range(len(items)), key=lambda rank: -items[rank].often):
        if seats and items[rank].often * seats >= whole:
            always.add(rank)
            whole, seats = whole - items[rank].often, seats - 1
    return tuple(
        _Share(part=max(whole, 1), whole=max(whole, 1))
        if rank in always
        else _Share(part=item.often * seats, whole=whole)
        for rank, item in enumerate(items)
    )


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
    The share of an item is what it is marked for, of what all are marked for, times the keys of a turn. An
    item whose share would be more than one comes in every turn, and the others share the rest. Before any
    turn the number of times that an item came differs from its exact share by less than 1.

    The j-th coming of an item with share w belongs into the turns from floor((j - 1) / w) to before
    ceil(j / w). Of those whose time has come, the ones that have to come first are taken; of equals those
    whose next coming could begin in the last of these turns, then those behind which most turns follow
    that are filled without a choice (rule PD2). That this always fits is a theorem on fair sharing of
    processors: A. Srinivasan and J. H. Anderson, "Optimal rate-based scheduling on multiprocessors",
    Journal of Computer and System Sciences 72, 2006; the shares stem from S. K. Baruah, N. K. Cohen,
    C. G. Plaxton and D. A. Varvel, "Proportionate progress", Algorithmica 15, 1996 (both from memory).

    Items that are all marked alike come in the order given, one after the other without end, so that each
    comes at least once in any ``ceil(len(items) / per_turn)`` turns.

    Examples
    --------
    >>> build_round([Item(key="a"), Item(key="b", often=2), Item(key="c")], 1).turns
    (('b',), ('a',), ('b',), ('c',))
    """
    return Round(items, per_turn)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stretch:
    """What is in force from one turn on.

    Parameters
    ----------
    first
        Number of the turn with which it begins.
    round
        The round.
    ahead
        Turns before the round begins, in which everything comes once in the order of the round's items;
        the last of them is filled up from the beginning.
    """

    first: int
    round: Round
    ahead: int

    def turn(self, number: int) -> tuple[str, ...]:
        """Give the keys of a turn, counted from the first."""
        if number >= self.ahead:
            return self.round.turn(number - self.ahead)
        items, size = self.round.items, self.round.per_turn
        places = range(number * size, (number + 1) * size)
        return tuple(items[place % len(items)].key for place in places)

    def times_before(self, key: str, number: int) -> int:
        """How many times a key came before a turn, counted from the first."""
        times = sum(key in self.turn(place) for place in range(min(number, self.ahead)))
        return times + (self.round.times_before(key, number - self.ahead) if number > self.ahead else 0)


class Rota:
    """Rounds that follow each other as the list of items changes.

    Notes
    -----
    With n items of which m come in a turn, everything comes in the first ``all = ceil(n / m)`` turns after
    a change. So an item comes at least once in any ``promise + 2 * all - 2`` turns that follow each other,
    however often the list changes; `promise` is the longest that any of the rounds gives it, and n counts
    all that are in the list meanwhile. The proof: at a change it has waited fewer turns than were promised,
    or, where its round had not come to it since the change before, fewer than the promise and ``all - 1``
    together. What comes before it then has waited longer or never came, and comes once, further changes or
    not, so that it waits fewer than ``all`` more.
    """

    def __init__(self) -> None:
        self._stretches: list[_Stretch] = []
        self._firsts: list[int] = []
        self._came: dict[str, _Came] = {}
        self._counted = 0

    def change(self, first: int, items: Sequence[Item], per_turn: int) -> None:
        """Let other items come from a turn on; nothing changes when they are the same.

        Parameters
        ----------
        first
            Number of the turn, not below that of the change before.
        items
            In the order of precedence among those that have waited as long.
        per_turn
            How many come in each turn, 1 or more.
        """
        if self._firsts and self._firsts[-1] == first:  # it was never in force
            self._stretches.pop()
            self._firsts.pop()
        if self._stretches and set(self._stretches[-1].round.items) == set(items):
            return
        for number in range(self._counted, first) if self._firsts else ():
            for key in self.turn(number):
                self._came.setdefault(key, _Came()).add(number, self._firsts[-1])
        self._counted = first
        order = sorted(items, key=lambda item: self._came[item.key].last if item.key in self._came else -1)
        found = build_round(order, per_turn)
        ahead = found.all_in if self._came else 0
        self._stretches.append(_Stretch(first=first, round=found, ahead=ahead))
        self._firsts.append(first)

    def turn(self, number: int) -> tuple[str, ...]:
        """Give the keys of a turn."""
        at = bisect_right(self._firsts, number) - 1
        return self._stretches[at].turn(number - self._firsts[at]) if at >= 0 else ()

    def round_at(self, number: int) -> Round:
        """Give the round that is in force in a turn, or follows when everything has come once."""
        at = bisect_right(self._firsts, number) - 1
        return self._stretches[at].round if at >= 0 else Round((), 1)

    def times_before(self, key: str, number: int) -> int:
        """How many times a key came before a turn."""
        at = bisect_left(self._firsts, number) - 1
        if at < 0:
            return 0
        first = self._firsts[at]
        before = self._came[key].times_before(first) if key in self._came else 0
        return before + self._stretches[at].times_before(key, number - first)


class _Came:
    """How many times a key came, stretch by stretch."""

    def __init__(self) -> None:
        self.last = -1
        self._firsts: list[int] = []
        self._times: list[int] = []

    def add(self, turn: int, first: int) -> None:
        """Count a turn of the stretch that begins with turn `first`."""
        if not self._firsts or self._firsts[-1] != first:
            self._times.append(self._times[-1] if self._times else 0)
            self._firsts.append(first)
        self._times[-1] += 1
        self.last = turn

    def times_before(self, first: int) -> int:
        """How many times it came in the stretches before that which begins with turn `first`."""
        at = bisect_left(self._firsts, first) - 1
        return self._times[at] if at >= 0 else 0
