"""Integrals over the affected share against SciPy, thirty digits, brute force and hand calculation."""

import math
import random
from dataclasses import replace
from itertools import pairwise

import mpmath
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate as scipy_integrate

from tests.analysis.streams import station, stream
from walkapp.analysis.origin import LOWERED, origin_posterior
from walkapp.analysis.shares import KNEE, Counts, LoweredShare, SharePrior, integrate

kinds = st.sampled_from([(0.9, 0.005), (0.9, 0.0), (1.0, 0.0), (0.7, 0.01), (0.55, 0.3)])
priors = st.builds(
    lambda pair, knee: SharePrior(low=pair[0], high=pair[1], knee=knee),
    st.sampled_from([(0.0, 1.0), (0.05, 0.4), (0.0, 0.03)]),
    st.sampled_from([KNEE, 0.003, 0.2]),
)
parts = st.one_of(st.integers(0, 30), st.integers(0, 2000)).flatmap(
    lambda n: st.tuples(st.one_of(st.just(0), st.just(n), st.integers(0, n)), st.just(n))
)


def counts_of(nok, checked, kind):
    detection, false_alarm = kind
    return (Counts(nok, checked - nok, false_alarm, detection - false_alarm),)


def log_mean_by_scipy(counts, prior):
    """The same by SciPy's adaptive quadrature, panel by panel so that no peak is missed."""
    (c,) = counts
    low, high = math.log(prior.low + prior.knee), math.log(prior.high + prior.knee)
    peak = min(max((c.nok / max(c.nok + c.ok, 1) - c.base) / c.gain, prior.low), prior.high)

    def log_value(share):
        q = c.base + share * c.gain
        with np.errstate(divide="ignore"):
            nok = c.nok * math.log(q) if c.nok and q > 0 else (-math.inf if c.nok else 0.0)
            ok = c.ok * math.log1p(-q) if c.ok and q < 1 else (-math.inf if c.ok else 0.0)
        return nok + ok

    top = log_value(peak)
    middle, width = math.log(peak + prior.knee), 1 / math.sqrt(c.nok + 1)
    cuts = {low + (high - low) * i / 12 for i in range(13)}
    cuts |= {min(max(middle + s * t * width, low), high) for s in (-1, 1) for t in (0, 0.5, 1, 2, 4, 8)}
    area = math.fsum(
        scipy_integrate.quad(
            lambda u: math.exp(log_value(math.exp(u) - prior.knee) - top), a, b, epsabs=0, epsrel=1e-11
        )[0]
        for a, b in pairwise(sorted(cuts))
    )
    return top + math.log(area / (high - low))


@pytest.mark.filterwarnings("ignore::scipy.integrate.IntegrationWarning")  # it reached what it can
@settings(max_examples=80, deadline=None)
@given(counted=parts, kind=kinds, prior=priors)
def test_the_mean_likelihood_agrees_with_scipy(counted, kind, prior):
    counts = counts_of(*counted, kind)

    log_mean, grid = integrate(counts, prior)

    assert log_mean == pytest.approx(log_mean_by_scipy(counts, prior), abs=1e-8)
    assert math.fsum(grid.weights) == pytest.approx(1.0, abs=1e-12)


def test_one_nok_part_by_hand():
    # d = 1, f = 0: the mean share, 1 / L - knee with L = ln((1 + knee) / knee).
    log_mean, _ = integrate(counts_of(1, 1, (1.0, 0.0)), SharePrior())

    assert math.exp(log_mean) == pytest.approx(1 / math.log(101) - 0.01, rel=1e-12)


def shares_of(prior, points):
    u = np.log(prior.low + prior.knee) + (np.arange(points) + 0.5) / points * math.log(
        (prior.high + prior.knee) / (prior.low + prior.knee)
    )
    return np.exp(u) - prior.knee


def log_likelihood(counts, shares):
    total = np.zeros_like(shares)
    for c in counts:
        q = c.base + shares * c.gain
        with np.errstate(divide="ignore"):
            total += (c.nok * np.log(q) if c.nok else 0) + (c.ok * np.log1p(-q) if c.ok else 0)
    return total


