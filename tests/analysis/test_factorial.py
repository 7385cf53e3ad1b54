"""What trials show: against published effects, least squares, SciPy's exact tests and statsmodels' Holm."""

from __future__ import annotations

import itertools
import math
import random
from fractions import Fraction

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats as scipy_stats
from statsmodels.stats.multitest import multipletests

from walkapp.analysis.factorial import FALSE_ALARM, RunResult, work_out
from walkapp.analysis.factorial_plan import Design

SEED = "test"


def counted(design, outcome, seed=SEED):
    """Work a trial out in which a run gives NOK and checked by its levels and how often it was run."""
    seen: dict = {}
    results = []
    for run in design.order(seed):
        seen[run.levels] = seen.get(run.levels, -1) + 1
        nok, of = outcome(run.levels, seen[run.levels])
        results.append(RunResult(run=run, value=Fraction(nok, of), tally=(nok, of)))
    return work_out(design, results, seed)


def measured(design, values, seed=SEED):
    """Work a trial out from values in standard order, once each."""
    by_levels = dict(zip(design.corners, values, strict=True))
    results = [RunResult(run=run, value=Fraction(by_levels[run.levels])) for run in design.order(seed)]
    return work_out(design, results, seed)


def sizes(result):
    return {effect.term.letters: effect.contrast.size for effect in result.effects}


def by_letters(result):
    return {effect.term.letters: effect.contrast for effect in result.effects}


# --- published examples -----------------------------------------------------------------------------

# Box, Hunter and Hunter, Statistics for Experimenters (1978), p. 308; data from NIST's BOXPILOT.DAT,
# effects from memory of the book.
PILOT_PLANT = (60, 72, 54, 68, 52, 83, 45, 80)
PILOT_EFFECTS = {"A": 23, "B": -5, "C": 1.5, "AB": 1.5, "AC": 10, "BC": 0, "ABC": 0.5}


def test_the_pilot_plant_of_box_hunter_and_hunter():
    result = measured(Design(3), PILOT_PLANT)

    assert sizes(result) == PILOT_EFFECTS
    assert by_letters(result)["A"].high.mean == Fraction(303, 4)
    assert by_letters(result)["A"].low.mean == Fraction(211, 4)
    # The four runs at high are all above the four at low: 2 of the 70 splits.
    assert by_letters(result)["A"].chance.p == pytest.approx(2 / 70, rel=1e-12)


def test_the_spring_cracking_of_box_and_bisgaard_has_the_same_effects():
    # Quality Progress, June 1987, p. 56; data from NIST's BOXSPRIN.DAT: 7 more in every run.
    springs, plant = (measured(Design(3), data) for data in ((67, 79, 61, 75, 59, 90, 52, 87), PILOT_PLANT))

    assert sizes(springs) == PILOT_EFFECTS
    assert [e.contrast.chance for e in springs.effects] == [e.contrast.chance for e in plant.effects]


def test_the_memory_cache_and_processors_of_jain():
    # Course notes, Virginia Tech CS 5014 (1995), after Jain (1991), ch. 17; an effect is two coefficients.
    result = measured(Design(3), (14, 22, 10, 34, 46, 58, 50, 86))

    assert sizes(result) == {"A": 20, "B": 10, "C": 40, "AB": 10, "AC": 4, "BC": 6, "ABC": 2}
    squares = {word: 8 * float(size / 2) ** 2 for word, size in sizes(result).items()}
    assert sum(squares.values()) == 4512
    shares = {word: round(100 * part / 4512) for word, part in squares.items()}
    assert shares == {"A": 18, "B": 4, "C": 71, "AB": 4, "AC": 1, "BC": 2, "ABC": 0}


# --- peers ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "design",
    [
        Design(1, False, 4),
        Design(2, False, 3),
        Design(3, False, 2),
        Design(4, True, 2),
        Design(5, True),
        Design(5),
    ],
    ids=str,
)
def test_effects_are_twice_the_coefficients_of_least_squares(design):
    chance = random.Random(design.factors)
    result = counted(design, lambda levels, again: (chance.randint(0, 20), 20))

    y = np.array([float(one.value) for one in result.results])
    x = np.array([[t.sign(one.run.levels) for t in design.terms] for one in result.results], dtype=float)
    fitted = sm.OLS(y, sm.add_constant(x)).fit()

    assert [float(e.contrast.size) for e in result.effects] == pytest.approx(
        2 * fitted.params[1:], abs=1e-12
    )


