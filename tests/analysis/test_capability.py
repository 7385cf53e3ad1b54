"""Capability indices against printed examples, SciPy, mpmath and simulation.

The simulations have fixed seeds; the coverage that each one must reach is stated beside it.
"""

import itertools
import math
import random
import statistics

import mpmath
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats as scipy_stats

from walkapp.analysis.capability import (
    BISSELL,
    CHI_APPROXIMATION,
    EXACT,
    MOVING_RANGE,
    OVERALL,
    POOLED,
    capability,
    capability_indices,
    expected_share_outside,
    moving_range_degrees,
    nearer_interval,
    potential_interval,
)

# NIST/SEMATECH e-Handbook 6.3.2.2, quoted in several public places.
INDIVIDUALS = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
# NIST/SEMATECH e-Handbook 2.4.4.1: twelve daily standard deviations with 5 degrees of freedom each.
DAILY = [
    0.1024, 0.0943, 0.0622, 0.0702, 0.0627, 0.0622, 0.0996, 0.0533, 0.0364, 0.0768, 0.1042, 0.0868,
]  # fmt: skip


def test_indices_are_those_of_the_nist_handbook():
    # NIST/SEMATECH e-Handbook 6.1.6, quoted: limits 8 and 20, mean 16, standard deviation 2.
    found = capability_indices(16, 2, 8, 20)

    assert found.potential == pytest.approx(1.0, abs=0.00005)
    assert found.nearer == found.upper == pytest.approx(0.6667, abs=0.00005)
    assert found.lower == pytest.approx(1.3333, abs=0.00005)


def test_the_share_outside_of_that_example():
    # Formula only; recomputed elsewhere as 22 781.80 parts per million.
    assert expected_share_outside(16, 2, 8, 20) * 1e6 == pytest.approx(22781.80, abs=0.005)


@pytest.mark.parametrize(
    ("half_width", "per_million"),
    [
        # Same page, table for centred processes, from memory: 0.27 %, 64 ppm, 0.6 ppm, 2 ppb. Exact digits
        # from SciPy; 64 is printed where 63.3 is exact.
        (3, 2699.80),
        (4, 63.342),
        (5, 0.5733),
        (6, 0.00197),
    ],
)
def test_shares_outside_of_centred_processes(half_width, per_million):
    found = expected_share_outside(0, 1, -half_width, half_width) * 1e6

    assert found == pytest.approx(per_million, rel=2e-3)
    assert found == pytest.approx(2e6 * scipy_stats.norm.sf(half_width), rel=1e-12)


def test_one_tail_beyond_four_and_a_half():
    # Common textbook figure of 3.4 parts per million, from memory; 3.39767 exactly.
    assert expected_share_outside(0, 1, None, 4.5) * 1e6 == pytest.approx(3.39767, abs=5e-6)


@settings(max_examples=100, deadline=None)
@given(mean=st.floats(-20, 20), spread=st.floats(0.01, 10), low=st.floats(-30, 0), width=st.floats(0.1, 40))
def test_the_share_outside_agrees_with_scipy(mean, spread, low, width):
    normal = scipy_stats.norm(mean, spread)
    expected = normal.cdf(low) + normal.sf(low + width)

    found = expected_share_outside(mean, spread, low, low + width)

    assert found == pytest.approx(expected, rel=1e-9, abs=1e-250)
    assert 0.0 <= found <= 1.0


def test_the_interval_of_cp_is_the_printed_one():
    # Montgomery, Introduction to Statistical Quality Control, example on Cp, from memory: limits 62 and 38,
    # s = 1.75, n = 20 give 2.29 and 1.57 to 3.01, with the chi-square quantiles of a table. More digits:
    # 1.56495 to 3.00558.
    value = capability_indices(50, 1.75, 38, 62).potential
    limits = potential_interval(value, 19)

    assert value == pytest.approx(2.29, abs=0.005)
    assert (limits.low, limits.high) == pytest.approx((1.57, 3.01), abs=0.006)
    assert (limits.low, limits.high) == pytest.approx((1.56495, 3.00558), abs=5e-6)
    assert (limits.confidence, limits.sides) == (0.95, 2)


