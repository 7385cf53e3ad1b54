"""The randomisation probability: against counting every split, SciPy's permutation test, and itself."""

from __future__ import annotations

import itertools
import random
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats as scipy_stats

from walkapp.analysis.homogeneity import EXACT, SIMULATED
from walkapp.analysis.seeded import SeededChance
from walkapp.analysis.split_chance import Splits

shares = st.builds(Fraction, st.integers(0, 6), st.just(6)) | st.builds(
    Fraction, st.integers(-40, 40), st.integers(1, 9)
)
cases = st.lists(shares, min_size=2, max_size=9).flatmap(
    lambda values: st.tuples(st.just(values), st.integers(1, len(values) - 1))
)


def p_of(values, size, limit=1_000_000):
    return Splits(values, size, SeededChance(("test",)), limit).chance_of(range(size))


def counted(values, size):
    """Count every split by itself, in exact fractions."""

    def away(chosen):
        others = [values[i] for i in range(len(values)) if i not in chosen]
        mean = sum(values[i] for i in chosen) / Fraction(size)
        return abs(mean - sum(others) / Fraction(len(others)))

    seen = away(range(size))
    splits = list(itertools.combinations(range(len(values)), size))
    return sum(away(chosen) >= seen for chosen in splits) / len(splits)


@settings(max_examples=150, deadline=None)
@given(cases)
def test_it_is_the_share_of_all_splits_that_are_as_far_apart(case):
    values, size = case

    found = p_of(values, size)

    assert found.method == EXACT
    assert found.p == pytest.approx(counted(values, size), rel=1e-12)


@pytest.mark.parametrize("seed", range(6))
def test_it_agrees_with_scipy_where_that_counts_every_split(seed):
    chance = random.Random(seed)
    many, size = chance.choice([(8, 4), (9, 3), (12, 6), (10, 2)])
    values = [Fraction(chance.randint(0, 20), 20) for _ in range(many)]

    peer = scipy_stats.permutation_test(
        (np.array([float(v) for v in values[:size]]), np.array([float(v) for v in values[size:]])),
        lambda a, b, axis: np.abs(np.mean(a, axis=axis) - np.mean(b, axis=axis)),
        n_resamples=np.inf,
        vectorized=True,
        alternative="greater",
    )

    assert p_of(values, size).p == pytest.approx(peer.pvalue, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(cases, st.integers(1, 50), st.fractions(-9, 9))
def test_stretching_and_moving_all_responses_changes_nothing(case, times, more):
    values, size = case
    moved = [value * times + more for value in values]

    assert p_of(values, size) == p_of(moved, size)
    assert p_of(values, size) == p_of([-value for value in values], size)


def test_equal_groups_are_exactly_equal_whatever_their_decimals():
    values = [Fraction("0.1"), Fraction("0.2"), Fraction("0.3"), Fraction("0")]

    assert p_of([values[0], values[1], values[2], values[3]], 2).p == 1.0


@pytest.mark.parametrize("places", [0, 4, 9])
def test_thirty_two_runs_are_counted_exactly_whatever_was_measured(places):
    chance = random.Random(places)
    values = [Fraction(chance.randint(0, 10 ** (places + 2)), 10**places) for _ in range(32)]

    assert p_of(values, 16).method == EXACT


def test_many_runs_of_counted_parts_are_counted_exactly():
    chance = random.Random(3)
    values = [Fraction(chance.randint(0, 20), 20) for _ in range(96)]

    assert p_of(values, 48).method == EXACT


def test_where_counting_takes_too_long_it_is_simulated_near_the_exact_value():
    chance = random.Random(4)
    values = [Fraction(chance.randint(0, 20), 20) for _ in range(24)]

    exact, simulated = p_of(values, 12), p_of(values, 12, limit=10)

    assert (exact.method, simulated.method, simulated.draws) == (EXACT, SIMULATED, 9_999)
    assert simulated.p == pytest.approx(exact.p, abs=5 * 0.5 / simulated.draws**0.5)
    assert p_of(values, 12, limit=10) == simulated


def test_the_smaller_group_is_drawn_and_says_the_same():
    values = [Fraction(n * n % 17) for n in range(15)]

    few = Splits(values, 3, SeededChance(("x",)), 0).chance_of(range(3))
    most = Splits(values, 12, SeededChance(("x",)), 0).chance_of(range(3, 15))

    assert few == most


@pytest.mark.parametrize(("size", "chosen"), [(0, ()), (3, (0, 1, 2)), (1, (0, 1)), (2, (1, 1))])
def test_groups_that_cannot_be_are_refused(size, chosen):
    with pytest.raises(ValueError):
        Splits([Fraction(1), Fraction(2), Fraction(3)], size, SeededChance(("x",))).chance_of(chosen)
