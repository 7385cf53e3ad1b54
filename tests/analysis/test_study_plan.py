"""The blind order and the advice before a study: against a shell, printed limits and the study itself."""

import itertools
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats as scipy_stats

from tests.analysis.studies import flawless, study_parts
from walkapp.analysis.agreement import study_agreement
from walkapp.analysis.study_plan import (
    StudyPart,
    bad_parts_needed,
    blind_plan,
    good_parts_needed,
    study_advice,
)
from walkapp.errors import InputError

# --- the blind plan -------------------------------------------------------------------------------


def orders(plan):
    return [(item.inspector, item.repeat, "".join(item.parts)) for item in plan]


def test_the_order_is_the_one_that_the_shell_works_out():
    # Each text as "bytes:text,", all through sha256sum, sorted: the same on every system. The third
    # repeat comes from the second attempt, because the first one, 312, starts with the part 3 that
    # ended the repeat before.
    plan = blind_plan(study_parts("123"), ["QS"], 3, "Ohr gerissen ä")

    assert orders(plan) == [("QS", 1, "321"), ("QS", 2, "213"), ("QS", 3, "231")]


names = st.lists(
    st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=8).filter(str.strip),
    min_size=2,
    max_size=9,
    unique=True,
)


seeds = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)


@settings(max_examples=100, deadline=None)
@given(labels=names, inspectors=names, repeats=st.integers(1, 4), seed=seeds, data=st.data())
def test_a_plan_is_a_permutation_for_each_round_and_depends_on_nothing_else(
    labels, inspectors, repeats, seed, data
):
    parts = [StudyPart(label=label, defective=i == 0) for i, label in enumerate(labels)]
    plan = blind_plan(parts, inspectors, repeats, seed)

    assert [(r.repeat, r.inspector) for r in plan] == [
        (n, inspector) for n in range(1, repeats + 1) for inspector in inspectors
    ]
    assert all(sorted(r.parts) == sorted(labels) for r in plan)
    for inspector in inspectors:
        own = [r.parts for r in plan if r.inspector == inspector]
        assert all(a[-1] != b[0] for a, b in itertools.pairwise(own))
    # Another sequence of parts and inspectors, other known answers, fewer repeats: the same orders.
    shuffled = [replace(p, defective=not p.defective) for p in data.draw(st.permutations(parts))]
    again = blind_plan(shuffled, data.draw(st.permutations(inspectors)), repeats, seed)
    assert set(again) == set(plan)
    assert blind_plan(parts, inspectors[:1], 1, seed) == plan[:1]


def test_all_orders_are_about_equally_frequent():
    found = Counter(
        round.parts for i in range(1200) for round in blind_plan(study_parts("123"), ["A"], 1, f"s{i}")
    )

    assert len(found) == 6
    assert scipy_stats.chisquare(list(found.values())).pvalue > 0.01


def test_another_seed_inspector_or_repeat_gives_another_order():
    parts = study_parts("123456789")
    plan = blind_plan(parts, ["A", "B"], 2, "x") + blind_plan(parts, ["A"], 1, "y")

    assert len({round.parts for round in plan}) == 5


@pytest.mark.parametrize(
    ("labels", "bad", "inspectors", "words"),
    [
        ("1231", "1", ["A"], "part 1 is named twice"),
        ("123", "1", ["A", "A"], "inspector A is named twice"),
        ("123", "1", [], "no inspector"),
        ("12 ", "1", ["A"], "part.* is empty"),
        ("123", "1", ["\t"], "inspector.* is empty"),
        ("123", "", ["A"], "known to be bad"),
        ("123", "123", ["A"], "known to be good"),
        ("", "", ["A"], "known to be good"),
    ],
)
def test_a_plan_that_cannot_be_is_refused_in_words(labels, bad, inspectors, words):
    with pytest.raises(InputError, match=words):
        blind_plan(study_parts(labels, bad), inspectors, 2, "seed")