def test_the_interval_of_cpk_is_the_printed_one():
    # Quality Digest, May 2000, "Last word": "1.15 ... a random sample of n = 45, I am 95-percent confident
    # that it's between 0.89 and 1.41".
    limits = nearer_interval(1.15, 45, 44)

    assert (limits.low, limits.high) == pytest.approx((0.89, 1.41), abs=0.005)
    assert (limits.confidence, limits.sides) == (0.95, 2)


def test_the_interval_of_cpk_by_its_formula():
    # Bissell's formula recomputed elsewhere for 1.33 and n = 20, with 1.96 for the normal quantile; no
    # printed source.
    limits = nearer_interval(1.33, 20, 19)

    assert (limits.low, limits.high) == pytest.approx((0.88260, 1.77740), abs=1.5e-5)


def test_individual_values_take_the_moving_range():
    # NIST/SEMATECH e-Handbook 6.3.2.2: mean 50.81, average moving range 1.8778; the limits printed there
    # (55.8041 and 45.8159) use 1.128, those of 2 / sqrt(pi) are 55.802412 and 45.817588.
    found = capability(INDIVIDUALS, lsl=40, usl=60)
    within = found.within

    assert within.source == MOVING_RANGE
    assert within.standard_deviation * 2 / math.sqrt(math.pi) == pytest.approx(1.8778, abs=0.00005)
    assert 50.81 + 3 * within.standard_deviation == pytest.approx(55.802412, abs=5e-7)
    assert 50.81 - 3 * within.standard_deviation == pytest.approx(45.817588, abs=5e-7)
    assert found.overall.source == OVERALL
    assert found.overall.standard_deviation == pytest.approx(2.033852, abs=5e-7)
    assert found.cpk.value == pytest.approx((60 - 50.81) / 3 / within.standard_deviation, rel=1e-12)
    assert found.ppk.value == pytest.approx((60 - 50.81) / 3 / 2.033852, rel=1e-6)
    assert found.cp.value > found.pp.value
    assert (found.cp.method, found.pp.method) == (CHI_APPROXIMATION, EXACT)
    assert found.cpk.method == found.ppk.method == BISSELL


def test_groups_are_pooled_as_in_the_nist_handbook():
    # NIST/SEMATECH e-Handbook 2.4.4.1 prints 0.07871 with 60 degrees of freedom. Six values with the
    # standard deviation s: plus and minus s * sqrt(5 / 6); each day has its own mean.
    half = math.sqrt(5 / 6)
    values, groups = [], []
    for day, deviation in enumerate(DAILY):
        values += [day + sign * deviation * half for sign in (1, -1, 1, -1, 1, -1)]
        groups += [f"day {day}"] * 6

    within = capability(values, groups, usl=20).within

    assert within.standard_deviation == pytest.approx(0.07871, abs=0.000005)
    assert (within.degrees, within.source, within.groups, within.values) == (60.0, POOLED, 12, 72)


values_typed = st.lists(st.integers(-2_000, 2_000).map(lambda whole: whole / 100), min_size=2, max_size=20)


