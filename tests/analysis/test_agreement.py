"""What a study says, against hand counts, a published comparison, SciPy and simulated studies."""

import random
from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats as scipy_stats

from tests.analysis.studies import flawless, from_text, reading
from walkapp.analysis.agreement import study_agreement
from walkapp.analysis.by_part import interval_by_part
from walkapp.analysis.kappa import cohens_kappa, fleiss_kappa
from walkapp.analysis.proportions import proportion_interval
from walkapp.errors import InputError

SMALL = from_text(
    ann="b1:NN b2:NO b3:NN g1:OO g2:OO g3:NN g4:OO",
    bob="b1:NN b2:OO b3:NO g1:OO g2:NO g3:OO g4:OO",
)


def test_a_small_study_by_hand():
    result = study_agreement(SMALL)
    ann, bob = result.inspectors

    assert (ann.inspector, bob.inspector) == ("ann", "bob")
    assert (ann.detection.nok, ann.detection.readings, ann.detection.parts) == (5, 6, 3)
    assert (ann.false_alarm.nok, ann.false_alarm.readings, ann.false_alarm.parts) == (2, 8, 4)
    assert (bob.detection.nok, bob.false_alarm.nok) == (3, 1)
    assert (result.detection.nok, result.detection.readings, result.detection.share) == (8, 12, 8 / 12)
    assert (result.false_alarm.nok, result.false_alarm.readings) == (3, 16)
    assert ann.detection.interval == proportion_interval(5, 6)
    assert result.detection.interval == proportion_interval(8, 12)
    assert result.detection.by_part == interval_by_part([1, Fraction(1, 4), Fraction(3, 4)])
    # Ann differs from herself on b2 only, and is wrong in full on g3.
    assert (ann.within.agreed, ann.within.parts) == (6, 7)
    assert (ann.with_answer.agreed, ann.with_answer.parts) == (5, 7)
    assert (bob.within.agreed, bob.with_answer.agreed) == (5, 4)
    assert (result.between.agreed, result.between.parts) == (3, 7)
    assert (result.with_answer.agreed, result.with_answer.share) == (3, 3 / 7)
    assert result.between.interval == proportion_interval(3, 7)
    # Pairs: both N on b1 twice, b3 once; ann N and bob O on b2, b3, g3 twice; ann O and bob N on g2 once.
    (pair,) = result.pairs
    assert (pair.first, pair.second, pair.kappa.units, pair.kappa.parts) == ("ann", "bob", 14, 7)
    assert pair.kappa.value == cohens_kappa([[6, 1], [4, 3]]).value
    # With the known answer: ann 5 of 6 and 6 of 8 right.
    assert ann.kappa.value == cohens_kappa([[6, 2], [1, 5]]).value
    assert ann.kappa.interval == cohens_kappa([[6, 2], [1, 5]]).interval
    assert result.fleiss == fleiss_kappa([[4, 0], [1, 3], [3, 1], [0, 4], [1, 3], [2, 2], [0, 4]])
    assert not result.is_usable
    assert result.rates is None
    assert result.verdict.startswith("Not usable: bad parts are called NOK in 66 % of readings (")
    assert "with 6 bad and 6 good ones it can be" in result.verdict


def test_shares_agree_with_a_published_comparison():
    # A11: Altman & Bland (1994), BMJ 308, 1552: 231 of 258 found, 54 of 86 cleared; 0.90 and 0.63.
    result = study_agreement(
        [reading(f"b{i}", True, "scan", 1, i < 231) for i in range(258)]
        + [reading(f"g{i}", False, "scan", 1, i >= 54) for i in range(86)]
    )

    assert result.detection.share == pytest.approx(0.8953488, abs=6e-8)
    assert result.false_alarm.share == pytest.approx(0.3720930, abs=6e-8)
    # One reading a part: both intervals are the exact one.
    for rate in (result.detection, result.false_alarm):
        exact = scipy_stats.binomtest(rate.nok, rate.readings).proportion_ci(0.95)
        assert (rate.interval.low, rate.interval.high) == pytest.approx((exact.low, exact.high), rel=1e-9)
        assert (rate.by_part.low, rate.by_part.high) == pytest.approx((exact.low, exact.high), rel=1e-9)
    assert result.is_usable
    assert result.inspectors[0].within is None
    assert result.between is None
    assert result.fleiss.value is None
    assert result.pairs == ()


