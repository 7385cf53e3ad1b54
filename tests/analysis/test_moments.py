"""Exact means and variances against the exact ones of Python's statistics module."""

import math
import statistics
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from walkapp.analysis.moments import exact, moments_of, whole_numbers

fractions = st.one_of(
    st.decimals(-1000, 1000, places=3).map(Fraction),
    st.fractions(-1000, 1000, max_denominator=60),
)


@settings(max_examples=150, deadline=None)
@given(values=st.lists(fractions, min_size=2, max_size=20))
def test_moments_are_exactly_those_of_the_statistics_module(values):
    found = moments_of(values)

    assert (found.count, found.low, found.high) == (len(values), min(values), max(values))
    assert found.mean == statistics.mean(values)
    assert found.variance == statistics.variance(values)
    assert found.standard_deviation == pytest.approx(math.sqrt(found.variance), rel=1e-15)


@given(values=st.lists(fractions, min_size=1, max_size=10))
@settings(max_examples=60, deadline=None)
def test_whole_numbers_stand_for_the_same_values(values):
    wholes, unit = whole_numbers(values)

    assert [Fraction(whole, unit) for whole in wholes] == values


def test_equal_values_have_no_spread_at_all():
    # In floating point the mean of ten times 0.1 is not 0.1, and three differences of "0.2" differ.
    assert moments_of([exact(0.1)] * 10).standard_deviation == 0.0
    differences = [exact(b) - exact(a) for a, b in ((10.1, 10.3), (10.3, 10.5), (0.1, 0.3))]
    assert moments_of(differences).variance == 0


def test_a_small_spread_on_a_large_value_keeps_its_digits():
    # NIST StRD NumAcc4 (1e7 + 0.1 .. 0.3, 1001 values): mean 10000000.2, standard deviation 0.1; certified
    # values from memory.
    values = [Decimal("10000000.2")] + [Decimal("10000000.1"), Decimal("10000000.3")] * 500

    found = moments_of([exact(float(value)) for value in values])

    assert found.mean == Fraction("10000000.2")
    assert found.standard_deviation == pytest.approx(0.1, rel=1e-15)


def test_one_value_has_no_spread_and_no_value_is_refused():
    alone = moments_of([exact(3)])

    assert (alone.variance, alone.standard_deviation) == (None, None)
    with pytest.raises(ValueError, match="at least one value"):
        moments_of([])


def test_numbers_are_read_as_typed():
    assert exact(10.1) == exact(Decimal("10.1")) == Fraction(101, 10)
    assert exact(7) == exact(Decimal("7.000")) == 7
    # A float cannot tell these two apart, a decimal can.
    assert exact(Decimal("123456789012.000000001")) > exact(Decimal("123456789012"))


@pytest.mark.parametrize(
    "wrong",
    [
        math.nan,
        math.inf,
        -math.inf,
        1e30,
        1e-60,
        Decimal("NaN"),
        Decimal("Infinity"),
        Decimal("1E+1000000"),
        Decimal("1E-1000000"),
    ],
)
def test_what_is_no_measured_value_is_refused(wrong):
    with pytest.raises(ValueError, match="must be finite"):
        exact(wrong)