def test_probabilities_are_those_of_scipys_exact_tests_and_corrected_as_statsmodels_does():
    chance = random.Random(11)
    result = counted(
        Design(2, False, 3), lambda levels, again: (chance.randint(0, 8) + 5 + 5 * levels[0], 20)
    )

    by_runs, by_parts = [], []
    for effect in result.effects:
        signs = [effect.term.sign(one.run.levels) for one in result.results]
        values = np.array([float(one.value) for one in result.results])
        high, low = (values[np.array(signs) == sign] for sign in (1, -1))
        peer = scipy_stats.permutation_test(
            (high, low),
            lambda a, b, axis: np.abs(np.mean(a, axis=axis) - np.mean(b, axis=axis)),
            n_resamples=np.inf,
            vectorized=True,
            alternative="greater",
        )
        by_runs.append(peer.pvalue)
        (a, n), (c, m) = effect.contrast.high.tally, effect.contrast.low.tally
        by_parts.append(scipy_stats.fisher_exact([[a, n - a], [c, m - c]]).pvalue)

    assert [e.contrast.chance.p for e in result.effects] == pytest.approx(by_runs, rel=1e-9)
    assert [e.contrast.p_parts for e in result.effects] == pytest.approx(by_parts, rel=1e-9)
    for found, ps in (("p_adjusted", by_runs), ("p_parts_adjusted", by_parts)):
        # Half of the false alarms is kept for the combination of two factors.
        expected = np.minimum(1, 2 * multipletests(ps, method="holm")[1])
        assert [getattr(e.contrast, found) for e in result.effects] == pytest.approx(expected, rel=1e-9)


def test_with_one_factor_nothing_is_kept_for_a_combination():
    result = counted(Design(1, False, 4), lambda levels, again: (10 + 5 * levels[0], 20))

    (effect,) = result.effects
    assert result.combination is None
    assert effect.contrast.p_adjusted == effect.contrast.chance.p == pytest.approx(2 / 70, rel=1e-12)
    assert effect.contrast.is_shown


def test_curvature_is_the_centre_against_the_corners():
    design = Design(2, False, 3, 4)
    result = counted(design, lambda levels, again: (3 + again, 20) if any(levels) else (15 + again, 20))

    curvature = result.curvature
    assert curvature.size == Fraction(15 + 16 + 17 + 18, 80) - Fraction(3 + 4 + 5, 60)
    assert (curvature.high.runs, curvature.low.runs) == (4, 12)
    # The four centre runs are above all others: one way out of all of them, and none as far below.
    assert curvature.chance.p == pytest.approx(1 / math.comb(16, 4), rel=1e-12)
    assert curvature.is_shown
    assert not result.shown
    assert result.shows_something


def test_two_factors_that_only_act_together_are_found_as_one_combination():
    result = counted(
        Design(2, False, 3), lambda levels, again: (17, 20) if levels == (1, 1) else (again, 20)
    )

    combination = result.shown_combination
    assert combination is not None
    assert (combination.places, combination.levels) == ((0, 1), (1, 1))
    assert combination.contrast.high.tally == (51, 60)
    assert combination.contrast.low.tally == (9, 180)
    # One of the 220 ways to choose three of twelve runs, times four combinations, times two shares.
    assert combination.contrast.p_adjusted == pytest.approx(8 / 220, rel=1e-12)
    assert combination.contrast.chance.p < by_letters(result)["A"].chance.p


def test_a_single_factor_is_not_called_a_combination():
    result = counted(
        Design(2, False, 4), lambda levels, again: (14 + again, 20) if levels[0] > 0 else (again, 20)
    )

    assert [effect.term.letters for effect in result.shown] == ["A"]
    assert not result.combination.is_alone
    assert result.shown_combination is None


