"""The posterior against the exact incomplete beta function, mpmath, brute force and hand calculation."""

import math
import random

import mpmath
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.analysis.streams import station, stream
from walkapp.analysis.origin import origin_posterior
from walkapp.analysis.results import StationTally, Tally
from walkapp.analysis.shares import _GAUSS_LEGENDRE, SharePrior
from walkapp.analysis.special import beta_cdf
from walkapp.errors import CountsError


def flat_posterior(stations, low=0.0, high=1.0):
    """With a flat density of the share there are closed forms to compare with."""
    return origin_posterior(stations, share=SharePrior(low=low, high=high, knee=math.inf))


def test_the_quadrature_rule_is_that_of_numpy():
    abscissas, weights = np.polynomial.legendre.leggauss(32)
    positive = sorted((x, w) for x, w in zip(abscissas, weights, strict=True) if x > 0)

    assert np.allclose(sorted(_GAUSS_LEGENDRE), positive, rtol=0, atol=1e-14)


def test_one_station_one_nok_part_by_hand():
    # d = 1, f = 0.1: the chance of NOK is 0.1 + 0.9 p, on average 0.55; not present: 0.1.
    found = flat_posterior(stream((1, 1), detection=1.0, false_alarm=0.1))

    assert found.origin[0] == pytest.approx(0.55 / 0.65, rel=1e-13)
    assert found.none == pytest.approx(0.10 / 0.65, rel=1e-13)


def test_two_stations_by_hand():
    # d = 1, f = 0: one OK at station 1, one NOK at station 2. Origin 1: mean of (1 - p) p = 1/6;
    # origin 2: mean of p = 1/2; not present: 0.
    found = flat_posterior(stream((1, 0), (1, 1), detection=1.0, false_alarm=0.0))

    assert found.origin == pytest.approx((0.25, 0.75), rel=1e-13)
    assert found.none == 0.0


def test_two_kinds_of_check_by_hand():
    # Station 1: OK by a perfect check; station 2: NOK by one with d = 1, f = 0.5, so q = (1 + p) / 2.
    # Origin 1: mean of (1 - p)(1 + p) / 2 = 1/3; origin 2: mean of (1 + p) / 2 = 3/4; none: 1/2.
    stations = (
        station(1, 1, 0, detection=1.0, false_alarm=0.0),
        station(2, 1, 1, detection=1.0, false_alarm=0.5),
    )

    found = flat_posterior(stations)

    total = 1 / 3 + 3 / 4 + 1 / 2
    assert found.origin == pytest.approx((1 / 3 / total, 3 / 4 / total), rel=1e-13)
    assert found.none == pytest.approx(1 / 2 / total, rel=1e-13)


def test_no_parts_leave_the_prior():
    found = origin_posterior(stream((0, 0), (0, 0), (0, 0)))

    assert found.origin == pytest.approx((0.25, 0.25, 0.25), rel=1e-15)
    assert found.none == pytest.approx(0.25, rel=1e-15)


def test_prior_weights_are_shares_of_the_stations_and_not_present_counts_as_a_mean_station():
    found = origin_posterior((station(1, weight=3.0), station(2)))

    assert found.origin == pytest.approx((0.5, 1 / 6), rel=1e-15)
    assert found.none == pytest.approx(1 / 3, rel=1e-15)


rates = st.sampled_from([(0.9, 0.005), (1.0, 0.0), (1.0, 0.02), (0.7, 0.0), (0.55, 0.3)])
ranges = st.sampled_from([(0.0, 1.0), (0.1, 0.5), (0.0, 0.03), (0.4, 1.0)])
shops = st.lists(
    st.one_of(st.integers(0, 30), st.integers(0, 1000)).flatmap(
        lambda n: st.tuples(st.just(n), st.one_of(st.just(0), st.just(n), st.integers(0, n)))
    ),
    min_size=1,
    max_size=6,
)


def exact_posterior(counts, detection, false_alarm, low, high):
    """The same by mpmath in 60 digits: the integral over q is an incomplete beta function."""
    with mpmath.workdps(60):
        d, f = mpmath.mpf(detection), mpmath.mpf(false_alarm)
        q_low, q_high = f + mpmath.mpf(low) * (d - f), f + mpmath.mpf(high) * (d - f)
        evidence = []
        for j in range(len(counts) + 1):
            before_ok = sum(n - k for n, k in counts[:j])
            before_nok = sum(k for _, k in counts[:j])
            nok = sum(k for _, k in counts[j:])
            ok = sum(n - k for n, k in counts[j:])
            value = (1 - f) ** before_ok * (f**before_nok if before_nok else 1)
            if j < len(counts):
                value *= _mean_power(nok, ok, q_low, q_high)
            evidence.append(value)
        total = mpmath.fsum(evidence)
        return None if total == 0 else [float(value / total) for value in evidence]


