"""Charts of individual values and moving ranges: published data, constants by integration, and laws."""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm

from tests.analysis.false_signals import chances, signals
from walkapp.analysis.control.individuals import D2, D4, individuals_chart
from walkapp.analysis.control.rules import OUTSIDE, TREND
from walkapp.analysis.control.value_chance import chance_of_signal

RATES = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
"""Flow rates of the NIST/SEMATECH e-Handbook, 6.3.2.2, as they are quoted in several places."""


def test_the_flow_rates_of_the_handbook_have_its_limits_but_for_the_rounding_of_its_constant():
    chart = individuals_chart(RATES)

    assert chart.centre == pytest.approx(50.81, abs=1e-12)
    assert chart.range_centre == pytest.approx(1.8778, abs=5e-5)
    # Printed with the constant 1.128; here it is 2 / sqrt(pi).
    assert chart.high == pytest.approx(55.8041, abs=0.002)
    assert chart.low == pytest.approx(45.8159, abs=0.002)
    assert (chart.high, chart.low) == (
        pytest.approx(55.802412, abs=5e-7),
        pytest.approx(45.817588, abs=5e-7),
    )
    assert chart.range_high == pytest.approx(6.1349, abs=0.002)
    assert chart.signals == chart.range_signals == ()
    assert chart.is_provisional


def test_the_constants_are_those_of_the_range_of_two_normal_values():
    """By integration over the distance of two normal values; tables print 1.128 and 3.267 (ASTM MNL 7,
    table of factors, read in reproductions)."""

    def density(r):
        return 2 * norm.pdf(r, scale=math.sqrt(2))

    mean, _ = quad(lambda r: r * density(r), 0, np.inf)
    square, _ = quad(lambda r: r * r * density(r), 0, np.inf)
    spread = math.sqrt(square - mean**2)

    assert pytest.approx(mean, abs=1e-10) == D2
    assert pytest.approx(1 + 3 * spread / mean, abs=1e-9) == D4
    assert (round(D2, 3), round(D4, 3), round(spread, 3)) == (1.128, 3.267, 0.853)


def test_a_value_beyond_the_limits_is_outside_and_so_is_the_range_to_it():
    chart = individuals_chart((*RATES, *RATES, 60), baseline=20)

    assert [(one.rule, one.points) for one in chart.signals if one.rule == OUTSIDE] == [(OUTSIDE, (20,))]
    assert [one.points for one in chart.range_signals] == [(19,)]


def test_the_mean_is_on_neither_side_however_it_was_typed():
    values = [Decimal(text) for text in ("0.1", "0.2", "0.3", "0.2", "0.1", "0.3", "0.2", "0.20")]

    chart = individuals_chart([*values, *[Decimal("0.2")] * 8], baseline=8)

    assert chart.signals == ()


def test_limits_are_held_from_the_first_values_so_that_a_later_change_shows():
    before = [Decimal(text) for text in ("10.1", "9.9", "10.2", "9.8", "10.0", "10.3", "9.7", "10.0")]
    after = [Decimal("11.5"), Decimal("11.3"), Decimal("11.6")]

    held = individuals_chart([*before, *after], baseline=8)
    free = individuals_chart([*before, *after])

    assert (held.baseline, held.centre) == (8, 10.0)
    assert {8, 9, 10} <= {point for one in held.signals for point in one.points}
    assert free.baseline == 11
    assert free.centre > held.centre


def test_few_values_have_no_limits():
    for many in range(8):
        chart = individuals_chart(RATES[:many])
        assert (chart.centre, chart.signals, chart.false_chance) == (None, (), None)
        assert chart.why_none == "they need 8 values at least"
        assert len(chart.ranges) == max(0, many - 1)


def test_equal_values_have_no_limits_and_later_ones_are_no_signal():
    chart = individuals_chart([5] * 8 + [6], baseline=8)

    assert (chart.centre, chart.signals) == (None, ())
    assert "equal" in chart.why_none


@pytest.mark.parametrize("value", [math.nan, math.inf, 1e40])
def test_what_is_no_measurement_is_refused(value):
    with pytest.raises(ValueError, match="value must be finite"):
        individuals_chart([*RATES, value])


VALUES = st.lists(st.integers(-500, 500).map(lambda n: Decimal(n) / 10), min_size=8, max_size=40)


@given(VALUES, st.integers(-50, 50), st.sampled_from([Decimal("0.1"), Decimal(3), Decimal(100)]))
def test_another_unit_and_another_zero_change_no_signal(values, shift, scale):
    chart = individuals_chart(values)
    moved = individuals_chart([value * scale + shift for value in values])

    assert (moved.signals, moved.range_signals) == (chart.signals, chart.range_signals)
    if chart.sigma:
        assert moved.sigma == pytest.approx(chart.sigma * float(scale), rel=1e-12)
        assert moved.high == pytest.approx(chart.high * float(scale) + shift, rel=1e-9, abs=1e-9)


@given(VALUES)
def test_mirrored_values_give_mirrored_signals(values):
    chart, mirrored = individuals_chart(values), individuals_chart([-value for value in values])

    assert {(one.rule, -one.side, one.points) for one in mirrored.signals} == {
        (one.rule, one.side, one.points) for one in chart.signals
    }
    assert mirrored.range_signals == chart.range_signals


@given(VALUES)
def test_values_read_backwards_have_the_same_lines(values):
    chart, backwards = individuals_chart(values), individuals_chart(values[::-1])

    assert (backwards.low, backwards.high, backwards.range_high) == (
        chart.low, chart.high, chart.range_high,
    )  # fmt: skip
    trends = [one.side for one in chart.signals if one.rule == TREND]
    assert [-one.side for one in backwards.signals if one.rule == TREND] == trends[::-1]


# ---------------------------------------------------------------------------- false signals


def test_the_simulation_finds_the_signals_that_the_rules_find():
    random = np.random.default_rng(5)
    for row in random.standard_normal((150, 40)).round(2):
        chart = individuals_chart(row.tolist())
        ranges = np.abs(np.diff(row))
        z = (row - row.mean()) / (ranges.mean() / D2)
        simulated = signals(z[None, :], (ranges > D4 * ranges.mean())[None, :])
        assert bool(simulated.any()) == bool(chart.signals or chart.range_signals)


@pytest.mark.parametrize("baseline", [10, 30, 75])
def test_a_stable_process_gives_signals_as_often_as_the_table_says(baseline):
    points = tuple(many for many in (10, 20, 30, 50, 75, 100) if many >= baseline)

    simulated = chances(baseline, points, 10_000, seed=97)

    for many, share in zip(points, simulated, strict=True):
        said = chance_of_signal(baseline, many)
        assert abs(share - said) < 4 * math.sqrt(said * (1 - said) / 10_000) + 0.001


def test_between_the_numbers_of_the_table_the_chance_is_between_theirs():
    simulated = chances(23, (23, 24, 60), 10_000, seed=98)

    for many, share in zip((23, 24, 60), simulated, strict=True):
        assert chance_of_signal(23, many) == pytest.approx(share, abs=0.025)


def test_more_values_never_give_fewer_false_signals():
    for baseline in range(8, 202, 7):
        course = [chance_of_signal(baseline, many) for many in range(baseline, 230)]
        assert course == sorted(course)
        assert 0 < course[0] <= course[-1] < 1


@pytest.mark.parametrize(("baseline", "points"), [(7, 20), (30, 20)])
def test_the_table_refuses_what_it_does_not_hold(baseline, points):
    with pytest.raises(ValueError, match="baseline must be"):
        chance_of_signal(baseline, points)