@settings(max_examples=80, deadline=None)
@given(values=values_typed, data=st.data(), confidence=st.sampled_from([0.8, 0.95, 0.99]))
def test_every_index_is_its_formula(values, data, confidence):
    groups = data.draw(
        st.lists(st.sampled_from(["A", "B", ""]), min_size=len(values), max_size=len(values))
    )
    found = capability(values, groups, lsl=-5, usl=9.5, confidence=confidence)
    named = [[v for v, g in zip(values, groups, strict=True) if g == name] for name in "AB"]
    several = [group for group in named if len(group) > 1]
    assume(len(set(values)) > 1)
    if several:
        degrees = sum(len(group) - 1 for group in several)
        within = math.sqrt(sum(statistics.variance(g) * (len(g) - 1) for g in several) / degrees)
    else:
        degrees = None
        ranges = [abs(b - a) for a, b in itertools.pairwise(values)]
        within = statistics.fmean(ranges) / (2 / math.sqrt(math.pi))
    mean, overall = statistics.fmean(values), statistics.stdev(values)

    assert found.within.standard_deviation == pytest.approx(within, rel=1e-9, abs=1e-12)
    assert found.pp.value == pytest.approx(14.5 / 6 / overall, rel=1e-9)
    assert found.ppu.value == pytest.approx((9.5 - mean) / 3 / overall, rel=1e-7, abs=1e-9)
    assert found.ppl.value == pytest.approx((mean + 5) / 3 / overall, rel=1e-7, abs=1e-9)
    assert found.ppk.value == min(found.ppu.value, found.ppl.value)
    quantiles = scipy_stats.chi2(len(values) - 1).ppf([(1 - confidence) / 2, (1 + confidence) / 2])
    expected = found.pp.value * np.sqrt(quantiles / (len(values) - 1))
    assert (found.pp.interval.low, found.pp.interval.high) == pytest.approx(tuple(expected), rel=1e-8)
    reach = scipy_stats.norm.ppf((1 + confidence) / 2) * math.sqrt(
        1 / 9 / len(values) + found.ppk.value**2 / 2 / (len(values) - 1)
    )
    assert found.ppk.interval.high == pytest.approx(found.ppk.value + reach, rel=1e-9, abs=1e-12)
    if not found.within.standard_deviation:
        assert (found.cp, found.cpu, found.cpl, found.cpk) == (None,) * 4
        assert found.why == "no spread within the groups: no Cp and no Cpk"
        return
    assert found.cp.value == pytest.approx(14.5 / 6 / within, rel=1e-8)
    assert found.cpk.value == min(found.cpu.value, found.cpl.value)
    if degrees is not None:
        assert found.within.degrees == degrees
        quantiles = scipy_stats.chi2(degrees).ppf([(1 - confidence) / 2, (1 + confidence) / 2])
        expected = found.cp.value * np.sqrt(quantiles / degrees)
        assert (found.cp.interval.low, found.cp.interval.high) == pytest.approx(tuple(expected), rel=1e-8)


def test_a_single_limit_has_its_own_index_and_no_cp():
    only_upper = capability(INDIVIDUALS, usl=60)
    only_lower = capability(INDIVIDUALS, lsl=40)

    assert (only_upper.cp, only_upper.pp, only_upper.cpl, only_upper.ppl) == (None,) * 4
    assert only_upper.cpk == only_upper.cpu
    assert only_upper.ppk == only_upper.ppu
    assert (only_lower.cp, only_lower.pp, only_lower.cpu, only_lower.ppu) == (None,) * 4
    assert only_lower.cpk == only_lower.cpl
    assert (only_lower.lsl, only_lower.usl) == (40.0, None)


def test_a_mean_outside_the_limits_has_indices_below_0():
    found = capability([10.2, 10.4, 10.3], lsl=9, usl=10)

    assert found.ppk.value < 0.0 < found.ppl.value


@pytest.mark.parametrize("values", [[], [10.0]])
def test_fewer_than_two_values_say_nothing(values):
    found = capability(values, lsl=9, usl=11)

    assert (found.within, found.overall, found.cpk, found.ppk, found.pp) == (None,) * 5
    assert found.expected_outside_if_normal is None
    assert found.why == "fewer than 2 parts: nothing can be said"
    assert (found.count, found.is_small) == (len(values), True)


