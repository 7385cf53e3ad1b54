"""Student's t, Fisher's F and chi-square against printed limits, SciPy and mpmath.

SciPy's own t distribution takes every t below 1e-8 for 0, so near the middle its incomplete beta function
is asked instead; some of its quantiles are found by search. Forty digits of mpmath stand beside it.
"""

import math

import mpmath
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy import special as scipy_special
from scipy import stats as scipy_stats

from walkapp.analysis.special import (
    chi_square_cdf,
    chi_square_quantile,
    f_cdf,
    f_quantile,
    student_t_cdf,
    student_t_quantile,
)

degrees = st.one_of(
    st.integers(1, 60),
    st.integers(1, 1_000_000),
    st.floats(1.0, 1e6, allow_nan=False, allow_infinity=False),
)
chances = st.one_of(st.floats(1e-9, 1 - 1e-9), st.sampled_from([0.025, 0.975, 0.5, 0.005, 0.05]))


@settings(max_examples=200, deadline=None)
@given(t=st.floats(-60, 60), n=degrees)
@example(t=0.0, n=1)
def test_student_t_agrees_with_scipy(t, n):
    expected = scipy_special.stdtr(n, t)
    if abs(t) < 0.1:
        expected = 0.5 + math.copysign(0.5, t) * scipy_special.betainc(0.5, n / 2, t * t / (n + t * t))

    assert student_t_cdf(t, n) == pytest.approx(expected, rel=1e-9, abs=1e-240)


@settings(max_examples=200, deadline=None)
@given(p=chances, n=degrees)
def test_the_quantile_of_student_t_agrees_with_scipy(p, n):
    # Near the middle SciPy's quantile is right to an absolute, not to a relative, error.
    assert student_t_quantile(p, n) == pytest.approx(scipy_special.stdtrit(n, p), rel=1e-9, abs=1e-9)


@settings(max_examples=200, deadline=None)
@given(p=chances, above=degrees, below=degrees)
def test_the_quantile_of_f_agrees_with_scipy(p, above, below):
    expected = scipy_stats.f.ppf(p, above, below)

    assert f_quantile(p, above, below) == pytest.approx(expected, rel=1e-8)
    assert f_cdf(f_quantile(p, above, below), above, below) == pytest.approx(p, rel=1e-8)


@settings(max_examples=200, deadline=None)
@given(ratio=st.floats(1e-4, 1e4), above=degrees, below=degrees)
def test_f_agrees_with_scipy(ratio, above, below):
    expected = scipy_stats.f.cdf(ratio, above, below)

    assert f_cdf(ratio, above, below) == pytest.approx(expected, rel=1e-8, abs=1e-240)


@settings(max_examples=200, deadline=None)
@given(factor=st.floats(1e-3, 1e2), n=degrees)
def test_chi_square_agrees_with_scipy(factor, n):
    expected = scipy_special.gammainc(n / 2, factor * n / 2)

    assert chi_square_cdf(factor * n, n) == pytest.approx(expected, rel=1e-9, abs=1e-240)


@settings(max_examples=200, deadline=None)
@given(p=chances, n=degrees)
def test_the_quantile_of_chi_square_agrees_with_scipy(p, n):
    assert chi_square_quantile(p, n) == pytest.approx(scipy_stats.chi2.ppf(p, n), rel=1e-9)
    assert chi_square_cdf(chi_square_quantile(p, n), n) == pytest.approx(p, rel=1e-9)


@pytest.mark.parametrize(
    ("t", "n"), [(-1e-6, 1), (-1e-3, 100), (-2.0, 3.5), (-40.0, 7), (-1.96, 1e4), (-9.0, 326)]
)
def test_student_t_agrees_with_forty_digits(t, n):
    with mpmath.workdps(40):
        x = mpmath.mpf(n) / (n + mpmath.mpf(t) ** 2)
        expected = mpmath.betainc(mpmath.mpf(n) / 2, mpmath.mpf(1) / 2, 0, x, regularized=True) / 2

    assert student_t_cdf(t, n) == pytest.approx(float(expected), rel=2e-12)


@pytest.mark.parametrize(
    ("x", "n"), [(1e-4, 1), (0.3, 3), (30.0, 30), (60.0, 7), (900.0, 1000), (1e5, 1e5)]
)
def test_chi_square_agrees_with_forty_digits(x, n):
    with mpmath.workdps(40):
        expected = mpmath.gammainc(mpmath.mpf(n) / 2, 0, mpmath.mpf(x) / 2, regularized=True)

    assert chi_square_cdf(x, n) == pytest.approx(float(expected), rel=1e-12)


def test_quantiles_of_student_t_are_those_of_the_nist_handbook():
    # NIST/SEMATECH e-Handbook 7.3.1: 1.746 (one-sided 5 %, 16 degrees of freedom, quoted by others);
    # 1.3.5.3: 1.9673 (two-sided 5 %, 326 degrees of freedom).
    assert student_t_quantile(0.95, 16) == pytest.approx(1.746, abs=0.0005)
    assert student_t_quantile(0.975, 326) == pytest.approx(1.9673, abs=0.00005)


