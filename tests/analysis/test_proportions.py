"""Limits, sample sizes and Fisher's test against printed values, SciPy and statsmodels."""

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats as scipy_stats
from statsmodels.stats.proportion import proportion_confint

from walkapp.analysis.proportions import (
    fisher_exact,
    parts_to_prove_clean,
    proportion_interval,
    upper_limit,
)


def test_four_of_twenty_has_the_limits_of_the_nist_handbook():
    # NIST/SEMATECH e-Handbook 7.2.4.1 prints 0.071354 and 0.401029; the second one is off in its last
    # digit (its root finder stops early): R and SciPy give 0.0713538843 and 0.4010281173.
    limits = proportion_interval(4, 20, 0.90)

    assert limits.low == pytest.approx(0.0713538843, abs=1e-10)
    assert limits.high == pytest.approx(0.4010281173, abs=1e-10)
    assert (limits.confidence, limits.sides) == (0.90, 2)


@pytest.mark.parametrize(
    ("nok", "checked", "low", "high", "digits"),
    [
        # R reference manual, binom.test, inputs 682 of 925 (Conover 1971, p. 97); output of R.
        (682, 925, 0.7076683, 0.7654066, 7),
        # statsmodels' own test against R's binom.test, inputs 51 of 235; output of R.
        (51, 235, 0.16606333, 0.27526836, 8),
        # Newcombe (1998), Statistics in Medicine 17, 857-872, Table I, method 5: from memory.
        (81, 263, 0.2527, 0.3676, 4),
        (15, 148, 0.0578, 0.1617, 4),
        (0, 20, 0.0, 0.1684, 4),
        (1, 29, 0.0009, 0.1776, 4),
    ],
)
def test_two_sided_limits_agree_with_printed_ones(nok, checked, low, high, digits):
    limits = proportion_interval(nok, checked)

    assert limits.low == pytest.approx(low, abs=0.5001 * 10**-digits)
    assert limits.high == pytest.approx(high, abs=0.5001 * 10**-digits)


def test_no_nok_gives_the_rule_of_three_one_sided_and_not_two_sided():
    # "Rule of three (statistics)", encyclopaedia article: 0 of 1500 is below 1 in 500, 0 of 300 below
    # 1 in 100. R package epitools, help of pois.exact: numerators 3.689 two-sided, 2.996 one-sided.
    assert upper_limit(0, 1500).high < 1 / 500
    assert upper_limit(0, 300).high < 1 / 100
    assert upper_limit(0, 1_000_000).high * 1_000_000 == pytest.approx(2.996, abs=0.0005)
    assert proportion_interval(0, 1_000_000).high * 1_000_000 == pytest.approx(3.689, abs=0.0005)
    assert (upper_limit(0, 300).sides, proportion_interval(0, 300).sides) == (1, 2)


@pytest.mark.parametrize(("confidence", "numerator"), [(0.97, 3.51), (0.99, 4.61), (0.995, 5.3)])
def test_other_confidences_have_other_numerators(confidence, numerator):
    # Same article, numerators instead of 3.
    digits = 1 if numerator == 5.3 else 2

    assert round(upper_limit(0, 1_000_000, confidence).high * 1_000_000, digits) == numerator


@pytest.mark.parametrize(
    ("checked", "one_sided", "two_sided"),
    [
        # Recomputed from 1 - alpha ** (1 / n) in SciPy and R; no printed source.
        (10, 0.258866, 0.308497),
        (20, 0.139108, 0.168433),
        (29, 0.0981446, 0.119445),
        (59, 0.0495076, 0.0606089),
        (299, 0.00996915, 0.0122616),
    ],
)
def test_limits_without_nok_have_a_closed_form(checked, one_sided, two_sided):
    assert upper_limit(0, checked).high == pytest.approx(one_sided, rel=2e-5)
    assert proportion_interval(0, checked).high == pytest.approx(two_sided, rel=2e-5)


counts = st.one_of(st.integers(1, 60), st.integers(1, 1_000_000)).flatmap(
    lambda n: st.tuples(st.one_of(st.integers(0, n), st.just(0), st.just(n)), st.just(n))
)


@settings(max_examples=200, deadline=None)
@given(pair=counts, confidence=st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.99, 0.999]))
def test_limits_agree_with_statsmodels_and_scipy(pair, confidence):
    nok, checked = pair
    limits = proportion_interval(nok, checked, confidence)
    low, high = proportion_confint(nok, checked, alpha=1 - confidence, method="beta")
    one_sided = scipy_stats.binomtest(nok, checked, alternative="less").proportion_ci(confidence)

    assert limits.low == pytest.approx(low, rel=1e-9)
    assert limits.high == pytest.approx(high, rel=1e-9)
    # SciPy finds the one-sided limit with a root finder.
    assert upper_limit(nok, checked, confidence).high == pytest.approx(one_sided.high, rel=1e-6, abs=1e-9)
    assert 0.0 <= limits.low <= nok / checked <= limits.high <= 1.0


