"""The run rules of control charts: examples, a second writing of them, published run lengths, and laws."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import eye, lil_matrix
from scipy.sparse.linalg import spsolve
from scipy.stats import norm

from walkapp.analysis.control.rules import (
    ALL_RULES,
    ALTERNATING,
    APART,
    CLOSE,
    COUNT_RULES,
    FOUR_OF_FIVE,
    ONE_SIDE,
    ONE_SIDE_POINTS,
    OUTSIDE,
    TREND,
    TWO_OF_THREE,
    Placed,
    signals_of,
)


def placed(sigmas, chance=None):
    """Points so many sigma above or below the centre line."""
    found = []
    for one in sigmas:
        exact = Fraction(str(one))
        zone = sum(abs(exact) > line for line in (1, 2, 3))
        side = (exact > 0) - (exact < 0)
        found.append(Placed(value=exact, side=side, zone=zone, chance=chance))
    return found


def found_by(rule, sigmas):
    return [(one.side, one.points) for one in signals_of(placed(sigmas), [rule])]


# ------------------------------------------------------------------------------------- examples


def test_a_point_beyond_three_sigma_is_outside_and_one_on_the_line_is_not():
    assert found_by(OUTSIDE, [0, 3, 3.01, -3, -3.01]) == [(1, (2,)), (-1, (4,))]


@pytest.mark.parametrize(
    ("sigmas", "found"),
    [
        ([2.1, 0, 2.1], [(1, (0, 2))]),
        ([2.1, 2.1], [(1, (0, 1))]),
        ([2.1, 0, 0, 2.1], []),
        ([2.1, 0, -2.1], []),
        ([2, 2, 2], []),
        ([-2.1, -2.1, 0, -2.1], [(-1, (0, 1, 3))]),
        ([2.1, 2.1, 0, 0, 0, 2.1, 2.1], [(1, (0, 1)), (1, (5, 6))]),
    ],
)
def test_two_of_three_lie_beyond_two_sigma_on_the_same_side(sigmas, found):
    assert found_by(TWO_OF_THREE, sigmas) == found


@pytest.mark.parametrize(
    ("sigmas", "found"),
    [
        ([1.1, 1.1, 0, 1.1, 1.1], [(1, (0, 1, 3, 4))]),
        ([1.1, 1.1, 1.1, 1.1], [(1, (0, 1, 2, 3))]),
        ([1.1, 1.1, 0, 0, 1.1, 1.1], []),
        ([1.1, 1.1, -1.1, 1.1, -1.1], []),
        ([1, 1, 1, 1, 1], []),
        ([-1.5] * 7, [(-1, tuple(range(7)))]),
    ],
)
def test_four_of_five_lie_beyond_one_sigma_on_the_same_side(sigmas, found):
    assert found_by(FOUR_OF_FIVE, sigmas) == found


def test_eight_lie_on_one_side_and_a_point_on_the_line_breaks_the_run():
    assert found_by(ONE_SIDE, [0.1] * 7) == []
    assert found_by(ONE_SIDE, [-0.5, *[0.1] * 8]) == [(1, tuple(range(1, 9)))]
    assert found_by(ONE_SIDE, [0.1] * 4 + [0] + [0.1] * 7) == []


def test_twelve_on_one_side_are_one_signal():
    assert found_by(ONE_SIDE, [-0.1] * 12) == [(-1, tuple(range(12)))]


def test_a_side_on_which_most_points_lie_by_chance_needs_a_longer_run():
    def runs(many):
        return signals_of(placed([-0.1] * many, chance=0.8), COUNT_RULES)

    assert runs(20) == ()
    assert [one.points for one in runs(21)] == [tuple(range(21))]


def test_a_side_on_which_few_points_lie_still_needs_eight():
    assert signals_of(placed([0.5] * 7, chance=0.1), COUNT_RULES) == ()
    assert len(signals_of(placed([0.5] * 8, chance=0.1), COUNT_RULES)) == 1


def test_six_points_rise_or_fall_and_equal_ones_do_neither():
    assert found_by(TREND, [-0.5, -0.4, -0.3, -0.2, -0.1]) == []
    assert found_by(TREND, [-0.5, -0.4, -0.3, -0.2, -0.1, 0.2]) == [(1, tuple(range(6)))]
    assert found_by(TREND, [0.5, 0.4, 0.3, 0.2, 0.1, 0, 0.1]) == [(-1, tuple(range(6)))]
    assert found_by(TREND, [0.1, 0.2, 0.3, 0.3, 0.4, 0.5, 0.6]) == []


def test_fourteen_points_go_up_and_down_in_turn():
    turns = [(-1) ** n * 0.3 for n in range(14)]
    assert found_by(ALTERNATING, turns) == [(0, tuple(range(14)))]
    assert found_by(ALTERNATING, turns[:13]) == []
    assert found_by(ALTERNATING, [*turns[:7], turns[6], *turns[7:]]) == []


def test_fifteen_lie_within_one_sigma_and_those_on_the_line_are_within():
    assert found_by(CLOSE, [1, -1] * 7 + [0]) == [(0, tuple(range(15)))]
    assert found_by(CLOSE, [0.2] * 14) == []
    assert found_by(CLOSE, [0.2] * 7 + [1.1] + [0.2] * 7) == []


def test_eight_lie_beyond_one_sigma_on_both_sides():
    assert found_by(APART, [1.5, -1.5] * 4) == [(0, tuple(range(8)))]
    assert found_by(APART, [1.5] * 8) == []  # all on one side: rules 3 and 4 say that
    assert found_by(APART, [1.5, -1.5, 1] * 3) == []


def test_only_the_chosen_rules_are_used():
    assert {one.rule for one in signals_of(placed([3.5] * 8), COUNT_RULES)} == {OUTSIDE, ONE_SIDE}
    assert signals_of([], ALL_RULES) == ()


# ---------------------------------------------------------------- a second writing, by windows


WINDOWS = {
    TWO_OF_THREE: 3,
    FOUR_OF_FIVE: 5,
    ONE_SIDE: 8,
    TREND: 6,
    ALTERNATING: 14,
    CLOSE: 15,
    APART: 8,
}


def points_in_windows(rule, sigmas):
    """The points of every window that has what the rule asks for, one window after the other."""
    marked: set[int] = set()
    wide = WINDOWS[rule]
    # At the beginning of a chart two, or four, points may be enough for the rules that leave one out.
    for end in range(1, len(sigmas) + 1):
        places = range(max(0, end - wide), end)
        window = [sigmas[place] for place in places]
        steps = [b - a for a, b in pairwise(window)]
        for sign in (1, -1):
            beyond = {zone: [p for p in places if sign * sigmas[p] > zone] for zone in (0, 1, 2)}
            if rule == TWO_OF_THREE and len(beyond[2]) >= 2:
                marked.update(beyond[2])
            if rule == FOUR_OF_FIVE and len(beyond[1]) >= 4:
                marked.update(beyond[1])
            if rule == ONE_SIDE and len(beyond[0]) == wide:
                marked.update(places)
            if rule == TREND and len(window) == wide and all(sign * step > 0 for step in steps):
                marked.update(places)
        if len(window) < wide:
            continue
        if rule == ALTERNATING and all(a * b < 0 for a, b in pairwise(steps)):
            marked.update(places)
        if rule == CLOSE and all(abs(one) <= 1 for one in window):
            marked.update(places)
        if rule == APART and all(abs(one) > 1 for one in window) and min(window) < 0 < max(window):
            marked.update(places)
    return marked


SIGMAS = st.one_of(
    st.lists(st.sampled_from([-3.5, -2.5, -1.5, -0.5, 0, 0.5, 1.5, 2.5, 3.5]), max_size=40),
    st.lists(st.sampled_from([-2.5, -1.5, 1.5]), max_size=40),
    st.lists(st.sampled_from([-0.5, -0.4, 0.2, 0.5]), max_size=40),
    st.lists(st.booleans(), max_size=30).map(
        lambda ups: [sum(ups[:n]) / 20 - 0.5 for n in range(len(ups))]
    ),
    st.lists(st.integers(1, 9), max_size=30).map(
        lambda sizes: [s / 10 * (-1) ** n for n, s in enumerate(sizes)]
    ),
)


@given(SIGMAS)
def test_the_points_of_the_signals_are_those_of_the_windows(sigmas):
    for rule in WINDOWS:
        found = [point for one in signals_of(placed(sigmas), [rule]) for point in one.points]
        expected = points_in_windows(rule, sigmas)
        if rule == APART:
            # A run goes on beyond the windows that hold both sides.
            assert expected <= set(found)
            assert bool(expected) == bool(found)
        else:
            assert set(found) == expected, rule


@given(SIGMAS)
def test_mirrored_points_give_mirrored_signals(sigmas):
    found = signals_of(placed(sigmas))
    mirrored = signals_of(placed([-one for one in sigmas]))

    assert sorted((one.rule, -one.side, one.points) for one in mirrored) == sorted(
        (one.rule, one.side, one.points) for one in found
    )


@given(SIGMAS)
def test_points_read_backwards_give_the_same_signals_backwards(sigmas):
    last = len(sigmas) - 1
    found = signals_of(placed(sigmas))
    backwards = signals_of(placed(sigmas[::-1]))

    def turned(one):
        side = -one.side if one.rule == TREND else one.side
        return one.rule, side, tuple(last - point for point in reversed(one.points))

    assert sorted(map(turned, backwards)) == sorted((one.rule, one.side, one.points) for one in found)


@given(SIGMAS, st.randoms())
def test_the_order_does_not_matter_for_points_outside(sigmas, random):
    mixed = random.sample(sigmas, len(sigmas))

    def outside(of):
        return sorted(of[one.points[0]] for one in signals_of(placed(of), [OUTSIDE]))

    assert outside(mixed) == outside(sigmas)


# ----------------------------------------------------------------------- published run lengths


def average_run_length(rules):
    """Points until the first signal of a stable process with known limits: an absorbing Markov chain.

    A state holds what the rules remember: the last four points, and the run on one side.
    """
    inner = [norm.cdf(zone + 1) - norm.cdf(zone) for zone in range(3)]
    start = ((), 0, 0)
    index, to_do, steps = {start: 0}, [start], []
    while to_do:
        state = to_do.pop()
        last, side, run = state
        for sign in (1, -1):
            for zone in range(3):
                window = (*last, (sign, zone))
                longer = min(run + 1, ONE_SIDE_POINTS) if side == sign else 1
                points = [
                    Placed(value=Fraction(zone), side=s, zone=z)
                    for s, z in [(sign, 0)] * (longer - len(window)) + list(window)
                ]
                if any(one.points[-1] == len(points) - 1 for one in signals_of(points, rules)):
                    continue
                after = (window[-4:], sign, longer)
                if after not in index:
                    index[after] = len(index)
                    to_do.append(after)
                steps.append((index[state], index[after], inner[zone]))
    chain = lil_matrix((len(index), len(index)))
    for here, there, chance in steps:
        chain[here, there] += chance
    return float(spsolve((eye(len(index)) - chain).tocsc(), np.ones(len(index)))[0])


def test_the_run_lengths_of_the_first_four_rules_are_the_published_ones():
    """C. W. Champ and W. H. Woodall (1987), "Exact results for Shewhart control charts with supplementary
    runs rules", Technometrics 29(4), 393-399, table 1, without a shift. The figures are from memory; 370.4
    and 91.75 are also widely printed."""
    published = {
        (OUTSIDE,): 370.40,
        (OUTSIDE, TWO_OF_THREE): 225.44,
        (OUTSIDE, FOUR_OF_FIVE): 166.05,
        (OUTSIDE, ONE_SIDE): 152.73,
        (OUTSIDE, TWO_OF_THREE, FOUR_OF_FIVE, ONE_SIDE): 91.75,
    }

    for rules, length in published.items():
        assert average_run_length(rules) == pytest.approx(length, abs=0.0051), rules
