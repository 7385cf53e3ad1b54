"""The p chart: published data, exact limits against SciPy, and the chance of a false signal."""

from __future__ import annotations

import random
from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom, chi2_contingency

from walkapp.analysis.control.count_chance import Inside, chance_of_signal, side_chances
from walkapp.analysis.control.p_chart import (
    CHI_SQUARE,
    EXACT,
    FREEMAN_HALTON,
    NO_LIMITS,
    TAIL,
    THREE_SIGMA,
    proportion_chart,
)
from walkapp.analysis.control.rules import COUNT_RULES, ONE_SIDE, OUTSIDE, Placed, signals_of
from walkapp.analysis.homogeneity import freeman_halton

NIST_WAFERS = (
    "0.24 0.30 0.16 0.20 0.08 0.14 0.32 0.18 0.28 0.20 0.10 0.12 0.34 0.24 0.44 0.16 0.20 0.10 0.26 0.22 "
    "0.40 0.36 0.48 0.30 0.18 0.24 0.14 0.26 0.18 0.12"
)
"""Shares of 50: MONITOR-6_3_3_2.DAT of usnistgov/dataplot, for 6.3.3.2 of the NIST/SEMATECH e-Handbook."""

NIST_MOTORS = (14, 19, 19, 24, 15, 16, 38, 40, 21, 32, 40, 25, 39, 36, 17, 19, 4, 9, 12, 26)
NIST_LOTS = (
    125,
    200,
    188,
    200,
    200,
    250,
    390,
    360,
    250,
    250,
    395,
    300,
    310,
    200,
    300,
    185,
    55,
    90,
    130,
    300,
)
"""Defective motors and lot sizes: CCP.DAT of usnistgov/dataplot."""


def chart_of(counts, **said):
    return proportion_chart(counts, random.Random(1), **said)


def wafers():
    return [(round(50 * float(share)), 50) for share in NIST_WAFERS.split()]


def outside(chart):
    return [one.points[0] for one in chart.signals if one.rule == OUTSIDE]


# ---------------------------------------------------------------------------- published data


def test_equal_lots_of_the_handbook():
    chart = chart_of(wafers())

    assert (chart.nok, chart.checked, chart.limits) == (347, 1500, THREE_SIGMA)
    assert chart.centre == pytest.approx(0.2313, abs=5e-5)  # printed in textbooks built on these data
    assert chart.points[0].low == pytest.approx(0.0524275, abs=5e-8)  # recomputed, not printed
    assert chart.points[0].high == pytest.approx(0.4102391, abs=5e-8)
    assert outside(chart) == [14, 22]
    assert not chart.is_provisional


def test_equal_lots_of_the_handbook_without_the_two_that_are_outside():
    chart = chart_of([count for place, count in enumerate(wafers()) if place not in (14, 22)])

    assert chart.centre == pytest.approx(0.215, abs=1e-12)
    assert chart.points[0].low == pytest.approx(0.0407028, abs=5e-8)
    assert chart.points[0].high == pytest.approx(0.3892972, abs=5e-8)


def test_unequal_lots_have_limits_of_their_own_cut_off_at_zero():
    chart = chart_of(list(zip(NIST_MOTORS, NIST_LOTS, strict=True)), limits=THREE_SIGMA)

    assert (chart.nok, chart.checked) == (465, 4678)
    assert chart.centre == pytest.approx(0.0994015, abs=5e-8)
    assert outside(chart) == [13]
    assert chart.points[13].share == 0.18
    assert chart.points[13].high == pytest.approx(0.1629, abs=5e-5)
    assert (chart.points[16].checked, chart.points[16].low) == (55, 0.0)
    assert chart.points[0].low == pytest.approx(0.0191, abs=5e-5)
    assert chart.points[0].high == pytest.approx(0.1797, abs=5e-5)


# ----------------------------------------------------------------------------------- limits


def test_a_lot_on_a_limit_is_not_outside():
    # Half of all parts are NOK; three sigma of 36 parts are exactly a quarter.
    on_the_limits = [(27, 36), (9, 36), *[(18, 36)] * 8]
    beyond = [(28, 36), (8, 36), *[(18, 36)] * 8]

    assert [(p.low, p.high) for p in chart_of(on_the_limits).points[:1]] == [(0.25, 0.75)]
    assert outside(chart_of(on_the_limits)) == []
    assert outside(chart_of(beyond)) == [0, 1]


