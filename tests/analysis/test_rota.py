"""Laws of rounds: nothing is left out, shares are kept to within one, and nothing starves at a change."""

from __future__ import annotations

import itertools
from collections import Counter
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from walkapp.analysis.rota import Item, Rota, Round, build_round

KEYS = "abcdefghijklmnopqrstuvwxyz"


def items_of(often):
    return [Item(key=KEYS[place], often=many) for place, many in enumerate(often)]


def exact_shares(often, per_turn):
    """The share of each item in a turn, found another way than the program does: by raising the water.

    Every item gets the same multiple of what it is marked for, but at most one; the multiple is raised
    until the shares fill the turn.
    """
    seats = Fraction(min(per_turn, len(often)))
    for full in range(len(often) + 1):
        heaviest = sorted(often, reverse=True)
        rest = sum(heaviest[full:])
        if not rest:
            break
        level = (seats - full) / rest
        if all(level * many <= 1 for many in heaviest[full:]):
            return [min(Fraction(1), level * many) for many in often]
    return [Fraction(1)] * len(often)


def assert_every_share_is_kept(often, per_turn):
    found, shares = build_round(items_of(often), per_turn), exact_shares(often, per_turn)
    came = Counter()
    for number, turn in enumerate(found.turns, start=1):
        assert len(turn) == len(set(turn)) == min(per_turn, len(often))
        came.update(turn)
        for key, share in zip(KEYS, shares, strict=False):
            assert abs(came[key] - number * share) < 1
    assert [came[KEYS[place]] for place in range(len(often))] == [len(found.turns) * s for s in shares]


some_often = st.lists(st.sampled_from((1, 1, 2, 4)), min_size=1, max_size=20)
some_per_turn = st.integers(1, 12)


@pytest.mark.parametrize("many", range(1, 7))
def test_every_small_round_keeps_every_share_to_within_one(many):
    for often in itertools.combinations_with_replacement((4, 2, 1), many):
        for per_turn in range(1, many + 1):
            assert_every_share_is_kept(often, per_turn)


@given(some_often, some_per_turn)
def test_any_round_keeps_every_share_to_within_one(often, per_turn):
    assert_every_share_is_kept(often, per_turn)


@given(some_often, some_per_turn)
def test_a_promise_is_kept_by_any_turns_that_follow_each_other_and_by_no_fewer(often, per_turn):
    found = build_round(items_of(often), per_turn)
    turns = [found.turn(number) for number in range(3 * found.length)]

    for item in found.items:
        promise = found.longest_wait(item.key)
        places = [number for number, turn in enumerate(turns) if item.key in turn]
        assert places[0] < promise
        assert max((after - before for before, after in itertools.pairwise(places)), default=1) == promise


