"""Special functions against SciPy, mpmath and closed forms.

SciPy uses Boost's incomplete beta function, mpmath any number of digits; both are outside witnesses.
"""

import math
from fractions import Fraction

import mpmath
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy import special as scipy_special
from scipy import stats as scipy_stats

from walkapp.analysis.special import (
    beta_cdf,
    beta_quantile,
    binomial_log_pmf,
    binomial_tail,
    hypergeometric_log_pmf,
)

shapes = st.one_of(
    st.integers(1, 60),
    st.integers(1, 1_000_000),
    st.floats(0.5, 1e6, allow_nan=False, allow_infinity=False),
)
chances = st.floats(1e-9, 1 - 1e-9)


@settings(max_examples=300, deadline=None)
@given(x=chances, a=shapes, b=shapes)
def test_the_beta_distribution_agrees_with_scipy(x, a, b):
    expected = scipy_special.betainc(a, b, x)

    # SciPy itself loses digits below 1e-250 (2e-9 at x 7/16, a 865, b 19); the forty digits below do not.
    assert beta_cdf(x, a, b) == pytest.approx(expected, rel=1e-8, abs=1e-240)


@settings(max_examples=300, deadline=None)
@given(p=chances, a=shapes, b=shapes)
def test_the_beta_quantile_agrees_with_scipy(p, a, b):
    assert beta_quantile(p, a, b) == pytest.approx(scipy_special.betaincinv(a, b, p), rel=1e-10)


@settings(max_examples=200, deadline=None)
@given(p=st.floats(1e-6, 1 - 1e-6), a=st.integers(1, 100_000), b=st.integers(1, 100_000))
def test_the_quantile_undoes_the_distribution(p, a, b):
    assert beta_cdf(beta_quantile(p, a, b), a, b) == pytest.approx(p, rel=1e-8)


@pytest.mark.parametrize(
    ("x", "a", "b"),
    [
        (0.3, 1, 1),
        (1e-6, 1, 1_000_000),
        (2e-6, 3, 1_000_000),
        (0.5, 40, 41),
        (0.02, 1, 299),
        (0.9, 77, 5),
        (0.4375, 865, 19),
    ],
)
def test_the_beta_distribution_agrees_with_forty_digits(x, a, b):
    with mpmath.workdps(40):
        expected = mpmath.betainc(a, b, 0, mpmath.mpf(x), regularized=True)

    assert beta_cdf(x, a, b) == pytest.approx(float(expected), rel=1e-12)


def test_the_middle_of_a_symmetric_beta_distribution_is_a_half_even_for_a_million():
    assert beta_cdf(0.5, 1e6, 1e6) == pytest.approx(0.5, rel=1e-11)
    assert beta_quantile(0.5, 1e6, 1e6) == pytest.approx(0.5, rel=1e-14)


def test_the_ends_are_exact():
    assert (beta_cdf(0.0, 2, 3), beta_cdf(1.0, 2, 3), beta_cdf(-1.0, 2, 3)) == (0.0, 1.0, 0.0)
    assert (beta_quantile(0.0, 2, 3), beta_quantile(1.0, 2, 3)) == (0.0, 1.0)


@pytest.mark.parametrize("shape", [0.0, -1.0, math.inf, math.nan])
def test_a_shape_out_of_range_is_refused(shape):
    with pytest.raises(ValueError, match="shapes must be"):
        beta_cdf(0.5, shape, 1.0)
    with pytest.raises(ValueError, match="shapes must be"):
        beta_quantile(0.5, 1.0, shape)


@pytest.mark.parametrize("p", [-0.1, 1.1, math.nan])
def test_a_chance_out_of_range_is_refused(p):
    with pytest.raises(ValueError, match="p must be"):
        beta_quantile(p, 2, 3)


@settings(max_examples=200, deadline=None)
@given(n=st.integers(0, 100_000), part=st.floats(0, 1), p=st.floats(1e-6, 1 - 1e-6))
def test_binomial_chances_agree_with_scipy(n, part, p):
    k = round(part * n)
    expected = scipy_stats.binom.pmf(k, n, p)

    # SciPy itself loses digits below 1e-250 (1e-9 at n 885, k 857, p 7/16); the exact sums below do not.
    assert math.exp(binomial_log_pmf(k, n, p)) == pytest.approx(expected, rel=1e-8, abs=1e-240)
    assert binomial_tail(k, n, p) == pytest.approx(scipy_stats.binom.sf(k - 1, n, p), rel=1e-8, abs=1e-240)


@settings(max_examples=40, deadline=None)
@given(n=st.integers(0, 900), part=st.floats(0, 1), p=st.floats(1e-6, 1 - 1e-6))
@example(n=885, part=0.96875, p=0.4375)
def test_binomial_chances_are_those_of_whole_number_arithmetic(n, part, p):
    k = round(part * n)
    p_num, den = p.as_integer_ratio()
    q_num = den - p_num
    terms = [math.comb(n, i) * p_num**i * q_num ** (n - i) for i in range(k, n + 1)]
    whole = den**n

    assert math.exp(binomial_log_pmf(k, n, p)) == pytest.approx(
        float(Fraction(terms[0], whole)), rel=1e-11, abs=1e-290
    )
    assert binomial_tail(k, n, p) == pytest.approx(
        float(Fraction(sum(terms), whole)), rel=1e-11, abs=1e-290
    )


def test_binomial_chances_keep_their_digits_for_a_million_parts():
    with mpmath.workdps(40):
        expected = mpmath.binomial(1_000_000, 5_000) * mpmath.mpf(0.005) ** 5_000
        expected *= (1 - mpmath.mpf(0.005)) ** 995_000

    assert math.exp(binomial_log_pmf(5_000, 1_000_000, 0.005)) == pytest.approx(float(expected), rel=1e-11)


def test_what_cannot_happen_has_no_chance():
    assert binomial_log_pmf(-1, 3, 0.5) == binomial_log_pmf(4, 3, 0.5) == -math.inf
    assert binomial_log_pmf(1, 3, 0.0) == binomial_log_pmf(2, 3, 1.0) == -math.inf
    assert binomial_log_pmf(0, 3, 0.0) == binomial_log_pmf(3, 3, 1.0) == 0.0
    assert (binomial_tail(0, 3, 0.2), binomial_tail(4, 3, 0.2)) == (1.0, 0.0)
    assert hypergeometric_log_pmf(3, 2, 9, 5) == hypergeometric_log_pmf(0, 5, 2, 3) == -math.inf


def test_the_upper_tail_of_a_worked_example():
    # SciPy reference, scipy.stats.binomtest: 3 of 15 against 0.10, alternative "greater".
    assert binomial_tail(3, 15, 0.1) == pytest.approx(0.18406106910639114, rel=1e-13)


@settings(max_examples=200, deadline=None)
@given(marked=st.integers(1, 3000), plain=st.integers(0, 3000), data=st.data())
def test_hypergeometric_chances_agree_with_scipy(marked, plain, data):
    drawn = data.draw(st.integers(0, marked + plain))
    k = data.draw(st.integers(max(0, drawn - plain), min(marked, drawn)))
    expected = scipy_stats.hypergeom.logpmf(k, marked + plain, marked, drawn)

    assert hypergeometric_log_pmf(k, marked, plain, drawn) == pytest.approx(expected, rel=1e-8, abs=1e-8)


def test_a_hypergeometric_chance_by_hand():
    # Fisher's tea table, three of four right: 4 * 4 ways of 70.
    assert math.exp(hypergeometric_log_pmf(3, 4, 4, 4)) == pytest.approx(16 / 70, rel=1e-14)