def brute_lowered(upper, lower, prior, points=700):
    """Mean over pairs of equally probable shares, the second one from 0 up to the first."""
    before = shares_of(prior, points)
    mean_after = np.empty(points)
    for i, share in enumerate(before):
        after = shares_of(SharePrior(low=0.0, high=float(share), knee=prior.knee), points)
        mean_after[i] = np.mean(np.exp(log_likelihood(lower, after)))
    return float(np.mean(np.exp(log_likelihood(upper, before)) * mean_after))


@pytest.mark.parametrize("seed", range(14))
def test_a_lowered_share_agrees_with_brute_force(seed):
    rng = random.Random(seed)
    prior = rng.choice((SharePrior(), SharePrior(low=0.1, high=0.7), SharePrior(knee=0.05)))
    kind = rng.choice(((0.9, 0.005), (0.9, 0.0), (0.7, 0.02)))
    (k1, n1), (k2, n2) = (
        (rng.choice((0, min(1, n), n // 3, n)), n) for n in (rng.choice((0, 5, 20, 60)) for _ in range(2))
    )
    upper, lower = counts_of(k1, n1, kind), counts_of(k2, n2, kind)

    log_mean, before, after = LoweredShare(lower, prior).integrate(upper)

    # The midpoint rule itself is only good to about 4e-3 here, where the likelihood rises to the end.
    assert math.exp(log_mean) == pytest.approx(brute_lowered(upper, lower, prior), rel=1e-2)
    for grid in (before, after):
        assert math.fsum(grid.weights) == pytest.approx(1.0, abs=1e-9)
        assert all(-1e-12 <= share <= 1.0 for share in grid.shares)


@pytest.mark.parametrize(
    ("upper", "lower"),
    [((9, 20), (2, 30)), ((0, 5), (0, 40)), ((20, 20), (0, 60)), ((1, 30), (5, 5)), ((60, 200), (3, 300))],
)
def test_a_lowered_share_agrees_with_thirty_digits_where_the_inner_integral_has_a_closed_form(upper, lower):
    # d = 1, f = 0, flat: the inner mean is an incomplete beta function over p.
    (k1, n1), (k2, n2) = upper, lower
    with mpmath.workdps(30):

        def value(p):
            inner = mpmath.betainc(k2 + 1, n2 - k2 + 1, 0, p) / p
            return p**k1 * (1 - p) ** (n1 - k1) * inner

        expected = float(mpmath.log(mpmath.quad(value, mpmath.linspace(0, 1, 21))))

    prior = SharePrior(knee=math.inf)
    found, _, _ = LoweredShare(counts_of(k2, n2, (1.0, 0.0)), prior).integrate(
        counts_of(k1, n1, (1.0, 0.0))
    )

    assert found == pytest.approx(expected, abs=1e-5)


def test_the_shares_after_and_before_are_those_of_brute_force():
    upper, lower, prior = counts_of(9, 20, (0.9, 0.005)), counts_of(2, 30, (0.9, 0.005)), SharePrior()
    before = shares_of(prior, 1_500)
    after = shares_of(SharePrior(high=1.0), 1_500)
    # Joint weights of pairs with the second share below the first, each first share with its own length.
    joint = np.exp(log_likelihood(upper, before))[:, None] * np.exp(log_likelihood(lower, after))[None, :]
    joint = np.where(after[None, :] <= before[:, None], joint, 0.0)
    joint /= np.log((before + KNEE) / KNEE)[:, None]
    joint /= joint.sum()

    _, found_before, found_after = LoweredShare(lower, prior).integrate(upper)

    means = [
        math.fsum(s * w for s, w in zip(grid.shares, grid.weights, strict=True))
        for grid in (found_before, found_after)
    ]
    assert means[0] == pytest.approx(float((joint.sum(1) * before).sum()), rel=2e-3)
    assert means[1] == pytest.approx(float((joint.sum(0) * after).sum()), rel=3e-2)


def test_what_is_lowered_from_a_share_of_nothing_stays_nothing():
    upper, lower = counts_of(0, 5, (0.9, 0.005)), counts_of(1, 5, (0.9, 0.005))

    log_mean, before, after = LoweredShare(lower, SharePrior(high=0.0)).integrate(upper)

    assert log_mean == pytest.approx(math.log(0.005) + 9 * math.log(0.995))
    assert before.shares == after.shares == (0.0,)


def test_a_posterior_with_sorting_is_the_mixture_of_its_parts():
    # Three stations, parts sorted out at the third: by the definition, from the integrals above.
    counts = ((20, 0), (20, 9), (30, 1))
    stations = stream(*counts)
    stations = (*stations[:2], replace(stations[2], sorts=True))
    kind, prior = (0.9, 0.005), SharePrior()

    def same(*places):
        checked, nok = (sum(x) for x in zip(*places, strict=True))
        return math.exp(integrate(counts_of(nok, checked, kind), prior)[0])

    def lower(before, after):
        upper = counts_of(sum(k for _, k in before), sum(n for n, _ in before), kind)
        return math.exp(LoweredShare(counts_of(after[1], after[0], kind), prior).integrate(upper)[0])

    def good(*places):
        return math.prod(0.005**k * 0.995 ** (n - k) for n, k in places)

    chances = [
        (1 - LOWERED) * same(*counts) + LOWERED * lower(counts[:2], counts[2]),
        good(counts[0]) * ((1 - LOWERED) * same(*counts[1:]) + LOWERED * lower(counts[1:2], counts[2])),
        good(*counts[:2]) * same(counts[2]),
        good(*counts),
    ]

    found = origin_posterior(stations)

    assert found.zones == (0, 0, 1)
    assert [*found.origin, found.none] == pytest.approx([c / sum(chances) for c in chances], rel=1e-9)


def test_sorting_downstream_no_longer_speaks_against_the_origin():
    counts = ((20, 0), (20, 0), (20, 9), (40, 0), (40, 0))
    plain = stream(*counts)
    sorting = tuple(replace(s, sorts=s.order == 4) for s in plain)

    assert origin_posterior(plain).origin[2] < 0.90
    assert origin_posterior(sorting).origin[2] > 0.99


def test_a_sorting_first_station_changes_nothing():
    counts = ((20, 1), (20, 9), (20, 7))
    plain = stream(*counts)
    sorting = (replace(plain[0], sorts=True), *plain[1:])

    assert origin_posterior(sorting) == origin_posterior(plain)


@settings(max_examples=40, deadline=None)
@given(
    counts=st.lists(parts.map(lambda pair: (pair[1], pair[0])), min_size=2, max_size=5),
    kind=kinds,
    data=st.data(),
)
def test_with_any_sorting_stations_the_probabilities_add_up(counts, kind, data):
    sorts = data.draw(st.sets(st.integers(0, len(counts) - 1)))
    stations = tuple(
        station(i + 1, n, k, detection=kind[0], false_alarm=kind[1], sorts=i in sorts)
        for i, (n, k) in enumerate(counts)
    )

    found = origin_posterior(stations)

    assert math.fsum(found.origin) + found.none == pytest.approx(1.0, abs=1e-12)
    for by_zone in found.grids:
        assert len(by_zone) == found.zones[-1] + 1
        for grid in by_zone:
            assert math.fsum(grid.weights) == pytest.approx(1.0, abs=1e-6)


def test_counts_that_contradict_each_other_beyond_the_smallest_number_break_nothing():
    # 1,000,020 OK parts before a place and 20 of 40 NOK from it on, found by made-up inputs.
    upper = [Counts(nok=0, ok=1_000_020, base=0.1, gain=0.8), Counts(nok=0, ok=0, base=0.1, gain=0.85)]
    lower = [Counts(nok=11, ok=9, base=0.1, gain=0.8), Counts(nok=9, ok=11, base=0.1, gain=0.85)]

    log_mean, before, after = LoweredShare(lower, SharePrior()).integrate(upper)

    assert log_mean < -700
    for grid in (before, after):
        assert math.fsum(grid.weights) == pytest.approx(1.0)