def test_with_few_nok_to_be_expected_the_limits_are_exact():
    counts = [(1, 20), (0, 20)] * 8 + [(4, 20)]
    chart = chart_of(counts)

    p = 12 / 340
    assert chart.limits == EXACT
    high = chart.points[0].high
    assert binom.sf(round(20 * high), 20, p) <= TAIL < binom.sf(round(20 * high) - 1, 20, p)
    assert chart.points[0].low == 0.0
    # Three sigma would have called 4 of 20 outside of a limit of 3.2, in 4 of 1,000 stable lots.
    assert outside(chart_of(counts, limits=THREE_SIGMA)) == [16]
    assert outside(chart) == []
    assert binom.sf(3, 20, p) > TAIL


@settings(max_examples=40)
@given(st.integers(1, 400), st.integers(1, 99), st.integers(100, 2000))
def test_exact_limits_leave_at_most_so_much_on_each_side_and_one_part_more_would_leave_more(
    n, nok, checked
):
    point = chart_of([(nok, checked)] * 8 + [(0, n)], baseline=8, limits=EXACT).points[-1]

    p, least, most = nok / checked, round(point.low * n), round(point.high * n)
    assert binom.sf(most, n, p) <= TAIL * (1 + 1e-9)
    assert most == 0 or binom.sf(most - 1, n, p) > TAIL * (1 - 1e-9)
    assert binom.cdf(least - 1, n, p) <= TAIL * (1 + 1e-9)
    assert least == n or binom.cdf(least, n, p) > TAIL * (1 - 1e-9)


def test_limits_are_held_from_the_first_lots_so_that_a_later_change_shows():
    counts = [(10, 50), (12, 50)] * 5 + [(1, 50)] * 4

    held, all_of_them = chart_of(counts, baseline=10), chart_of(counts)

    assert (held.baseline, held.centre) == (10, 0.22)
    assert outside(held) == [10, 11, 12, 13]
    assert all_of_them.baseline == 14
    assert outside(all_of_them) == []


def test_too_few_first_lots_make_no_limits_of_their_own():
    chart = chart_of([(10, 50)] * 3 + [(1, 50)] * 6, baseline=3)

    assert (chart.baseline, chart.limits) == (9, EXACT)


@pytest.mark.parametrize(
    "counts",
    [[], [(1, 2)], [(3, 20)] * 4, [(0, 20)] * 30, [(20, 20)] * 30],
    ids=["none", "one", "four", "all OK", "all NOK"],
)
def test_where_nothing_can_be_said_there_are_no_limits_and_no_signals(counts):
    chart = chart_of(counts)

    assert (chart.limits, chart.signals, chart.false_chance, chart.alike) == (NO_LIMITS, (), None, None)
    assert not chart.is_provisional
    assert len(chart.points) == len(counts)


def test_first_lots_without_a_nok_do_not_make_a_limit_of_zero():
    chart = chart_of([(0, 20)] * 8 + [(1, 20)], baseline=8)

    assert (chart.limits, chart.signals) == (NO_LIMITS, ())


def test_a_change_that_hides_in_its_own_limits_is_told_by_the_test_of_all_lots():
    chart = chart_of([(0, 20)] * 3 + [(8, 20), (9, 20), (9, 20), (11, 20)])

    assert chart.signals == ()
    assert chart.differs
    assert not chart_of([(5, 20), (6, 20)] * 4).differs


@settings(max_examples=20)
@given(st.lists(st.tuples(st.integers(20, 80), st.integers(100, 200)), min_size=5, max_size=20))
def test_large_lots_are_compared_by_the_chi_square_test(counts):
    found = chart_of(counts).alike

    table = np.array([(nok, checked - nok) for nok, checked in counts])
    assert found.how == CHI_SQUARE
    assert found.p == pytest.approx(chi2_contingency(table, correction=False).pvalue, rel=1e-6, abs=1e-12)


def test_small_lots_are_compared_exactly_and_many_by_chance():
    few, many = chart_of([(1, 4), (0, 3)] * 3).alike, chart_of([(1, 9), (4, 11)] * 60).alike

    assert few.how == FREEMAN_HALTON
    assert few.p == freeman_halton([(1, 4), (0, 3)] * 3)
    assert many.how == "Freeman-Halton test, 999 random divisions"


def test_lots_of_billions_are_worked_out_too():
    chart = chart_of([(0, 10**10)] * 9 + [(10**10, 10**10)])

    assert outside(chart) == list(range(10))
    assert 0 < chart.false_chance < 1


@pytest.mark.parametrize("count", [(-1, 5), (6, 5), (0, 0)])
def test_impossible_counts_are_refused(count):
    with pytest.raises(ValueError, match="nok must be"):
        chart_of([count])


LOTS = st.lists(
    st.integers(1, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))), min_size=5, max_size=15
)


