"""What is said of a trial: no more than its runs can carry."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.analysis.test_factorial import counted, measured
from walkapp.analysis.factorial_plan import Design
from walkapp.analysis.factorial_words import (
    FactorName,
    TrialNames,
    cannot_prove,
    chance_text,
    taken_for_granted,
    trial_remarks,
    trial_sentence,
)

ALL = (
    FactorName(name="Clamp pads", low="old", high="hard", centre="medium"),
    FactorName(name="Parts", low="cold", high="warm"),
    FactorName(name="Clamp force", low="90 N", high="140 N"),
    FactorName(name="Dwell", low="1 s", high="3 s"),
)


def names(factors, **more):
    return TrialNames(factors=ALL[:factors], **more)


def together(levels, again):
    return (17, 20) if levels[0] > 0 and levels[1] > 0 else (int(levels == (-1, -1) and again == 0), 20)


def said(result, factors, **more):
    return trial_sentence(result, names(factors, **more)), trial_remarks(result, names(factors, **more))


def test_two_factors_that_act_together_are_said_with_their_groups():
    sentence, remarks = said(counted(Design(2, False, 3), together), 2)

    assert sentence == (
        "Clamp pads hard and Parts warm together: 51 of 60 NOK; else 1 of 180 NOK (p = 0.037). This "
        "combination makes a difference."
    )
    assert remarks == ()


def test_single_factors_are_said_with_both_levels():
    result = counted(Design(1, False, 4), lambda levels, again: (10 + 7 * levels[0] + again, 30))

    assert said(result, 1) == (
        "Makes a difference: Clamp pads (hard 74 of 120 NOK, old 18 of 120 NOK; p = 0.029).",
        (),
    )


def test_an_interaction_that_stands_out_is_said_with_its_four_groups():
    result = counted(
        Design(2, False, 4),
        lambda levels, again: (15 + again, 20) if levels[0] == levels[1] else (again, 20),
    )

    sentence, _ = said(result, 2)

    assert sentence == (
        "Makes a difference: Clamp pads × Parts together (hard and warm: 66 of 80 NOK; hard and cold: 6 of "
        "80 NOK; old and warm: 6 of 80 NOK; old and cold: 66 of 80 NOK; p = 0.001)."
    )


def test_too_few_runs_say_that_they_prove_nothing_and_how_many_would():
    sentence, (remark,) = said(counted(Design(2), together), 2)

    assert sentence == (
        "No difference is shown. These 4 runs alone cannot prove that a factor makes a difference, however "
        "they come out; with 3 replicates of each combination (12 runs) they could."
    )
    assert remark == (
        "Single parts point to Clamp pads hard and Parts warm together (17 of 20 NOK, else 1 of 60 NOK), "
        "if runs at the same setting differ only by chance (no setting was run twice to see that). Repeat "
        "the runs, or switch it on and off, to prove it."
    )


def test_enough_runs_without_a_difference_are_no_proof_that_there_is_none():
    sentence, remarks = said(counted(Design(2, False, 3), lambda levels, again: (again, 20)), 2)

    assert sentence == (
        "No difference is shown. That is no proof that there is none: a smaller one may be there."
    )
    assert remarks == ()


def test_where_equal_runs_differ_nothing_is_said_from_single_parts():
    result = counted(
        Design(2, False, 2), lambda levels, again: (20 * again, 20) if levels[0] > 0 else (0, 20)
    )

    _, (remark,) = said(result, 2)

    assert remark.startswith(
        "Runs at the same setting differ by more than chance (p < 0.0001): (Clamp pads:"
    )
    assert remark.endswith("Something else changes from run to run; do not go by single parts.")


def test_a_half_says_of_what_is_shown_what_it_cannot_be_told_from():
    result = counted(Design(4, True, 2), lambda levels, again: (17 if levels[0] > 0 else 1, 20))

    sentence, remarks = said(result, 4)

    assert sentence.startswith("Makes a difference: Clamp pads (hard 136 of 160 NOK, old 8 of 160 NOK;")
    assert remarks == (
        "Half of the combinations were run: Clamp pads cannot be told from Parts × Clamp force × Dwell.",
    )


def test_a_combination_in_a_half_says_the_other_pair():
    result = counted(
        Design(4, True, 3), lambda levels, again: (17 if levels[2] > 0 and levels[3] > 0 else 0, 20)
    )

    sentence, remarks = said(result, 4)

    assert sentence.startswith("Clamp force 140 N and Dwell 3 s together: 102 of 120 NOK;")
    assert any("Clamp force × Dwell cannot be told from Clamp pads × Parts" in remark for remark in remarks)


def test_curvature_is_said():
    result = counted(
        Design(2, False, 3, 4), lambda levels, again: (again, 20) if any(levels) else (15 + again, 20)
    )

    sentence, _ = said(result, 2)

    assert sentence == (
        "The centre lies off the line between low and high: centre 66 of 80 NOK, corners 12 of 240 NOK "
        "(p = 0.0044)."
    )


def test_measured_values_are_said_with_their_unit_and_sign():
    result = measured(Design(1), (Fraction("10.1"), Fraction("9.85")))
    text = names(1, unit="mm", decimals=2)

    assert text.size(result.effects[0].contrast) == "−0.25 mm"
    assert text.group(result.effects[0].contrast.high) == "mean 9.85 mm"
    assert text.setting((0,)) == "Clamp pads: medium"


def test_shares_are_told_apart_in_percentage_points():
    result = counted(Design(1), lambda levels, again: (7 if levels[0] > 0 else 0, 16))

    assert names(1).size(result.effects[0].contrast) == "+43.8 percentage points"


def test_probabilities_never_look_surer_than_they_are():
    few, many = (counted(Design(2, False, n), together).effects[0].contrast for n in (2, 6))

    assert chance_text(few) == "by runs p = 0.43, corrected 1"
    assert chance_text(many).startswith("by runs p = 0.0")


@pytest.mark.parametrize(("design", "is_counted"), [(Design(1), False), (Design(2), True)])
def test_what_is_taken_for_granted_is_said(design, is_counted):
    text = " ".join(taken_for_granted(design, is_counted))

    assert ("Fisher's exact test" in text) == is_counted
    assert ("(Holm)" in text) == (design.factors > 1)
    assert "made in the random order" in text


def test_enough_runs_need_no_warning():
    assert cannot_prove(Design(3, False, 2)) == ""
    assert "with 4 replicates of each combination (8 runs)" in cannot_prove(Design(1))