def _mean_power(nok, ok, q_low, q_high):
    """Mean of q^nok (1 - q)^ok over a range: a difference of binomial tails of nok + ok + 1 trials."""
    trials = nok + ok + 1
    if nok <= q_low * (nok + ok):
        inside = _at_most(nok, trials, q_low) - _at_most(nok, trials, q_high)
    else:
        inside = _at_most(ok, trials, 1 - q_high) - _at_most(ok, trials, 1 - q_low)
    return inside * mpmath.beta(nok + 1, ok + 1) / (q_high - q_low)


def _at_most(most, trials, q):
    if q <= 0:
        return mpmath.mpf(1)
    if q >= 1:
        return mpmath.mpf(0)
    term = (1 - q) ** trials
    total = term
    for k in range(most):
        term *= q / (1 - q) * (trials - k) / (k + 1)
        total += term
    return total


@settings(max_examples=40, deadline=None)
@given(counts=shops, pair=rates, limits=ranges)
def test_one_kind_of_check_agrees_with_sixty_digits(counts, pair, limits):
    expected = exact_posterior(counts, *pair, *limits)

    found = flat_posterior(
        stream(*counts, detection=pair[0], false_alarm=pair[1]), low=limits[0], high=limits[1]
    )

    assert [*found.origin, found.none] == pytest.approx(expected, rel=1e-9, abs=1e-12)


@settings(max_examples=100, deadline=None)
@given(nok=st.integers(0, 400), ok=st.integers(0, 400), limits=ranges)
def test_one_station_agrees_with_the_incomplete_beta_function(nok, ok, limits):
    # Odds of "starts here" to "not present": B(k+1, m+1) [I(q_high) - I(q_low)] / ((d - f)(high - low))
    # over f^k (1 - f)^m.
    d, f = 0.9, 0.005
    q_low, q_high = (f + share * (d - f) for share in limits)
    inside = beta_cdf(q_high, nok + 1, ok + 1) - beta_cdf(q_low, nok + 1, ok + 1)
    if inside < 1e-4:
        inside = (1 - beta_cdf(1 - q_high, ok + 1, nok + 1)) - beta_cdf(q_low, nok + 1, ok + 1)
    log_beta = math.lgamma(nok + 1) + math.lgamma(ok + 1) - math.lgamma(nok + ok + 2)
    log_none = nok * math.log(f) + ok * math.log1p(-f)

    found = flat_posterior(stream((nok + ok, nok)), low=limits[0], high=limits[1])

    if inside > 1e-4 and found.none > 1e-250:
        log_odds = log_beta + math.log(inside / ((d - f) * (limits[1] - limits[0]))) - log_none
        assert math.log(found.origin[0] / found.none) == pytest.approx(log_odds, rel=1e-9, abs=1e-9)
    assert found.origin[0] + found.none == pytest.approx(1.0, abs=1e-14)


def mixed_posterior(stations, low, high, points=20_000):
    """Brute force: the mean likelihood over very many equally spaced shares (midpoint rule)."""
    shares = low + (high - low) * (np.arange(points) + 0.5) / points
    logs = []
    for j in range(len(stations) + 1):
        total = np.zeros(points)
        for i, place in enumerate(stations):
            for tally in place.tallies:
                q = np.full(points, tally.false_alarm)
                if i >= j:
                    q = shares * tally.detection + (1 - shares) * tally.false_alarm
                total += tally.nok * np.log(q) + (tally.checked - tally.nok) * np.log1p(-q)
        logs.append(np.log(np.mean(np.exp(total - total.max()))) + total.max())
    chances = np.exp(np.array(logs) - max(logs))
    return list(chances / chances.sum())