def test_what_feeds_the_walk_by_hand():
    # 9 of 10 bad parts found by both, the tenth by one of two; 1 of 20 good parts called NOK by one.
    ann = " ".join([f"b{i}:N" for i in range(10)] + [f"g{i}:O" for i in range(20)])
    bob = " ".join(
        [f"b{i}:{'O' if i == 3 else 'N'}" for i in range(10)]
        + [f"g{i}:{'N' if i == 7 else 'O'}" for i in range(20)]
    )
    rates = study_agreement(from_text(ann=ann, bob=bob)).rates

    assert rates.detection == pytest.approx((9.5 + 0.5) / 11, rel=1e-15)
    assert rates.false_alarm == pytest.approx((0.5 + 0.5) / 21, rel=1e-15)
    assert rates.detection_low == pytest.approx(scipy_stats.beta.ppf(0.05, 9.5, 1.5), rel=1e-9)
    assert rates.false_alarm_high == pytest.approx(scipy_stats.beta.ppf(0.95, 1.5, 19.5), rel=1e-9)


def test_no_false_alarm_seen_is_not_a_false_alarm_of_nothing():
    rates = study_agreement(flawless(10, 20)).rates

    assert rates.false_alarm == pytest.approx(0.5 / 21, rel=1e-15)
    assert rates.detection == pytest.approx(10.5 / 11, rel=1e-15)


def studies(max_parts=14):
    def build(shape):
        bad, good, inspectors, repeats, level = shape
        one = st.tuples(st.just(level), st.integers(0, 100)).map(lambda pair: pair[1] < pair[0])
        many = (bad + good) * inspectors * repeats
        return st.lists(one, min_size=many, max_size=many).map(
            lambda wrong: [
                reading(
                    f"P{p}",
                    p < bad,
                    "ABC"[i],
                    r,
                    (p < bad) != wrong[(p * inspectors + i) * repeats + r - 1],
                )
                for p in range(bad + good)
                for i in range(inspectors)
                for r in range(1, repeats + 1)
            ]
        )

    shapes = st.tuples(
        st.integers(0, max_parts),
        st.integers(0, max_parts),
        st.integers(1, 3),
        st.integers(1, 3),
        st.sampled_from([0, 5, 15, 50]),
    )
    return shapes.flatmap(build)


@settings(max_examples=80, deadline=None)
@given(readings=studies())
def test_what_feeds_the_walk_is_in_order_and_only_there_when_usable(readings):
    result = study_agreement(readings)

    assert result.is_usable == (result.rates is not None)
    assert result.verdict.startswith("Usable: " if result.is_usable else "Not usable: ")
    if result.rates is not None:
        rates, d, f = result.rates, result.detection, result.false_alarm
        assert 0 < rates.false_alarm < rates.detection < 1
        assert 0 < rates.false_alarm_high < rates.detection_low < 1
        assert rates.detection_low < rates.detection < d.by_part.high
        assert f.by_part.low < rates.false_alarm < rates.false_alarm_high
        # A one-sided limit lies inside the two-sided one of the same confidence.
        assert d.by_part.low < rates.detection_low <= d.part_mean
        assert f.part_mean <= rates.false_alarm_high < f.by_part.high
        assert f.by_part.high < d.by_part.low


@settings(max_examples=60, deadline=None)
@given(readings=studies(8), data=st.data())
def test_order_of_readings_and_names_of_inspectors_change_nothing(readings, data):
    result = study_agreement(readings)
    renamed = {"A": "Z", "B": "Y", "C": "X"}
    again = study_agreement(
        replace(r, inspector=renamed[r.inspector]) for r in data.draw(st.permutations(readings))
    )

    assert (again.detection, again.false_alarm, again.rates) == (
        result.detection,
        result.false_alarm,
        result.rates,
    )
    assert (again.fleiss, again.between, again.with_answer) == (
        result.fleiss,
        result.between,
        result.with_answer,
    )
    assert again.verdict == result.verdict
    for one in result.inspectors:
        (same,) = [other for other in again.inspectors if other.inspector == renamed[one.inspector]]
        assert replace(same, inspector=one.inspector) == one
    for pair in result.pairs:
        pair_names = {renamed[pair.first], renamed[pair.second]}
        (same,) = [other for other in again.pairs if {other.first, other.second} == pair_names]
        assert same.kappa == pair.kappa