@settings(max_examples=60, deadline=None)
@given(pair=counts, confidence=st.sampled_from([0.9, 0.95]))
def test_limits_of_ok_mirror_those_of_nok(pair, confidence):
    nok, checked = pair
    limits, mirrored = (proportion_interval(k, checked, confidence) for k in (nok, checked - nok))

    assert mirrored.low == pytest.approx(1 - limits.high, rel=1e-6, abs=1e-12)


@pytest.mark.parametrize(
    ("nok", "checked", "confidence"), [(-1, 5, 0.9), (6, 5, 0.9), (0, 0, 0.9), (1, 5, 1.0), (1, 5, 0.0)]
)
def test_impossible_counts_and_confidences_are_refused(nok, checked, confidence):
    with pytest.raises(ValueError, match="must be"):
        proportion_interval(nok, checked, confidence)
    with pytest.raises(ValueError, match="must be"):
        upper_limit(nok, checked, confidence)


# Zero-failure sample sizes, widely printed (22, 29, 45, 59, 230, 299, 459); from memory, recomputed.
SUCCESS_RUN = {
    0.50: [4, 5, 7, 14, 23, 35, 69, 139, 693],
    0.80: [8, 10, 16, 32, 53, 80, 161, 322, 1609],
    0.90: [11, 15, 22, 45, 76, 114, 230, 460, 2302],
    0.95: [14, 19, 29, 59, 99, 149, 299, 598, 2995],
    0.99: [21, 29, 44, 90, 152, 228, 459, 919, 4603],
}
RELIABILITIES = [0.80, 0.85, 0.90, 0.95, 0.97, 0.98, 0.99, 0.995, 0.999]


@pytest.mark.parametrize(
    ("confidence", "reliability", "parts"),
    [(c, r, n) for c, row in SUCCESS_RUN.items() for r, n in zip(RELIABILITIES, row, strict=True)],
)
def test_success_run_sizes_are_the_printed_ones(confidence, reliability, parts):
    assert parts_to_prove_clean(round(1 - reliability, 4), confidence) == parts


def test_ninety_five_percent_confidence_in_ninety_percent_needs_29_parts_and_not_28():
    # Both are in circulation; 28 belongs to a flat prior.
    assert parts_to_prove_clean(0.10, 0.95) == 29


@settings(max_examples=300, deadline=None)
@given(
    share=st.integers(1, 99),
    confidence=st.integers(1, 99),
    detection=st.integers(50, 100),
)
def test_the_success_run_is_the_smallest_that_holds_in_exact_fractions(share, confidence, detection):
    passes = 1 - Fraction(share, 100) * Fraction(detection, 100)
    missed = 1 - Fraction(confidence, 100)

    parts = parts_to_prove_clean(share / 100, confidence / 100, detection / 100)

    assert passes**parts <= missed
    assert parts == 1 or passes ** (parts - 1) > missed


@pytest.mark.parametrize(
    ("share", "confidence", "parts"),
    [(0.1, 0.19, 2), (0.1, 0.271, 3), (0.5, 0.5, 1), (0.2, 0.36, 2), (1.0, 0.99, 1)],
)
def test_a_confidence_that_is_met_exactly_needs_no_further_part(share, confidence, parts):
    # 0.9 ** 2 = 0.81, 0.9 ** 3 = 0.729, ...: in floating point some of these miss by one.
    assert parts_to_prove_clean(share, confidence) == parts


@pytest.mark.parametrize(
    ("confidence", "reliability", "parts"),
    [
        # Widely printed tables of c-failure sample sizes (from memory), recomputed with two engines.
        (0.90, 0.90, (22, 38, 52, 65)),
        (0.95, 0.90, (29, 46, 61, 76)),
        (0.90, 0.95, (45, 77, 105, 132)),
        (0.95, 0.95, (59, 93, 124, 153)),
        (0.99, 0.95, (90, 130, 165, 198)),
        (0.90, 0.99, (230, 388, 531, 667)),
        (0.95, 0.99, (299, 473, 628, 773)),
        (0.99, 0.99, (459, 662, 838, 1001)),
    ],
)
def test_sample_sizes_with_some_nok_are_those_of_the_tables(confidence, reliability, parts):
    found = [parts_to_prove_clean(1 - reliability, confidence, 1.0, nok, nok) + nok for nok in range(4)]

    assert tuple(found) == parts


@settings(max_examples=100, deadline=None)
@given(
    nok=st.integers(0, 30),
    share=st.floats(0.01, 0.9),
    confidence=st.floats(0.5, 0.999),
    detection=st.floats(0.3, 1.0),
)
def test_a_sample_is_just_large_enough_by_scipy(nok, share, confidence, detection):
    parts = parts_to_prove_clean(share, confidence, detection, nok, nok) + nok

    risk = 1 - confidence
    assert scipy_stats.binom.cdf(nok, parts, share * detection) <= risk * (1 + 1e-9)
    if parts > nok + 1:
        assert scipy_stats.binom.cdf(nok, parts - 1, share * detection) >= risk * (1 - 1e-9)