@settings(max_examples=12)
@given(LOTS)
def test_ok_and_nok_exchanged_mirror_limits_and_signals(counts):
    chart = chart_of(counts)
    mirrored = chart_of([(n - nok, n) for nok, n in counts])

    assert chart.limits == mirrored.limits
    assert {(s.rule, -s.side, s.points) for s in chart.signals} == {
        (s.rule, s.side, s.points) for s in mirrored.signals
    }
    for one, other in zip(chart.points, mirrored.points, strict=True):
        if one.low is not None:
            assert one.low == pytest.approx(1 - other.high, abs=1e-12)


@settings(max_examples=12)
@given(LOTS, st.randoms())
def test_limits_and_lots_outside_do_not_depend_on_the_order(counts, mixer):
    mixed = mixer.sample(counts, len(counts))

    def found(of):
        chart = chart_of(of)
        limits = sorted((p.checked, p.nok, p.low or 0, p.high or 0) for p in chart.points)
        return chart.centre, limits, sorted(of[place] for place in outside(chart))

    assert found(mixed) == found(counts)


# --------------------------------------------------------------------------- false signals


@given(st.integers(1, 60), st.integers(1, 59), st.data())
def test_sides_and_limits_have_the_chances_of_the_binomial_distribution(n, nok, data):
    p = nok / 60
    least = data.draw(st.integers(0, n * nok // 60))
    most = data.draw(st.integers(-(-n * nok // 60), n))

    found = side_chances(n, nok, 60, Inside(least=least, most=most, low=0.0, high=1.0))

    k = np.arange(n + 1)
    chances, above, below = binom.pmf(k, n, p), k * 60 > n * nok, k * 60 < n * nok
    assert found.above == pytest.approx(chances[above].sum(), abs=1e-12)
    assert found.below == pytest.approx(chances[below].sum(), abs=1e-12)
    assert found.inside_above == pytest.approx(chances[above & (k <= most)].sum(), abs=1e-12)
    assert found.inside_below == pytest.approx(chances[below & (k >= least)].sum(), abs=1e-12)
    assert found.on == pytest.approx(chances[k * 60 == n * nok].sum(), abs=1e-12)


@pytest.mark.parametrize(("nok", "of", "most"), [(1, 2, 2), (2, 5, 1), (1, 4, 2)])
def test_the_chance_of_a_signal_is_that_of_all_courses_counted_one_by_one(nok, of, most):
    """Nine lots of two parts: 19,683 courses, each judged by the rules themselves."""
    p = nok / of
    one = side_chances(2, nok, of, Inside(least=0, most=most, low=0.0, high=1.0))
    chances = binom.pmf((0, 1, 2), 2, p)

    def point(k):
        side = (k * of > 2 * nok) - (k * of < 2 * nok)
        return Placed(value=Fraction(k), side=side, zone=0 if k <= most else 3, chance=one.of(side))

    points = [point(k) for k in range(3)]
    counted = sum(
        float(np.prod([chances[k] for k in course]))
        for course in product(range(3), repeat=9)
        if signals_of([points[k] for k in course], COUNT_RULES)
    )

    assert counted > 0
    assert chance_of_signal([one] * 9) == pytest.approx(counted, rel=1e-9)


def test_only_outside_counts_in_a_short_chart_and_the_chance_grows_with_its_length():
    chart = chart_of([(10, 50), (12, 50)] * 4)
    inside = binom.cdf(round(50 * chart.points[0].high - 0.5), 50, 0.22) - binom.cdf(
        np.ceil(50 * chart.points[0].low) - 1, 50, 0.22
    )

    seven = chance_of_signal([side_chances(50, 22, 100, Inside(least=3, most=19, low=0.0, high=1.0))] * 7)

    assert seven == pytest.approx(1 - inside**7, rel=1e-9)
    longer = [chart_of([(10, 50), (12, 50)] * many).false_chance for many in (4, 10, 25, 50)]
    assert longer == sorted(longer)
    assert longer[0] < 0.05 < longer[-1] < 1


def test_a_simulated_stable_process_gives_signals_as_often_as_is_said():
    """200 charts of 30 lots of 20 parts, one of 20 NOK, with limits held from known lots."""
    generator = np.random.default_rng(3)
    known = [(1, 20)] * 10
    hits = charts = 0
    for _ in range(200):
        counts = [*known, *((int(k), 20) for k in generator.binomial(20, 0.05, 30))]
        chart = chart_of(counts, baseline=10)
        runs = [s for s in chart.signals if s.rule == ONE_SIDE and s.points[-1] >= 10]
        hits += bool(outside(chart) or [s for s in runs if s.points[0] >= 10])
        charts += 1
    one = side_chances(20, 1, 20, Inside(least=0, most=round(20 * chart.points[-1].high), low=0, high=1))
    expected = chance_of_signal([one] * 30)

    assert abs(hits / charts - expected) < 4 * (expected * (1 - expected) / charts) ** 0.5