def test_two_values_give_wide_intervals_and_a_flag():
    found = capability([10.0, 10.1], lsl=9, usl=11)

    assert found.is_small
    assert found.why == "fewer than 30 parts: read the intervals"
    assert found.expected_outside_if_normal is None
    assert found.pp.interval.low < 0.05 * found.pp.value
    # With two values the moving range and the standard deviation are two scales of one difference.
    assert found.within.standard_deviation / found.overall.standard_deviation == pytest.approx(
        math.sqrt(math.pi / 2), rel=1e-12
    )
    # So both intervals are the same one, and exact.
    assert found.cp.interval.low == pytest.approx(found.pp.interval.low, rel=1e-12)
    assert found.cp.interval.high == pytest.approx(found.pp.interval.high, rel=1e-12)


def test_from_thirty_values_on_a_share_outside_is_expected():
    values = [10 + 0.1 * (i % 7) for i in range(30)]
    found = capability(values, lsl=9.5, usl=11)
    mean, spread = statistics.fmean(values), statistics.stdev(values)

    assert not found.is_small
    assert found.why == ""
    assert found.expected_outside_if_normal == pytest.approx(
        scipy_stats.norm.sf((11 - mean) / spread) + scipy_stats.norm.cdf((9.5 - mean) / spread), rel=1e-9
    )
    assert capability(values[:29], lsl=9.5, usl=11).expected_outside_if_normal is None


def test_equal_values_have_no_index():
    found = capability([10.1] * 40, lsl=9, usl=11)

    assert (found.cp, found.cpk, found.pp, found.ppk, found.expected_outside_if_normal) == (None,) * 5
    assert (found.within.standard_deviation, found.overall.standard_deviation) == (0.0, 0.0)
    assert found.why == "all values are equal: the instrument shows no spread, so there is no index"


def test_values_without_a_group_are_left_out_of_the_spread_within_groups():
    found = capability([10.0, 10.2, 90.0, 10.1], ["A", "A", "", "A"], usl=100)

    assert found.within.standard_deviation == pytest.approx(0.1, rel=1e-12)
    assert (found.within.values, found.within.groups, found.count) == (3, 1, 4)
    assert found.overall.standard_deviation > 30.0


def test_groups_of_one_value_are_no_groups():
    alone = capability(INDIVIDUALS, [str(i) for i in range(10)], usl=60)

    assert alone == capability(INDIVIDUALS, usl=60)


@pytest.mark.parametrize("count", [3, 10, 50, 166, 167, 1_000, 100_000])
def test_the_worth_of_a_moving_range_agrees_with_mpmath(count):
    # The same equation with forty digits: variance over squared mean of the average moving range, against
    # that of chi.
    with mpmath.workdps(40):
        m = mpmath.mpf(count - 1)
        product = 4 / mpmath.pi * (mpmath.sqrt(0.75) - mpmath.asin(mpmath.mpf(-0.5)) / 2)
        alone, joint = 2 - 4 / mpmath.pi, product - 4 / mpmath.pi
        wanted = (m * alone + 2 * (m - 1) * joint) / m**2 * mpmath.pi / 4
        nu = mpmath.mpf(moving_range_degrees(count))
        c4_squared = 2 / nu * mpmath.exp(2 * (mpmath.loggamma((nu + 1) / 2) - mpmath.loggamma(nu / 2)))

        assert float(1 / c4_squared - 1) == pytest.approx(float(wanted), rel=3e-9)


def test_a_long_moving_range_is_worth_0_605_of_its_values():
    # Cryer and Ryan (1990), Journal of Quality Technology 22, 187-192, from memory.
    assert moving_range_degrees(1_000_000) / 1_000_000 == pytest.approx(0.605, abs=0.0005)
    assert moving_range_degrees(2) == 1.0


