"""Layers that answer the same question differently."""

from __future__ import annotations

import itertools
import math
import re

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.analysis.lettered_audits import audit
from walkapp.analysis.audits.layers import disagreements_of

NAMES = {"s": "Supervisor", "l": "Shift lead", "m": "Manager"}


def answered(*weeks, ref="a/1"):
    """Give for each week the answers of each layer to one question, such as ``{"s": "on", "l": "oo"}``."""
    done = []
    for week, by_layer in enumerate(weeks):
        for layer, letters in by_layer.items():
            done += [
                audit(len(done) + place, layer, letter, day=7 * week, refs=[ref])
                for place, letter in enumerate(letters)
            ]
    return done


def test_two_layers_in_one_week_are_fishers_test():
    done = answered({"s": "n" * 8 + "o" * 2, "l": "n" + "o" * 12})

    (prompt,) = disagreements_of(done, NAMES)

    # Two-sided as twice the smaller side.
    expected = 2 * scipy.stats.fisher_exact([[8, 2], [1, 12]], alternative="greater").pvalue
    assert prompt.p == pytest.approx(expected, rel=1e-9)


def test_what_is_told_names_layers_counts_and_limits():
    done = answered({"s": "n" * 8 + "o" * 2, "l": "n" + "o" * 12})

    (prompt,) = disagreements_of(done, NAMES)

    assert prompt.where == "a: Is a/1 right?"
    assert prompt.sentence == (
        "Worth a look together at the same moment, with the limit sample: Shift lead found 1 of 13 NOK, "
        "Supervisor 8 of 10 NOK, in the same weeks."
    )
    limits = scipy.stats.binomtest(8, 10).proportion_ci(method="exact")
    assert 0.44 < limits.low < 0.45
    assert 0.97 < limits.high < 0.98
    assert (
        "Supervisor: 8 of 10 NOK, 44 % to 98 % (exact 95 %, two-sided; each answer taken for itself)"
        in prompt.lines
    )
    assert any(
        "two-sided: p = 0.0015 after correction for all looks (Holm; looks: 1)." in line
        for line in prompt.lines
    )


def test_the_smallest_p_of_three_layers_is_corrected_for_three():
    weeks = [{"s": "nn", "l": "oo", "m": "oo"}] * 6

    (prompt,) = disagreements_of(answered(*weeks), NAMES)

    # Each week both NOK of six are the supervisor's: 1 of 15 choices.
    assert prompt.p == pytest.approx(3 * 2 * (1 / 15) ** 6, rel=1e-6)
    assert "Supervisor found 12 of 12 NOK, the other layers 0 of 24 NOK" in prompt.sentence


@settings(max_examples=40, deadline=None)
@given(
    weeks=st.lists(
        st.tuples(st.text("on", min_size=1, max_size=5), st.text("on", min_size=1, max_size=5)),
        min_size=2,
        max_size=4,
    )
)
def test_within_weeks_the_chance_is_that_of_all_dealings_of_the_nok(weeks):
    sides = np.array([1.0])
    for own, others in weeks:
        total, nok = len(own) + len(others), (own + others).count("n")
        sides = np.convolve(sides, scipy.stats.hypergeom.pmf(np.arange(len(own) + 1), total, nok, len(own)))
    seen = sum(own.count("n") for own, _ in weeks)
    expected = min(1.0, 2 * min(sides[: seen + 1].sum(), sides[seen:].sum()))

    found = disagreements_of(answered(*({"a": own, "b": others} for own, others in weeks)), {})

    fewest = min(sum(len(own) for own, _ in weeks), sum(len(others) for _, others in weeks))
    if fewest < 5 or expected >= 0.05 * (1 - 1e-9):
        assert found == ()
    else:
        assert found[0].p == pytest.approx(expected, rel=1e-9)


def test_a_defect_that_is_mended_before_another_layer_comes_is_no_disagreement():
    before, after = [{"l": "nnnoo"}] * 4, [{"l": "ooooo", "s": "ooo"}] * 4

    assert disagreements_of(answered(*before, *after), NAMES) == ()