def test_the_farthest_of_all_combinations_of_all_pairs_is_taken():
    design = Design(3, False, 3)
    result = counted(
        design, lambda levels, again: (15, 20) if levels[1] < 0 < levels[2] else (again % 2, 20)
    )

    combination = result.combination
    assert (combination.places, combination.levels, combination.is_alone) == ((1, 2), (-1, 1), True)
    assert combination.contrast.p_adjusted == pytest.approx(2 * 12 / math.comb(24, 6), rel=1e-9)


# --- runs at the same setting -----------------------------------------------------------------------


def test_runs_at_the_same_setting_that_differ_are_named():
    result = counted(
        Design(2, False, 2), lambda levels, again: (19 * again if levels == (1, -1) else 2, 20)
    )

    assert result.spread.tested == 4
    assert result.spread.differing == ((1, -1),)
    peer = 4 * scipy_stats.fisher_exact([[0, 20], [19, 1]]).pvalue
    assert result.spread.least_p == pytest.approx(peer, rel=1e-6)


def test_runs_that_differ_only_by_chance_are_not_named_and_single_runs_not_tested():
    assert counted(Design(2, False, 2), lambda levels, again: (3 + again, 20)).spread.differing == ()
    assert counted(Design(3), lambda levels, again: (3, 20)).spread is None
    assert measured(Design(1), (1, 2)).spread is None


# --- laws -------------------------------------------------------------------------------------------


noks = st.lists(st.integers(0, 8), min_size=8, max_size=8)


@settings(max_examples=60, deadline=None)
@given(noks)
def test_turning_a_factor_round_turns_the_signs_of_its_effects_and_nothing_else(values):
    design = Design(2, False, 2)

    def given_by(flip):
        def outcome(levels, again):
            return values[design.corners.index((flip * levels[0], levels[1])) * 2 + again], 8

        return by_letters(counted(design, outcome))

    straight, turned = given_by(1), given_by(-1)

    for letters, sign in (("A", -1), ("B", 1), ("AB", -1)):
        assert turned[letters].size == sign * straight[letters].size
        assert turned[letters].chance == straight[letters].chance


@settings(max_examples=60, deadline=None)
@given(noks, st.integers(0, 999))
def test_the_order_in_which_the_runs_came_changes_nothing(values, seed):
    design = Design(2, False, 2)

    def outcome(levels, again):
        return sorted(values[design.corners.index(levels) * 2 :][:2])[again], 8

    here, there = counted(design, outcome), counted(design, outcome, f"seed {seed}")

    assert here.effects == there.effects
    assert here.combination == there.combination


def test_where_nothing_makes_a_difference_something_is_shown_in_at_most_5_percent_of_all_orders():
    design, chance = Design(2, False, 3), random.Random(5)
    values = [Fraction(n, 20) for n in (0, 0, 0, 1, 1, 2, 4, 6, 9, 12, 15, 18)]
    trials, shown = 600, 0
    for _ in range(trials):
        drawn = chance.sample(values, len(values))
        results = [
            RunResult(run=run, value=value) for run, value in zip(design.order(SEED), drawn, strict=True)
        ]
        result = work_out(design, results, SEED)
        shown += bool(result.shown) or result.combination.contrast.is_shown

    # Three standard deviations above 5 %.
    assert shown <= trials * FALSE_ALARM + 3 * (trials * FALSE_ALARM * (1 - FALSE_ALARM)) ** 0.5


def test_the_largest_trial_is_worked_out():
    design = Design(5, False, 12, 16)
    result = counted(design, lambda levels, again: ((again * 7 + 5 * (levels[0] > 0)) % 21, 20))

    assert design.runs == 400
    assert len(result.effects) == 31
    assert by_letters(result)["ABCDE"].p_adjusted <= 1


@pytest.mark.parametrize("change", ["missing", "twice", "another"])
def test_runs_that_are_not_those_planned_are_refused(change):
    design = Design(2)
    results = [RunResult(run=run, value=Fraction(run.number)) for run in design.order(SEED)]
    if change == "missing":
        results.pop()
    elif change == "twice":
        results.append(results[0])
    else:
        results = [RunResult(run=run, value=Fraction(1)) for run in Design(2).order("another seed")]
        results = list(itertools.chain(results[:3], results[:1]))

    with pytest.raises(ValueError, match="every planned run"):
        work_out(design, results, SEED)