def test_a_plan_needs_a_repeat():
    with pytest.raises(ValueError, match="repeats"):
        blind_plan(study_parts("123"), ["A"], 0, "seed")


# --- advice before the study ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("parts", "high"),
    # One-sided 95 % after 0 of n, recomputed in SciPy and R.
    [(10, 0.258866), (20, 0.139108), (29, 0.0981446), (30, 0.0950339), (59, 0.0495076), (299, 0.00996915)],
)
def test_advice_gives_the_printed_limits(parts, high):
    advice = study_advice(parts, parts, inspectors=2, repeats=3)

    assert advice.false_alarm_high == pytest.approx(high, rel=2e-5)
    assert advice.detection_low == pytest.approx(0.05 ** (1 / parts), rel=1e-12)
    assert advice.readings == 12 * parts


def test_the_numbers_of_parts_are_those_of_the_success_run():
    # Widely printed (success run): 29, and not 28, 59, 299 at 95 %; 22 and 459.
    assert (bad_parts_needed(0.90), bad_parts_needed(0.95), bad_parts_needed(0.99)) == (29, 59, 299)
    assert (good_parts_needed(0.05), good_parts_needed(0.01)) == (59, 299)
    assert (bad_parts_needed(0.90, 0.90), good_parts_needed(0.01, 0.99)) == (22, 459)


@pytest.mark.parametrize("detection", [0.0, 1.0, -0.1])
def test_impossible_aims_are_refused(detection):
    with pytest.raises(ValueError, match="detection"):
        bad_parts_needed(detection)
    with pytest.raises(ValueError, match="must"):
        good_parts_needed(0.0)


@pytest.mark.parametrize("arguments", [(0, 5, 1, 1), (5, 0, 1, 1), (5, 5, 0, 1), (5, 5, 1, 0)])
def test_an_empty_study_gets_no_advice(arguments):
    with pytest.raises(ValueError, match="at least 1"):
        study_advice(*arguments)


@pytest.mark.parametrize("bad", [1, 2, 3, 5, 6, 7, 12])
@pytest.mark.parametrize("good", [1, 3, 5, 6, 9, 40])
def test_a_flawless_study_keeps_what_the_advice_promised(bad, good):
    advice = study_advice(bad, good, inspectors=2, repeats=2)
    result = study_agreement(flawless(bad, good))

    assert result.is_usable == advice.can_be_usable
    assert any("not be usable" in sentence for sentence in advice.sentences) != advice.can_be_usable
    if result.rates is not None:
        assert result.rates.detection_low == pytest.approx(advice.detection_low, rel=1e-12)
        assert result.rates.false_alarm_high == pytest.approx(advice.false_alarm_high, rel=1e-9)


def test_six_of_each_are_the_fewest_of_equal_numbers_that_can_be_usable():
    # 0.025 ** (1/6) = 0.5407 is above 1/2, 0.025 ** (1/5) = 0.4782 below.
    assert not study_advice(5, 5, inspectors=1, repeats=1).can_be_usable
    assert study_advice(6, 6, inspectors=1, repeats=1).can_be_usable
    assert "with 6 bad and 6 good ones it can be" in study_advice(5, 5, 1, 1).sentences[2]


def test_advice_in_words():
    bad, good, aims, *more = study_advice(10, 20, inspectors=1, repeats=1).sentences

    assert bad == (
        "10 parts known to be bad, none ever missed, would show a detection of at least 74 % "
        "(one-sided 95 %)."
    )
    assert good == (
        "20 parts known to be good, none ever called NOK, would show a false alarm of at most 14 % "
        "(one-sided 95 %)."
    )
    assert aims == (
        "A detection of at least 90 % takes 29 bad parts without a miss, a false alarm of at most 5 % "
        "takes 59 good parts without an alarm (one-sided 95 %)."
    )
    assert more == [
        "One repeat does not show whether an inspector judges the same part alike twice: take 2 or 3.",
        "One inspector does not show whether inspectors agree: take 2 or 3.",
        "More inspectors and repeats show agreement; they do not stand in for more parts.",
    ]