def test_one_layer_no_nok_and_no_audit_say_nothing():
    assert disagreements_of(answered({"l": "onononon"}), NAMES) == ()
    assert disagreements_of(answered(*[{"l": "ooo", "s": "ooo"}] * 9), NAMES) == ()
    assert disagreements_of(answered(*[{"l": "---", "s": "nnn"}] * 9), NAMES) == ()
    assert disagreements_of([], NAMES) == ()


def test_few_answers_say_nothing():
    assert disagreements_of(answered({"l": "o" * 400, "s": "nnnn"}), NAMES) == ()


def test_all_questions_are_corrected_together_and_hopeless_ones_are_not_counted():
    apart = answered({"s": "nnnnnnn", "l": "ooooooo"})
    hopeless = [one for n in range(2, 60) for one in answered({"s": "nooooo", "l": "oooooo"}, ref=f"a/{n}")]
    more = answered({"s": "nnnnooo", "l": "nnnoooo"}, ref="b/1")

    (alone,) = disagreements_of(apart, NAMES)
    (with_hopeless,) = disagreements_of(apart + hopeless, NAMES)
    (with_more,) = disagreements_of(apart + more, NAMES)

    assert alone.p == pytest.approx(2 / math.comb(14, 7))
    assert with_hopeless.p == alone.p
    assert with_more.p == pytest.approx(2 * alone.p)


def test_a_layer_that_the_checklist_no_longer_has_stands_for_itself():
    (prompt,) = disagreements_of(answered({"s": "nnnnnnn", "gone": "ooooooo"}), NAMES)

    assert "gone found 0 of 7 NOK, Supervisor 7 of 7 NOK" in prompt.sentence


def test_layers_of_a_hostile_number_are_bounded_and_still_looked_at():
    by_layer = {f"x{n:03}": "ooooo" for n in range(120)} | {"y": "nnnnnnnnnn"}
    done = answered(by_layer)

    (prompt,) = disagreements_of(done, {})

    assert "y found 10 of 10 NOK, the other layers 0 of 600 NOK" in prompt.sentence
    assert re.search(r"looks: \d+", "".join(prompt.lines))


def test_questions_of_a_hostile_number_are_bounded_and_that_is_said():
    many = [one for n in range(600) for one in answered({"s": "oo", "l": "oo"}, ref=f"q/{n:04}")]
    done = many + answered({"s": "nnnnnnn", "l": "ooooooo"})

    (prompt,) = disagreements_of(done, NAMES)

    assert any(
        "Looked at: the 500 questions with the most answers, of 601" in line for line in prompt.lines
    )


@settings(max_examples=50, deadline=None)
@given(
    weeks=st.lists(
        st.dictionaries(st.sampled_from("slm"), st.text("onn-", max_size=6), min_size=1),
        min_size=1,
        max_size=5,
    ),
    random=st.randoms(use_true_random=False),
)
def test_the_order_of_the_records_does_not_matter_and_ok_and_nok_may_change_places(weeks, random):
    turned = [
        {layer: letters.translate(str.maketrans("on", "no")) for layer, letters in week.items()}
        for week in weeks
    ]
    done = answered(*weeks)
    shuffled = list(done)
    random.shuffle(shuffled)

    found = disagreements_of(done, NAMES)

    assert disagreements_of(shuffled, NAMES) == found
    other = disagreements_of(answered(*turned), NAMES)
    assert [prompt.p for prompt in other] == pytest.approx([prompt.p for prompt in found], rel=1e-9)


def test_no_prompt_accuses_anybody():
    done = answered(*itertools.repeat({"s": "nn", "l": "oo", "m": "oo"}, 6))

    (prompt,) = disagreements_of(done, NAMES)

    told = " ".join((prompt.kind, prompt.sentence, *prompt.lines)).lower()
    assert told.count("together") >= 2
    assert not re.search(r"cheat|suspicio|fake|fraud|lie[sd]?\b|dishonest|guilty", told)
