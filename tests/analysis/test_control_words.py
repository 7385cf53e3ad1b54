"""What is said of control charts: what was found, how the limits were made, and what they do not know."""

from __future__ import annotations

import random

import pytest

from walkapp.analysis.control.individuals import individuals_chart
from walkapp.analysis.control.p_chart import proportion_chart
from walkapp.analysis.control.rules import ALL_RULES, TREND, Signal
from walkapp.analysis.control.words import (
    RULE_NAMES,
    individuals_notes,
    proportion_notes,
    signal_sentences,
)

LABELS = [f"L{number}" for number in range(1, 31)]


def chart_of(counts, **said):
    return proportion_chart(counts, random.Random(1), **said)


def test_a_signal_is_told_with_its_rule_its_points_and_what_it_suggests():
    (said,) = signal_sentences([Signal(rule=4, side=-1, points=tuple(range(11, 21)))], LABELS)

    assert said == (
        "Rule 4, 8 or more on one side, below: L12 to L21 (points 12 to 21 of 30). Something changed at "
        "about the first of them."
    )


@pytest.mark.parametrize(("side", "word"), [(1, "rising"), (-1, "falling")])
def test_a_trend_rises_or_falls(side, word):
    (said,) = signal_sentences([Signal(rule=TREND, side=side, points=(0, 5))], LABELS)

    assert f", {word}: L1 to L6 (points 1 to 6 of 30)." in said


def test_signals_of_one_rule_on_one_side_are_one_sentence():
    signals = [Signal(rule=1, side=1, points=(place,)) for place in (6, 2, 4)]

    above, below = signal_sentences([*signals, Signal(rule=1, side=-1, points=(9,))], LABELS)

    assert above.startswith(
        "Rule 1, outside the limits, above: L3 (point 3 of 30), and 2 more up to point 7."
    )
    assert below.startswith("Rule 1, outside the limits, below: L10 (point 10 of 30). Something was")


def test_of_many_rules_outside_and_the_earliest_are_told_and_the_others_counted():
    signals = [Signal(rule=rule, side=0, points=(9 - rule,)) for rule in ALL_RULES]

    said = signal_sentences(signals, LABELS)

    assert said[0].startswith("Rule 1, outside the limits: L9")
    assert said[1].startswith("Rule 8, 8 or more beyond 1 sigma, on both sides: L2")
    assert (len(said), said[-1]) == (5, "And 4 more signals by other rules.")


def test_points_of_one_day_are_told_with_one_day():
    (said,) = signal_sentences([Signal(rule=5, side=1, points=tuple(range(6)))], ["today"] * 9)

    assert ": today (points 1 to 6 of 9)." in said


def test_every_rule_has_a_name_and_a_meaning():
    for rule in ALL_RULES:
        (said,) = signal_sentences([Signal(rule=rule, side=0, points=(0,))], LABELS)
        assert f"Rule {rule}, {RULE_NAMES[rule]}" in said


def test_limits_of_many_parts_are_three_sigma_and_few_lots_are_provisional():
    limits, rules = proportion_notes(chart_of([(10, 50), (12, 50)] * 5))

    assert limits == (
        "Control limits: three sigma by the number judged at each point, cut off at 0 %; from all 10 "
        "points. Provisional: 10 are fewer than 20."
    )
    assert "A stable process gives a signal in about 4 of 100 such charts." in rules


def test_limits_of_few_nok_are_exact_and_firm_from_twenty_on():
    limits, _ = proportion_notes(chart_of([(1, 20), (0, 20)] * 10 + [(0, 20)] * 5, baseline=20))

    assert limits == (
        "Control limits: exact (binomial), since fewer than 5 NOK or OK are expected at a point; "
        "from the first 20 of 25 points, and held for the others."
    )


def test_lots_that_differ_are_told_first():
    first, *_ = proportion_notes(chart_of([(0, 20)] * 3 + [(9, 20)] * 4))

    assert first.startswith(
        "The 7 points that make the limits differ more than chance lets them (p < 0.0001, chi-square test)"
    )


@pytest.mark.parametrize(
    ("counts", "baseline", "said"),
    [
        ([(1, 20)] * 4, None, "they need 5 points at least."),
        ([(0, 50)] * 6, None, "0 of 300 NOK at all 6 points. The share NOK is at most 1.0 %"),
        ([(0, 50)] * 6 + [(1, 50)], 6, "0 of 300 NOK at the first 6 points. The share NOK"),
        ([(10, 10)] * 10, None, "all 100 NOK at all 10 points. The share OK is at most 3 %"),
    ],
)
def test_where_there_are_no_limits_it_is_said_why_and_what_is_known(counts, baseline, said):
    (note,) = proportion_notes(chart_of(counts, baseline=baseline))

    assert note.startswith(f"No control limits: {said}")
    assert note.endswith("(exact, one-sided 95 %).") or len(counts) == 4


def test_limits_of_values_say_their_constant_and_what_they_need():
    values = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)

    limits, rules = individuals_notes(individuals_chart(values))

    assert limits.startswith(
        "Control limits: mean and 3 sigma on each side, sigma = mean moving range / 1.12838"
    )
    assert "about 7 of 100 such charts. They need values of about a bell curve in the order" in rules
    assert individuals_notes(individuals_chart(values[:3])) == (
        "No control limits: they need 8 values at least.",
    )
