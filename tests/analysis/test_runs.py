"""The chance of a run of the same answer, and tests that could show nothing."""

from __future__ import annotations

import itertools
import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from walkapp.analysis.many import holm, worth_testing
from walkapp.analysis.runs import chance_of_run, longest_run

chances = st.lists(st.sampled_from([0.0, 0.03, 0.25, 0.5, 0.9, 0.999, 1.0]), max_size=10)


def enumerated(shares, least):
    """Add the chances of all sequences that hold such a run."""
    return math.fsum(
        math.prod(p if hit else 1 - p for p, hit in zip(shares, hits, strict=True))
        for hits in itertools.product((True, False), repeat=len(shares))
        if any(all(hits[i : i + least]) for i in range(len(hits) - least + 1))
    )


@settings(max_examples=150, deadline=None)
@given(shares=chances, least=st.integers(1, 11))
def test_the_chance_is_that_of_all_sequences_with_such_a_run(shares, least):
    assert chance_of_run(shares, least) == pytest.approx(enumerated(shares, least), rel=1e-11, abs=1e-15)


@pytest.mark.parametrize(
    ("tosses", "longest", "chances"),
    [
        # NIST SP 800-22 rev. 1a, "Longest run of ones in a block", printed classes for blocks of 8 and 128;
        # the numbers were read quoted in several programs with this citation, not in the source.
        (8, (1, 2, 3), (0.2148, 0.3672, 0.2305, 0.1875)),
        (128, (4, 5, 6, 7, 8), (0.1174, 0.2430, 0.2493, 0.1752, 0.1027, 0.1124)),
    ],
)
def test_longest_runs_of_a_fair_coin_are_as_published(tosses, longest, chances):
    beyond = [1.0, *(chance_of_run([0.5] * tosses, most + 1) for most in longest), 0.0]

    found = [more - less for more, less in itertools.pairwise(beyond)]

    # One of them is printed cut off, not rounded: 0.24936 as 0.2493.
    assert found == pytest.approx(chances, abs=7e-5)


def test_no_two_heads_in_a_row_is_a_number_of_fibonacci():
    # Feller, An Introduction to Probability Theory, volume 1, XIII.7 (from memory).
    found = [1 - chance_of_run([0.5] * tosses, 2) for tosses in (2, 3, 4, 5)]

    assert found == [0.75, 0.625, 0.5, 0.40625]


def test_a_process_that_is_always_ok_makes_no_run_remarkable():
    assert chance_of_run([1.0] * 500, 500) == 1.0
    assert chance_of_run([0.999] * 100, 100) == pytest.approx(0.999**100)


def test_a_tiny_chance_is_as_exact_as_a_large_one():
    assert chance_of_run([0.01] * 40, 40) == pytest.approx(1e-80, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(shares=chances, random_order=st.randoms(use_true_random=False))
def test_a_longer_run_is_never_more_likely_and_the_order_may_be_turned_round(shares, random_order):
    found = [chance_of_run(shares, least) for least in range(1, len(shares) + 2)]

    assert all(longer <= shorter * (1 + 1e-12) for shorter, longer in itertools.pairwise(found))
    assert found[-1] == 0.0
    turned = [chance_of_run(shares[::-1], least) for least in range(1, len(shares) + 2)]
    assert turned == pytest.approx(found, rel=1e-11, abs=1e-15)


@pytest.mark.parametrize(("shares", "least"), [([0.5], 0), ([1.5], 1), ([-0.1], 1)])
def test_what_cannot_be_is_refused(shares, least):
    with pytest.raises(ValueError, match="chances must be 0 to 1"):
        chance_of_run(shares, least)


@settings(max_examples=60, deadline=None)
@given(hits=st.lists(st.booleans(), max_size=12))
def test_the_longest_run_is_the_first_of_the_longest(hits):
    start, length = longest_run(hits)

    assert all(hits[start : start + length])
    assert not any(all(hits[i : i + length + 1]) for i in range(len(hits) - length))
    assert not any(all(hits[i : i + length]) for i in range(start) if length)


# ------------------------------------------------------------------------------ many tests


@settings(max_examples=100, deadline=None)
@given(least=st.lists(st.floats(0, 1), max_size=12))
def test_a_test_that_could_be_told_among_all_is_kept_and_those_kept_could_all_be_told(least):
    kept = worth_testing(least, 0.05)

    many = sum(kept)
    assert all(is_kept for p, is_kept in zip(least, kept, strict=True) if p <= 0.05 / max(1, len(least)))
    # Tarone: with one fewer counted there would be more than that; so nothing that is kept is hopeless.
    assert all(p <= 0.05 / max(1, many) for p, is_kept in zip(least, kept, strict=True) if is_kept)


def test_leaving_out_hopeless_tests_keeps_the_level():
    # Ten looks at three coins each: the smallest p is 1/8 and nothing can be shown. One at ten coins.
    least = [1 / 8] * 10 + [1 / 1024]
    chance = random.Random(4)
    told = 0
    for _ in range(20_000):
        kept = [p for p, is_kept in zip(least, worth_testing(least, 0.05), strict=True) if is_kept]
        p = sum(math.comb(10, k) for k in range(sum(chance.random() < 0.5 for _ in range(10)) + 1)) / 1024
        assert kept == [1 / 1024]
        told += holm([p])[0] < 0.05
    assert told / 20_000 == pytest.approx(11 / 1024, abs=0.003)


@pytest.mark.parametrize(("least", "level"), [([-0.1], 0.05), ([1.1], 0.05), ([0.5], 0.0), ([0.5], 1.0)])
def test_chances_out_of_range_are_refused(least, level):
    with pytest.raises(ValueError, match="between 0 and 1"):
        worth_testing(least, level)
