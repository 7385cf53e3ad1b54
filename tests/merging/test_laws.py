"""The laws of merging, tried on lists of records, on real stores and on real bundles.

Merging is the union of sets of records by id and content, so it is idempotent, commutative and
associative, nothing is its neutral element, and no order of arrival and no way of splitting can be seen
afterwards.
"""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import Phase, find, given, settings
from hypothesis import strategies as st

from tests.builders import make, record_id
from tests.merging.histories import IDS, LAWS, cases
from tests.merging.worlds import (
    bundle_world,
    forgets_early_replacements,
    holds,
    last_writer_wins,
    record_world,
    store_world,
)
from walkapp.model.records import Note
from walkapp.model.standing import heads_of_chains, standing_of


@settings(max_examples=300)
@given(case=cases())
def test_records_come_together_to_the_same_in_every_way(case):
    assert holds(record_world, case)


@settings(max_examples=25)
@given(case=cases())
def test_stores_come_together_to_the_same_in_every_way(case):
    assert holds(store_world, case)


@settings(max_examples=10)
@given(case=cases())
def test_bundles_come_together_to_the_same_in_every_way(case):
    assert holds(bundle_world, case)


@pytest.mark.parametrize("law", ["commutative", "order", "late"])
def test_control_a_merge_in_which_the_last_writer_wins_is_refuted(law):
    find(cases((law,)), lambda case: not holds(last_writer_wins, case), settings=_FOUND_SOON)


@pytest.mark.parametrize("law", ["commutative", "order", "late"])
def test_control_a_merge_that_forgets_early_replacements_is_refuted(law):
    find(cases((law,)), lambda case: not holds(forgets_early_replacements, case), settings=_FOUND_SOON)


_FOUND_SOON = settings(max_examples=2_000, phases=[Phase.generate])


@pytest.mark.parametrize("law", LAWS)
def test_every_law_is_tried_on_examples_with_several_heads(law):
    def has_conflict(case):
        _, standing = record_world(case.one)
        return bool(standing.conflicts)

    find(cases((law,)), has_conflict, settings=_FOUND_SOON)


_LINKS = st.dictionaries(
    st.sampled_from(IDS).map(str), st.sets(st.sampled_from((*IDS, 99)).map(str), max_size=3), max_size=8
)


@settings(max_examples=300)
@given(links=_LINKS)
def test_the_heads_are_those_of_the_definition(links):
    """A head is replaced by nothing, or only by what it replaces in turn, directly or through others."""

    def reach(start, arrows):
        found, waiting = set(), [start]
        while waiting:
            for there in arrows.get(waiting.pop(), ()):
                if there not in found:
                    found.add(there)
                    waiting.append(there)
        return found

    above = {here: {up for up, others in links.items() if here in others} for here in links}
    everything = set(links).union(*links.values())
    both_ways = {i: links.get(i, set()) | {up for up, o in links.items() if i in o} for i in everything}
    wanted = {}
    for here in links:
        if all(here in reach(up, above) for up in reach(here, above)):
            wanted.setdefault(frozenset(reach(here, both_ways) | {here}), set()).add(here)

    assert {frozenset(heads) for heads in heads_of_chains(links)} == set(map(frozenset, wanted.values()))


def test_a_chain_of_twenty_thousand_corrections_has_one_head():
    links = {str(n): {str(n - 1)} for n in range(20_000)}

    assert heads_of_chains(links) == [["19999"]]


def test_in_a_ring_of_twenty_thousand_records_each_is_a_head():
    links = {str(n): {str((n - 1) % 20_000)} for n in range(20_000)}

    (heads,) = heads_of_chains(links)
    assert len(heads) == 20_000


def test_a_record_that_replaces_itself_holds_and_is_no_conflict():
    itself = make(Note, 10, station="weld", words="x", replaces=(record_id(10),))

    standing = standing_of([itself])

    assert (standing.current, standing.conflicts) == ((itself,), ())


def test_three_heads_are_all_kept_in_the_same_order_on_every_tablet():
    first = make(Note, 10, station="weld", words="0")
    heads = [make(Note, n, station="weld", words=str(n), replaces=(record_id(10),)) for n in (11, 12, 13)]

    for order in ([first, *heads], [*reversed(heads), first], [heads[1], first, heads[0], heads[2]]):
        (conflict,) = standing_of(order).conflicts
        assert conflict.heads == tuple(heads)
    assert all(a.id < b.id for a, b in pairwise(heads))