@given(some_often, some_per_turn)
def test_what_is_promised_for_a_round_too_large_to_look_at_is_kept_by_smaller_ones(often, per_turn):
    found, shares = build_round(items_of(often), per_turn), exact_shares(often, per_turn)

    for item, share in zip(found.items, shares, strict=True):
        bound = 1 if share == 1 else -(-2 // share)
        assert found._bounds[item.key] == bound >= found.longest_wait(item.key)


def test_the_promises_of_the_largest_round_are_told_without_working_it_out():
    found = build_round([Item(key=str(place), often=(1, 2, 4)[place % 3]) for place in range(5_000)], 3)

    # All are marked for 11,665 together, of which three come in a turn.
    assert [found.longest_wait(str(place)) for place in range(3)] == [7777, 3889, 1945]
    assert found._turns == []


@given(some_often, some_per_turn)
def test_what_is_marked_more_comes_as_often_or_more_and_waits_no_longer_by_share(often, per_turn):
    found = build_round(items_of(often), per_turn)
    came = Counter(itertools.chain.from_iterable(found.turns))

    for (a, more), (b, less) in itertools.permutations(zip(KEYS, often, strict=False), 2):
        if more >= less:
            assert came[a] >= came[b] >= 1


@given(st.integers(1, 20), some_per_turn)
def test_items_that_are_marked_alike_come_one_after_the_other(many, per_turn):
    found = build_round(items_of([2] * many), per_turn)

    sequence = list(itertools.chain.from_iterable(found.turn(number) for number in range(3 * many)))
    assert sequence == list(itertools.islice(itertools.cycle(KEYS[:many]), len(sequence)))
    assert {found.longest_wait(key) for key in KEYS[:many]} == {-(-many // min(per_turn, many))}


def test_an_item_that_is_marked_for_more_than_once_a_turn_comes_in_each():
    # 4 of 7 times two a turn would be 8/7: it comes always, and the others share the other place.
    found = build_round(items_of([4, 1, 1, 1]), 2)

    assert found.turns == (("a", "b"), ("a", "c"), ("a", "d"))
    assert found.longest_wait("a") == 1
    assert found.longest_wait("b") == 3


def test_a_round_of_nothing_has_no_turns():
    found = build_round([], 3)

    assert (found.turns, found.turn(7), found.length, found.keys) == ((), (), 0, frozenset())
    assert found.times_before("a", 9) == 0
    with pytest.raises(KeyError):
        found.longest_wait("a")


@given(some_often, some_per_turn, st.integers(0, 200))
def test_times_before_counts_the_turns(often, per_turn, number):
    asked_first = build_round(items_of(often), per_turn)
    turns = [build_round(items_of(often), per_turn).turn(before) for before in range(min(number, 5))]
    turns += [asked_first.turn(before) for before in range(len(turns), number)]

    for item in asked_first.items:
        times = build_round(items_of(often), per_turn).times_before(item.key, number)
        assert times == sum(item.key in turn for turn in turns)


def test_a_round_is_worked_out_only_as_far_as_it_is_asked_for():
    # 20,000 items, half of them marked twice: a whole round has 30,000 turns.
    found = Round([Item(key=str(place), often=1 + place % 2) for place in range(20_000)], 1)

    found.turn(10)

    assert found.length == 30_000
    assert len(found._turns) == 11


# Lists that change

changes = st.lists(
    st.tuples(st.integers(0, 12), st.dictionaries(st.sampled_from(KEYS[:9]), st.sampled_from((1, 2, 4)))),
    min_size=1,
    max_size=8,
)


def play(plan, per_turn, more=30):
    """Make a rota of changes, each so many turns after the one before; give it, and what was in force."""
    rota, first, lists = Rota(), 0, []
    for place, (wait, often) in enumerate(plan):
        first += wait if place else 0
        items = [Item(key=key, often=many) for key, many in sorted(often.items())]
        rota.change(first, items, per_turn)
        lists.append((first, items))
    return rota, lists, first + more


def list_at(lists, number):
    return [items for first, items in lists if first <= number][-1]


@given(changes, st.integers(1, 5))
def test_a_turn_asks_what_is_listed_then_and_fills_its_places(plan, per_turn):
    rota, lists, end = play(plan, per_turn)

    for number in range(end):
        listed = {item.key for item in list_at(lists, number)}
        turn = rota.turn(number)
        assert len(turn) == len(set(turn)) == min(per_turn, len(listed))
        assert set(turn) <= listed == rota.round_at(number).keys


@given(changes, st.integers(1, 5))
def test_however_often_the_list_changes_nothing_waits_longer_than_the_bound(plan, per_turn):
    rota, lists, end = play(plan, per_turn, more=120)

    for key in {item.key for _, items in lists for item in items}:
        waited, promise, meanwhile = 0, 0, set()
        for number in range(end):
            listed = {item.key for item in list_at(lists, number)}
            if key not in listed or key in rota.turn(number):
                waited, promise, meanwhile = 0, 0, set()
            if key not in listed:
                continue
            promise = max(promise, rota.round_at(number).longest_wait(key))
            meanwhile |= listed
            everything = -(-len(meanwhile) // min(per_turn, len(meanwhile)))
            if key not in rota.turn(number):
                waited += 1
                assert waited < promise + 2 * everything - 2


@given(changes, st.integers(1, 5))
def test_a_change_alters_nothing_before_it(plan, per_turn):
    whole, lists, _ = play(plan, per_turn)

    for many in range(1, len(plan)):
        shorter, _, _ = play(plan[:many], per_turn)
        for number in range(lists[many][0]):
            assert shorter.turn(number) == whole.turn(number)
            for key in KEYS[:9]:
                assert shorter.times_before(key, number) == whole.times_before(key, number)


@given(changes, st.integers(1, 5))
def test_times_before_counts_the_turns_of_all_lists(plan, per_turn):
    rota, _, end = play(plan, per_turn)
    came = Counter()

    for number in range(end):
        assert {key: rota.times_before(key, number) for key in KEYS[:9]} == {k: came[k] for k in KEYS[:9]}
        came.update(rota.turn(number))


def test_after_a_change_everything_comes_once_what_is_new_first_then_what_waited_longest():
    rota = Rota()
    rota.change(0, items_of([1, 2, 1]), 1)
    before = [rota.turn(number) for number in range(5)]
    rota.change(5, items_of([1, 2, 1, 1]), 1)

    assert before == [("b",), ("a",), ("b",), ("c",), ("b",)]
    assert [rota.turn(number) for number in range(5, 9)] == [("d",), ("a",), ("c",), ("b",)]


def test_a_list_that_changes_at_every_turn_starves_nothing_that_is_marked_less():
    rota = Rota()
    for first in range(40):
        rota.change(first, [*items_of([4, 4, 1, 1]), Item(key=f"new {first}")][: 4 + first % 2], 1)

    came = Counter(key for first in range(40) for key in rota.turn(first))
    assert min(came[key] for key in "abcd") >= 4


def test_a_list_that_changes_and_changes_back_on_one_turn_did_not_change():
    rota, other = Rota(), Rota()
    rota.change(0, items_of([1, 1, 2]), 2)
    other.change(0, items_of([1, 1, 2]), 2)
    rota.change(3, items_of([1, 1]), 2)
    rota.change(3, items_of([1, 1, 2]), 2)

    assert [rota.turn(n) for n in range(20)] == [other.turn(n) for n in range(20)]