@pytest.mark.parametrize(
    ("events", "confidence", "low", "high", "digits"),
    [
        # Garwood's limits of a count of 25: GraphPad FAQ "How QuickCalcs computes the confidence interval
        # of a count".
        (25, 0.90, 17.38, 34.92, 2),
        (25, 0.95, 16.18, 36.90, 2),
        (25, 0.99, 14.00, 41.00, 2),
        # R reference manual, poisson.test, 137 events; limits printed for the exposure of 24.19893.
        (137, 0.95, 4.753125 * 24.19893, 6.692709 * 24.19893, 4),
        # Widely printed table of Garwood's limits; from memory.
        (1, 0.95, 0.0253, 5.5716, 4),
        (10, 0.95, 4.7954, 18.3904, 4),
        (100, 0.95, 81.3640, 121.6268, 4),
    ],
)
def test_chi_square_gives_the_printed_limits_of_counts(events, confidence, low, high, digits):
    beyond = (1 - confidence) / 2

    assert chi_square_quantile(beyond, 2 * events) / 2 == pytest.approx(low, abs=0.6 * 10**-digits)
    assert chi_square_quantile(1 - beyond, 2 * events + 2) / 2 == pytest.approx(high, abs=0.6 * 10**-digits)


def test_f_gives_the_limits_of_four_of_twenty_of_the_nist_handbook():
    # NIST/SEMATECH e-Handbook 7.2.4.1, two-sided 90 %: 0.071354 and 0.401028 (printed 0.401029), in the
    # form with F.
    lower = 4 / (4 + 17 * f_quantile(0.95, 34, 8))
    upper_f = f_quantile(0.95, 10, 32)

    assert lower == pytest.approx(0.0713538843, abs=1e-10)
    assert 5 * upper_f / (16 + 5 * upper_f) == pytest.approx(0.4010281173, abs=1e-10)


@settings(max_examples=60, deadline=None)
@given(p=st.floats(0.501, 0.9999), n=st.integers(1, 10_000))
def test_squares_of_student_t_are_f_with_one_degree_above(p, n):
    assert student_t_quantile(p, n) ** 2 == pytest.approx(f_quantile(2 * p - 1, 1, n), rel=1e-9)


def test_closed_forms():
    # One degree of freedom is the Cauchy distribution; two of chi-square are the exponential one.
    assert student_t_cdf(1.0, 1) == pytest.approx(0.75, rel=1e-14)
    assert student_t_quantile(0.975, 1) == pytest.approx(math.tan(math.pi * 0.475), rel=1e-13)
    assert student_t_quantile(1e-90, 1) == pytest.approx(-1e90 / math.pi, rel=1e-12)
    assert student_t_quantile(0.975, 2) == pytest.approx(0.95 * math.sqrt(2 / (1 - 0.95**2)), rel=1e-13)
    assert chi_square_quantile(1e-90, 2) == pytest.approx(2e-90, rel=1e-12)
    assert chi_square_quantile(0.95, 2) == pytest.approx(-2 * math.log(0.05), rel=1e-14)
    assert chi_square_cdf(700.0, 1) == 1.0


def test_the_distributions_are_symmetric_where_they_must_be():
    assert student_t_quantile(0.5, 7) == 0.0
    assert student_t_quantile(0.01, 7) == pytest.approx(-student_t_quantile(0.99, 7), rel=1e-13)
    assert f_quantile(0.01, 3, 8) == pytest.approx(1 / f_quantile(0.99, 8, 3), rel=1e-13)


def test_the_ends_are_exact():
    assert (student_t_cdf(-math.inf, 3), student_t_cdf(math.inf, 3), student_t_cdf(0.0, 3)) == (0, 1, 0.5)
    assert (f_cdf(-1.0, 2, 3), f_cdf(0.0, 2, 3), f_cdf(math.inf, 2, 3)) == (0, 0, 1)
    assert (chi_square_cdf(-1.0, 2), chi_square_cdf(0.0, 2), chi_square_cdf(math.inf, 2)) == (0, 0, 1)
    assert student_t_cdf(-1e200, 3) == 0.0


@pytest.mark.parametrize("wrong", [0.0, 0.5, -3.0, math.inf, math.nan])
def test_degrees_of_freedom_out_of_range_are_refused(wrong):
    for call in (
        lambda: student_t_cdf(1.0, wrong),
        lambda: student_t_quantile(0.9, wrong),
        lambda: f_cdf(1.0, wrong, 3),
        lambda: f_cdf(1.0, 3, wrong),
        lambda: f_quantile(0.9, 3, wrong),
        lambda: chi_square_cdf(1.0, wrong),
        lambda: chi_square_quantile(0.9, wrong),
    ):
        with pytest.raises(ValueError, match="degrees of freedom must be at least 1"):
            call()


@pytest.mark.parametrize("wrong", [0.0, 1.0, -0.1, math.nan])
def test_chances_without_a_quantile_are_refused(wrong):
    for call in (
        lambda: student_t_quantile(wrong, 3),
        lambda: f_quantile(wrong, 3, 3),
        lambda: chi_square_quantile(wrong, 3),
    ):
        with pytest.raises(ValueError, match="p must be above 0 and below 1"):
            call()


def test_what_is_not_a_number_is_refused():
    for call in (
        lambda: student_t_cdf(math.nan, 3),
        lambda: f_cdf(math.nan, 3, 3),
        lambda: chi_square_cdf(math.nan, 3),
    ):
        with pytest.raises(ValueError, match="must be a number"):
            call()
