"""Shifts and changes of spread against printed examples, SciPy, statsmodels and enumeration."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats as scipy_stats
from statsmodels.stats.multitest import multipletests

from walkapp.analysis.many import holm
from walkapp.analysis.means import (
    EXCHANGE,
    F_RATIO,
    NO_TEST,
    PAIRED_T,
    PITMAN_MORGAN,
    SIGN_CHANGE,
    WELCH_T,
    mean_interval,
    paired_shift,
    paired_spread_change,
    separate_shift,
    separate_spread_change,
)

# Student's sleep data (R data set "sleep"; Student 1908, Biometrika 6, 20).
SLEEP_1 = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0]
SLEEP_2 = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]
# Boys' shoes (NIST file BOXSHOES.DAT; Box, Hunter and Hunter 1978, p. 97-101).
SHOES_A = [13.2, 8.2, 10.9, 14.3, 10.7, 6.6, 9.5, 10.8, 8.8, 13.3]
SHOES_B = [14.0, 8.8, 11.2, 14.2, 11.8, 6.4, 9.8, 11.3, 9.3, 13.6]
# Assembly times (NIST/SEMATECH e-Handbook 7.3.1, quoted by others).
OLD = [32, 37, 35, 28, 41, 44, 35, 31, 34, 38, 42]
NEW = [36, 31, 30, 31, 34, 36, 29, 32, 31]

typed = st.integers(-5_000, 5_000).map(lambda whole: whole / 100)
samples = st.lists(typed, min_size=2, max_size=15)
pairs = st.lists(st.tuples(typed, typed), min_size=2, max_size=15)
confidences = st.sampled_from([0.5, 0.9, 0.95, 0.99])


def test_separate_samples_agree_with_the_nist_handbook():
    # NIST/SEMATECH e-Handbook 7.3.1: t 2.2694, 15.5 degrees of freedom; more digits from SciPy and R.
    shift = separate_shift(NEW, OLD)
    limits = shift.interval()

    assert shift.method == WELCH_T
    assert shift.value / shift.standard_error == pytest.approx(2.2694, abs=0.00005)
    assert shift.degrees == pytest.approx(15.532514, abs=5e-7)
    assert shift.p == pytest.approx(0.0378795, abs=5e-8)
    assert (limits.low, limits.high) == pytest.approx((0.245943, 7.491430), abs=5e-7)
    assert (limits.confidence, limits.sides) == (0.95, 2)


def test_separate_samples_agree_with_the_printed_output_for_the_sleep_data():
    # Output of R's t.test as printed in course notes.
    shift = separate_shift(SLEEP_2, SLEEP_1)
    limits = shift.interval()

    assert shift.value / shift.standard_error == pytest.approx(-1.8608, abs=0.00005)
    assert shift.degrees == pytest.approx(17.776, abs=0.0005)
    assert shift.p == pytest.approx(0.07939, abs=0.000005)
    assert (limits.low, limits.high) == pytest.approx((-3.3654832, 0.2054832), abs=5e-8)


def test_pairs_agree_with_the_printed_output_for_the_sleep_data():
    # Output of R's t.test(paired = TRUE) as printed in course notes.
    shift = paired_shift(SLEEP_2, SLEEP_1)
    limits = shift.interval()

    assert shift.method == PAIRED_T
    assert shift.value == -1.58
    assert shift.value / shift.standard_error == pytest.approx(-4.0621, abs=0.00005)
    assert (shift.degrees, shift.earlier_count, shift.later_count) == (9.0, 10, 10)
    assert shift.p == pytest.approx(0.002833, abs=5e-7)
    assert (limits.low, limits.high) == pytest.approx((-2.4598858, -0.7001142), abs=5e-8)


def test_pairs_find_what_separate_samples_miss_in_the_boys_shoes():
    # Output of R: paired p 0.00853878, limits of A - B; the wrong unpaired test gives p 0.7165.
    paired, separate = paired_shift(SHOES_B, SHOES_A), separate_shift(SHOES_B, SHOES_A)
    limits = paired.interval()

    assert paired.value == -0.41
    assert paired.value / paired.standard_error == pytest.approx(-3.348877, abs=5e-7)
    assert paired.p == pytest.approx(0.00853878, abs=5e-9)
    assert (limits.low, limits.high) == pytest.approx((-0.686953906, -0.133046094), abs=5e-10)
    assert separate.p == pytest.approx(0.7165, abs=0.00005)


@settings(max_examples=150, deadline=None)
@given(earlier=samples, later=samples, confidence=confidences)
def test_separate_samples_agree_with_scipy(earlier, later, confidence):
    # SciPy warns where a sample has no spread; one such sample has a test of its own below.
    assume(len(set(earlier)) > 1 and len(set(later)) > 1)
    shift = separate_shift(earlier, later)
    expected = scipy_stats.ttest_ind(later, earlier, equal_var=False)
    limits = expected.confidence_interval(confidence)

    assert shift.degrees == pytest.approx(expected.df, rel=1e-8)
    assert shift.p == pytest.approx(expected.pvalue, rel=1e-7, abs=1e-30)
    found = shift.interval(confidence)
    assert (found.low, found.high) == pytest.approx((limits.low, limits.high), rel=1e-8, abs=1e-8)


@settings(max_examples=150, deadline=None)
@given(both=pairs, confidence=confidences)
def test_pairs_agree_with_scipy(both, confidence):
    earlier, later = (list(values) for values in zip(*both, strict=True))
    assume(len({round(b * 100) - round(a * 100) for a, b in both}) > 1)
    shift = paired_shift(earlier, later)
    expected = scipy_stats.ttest_rel(later, earlier)
    limits = expected.confidence_interval(confidence)

    assert shift.p == pytest.approx(expected.pvalue, rel=1e-7, abs=1e-30)
    found = shift.interval(confidence)
    assert (found.low, found.high) == pytest.approx((limits.low, limits.high), rel=1e-8, abs=1e-8)


@settings(max_examples=80, deadline=None)
@given(values=samples, confidence=confidences)
def test_the_interval_of_a_mean_agrees_with_scipy(values, confidence):
    assume(len(set(values)) > 1)
    limits = scipy_stats.ttest_1samp(values, 0.0).confidence_interval(confidence)
    found = mean_interval(values, confidence)

    assert (found.low, found.high) == pytest.approx((limits.low, limits.high), rel=1e-8, abs=1e-8)


@settings(max_examples=80, deadline=None)
@given(earlier=samples, later=samples)
def test_an_interval_holds_no_shift_exactly_when_the_p_is_large(earlier, later):
    shift = separate_shift(earlier, later)
    assume(shift.method == WELCH_T and abs(shift.p - 0.1) > 1e-9)
    limits = shift.interval(0.9)

    assert (limits.low <= 0.0 <= limits.high) == (shift.p > 0.1)


def test_parts_that_all_moved_by_the_same_amount_are_judged_by_exact_sign_change():
    # In floating point the differences differ in their last digits, and the t test finds p = 1e-30.
    earlier, later = [10.1, 10.3, 0.1, 7.7, 5.2], [10.3, 10.5, 0.3, 7.9, 5.4]
    shift = paired_shift(earlier, later)
    signs = list(itertools.product((1, -1), repeat=5))
    extreme = sum(1 for flips in signs if abs(sum(flips)) >= 5)

    assert shift.method == SIGN_CHANGE
    assert shift.value == 0.2
    assert shift.p == extreme / len(signs) == 2 / 32
    assert shift.interval() is None
    assert shift.why == "every part moved by the same amount"


def test_parts_that_did_not_move_show_no_shift():
    shift = paired_shift([1.1, 2.2], [1.1, 2.2])

    assert (shift.value, shift.p, shift.why) == (0.0, 1.0, "no part moved")


@pytest.mark.parametrize(("many", "more"), [(2, 2), (3, 3), (2, 4), (5, 3)])
def test_two_samples_without_spread_are_judged_by_exact_exchange(many, more):
    shift = separate_shift([1.5] * many, [2.5] * more)
    together = [0] * many + [1] * more
    # All ways to choose the later sample that are at most as probable as the observed one.
    ways = [sum(chosen) for chosen in itertools.combinations(together, more)]
    by_count = {count: ways.count(count) for count in set(ways)}
    extreme = sum(ways_of for ways_of in by_count.values() if ways_of <= by_count[more])

    assert shift.method == EXCHANGE
    assert shift.value == 1.0
    assert shift.p == pytest.approx(extreme / len(ways), rel=1e-12)
    assert shift.interval() is None


def test_equal_samples_without_spread_show_no_shift():
    assert separate_shift([1.5] * 3, [1.5] * 4).p == 1.0


def test_one_sample_without_spread_leaves_welch_the_other_ones_degrees():
    shift = separate_shift([5.0, 5.0, 5.0], [5.1, 5.3, 5.2, 5.4])

    assert shift.method == WELCH_T
    assert shift.degrees == 3.0
    assert shift.p == pytest.approx(scipy_stats.ttest_1samp([5.1, 5.3, 5.2, 5.4], 5.0).pvalue, rel=1e-9)


def test_single_values_say_the_difference_and_nothing_more():
    for shift in (separate_shift([1.0], [1.5, 1.7]), paired_shift([1.0], [1.6])):
        assert shift.value == 0.6
        assert (shift.method, shift.p, shift.interval()) == (NO_TEST, None, None)
        assert shift.why.startswith("fewer than 2")


def test_a_mean_without_spread_or_of_too_few_has_no_interval():
    assert mean_interval([]) is None
    assert mean_interval([1.0]) is None
    assert mean_interval([0.1, 0.1, 0.1]) is None


@settings(max_examples=150, deadline=None)
@given(earlier=samples, later=samples, confidence=confidences)
def test_the_ratio_of_spreads_agrees_with_scipy(earlier, later, confidence):
    assume(len(set(earlier)) > 1 and len(set(later)) > 1)
    change = separate_spread_change(earlier, later)
    ratio = np.var(later, ddof=1) / np.var(earlier, ddof=1)
    above = scipy_stats.f(len(later) - 1, len(earlier) - 1)
    beyond = (1 - confidence) / 2
    found = change.interval(confidence)

    assert change.method == F_RATIO
    assert change.ratio == pytest.approx(math.sqrt(ratio), rel=1e-8)
    assert change.p == pytest.approx(min(1, 2 * min(above.cdf(ratio), above.sf(ratio))), rel=1e-6)
    assert found.low == pytest.approx(math.sqrt(ratio / above.ppf(1 - beyond)), rel=1e-7)
    assert found.high == pytest.approx(math.sqrt(ratio / above.ppf(beyond)), rel=1e-7)


def _correlation_p(first, second):
    return scipy_stats.pearsonr(first, second).pvalue


@settings(max_examples=120, deadline=None)
@given(both=st.lists(st.tuples(typed, typed), min_size=4, max_size=15), confidence=confidences)
def test_a_change_of_spread_in_pairs_is_a_correlation_of_sums_and_differences(both, confidence):
    earlier, later = (np.array(values) for values in zip(*both, strict=True))
    change = paired_spread_change(list(earlier), list(later))
    assume(change.method == PITMAN_MORGAN and change.unlinked > 1e-6)
    assume(change.p > 1e-8 and abs(change.ratio - 1) > 1e-6)

    assert change.ratio == pytest.approx(later.std(ddof=1) / earlier.std(ddof=1), rel=1e-9)
    assert change.p == pytest.approx(_correlation_p(later + earlier, later - earlier), rel=1e-5)
    # The interval holds the ratios that the same test does not reject: at its ends the p is the rest.
    found = change.interval(confidence)
    for end in (found.low, found.high):
        p = _correlation_p(later + end * earlier, later - end * earlier)
        assert p == pytest.approx(1 - confidence, rel=1e-4)


def test_spreads_of_the_shoes():
    # No printed value; SciPy's correlation of sums and differences.
    change = paired_spread_change(SHOES_A, SHOES_B)
    sums, gaps = np.add(SHOES_B, SHOES_A), np.subtract(SHOES_B, SHOES_A)

    assert change.p == pytest.approx(scipy_stats.pearsonr(sums, gaps).pvalue, rel=1e-9)
    assert change.interval().low < 1.0 < change.interval().high


@pytest.mark.parametrize(
    ("earlier", "later", "ratio", "why"),
    [
        ([1.0], [2.0], None, "fewer than 3 pairs"),
        ([1.0, 2.0], [2.0, 4.0], 2.0, "fewer than 3 pairs"),
        ([1.0, 1.0, 1.0], [2.0, 4.0, 5.0], None, "no spread at one of the two"),
        ([2.0, 4.0, 5.0], [1.0, 1.0, 1.0], 0.0, "no spread at one of the two"),
        ([0.1, 0.2, 0.3], [0.3, 0.4, 0.5], 1.0, "the pairs lie on one line"),
        ([0.1, 0.2, 0.4], [0.2, 0.4, 0.8], 2.0, "the pairs lie on one line"),
    ],
)
def test_pairs_that_cannot_show_a_change_of_spread_say_why(earlier, later, ratio, why):
    change = paired_spread_change(earlier, later)

    assert (change.ratio, change.why) == (ratio, why)
    assert (change.method, change.p, change.interval()) == (NO_TEST, None, None)


@pytest.mark.parametrize(
    ("earlier", "later", "ratio", "why"),
    [
        ([], [1.0, 2.0], None, "fewer than 2 parts in a sample"),
        ([1.0, 2.0], [1.0], None, "fewer than 2 parts in a sample"),
        ([0.1, 0.1], [1.0, 2.0], None, "no spread in a sample"),
        ([1.0, 2.0], [0.1, 0.1], 0.0, "no spread in a sample"),
    ],
)
def test_samples_that_cannot_show_a_change_of_spread_say_why(earlier, later, ratio, why):
    change = separate_spread_change(earlier, later)

    assert (change.ratio, change.why) == (ratio, why)
    assert (change.method, change.p, change.interval()) == (NO_TEST, None, None)


@settings(max_examples=80, deadline=None)
@given(earlier=samples, later=samples)
def test_the_way_back_is_the_opposite_change(earlier, later):
    there, back = separate_shift(earlier, later), separate_shift(later, earlier)
    wider, narrower = separate_spread_change(earlier, later), separate_spread_change(later, earlier)

    assert there.value == -back.value
    assert there.p == pytest.approx(back.p, rel=1e-12)
    assert (wider.p is None) == (narrower.p is None)
    if wider.p is not None:
        assert wider.p == pytest.approx(narrower.p, rel=1e-9)
        assert wider.interval().low == pytest.approx(1 / narrower.interval().high, rel=1e-9)


@settings(max_examples=100, deadline=None)
@given(chances=st.lists(st.floats(0, 1), min_size=1, max_size=7))
def test_holm_is_bonferroni_over_every_set_of_looks(chances):
    # The definition by closed testing: the worst of all sets of looks that hold this one.
    places = range(len(chances))
    sets = [s for size in places for s in itertools.combinations(places, size + 1)]

    for place, p in enumerate(holm(chances)):
        worst = max(len(s) * min(chances[i] for i in s) for s in sets if place in s)
        assert p == pytest.approx(min(1.0, worst), rel=1e-12, abs=1e-300)


@settings(max_examples=15, deadline=None)
@given(chances=st.lists(st.floats(0, 1), min_size=1, max_size=12))
def test_holm_agrees_with_statsmodels(chances):
    expected = multipletests(chances, method="holm")[1]

    assert holm(chances) == pytest.approx(tuple(expected), rel=1e-12, abs=1e-300)


def test_holm_of_one_or_no_look_changes_nothing():
    assert holm([0.03]) == (0.03,)
    assert holm([]) == ()


@pytest.mark.parametrize(
    "call",
    [
        lambda: paired_shift([1.0], [1.0, 2.0]),
        lambda: paired_shift([], []),
        lambda: paired_spread_change([1.0], [1.0, 2.0]),
        lambda: separate_shift([], [1.0]),
        lambda: separate_shift([1.0, math.nan], [1.0]),
        lambda: separate_shift([1.0, 2.0], [1.0, 3.0]).interval(1.0),
        lambda: separate_spread_change([1.0, 2.0], [1.0, 3.0]).interval(0.0),
        lambda: mean_interval([1.0, 2.0], 1.5),
        lambda: holm([0.1, 1.2]),
    ],
)
def test_arguments_out_of_range_are_refused(call):
    with pytest.raises(ValueError, match=r"must|need"):
        call()
