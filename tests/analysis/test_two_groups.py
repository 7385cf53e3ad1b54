"""Two groups of parts: so few marked in the first one, and the difference of two shares."""

from __future__ import annotations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy import stats as scipy_stats
from statsmodels.stats.proportion import confint_proportions_2indep

from walkapp.analysis.proportions import fisher_exact, fisher_fewer, share_difference


@pytest.mark.parametrize(
    ("table", "p"),
    [
        # R reference manual, fisher.test, tea tasting (Agresti 1990, p. 61): "p = 0.2429".
        ((1, 3, 3, 1), 0.2429),
        # Fisher, The Design of Experiments (1935), all four right: 1/70, from memory.
        ((0, 4, 4, 0), 0.0143),
        # R reference manual, fisher.test, twins (Fisher 1962, 1970); output of R, one-sided "less".
        ((2, 15, 10, 3), 0.0004652),
        # SciPy reference, barnard_exact (Chan 1998), prints 0.0640 (cut off); SciPy gives 0.06406797.
        ((7, 12, 8, 3), 0.064068),
        # 0 of 500 against 5 of 1000: inputs from M. Baudin, "The Most Basic Problem in Quality" (2022),
        # result of SciPy and R.
        ((0, 500, 5, 995), 0.13124792),
    ],
)
def test_the_chance_of_so_few_agrees_with_printed_ones(table, p):
    digits = len(str(p).partition(".")[2])

    assert fisher_fewer(*table) == pytest.approx(p, abs=0.5001 * 10**-digits)


def test_two_sided_and_one_sided_tea_are_not_mixed_up():
    # Penn State STAT 504, TeaLady.out: two-sided 0.4857; R: one-sided 0.2429.
    assert (round(fisher_exact(1, 3, 3, 1), 4), round(fisher_fewer(1, 3, 3, 1), 4)) == (0.4857, 0.2429)


numbers = st.one_of(st.integers(0, 12), st.integers(0, 400))


@settings(max_examples=200)
@given(a=numbers, b=numbers, c=numbers, d=numbers)
@example(a=0, b=0, c=0, d=0)
@example(a=0, b=0, c=5, d=5)
@example(a=5, b=0, c=5, d=0)
@example(a=0, b=5, c=0, d=5)
def test_the_chance_of_so_few_agrees_with_scipy(a, b, c, d):
    expected = scipy_stats.fisher_exact([[a, b], [c, d]], alternative="less").pvalue

    assert fisher_fewer(a, b, c, d) == pytest.approx(expected, rel=1e-9, abs=1e-12)


@settings(max_examples=50)
@given(a=numbers, b=numbers, c=numbers, d=numbers, more=st.integers(1, 50))
def test_more_parts_without_the_mark_make_so_few_rarer(a, b, c, d, more):
    assert fisher_fewer(a, b + more, c, d) <= fisher_fewer(a, b, c, d) * (1 + 1e-9) + 1e-12


def test_a_million_parts_on_each_side_take_no_longer_than_a_few():
    p = fisher_fewer(499_900, 500_100, 500_000, 500_000)

    assert p == pytest.approx(scipy_stats.hypergeom.cdf(499_900, 2_000_000, 999_900, 1_000_000), rel=1e-6)


def test_negative_counts_are_refused():
    with pytest.raises(ValueError, match="negative"):
        fisher_fewer(-1, 2, 3, 4)


@pytest.mark.parametrize(
    ("counts", "low", "high", "digits"),
    [
        # Newcombe (1998), Statistics in Medicine 17, 873-890, Table II, method 10; as quoted by others.
        ((56, 70, 48, 80), 0.0524, 0.3339, 4),
        ((9, 10, 3, 10), 0.1705, 0.8090, 4),
        ((6, 7, 2, 7), 0.0582, 0.8062, 4),
        ((5, 56, 0, 29), -0.0381, 0.1926, 4),
        ((0, 10, 0, 20), -0.1611, 0.2775, 4),
        ((10, 10, 0, 20), 0.6791, 1.0000, 4),
        # Fagerland, Lydersen & Laake (2015), quoted in statsmodels' tests: 0.019 to 0.34.
        ((7, 34, 1, 34), 0.019, 0.340, 3),
    ],
)
def test_the_interval_of_a_difference_agrees_with_printed_ones(counts, low, high, digits):
    found = share_difference(*counts)

    assert found.low == pytest.approx(low, abs=0.5001 * 10**-digits)
    assert found.high == pytest.approx(high, abs=0.5001 * 10**-digits)
    assert (found.confidence, found.sides) == (0.95, 2)


groups = st.integers(1, 500).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@settings(max_examples=100)
@given(one=groups, other=groups, confidence=st.sampled_from([0.8, 0.95, 0.99]))
def test_the_interval_of_a_difference_agrees_with_statsmodels(one, other, confidence):
    found = share_difference(*one, *other, confidence)
    low, high = confint_proportions_2indep(
        *one, *other, method="newcomb", compare="diff", alpha=1 - confidence
    )

    assert (found.low, found.high) == (pytest.approx(low, abs=1e-9), pytest.approx(high, abs=1e-9))
    assert -1 <= found.low <= one[0] / one[1] - other[0] / other[1] <= found.high <= 1


@pytest.mark.parametrize("counts", [(1, 0, 0, 5), (6, 5, 0, 5), (0, 5, 0, 0), (0, 5, -1, 5)])
def test_impossible_counts_have_no_difference(counts):
    with pytest.raises(ValueError, match="must be"):
        share_difference(*counts)
