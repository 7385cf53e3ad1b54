"""The interval that takes parts as the sample, against SciPy and full enumeration."""

import itertools
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats as scipy_stats

from walkapp.analysis.by_part import interval_by_part
from walkapp.analysis.proportions import proportion_interval

part_shares = st.integers(1, 9).flatmap(
    lambda m: st.lists(st.integers(0, m).map(lambda k: Fraction(k, m)), min_size=1, max_size=40)
)


@settings(max_examples=150, deadline=None)
@given(nok=st.lists(st.booleans(), min_size=1, max_size=60), confidence=st.sampled_from([0.8, 0.95, 0.99]))
def test_one_reading_a_part_gives_the_exact_interval(nok, confidence):
    found = interval_by_part([int(k) for k in nok], confidence)
    exact = scipy_stats.binomtest(sum(nok), len(nok)).proportion_ci(confidence)

    assert (found.low, found.high) == pytest.approx((exact.low, exact.high), abs=1e-9)
    assert (found.confidence, found.sides) == (confidence, 2)


@settings(max_examples=120, deadline=None)
@given(readings=st.integers(2, 9), data=st.data())
def test_the_interval_by_part_holds_the_one_that_counts_every_reading(readings, data):
    counts = data.draw(st.lists(st.integers(0, readings), min_size=1, max_size=40))
    wide = interval_by_part([Fraction(k, readings) for k in counts])
    narrow = proportion_interval(sum(counts), readings * len(counts))

    assert wide.low <= narrow.low <= narrow.high <= wide.high


@settings(max_examples=120, deadline=None)
@given(shares=part_shares)
def test_the_interval_of_ok_mirrors_that_of_nok(shares):
    found, mirrored = interval_by_part(shares), interval_by_part([1 - share for share in shares])

    assert (mirrored.low, mirrored.high) == pytest.approx((1 - found.high, 1 - found.low), abs=1e-12)
    assert 0 <= found.low <= sum(shares) / len(shares) <= found.high <= 1


@settings(max_examples=100, deadline=None)
@given(shares=part_shares)
def test_the_sum_of_the_shares_stands_for_the_count(shares):
    found, total, parts = interval_by_part(shares), float(sum(shares)), len(shares)
    low = scipy_stats.beta.ppf(0.025, total, parts - total + 1) if total >= 0.5 else 0.0
    high = scipy_stats.beta.ppf(0.975, total + 1, parts - total) if parts - total >= 0.5 else 1.0

    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-8, abs=1e-12)


def test_less_than_half_a_part_claims_nothing():
    rest = [0] * 9

    assert interval_by_part([Fraction(4, 9), *rest]).low == 0.0
    assert interval_by_part([Fraction(1, 2), *rest]).low == pytest.approx(
        scipy_stats.beta.ppf(0.025, 0.5, 10.5), rel=1e-8
    )
    assert interval_by_part([Fraction(5, 9), *[1] * 9]).high == 1.0


def limits_of_sums(parts, readings, confidence=0.95):
    """The limits for each number of NOK readings in all; they depend on the sum alone."""
    found = []
    for total in range(parts * readings + 1):
        whole, rest = divmod(total, readings)
        shares = [1] * whole + [Fraction(rest, readings)] * (rest > 0)
        found.append(interval_by_part(shares + [0] * (parts - len(shares)), confidence))
    return np.array([i.low for i in found]), np.array([i.high for i in found])


def mixtures(readings):
    """What one part may show: all mixtures of two fixed counts, and of two or three binomial parts."""
    for i, j in itertools.combinations(range(readings + 1), 2):
        for weight in np.linspace(0.02, 0.98, 25):
            chances = np.zeros(readings + 1)
            chances[i], chances[j] = 1 - weight, weight
            yield chances
    counts = np.arange(readings + 1)
    for p, q in [(0.9, 0.9), (0.98, 0.3), (0.95, 0.0), (0.99, 0.7), (0.6, 0.4), (0.7, 0.1)]:
        for weight in (0.05, 0.2, 0.5):
            yield (1 - weight) * scipy_stats.binom.pmf(counts, readings, p) + (
                weight * scipy_stats.binom.pmf(counts, readings, q)
            )


def misses(chances, parts, low, high):
    """Exact chances that the limits of `parts` such parts lie above, and below, the true share."""
    share = chances @ np.arange(len(chances)) / (len(chances) - 1)
    total = np.array([1.0])
    for _ in range(parts):
        total = np.convolve(total, chances)
    return total[low > share + 1e-12].sum(), total[high < share - 1e-12].sum()


@pytest.mark.parametrize("parts", [2, 3, 6, 10, 20])
@pytest.mark.parametrize("readings", [2, 3, 6])
def test_the_interval_by_part_never_misses_more_often_than_promised(parts, readings):
    # Every distribution of part and reading below, enumerated: no chance is involved.
    low, high = limits_of_sums(parts, readings)
    worst = max(max(misses(chances, parts, low, high)) for chances in mixtures(readings))

    assert 0.01 < worst <= 0.025 + 1e-9


def test_counting_every_reading_misses_far_more_often():
    # Of the bad parts one in five is never found: 10 parts, 6 readings each.
    chances = np.zeros(7)
    chances[0], chances[6] = 0.2, 0.8
    every = [proportion_interval(k, 60) for k in range(61)]
    low, high = np.array([i.low for i in every]), np.array([i.high for i in every])

    assert sum(misses(chances, 10, low, high)) > 0.20
    assert sum(misses(chances, 10, *limits_of_sums(10, 6))) < 0.05


@pytest.mark.parametrize(
    ("shares", "confidence"), [([], 0.95), ([2], 0.95), ([-1], 0.95), ([1], 0.0), ([1], 1.0)]
)
def test_impossible_shares_are_refused(shares, confidence):
    with pytest.raises(ValueError, match="must be"):
        interval_by_part(shares, confidence)