def test_the_spread_of_a_moving_range_in_a_simulation():
    # 40 000 samples of 10 normal values: the standard deviation of the estimate, to 1.5 %.
    values = np.random.default_rng(20_261).normal(size=(40_000, 10))
    estimates = np.abs(np.diff(values, axis=1)).mean(axis=1) * math.sqrt(math.pi) / 2
    nu = moving_range_degrees(10)
    c4 = math.sqrt(2 / nu) * math.exp(math.lgamma((nu + 1) / 2) - math.lgamma(nu / 2))

    assert estimates.mean() == pytest.approx(1.0, abs=0.005)
    assert estimates.std() == pytest.approx(math.sqrt(1 / c4**2 - 1), rel=0.015)


@pytest.mark.parametrize("count", [5, 30, 100])
@pytest.mark.parametrize(("true_cpk", "further"), [(0.67, 0.0), (1.33, 0.0), (1.33, 10.0), (2.0, 0.2)])
def test_the_interval_of_cpk_covers_as_stated(count, true_cpk, further):
    # Standard deviation 1, mean 0, limits 3 Cpk above and 3 (Cpk + further) below. 3 000 samples: 94.7 % to
    # 96.5 % are stated, three standard errors are 1.2 %.
    chance = np.random.default_rng(20_262)
    means = chance.normal(0, 1 / math.sqrt(count), 3_000)
    spreads = np.sqrt(chance.chisquare(count - 1, 3_000) / (count - 1))
    held = below = 0
    for mean, spread in zip(means, spreads, strict=True):
        seen = capability_indices(
            float(mean), float(spread), -3 * (true_cpk + further), 3 * true_cpk
        ).nearer
        limits = nearer_interval(seen, count, count - 1)
        held += limits.low <= true_cpk <= limits.high
        below += true_cpk < limits.low

    assert 0.935 <= held / 3_000 <= 0.977
    # The low end is the one that a process is accepted by.
    assert below / 3_000 <= 0.034


def test_intervals_of_whole_samples_cover_as_stated():
    # Six lots of five normal values, 800 samples; three standard errors of 95 % are 2.3 %. The true indices
    # are 4 / 3 for both spreads, as all lots have one mean.
    chance = random.Random(20_263)
    held = dict.fromkeys(("cp", "cpk", "pp", "ppk", "cp of the moving range"), 0)
    groups = [lot for lot in "ABCDEF" for _ in range(5)]
    for _ in range(800):
        values = [round(chance.gauss(50, 1), 4) for _ in groups]
        found = capability(values, groups, lsl=46, usl=56)
        half = capability(values[:12], lsl=46, usl=54)
        for name, index in (("cpk", found.cpk), ("ppk", found.ppk), ("cp of the moving range", half.cp)):
            held[name] += index.interval.low <= 4 / 3 <= index.interval.high
        for name, index in (("cp", found.cp), ("pp", found.pp)):
            held[name] += index.interval.low <= 10 / 6 <= index.interval.high

    assert all(0.927 <= many / 800 <= 0.973 for many in held.values()), held


@pytest.mark.parametrize(
    "call",
    [
        lambda: capability([1.0, 2.0]),
        lambda: capability([1.0, 2.0], lsl=3, usl=3),
        lambda: capability([1.0, 2.0], ["A"], usl=3),
        lambda: capability([1.0, 2.0], usl=3, confidence=1.0),
        lambda: capability([1.0, math.nan], usl=3),
        lambda: capability([1.0, 2.0], usl=math.inf),
        lambda: capability_indices(1, 0.0, None, 3),
        lambda: capability_indices(1, math.nan, None, 3),
        lambda: capability_indices(math.nan, 1.0, None, 3),
        lambda: expected_share_outside(1, 1, 4, 3),
        lambda: potential_interval(0.0, 3),
        lambda: potential_interval(1.0, 0.5),
        lambda: nearer_interval(1.0, 1, 3),
        lambda: nearer_interval(1.0, 4, 0.5),
        lambda: nearer_interval(1.0, 4, 3, 0.0),
        lambda: moving_range_degrees(1),
    ],
)
def test_arguments_out_of_range_are_refused(call):
    with pytest.raises(ValueError, match=r"must|needs"):
        call()
