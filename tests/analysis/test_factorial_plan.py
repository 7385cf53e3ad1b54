"""Plans of trials: orders, halves and aliases against a brute-force product of columns."""

from __future__ import annotations

import itertools
import math
from collections import Counter, defaultdict

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from walkapp.analysis.factorial_plan import LETTERS, MOST_RUNS, Design, Term
from walkapp.errors import InputError

DESIGNS = [Design(k) for k in range(1, 6)] + [Design(4, is_half=True), Design(5, is_half=True)]

designs = st.builds(
    lambda shape, replicates, centres: Design(*shape, replicates, centres),
    st.sampled_from([(k, False) for k in range(1, 6)] + [(4, True), (5, True)]),
    st.integers(1, 6),
    st.integers(0, 5),
)


def columns(design):
    """Every column of signs, and all the words that have it, by multiplying the factors' columns."""
    found = defaultdict(list)
    for size in range(1, design.factors + 1):
        for places in itertools.combinations(range(design.factors), size):
            column = tuple(math.prod(levels[p] for p in places) for levels in design.corners)
            found[column].append("".join(LETTERS[p] for p in places))
    return found


def test_the_combinations_stand_in_standard_order():
    assert Design(2).corners == ((-1, -1), (1, -1), (-1, 1), (1, 1))
    assert [levels[0] for levels in Design(3).corners] == [-1, 1] * 4
    assert [levels[2] for levels in Design(3).corners] == [-1] * 4 + [1] * 4


@pytest.mark.parametrize(("factors", "word"), [(4, "ABC"), (5, "ABCD")])
def test_a_half_sets_the_last_factor_by_the_product_of_the_others(factors, word):
    design = Design(factors, is_half=True)

    assert len(set(design.corners)) == 2 ** (factors - 1)
    assert all(levels[-1] == Term(letters=word).sign(levels) for levels in design.corners)


@pytest.mark.parametrize("design", DESIGNS, ids=lambda d: f"{d.factors}{'half' if d.is_half else ''}")
def test_effects_that_cannot_be_told_apart_are_those_with_the_same_column(design):
    by_column = columns(design)
    constant = (1,) * len(design.corners)
    expected = {frozenset(words) for column, words in by_column.items() if column != constant}

    assert {frozenset((t.letters, *t.aliases)) for t in design.terms} == expected
    assert all(len(t.letters) <= len(alias) for t in design.terms for alias in t.aliases)
    assert all(sum(t.sign(levels) for levels in design.corners) == 0 for t in design.terms)


def test_aliases_are_said_in_words():
    assert Design(3).alias_words == ()
    assert Design(4, is_half=True).alias_words == (
        "A cannot be told from BCD",
        "B cannot be told from ACD",
        "C cannot be told from ABD",
        "D cannot be told from ABC",
        "AB cannot be told from CD",
        "AC cannot be told from BD",
        "AD cannot be told from BC",
    )
    assert Design(4, is_half=True).alias_summary == (
        "AB cannot be told from CD, AC cannot be told from BD and AD cannot be told from BC; nor a single "
        "factor from the other three together."
    )
    assert "as AB from CDE; nor a single factor" in Design(5, is_half=True).alias_summary
    assert "DE cannot be told from ABC" in Design(5, is_half=True).alias_words


@settings(max_examples=60, deadline=None)
@given(designs, st.text(st.characters(exclude_categories=["Cs"]), max_size=10))
def test_the_random_order_has_every_planned_run_and_follows_from_the_seed(design, seed):
    order = design.order(seed)

    assert [run.number for run in order] == list(range(1, design.runs + 1))
    centre = (0,) * design.factors
    expected = Counter(dict.fromkeys(design.corners, design.replicates))
    assert Counter(run.levels for run in order) == expected + Counter({centre: design.centres})
    assert Design(design.factors, design.is_half, design.replicates, design.centres).order(seed) == order


def test_every_combination_comes_first_about_equally_often():
    first = Counter(Design(2, replicates=2).order(f"seed {n}")[0].levels for n in range(2000))

    assert all(abs(count - 500) < 100 for count in first.values())


@pytest.mark.parametrize(
    ("shape", "problem"),
    [
        ((0,), "Factors: a trial has 1 to 5 of them, not 0; name what is changed."),
        ((6,), "Factors: a trial has 1 to 5 of them, not 6; leave out the least suspect ones."),
        ((3, True), "Half of the combinations: only for 4 or 5 factors, not for 3; run all of them."),
        ((2, False, 0), "Replicates: each combination is run at least once; choose 1 or more."),
        (
            (5, False, 13),
            (
                "Runs: this would be 416 of them, and at most 400 are planned; take fewer replicates or "
                "factors."
            ),
        ),
    ],
)
def test_what_is_no_trial_is_refused_in_a_sentence(shape, problem):
    with pytest.raises(InputError) as refused:
        Design(*shape)
    assert str(refused.value) == problem


@pytest.mark.parametrize("design", DESIGNS, ids=lambda d: f"{d.factors}{'half' if d.is_half else ''}")
def test_the_fewest_replicates_are_those_from_which_the_smallest_probability_reaches_5_percent(design):
    def smallest(replicates):
        runs = len(design.corners) * replicates
        times = len(design.terms) * (2 if design.factors > 1 else 1)
        return times * 2 / math.comb(runs, runs // 2)

    least = design.least_replicates

    assert smallest(least) <= 0.05
    assert least == 1 or smallest(least - 1) > 0.05
    assert design.can_show == (least == 1)
    assert Design(design.factors, design.is_half, least).runs <= MOST_RUNS