@pytest.mark.parametrize("seed", range(12))
def test_mixed_checks_agree_with_brute_force(seed):
    rng = random.Random(seed)
    stations = []
    for i in range(1, 7):
        tallies = []
        for _ in range(rng.choice((0, 1, 1, 2))):
            checked = rng.choice((1, 7, 20, 150))
            d, f = rng.choice(((0.9, 0.005), (0.6, 0.05), (0.99, 0.001)))
            nok = rng.choice((0, 0, 1, checked // 3))
            tallies.append(Tally(checked=checked, nok=nok, detection=d, false_alarm=f))
        stations.append(StationTally(order=i, name=f"Station {i}", tallies=tuple(tallies)))
    low, high = rng.choice(((0.0, 1.0), (0.05, 0.4)))

    found = flat_posterior(stations, low=low, high=high)

    # The midpoint rule itself is only good to about 1e-6 here.
    assert [*found.origin, found.none] == pytest.approx(
        mixed_posterior(stations, low, high), rel=2e-5, abs=1e-12
    )


def test_mixed_checks_agree_with_forty_digits():
    stations = (
        station(1, 200, 1, detection=0.9, false_alarm=0.005),
        station(2, 350, 60, detection=0.6, false_alarm=0.05),
        station(3, 41, 20, detection=1.0, false_alarm=0.0),
    )
    with mpmath.workdps(40):
        evidence = []
        for j in range(4):

            def likelihood(p, j=j):
                value = mpmath.mpf(1)
                for i, place in enumerate(stations):
                    t = place.tallies[0]
                    share = p if i >= j else 0
                    q = mpmath.mpf(t.false_alarm) + share * (
                        mpmath.mpf(t.detection) - mpmath.mpf(t.false_alarm)
                    )
                    value *= q**t.nok * (1 - q) ** (t.checked - t.nok)
                return value

            evidence.append(mpmath.quad(likelihood, mpmath.linspace(0, 1, 41)) if j < 3 else mpmath.mpf(0))
        expected = [float(value / mpmath.fsum(evidence)) for value in evidence]

    found = flat_posterior(stations)

    assert [*found.origin, found.none] == pytest.approx(expected, rel=1e-10, abs=1e-300)


def test_many_parts_of_two_checks_that_contradict_each_other_meet_in_the_middle():
    # One check speaks for a share of 0.44, the other for 0.20. Brute force over 200 000 shares.
    tallies = (
        Tally(checked=100_000, nok=40_000, detection=0.9, false_alarm=0.005),
        Tally(checked=100_000, nok=10_000, detection=0.5, false_alarm=0.0),
    )
    shares = (np.arange(200_000) + 0.5) / 200_000
    q, r = 0.005 + 0.895 * shares, 0.5 * shares
    log = 40_000 * np.log(q) + 60_000 * np.log1p(-q) + 10_000 * np.log(r) + 90_000 * np.log1p(-r)
    weight = np.exp(log - log.max())
    mean = np.sum(shares * weight) / weight.sum()
    spread = math.sqrt(np.sum((shares - mean) ** 2 * weight) / weight.sum())

    grid = flat_posterior((station(1, tallies=tallies),)).grids[0][0]

    found = math.fsum(p * w for p, w in zip(grid.shares, grid.weights, strict=True))
    square = math.fsum((p - found) ** 2 * w for p, w in zip(grid.shares, grid.weights, strict=True))
    assert found == pytest.approx(mean, rel=1e-9)
    assert math.sqrt(square) == pytest.approx(spread, rel=1e-7)


@settings(max_examples=100, deadline=None)
@given(counts=shops, pair=rates)
def test_probabilities_add_up_and_are_never_out_of_range(counts, pair):
    found = origin_posterior(stream(*counts, detection=pair[0], false_alarm=pair[1]))

    assert math.fsum(found.origin) + found.none == pytest.approx(1.0, abs=1e-12)
    assert all(0.0 <= p <= 1.0 for p in (*found.origin, found.none, *found.present))
    assert list(found.present) == sorted(found.present)
    for grid in (grid for by_zone in found.grids for grid in by_zone):
        assert math.fsum(grid.weights) == pytest.approx(1.0, abs=1e-12)
        assert all(0.0 <= share <= 1.0 for share in grid.shares)


@settings(max_examples=60, deadline=None)
@given(counts=shops)
def test_two_tallies_of_one_kind_count_as_their_sum(counts):
    together = stream(*counts)
    apart = tuple(
        station(
            s.order,
            name=s.name,
            tallies=tuple(
                part
                for t in s.tallies
                for part in (
                    Tally(checked=t.nok, nok=t.nok, detection=0.9, false_alarm=0.005),
                    Tally(checked=t.checked - t.nok, nok=0, detection=0.9, false_alarm=0.005),
                )
            ),
        )
        for s in together
    )

    assert origin_posterior(apart) == origin_posterior(together)


@settings(max_examples=60, deadline=None)
@given(counts=shops, place=st.integers(0, 6))
def test_a_station_without_parts_is_exactly_as_probable_as_the_one_after_it(counts, place):
    place = min(place, len(counts) - 1)

    found = origin_posterior(stream(*counts[:place], (0, 0), *counts[place:]))

    assert found.origin[place] == found.origin[place + 1]


def test_the_mean_of_the_share_is_that_of_the_beta_distribution():
    # d = 1, f = 0 and a flat prior: 3 NOK of 10 give a beta(4, 8) distribution, mean 1/3.
    grid = flat_posterior(stream((10, 3), detection=1.0, false_alarm=0.0)).grids[0][0]

    mean = math.fsum(p * w for p, w in zip(grid.shares, grid.weights, strict=True))
    assert mean == pytest.approx(4 / 12, rel=1e-13)


@pytest.mark.parametrize("false_alarm", [0.0, 0.005])
@pytest.mark.parametrize("detection", [0.9, 1.0])
@pytest.mark.parametrize(
    "second", [(1_000_000, 0), (1_000_000, 1), (1_000_000, 500_000), (1_000_000, 1_000_000)]
)
def test_a_million_parts_neither_overflow_nor_give_nonsense(second, detection, false_alarm):
    found = origin_posterior(
        stream((1_000_000, 0), second, (0, 0), detection=detection, false_alarm=false_alarm)
    )

    assert math.fsum(found.origin) + found.none == pytest.approx(1.0, abs=1e-12)
    if second[1] > 5_000:
        assert found.origin[1] > 0.999


def test_a_million_parts_agree_with_the_exact_beta_integral():
    # One station, 5300 NOK of a million with f = 0.005: B(5301, 994701) over f^k (1 - f)^m; the range
    # cuts off the part of the beta distribution below q = f.
    with mpmath.workdps(50):
        f, d = mpmath.mpf(0.005), mpmath.mpf(0.9)
        k, m = 5_300, 994_700
        cuts = [f, *(mpmath.mpf(x) / 10_000 for x in (51, 53, 55, 58, 65, 80)), mpmath.mpf("0.02")]
        odds = mpmath.quad(
            lambda q: mpmath.exp(k * mpmath.log(q / f) + m * mpmath.log((1 - q) / (1 - f))), cuts
        )
        expected = float(mpmath.log(odds / (d - f)))

    found = flat_posterior(stream((1_000_000, 5_300)))

    assert math.log(found.origin[0] / found.none) == pytest.approx(expected, abs=1e-8)


def test_a_known_share_needs_no_integral():
    # p = 0.5, d = 1, f = 0: origin 1 gives 0.5 * 0.5, origin 2 gives 0.5, not present gives 0.
    found = origin_posterior(
        stream((1, 0), (1, 1), detection=1.0, false_alarm=0.0), share=SharePrior(low=0.5, high=0.5)
    )

    assert found.origin == pytest.approx((1 / 3, 2 / 3), rel=1e-14)


@pytest.mark.parametrize(
    ("counts", "options"),
    [
        (((5, 2),), {"share": SharePrior(low=0.0, high=0.0)}),
        (((5, 2),), {"share": SharePrior(low=1.0, high=1.0)}),
    ],
)
def test_counts_that_cannot_happen_are_said_to_be_so(counts, options):
    with pytest.raises(CountsError, match="cannot happen with the assumptions"):
        origin_posterior(stream(*counts, detection=1.0, false_alarm=0.0), **options)


def test_an_origin_that_is_ruled_out_cannot_explain_its_counts():
    ruled_out = station(1, 5, 2, detection=1.0, false_alarm=0.0, weight=0.0)

    with pytest.raises(CountsError, match="cannot happen with the assumptions"):
        origin_posterior((ruled_out, station(2, 5, 0, detection=1.0, false_alarm=0.0)))


@pytest.mark.parametrize(
    ("stations", "options", "words"),
    [
        ((), {}, "at least one station"),
        ((station(2), station(1)), {}, "stream order"),
        ((station(1), station(1)), {}, "stream order"),
        ((station(1, weight=0.0),), {}, "not all 0"),
        ((station(1, weight=-1.0),), {}, "weights"),
        ((station(1, weight=math.nan),), {}, "weights"),
        ((station(1, weight=math.inf),), {}, "weights"),
        ((station(1, 3, 4),), {}, "4 of 3"),
        ((station(1, 3, 1, detection=0.1, false_alarm=0.2),), {}, "false_alarm"),
    ],
)
def test_arguments_out_of_range_are_refused(stations, options, words):
    with pytest.raises(ValueError, match=words):
        origin_posterior(stations, **options)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"low": 0.5, "high": 0.4}, "low <= high"),
        ({"high": 1.5}, "low <= high"),
        ({"low": math.nan}, "low <= high"),
        ({"knee": 0.0}, "knee must be above 0"),
        ({"knee": math.nan}, "knee must be above 0"),
    ],
)
def test_a_prior_out_of_range_is_refused(values, words):
    with pytest.raises(ValueError, match=words):
        SharePrior(**values)