def test_parts_already_ok_are_taken_off_and_never_below_nothing():
    assert parts_to_prove_clean(0.10, 0.95, already_checked=20) == 9
    assert parts_to_prove_clean(0.10, 0.95, already_checked=29) == 0
    assert parts_to_prove_clean(0.10, 0.95, already_checked=1000) == 0


def test_a_check_that_misses_parts_needs_more_of_them():
    # (1 - 0.1 * 0.9) ** 32 = 0.0489, ** 31 = 0.0537.
    assert parts_to_prove_clean(0.10, 0.95, detection=0.9) == 32


@pytest.mark.parametrize(
    "arguments",
    [
        (0.0, 0.95),
        (1.1, 0.95),
        (0.1, 0.0),
        (0.1, 1.0),
        (0.1, 0.95, 0.0),
        (0.1, 0.95, 1.1),
        (0.1, 0.95, 1.0, -1),
    ],
)
def test_impossible_proofs_are_refused(arguments):
    with pytest.raises(ValueError, match="must"):
        parts_to_prove_clean(*arguments)


@pytest.mark.parametrize(
    ("table", "p", "tolerance"),
    [
        # R reference manual, fisher.test, tea tasting (Agresti 1990, p. 61); two-sided p as printed in
        # course output, Penn State STAT 504: 0.4857 = 34/70.
        ((3, 1, 1, 3), 34 / 70, 1e-12),
        # Fisher, The Design of Experiments (1935), all four right, from memory: 1/70 one-sided.
        ((4, 0, 0, 4), 2 / 70, 1e-12),
        # R reference manual, fisher.test, twins (Fisher 1962, 1970); output of R.
        ((2, 15, 10, 3), 0.0005367, 5e-8),
        # SciPy reference, scipy.stats.fisher_exact.
        ((8, 2, 1, 5), 0.034965034965034975, 1e-13),
        # Inputs: M. Baudin, "The Most Basic Problem in Quality" (2022); output of SciPy and R.
        ((0, 500, 5, 995), 0.17624091, 5e-9),
    ],
)
def test_fisher_p_agrees_with_printed_ones(table, p, tolerance):
    assert fisher_exact(*table) == pytest.approx(p, abs=tolerance)


cells = st.one_of(st.integers(0, 8), st.integers(0, 300), st.integers(0, 20_000))


@settings(max_examples=300, deadline=None)
@given(a=cells, b=cells, c=cells, d=cells)
def test_fisher_p_agrees_with_scipy(a, b, c, d):
    expected = scipy_stats.fisher_exact([[a, b], [c, d]])[1]

    assert fisher_exact(a, b, c, d) == pytest.approx(expected, rel=1e-6, abs=1e-290)


@given(a=cells, b=cells, c=cells, d=cells)
@settings(max_examples=100, deadline=None)
def test_fisher_p_does_not_mind_swapped_rows_or_columns(a, b, c, d):
    p = fisher_exact(a, b, c, d)

    assert 0.0 <= p <= 1.0
    assert fisher_exact(c, d, a, b) == pytest.approx(p, rel=1e-6, abs=1e-290)
    assert fisher_exact(b, a, d, c) == pytest.approx(p, rel=1e-6, abs=1e-290)


def test_a_table_that_is_exactly_as_probable_counts_as_such():
    # By hand: margins 3, 7 and 2 leave 21, 21 and 3 of 45 ways; the first two are equally probable, so
    # that each of them has p = 1. In floating point they differ in the last digits.
    assert fisher_exact(0, 3, 2, 5) == pytest.approx(1.0, rel=1e-12)
    assert fisher_exact(1, 2, 1, 6) == pytest.approx(1.0, rel=1e-12)
    assert fisher_exact(2, 1, 0, 7) == pytest.approx(3 / 45, rel=1e-12)


def test_a_margin_of_nothing_says_nothing():
    assert fisher_exact(0, 0, 3, 4) == fisher_exact(0, 5, 0, 7) == fisher_exact(0, 0, 0, 0) == 1.0


def test_fisher_p_of_a_million_parts_is_quick_and_right():
    expected = scipy_stats.fisher_exact([[500, 499_500], [600, 499_400]])[1]

    assert fisher_exact(500, 499_500, 600, 499_400) == pytest.approx(expected, rel=1e-7)


def test_a_negative_cell_is_refused():
    with pytest.raises(ValueError, match="negative"):
        fisher_exact(1, 2, -1, 3)


def test_exact_limits_cover_as_often_as_they_promise():
    # The definition itself: at a share on the limit, the tail beyond the count is exactly 2.5 %.
    limits = proportion_interval(9, 20)

    assert scipy_stats.binom.sf(8, 20, limits.low) == pytest.approx(0.025, rel=1e-9)
    assert scipy_stats.binom.cdf(9, 20, limits.high) == pytest.approx(0.025, rel=1e-9)
    assert not math.isclose(limits.high, upper_limit(9, 20).high)