@settings(max_examples=60, deadline=None)
@given(readings=studies(8))
def test_swapping_ok_and_nok_everywhere_mirrors_the_rates_and_keeps_the_agreement(readings):
    result = study_agreement(readings)
    swapped = study_agreement(
        replace(r, defective=not r.defective, called_nok=not r.called_nok) for r in readings
    )

    for ours, theirs in (
        (result.detection, swapped.false_alarm),
        (result.false_alarm, swapped.detection),
    ):
        assert (ours is None) == (theirs is None)
        if ours is not None:
            assert (theirs.nok, theirs.readings) == (ours.readings - ours.nok, ours.readings)
            for mine, yours in ((ours.interval, theirs.interval), (ours.by_part, theirs.by_part)):
                assert (yours.low, yours.high) == pytest.approx((1 - mine.high, 1 - mine.low), abs=1e-9)
    assert (swapped.between, swapped.with_answer) == (result.between, result.with_answer)
    assert swapped.fleiss == result.fleiss
    assert [pair.kappa for pair in swapped.pairs] == [pair.kappa for pair in result.pairs]
    assert [one.kappa for one in swapped.inspectors] == [one.kappa for one in result.inspectors]
    assert [one.within for one in swapped.inspectors] == [one.within for one in result.inspectors]
    assert swapped.is_usable == result.is_usable


def test_nothing_read_is_said_and_not_guessed():
    result = study_agreement([])

    assert (result.detection, result.false_alarm, result.between, result.with_answer) == (None,) * 4
    assert (result.inspectors, result.pairs, result.notes) == ((), (), ())
    assert result.fleiss.value is None
    assert result.verdict == "Not usable: no part known to be bad or good was read; both kinds are needed."


def test_a_study_of_one_kind_of_part_is_not_usable():
    result = study_agreement(flawless(10, 0))

    assert result.verdict == "Not usable: no part known to be good was read; both kinds are needed."
    assert result.detection.nok == 40
    assert result.inspectors[0].false_alarm is None
    assert result.inspectors[0].kappa.value is None


def test_swapped_answers_are_suspected():
    result = study_agreement(replace(r, called_nok=not r.called_nok) for r in flawless(10, 10))

    assert not result.is_usable
    assert "may be swapped" in result.verdict


def test_enough_parts_that_are_not_told_apart_do_not_ask_for_more():
    result = study_agreement(replace(r, called_nok=int(r.part[1:]) % 2 == 0) for r in flawless(20, 20))

    assert not result.is_usable
    assert "the ranges overlap" in result.verdict
    assert "so few" not in result.verdict


def test_an_inspector_who_does_not_tell_them_apart_is_named():
    found = [
        r if r.inspector == "A" else replace(r, called_nok=r.part in ("P0", "P13"))
        for r in flawless(12, 40)
    ]
    # 12 of 12 and 1 of 12 together are 54 % (above 20 %), against at most 1 of 80 false alarms.
    result = study_agreement(found)

    assert result.is_usable
    assert result.notes[0].startswith("For B alone it is not shown")


def test_missing_readings_are_told_and_never_make_a_part_always_right():
    whole = from_text(ann="b1:NN b2:NN b3:N- g1:OO g2:O-", bob="b1:NN b2:N- b3:NN g1:OO g2:OO")
    result = study_agreement(whole)
    ann = result.inspectors[0]

    assert "3 of 20 readings are missing" in result.notes[0]
    assert (ann.detection.nok, ann.detection.readings, ann.detection.parts) == (5, 5, 3)
    assert (ann.within.parts, ann.with_answer.parts) == (3, 3)
    assert (result.between.parts, result.fleiss.parts) == (2, 2)
    assert (result.pairs[0].kappa.units, result.pairs[0].kappa.parts) == (7, 5)


def test_unequal_numbers_of_readings_do_not_weigh_parts_by_them():
    result = study_agreement(from_text(ann="b1:OOOOOO b2:N g1:O"))

    assert result.detection.share == pytest.approx(1 / 7)
    assert result.detection.part_mean == 0.5
    assert result.detection.by_part == proportion_interval(1, 2)


def test_one_reading_a_part_needs_no_word_on_independence():
    once = study_agreement(from_text(ann="b1:N g1:O"))
    twice = study_agreement(from_text(ann="b1:NN g1:OO"))

    assert once.notes == ()
    assert "not independent" in twice.notes[0]


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (reading("b1", False, "cy", 1, True), "part b1 has two known answers"),
        (reading("b1", True, "ann", 1, False), "ann judged the part b1 twice in repeat 1"),
    ],
)
def test_readings_that_contradict_each_other_are_refused_in_words(more, words):
    with pytest.raises(InputError, match=words):
        study_agreement([*SMALL, more])


def test_impossible_arguments_are_refused():
    with pytest.raises(ValueError, match="repeat"):
        study_agreement([reading("b1", True, "ann", 0, True)])
    with pytest.raises(ValueError, match="confidence"):
        study_agreement(SMALL, 1.0)


# --- how often the limits hold --------------------------------------------------------------------

# Invented: most bad parts are easy, three in ten are found in three of ten looks; some good parts look bad.
EASY, HARD, HARD_SHARE = 0.95, 0.30, 0.30
PLAIN, DUBIOUS, DUBIOUS_SHARE = 0.02, 0.50, 0.10


def invented_study(chance, bad, good, repeats):
    found = []
    for p in range(bad + good):
        if p < bad:
            rate = HARD if chance.random() < HARD_SHARE else EASY
        else:
            rate = DUBIOUS if chance.random() < DUBIOUS_SHARE else PLAIN
        found += [
            reading(f"P{p}", p < bad, who, n, chance.random() < rate)
            for who in "AB"
            for n in range(1, repeats + 1)
        ]
    return found


def true_kappa(bad, good):
    """Kappa of two readings of the same part, in the long run over parts of this mix."""
    share = bad / (bad + good)
    kinds = [
        (share * (1 - HARD_SHARE), EASY),
        (share * HARD_SHARE, HARD),
        ((1 - share) * (1 - DUBIOUS_SHARE), PLAIN),
        ((1 - share) * DUBIOUS_SHARE, DUBIOUS),
    ]
    nok = sum(w * p for w, p in kinds)
    observed = sum(w * (p * p + (1 - p) ** 2) for w, p in kinds)
    expected = nok * nok + (1 - nok) ** 2
    return (observed - expected) / (1 - expected)


def test_limits_with_parts_as_the_sample_hold_and_those_of_readings_do_not():
    chance = random.Random(20240607)
    detection = (1 - HARD_SHARE) * EASY + HARD_SHARE * HARD
    false_alarm = (1 - DUBIOUS_SHARE) * PLAIN + DUBIOUS_SHARE * DUBIOUS
    kappa = true_kappa(20, 30)
    held = Counter()
    runs = 200
    for _ in range(runs):
        result = study_agreement(invented_study(chance, 20, 30, repeats=3))
        pair = result.pairs[0].kappa
        for name, interval, truth in (
            ("detection by reading", result.detection.interval, detection),
            ("detection by part", result.detection.by_part, detection),
            ("false alarm by part", result.false_alarm.by_part, false_alarm),
            ("kappa by reading", pair.interval, kappa),
            ("kappa by part", pair.by_part, kappa),
            ("fleiss by part", result.fleiss.by_part, kappa),
        ):
            held[name] += interval.low <= truth <= interval.high
        if result.rates is not None:
            held["usable"] += 1
            held["low"] += result.rates.detection_low <= detection
            held["high"] += false_alarm <= result.rates.false_alarm_high
    share = {name: count / runs for name, count in held.items()}

    # Promised is 95 %. The large-sample intervals of kappa come to 92 to 95 % in longer runs (600 each of
    # six designs); three standard errors of 200 runs are 5 points.
    assert share["detection by part"] > 0.95
    assert share["false alarm by part"] > 0.95
    assert share["detection by reading"] < 0.85
    assert share["kappa by part"] > 0.88
    assert share["fleiss by part"] > 0.88
    assert share["kappa by reading"] < share["kappa by part"]
    assert share["usable"] > 0.95
    assert min(held["low"], held["high"]) / held["usable"] > 0.95
