"""The guide against the definition of expected entropy, worked out by brute force."""

import math
import time
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats as scipy_stats

from tests.analysis.streams import station, stream
from walkapp.analysis.guide import (
    BATCHES,
    GOOD_ENOUGH,
    advise,
    chance_sure,
    expected_gains,
    walking_minutes,
)
from walkapp.analysis.origin import origin_posterior
from walkapp.analysis.results import Tally
from walkapp.analysis.shares import KNEE, SharePrior

# Equally probable shares: log(share + knee) is uniform.
SHARES = KNEE * ((1 + KNEE) / KNEE) ** ((np.arange(20_000) + 0.5) / 20_000) - KNEE


def entropy(posterior):
    return -sum(p * math.log2(p) for p in (*posterior.origin, posterior.none) if p > 0)


def forecast(stations, posterior, place, parts, detection, false_alarm):
    """Chance of each count at a station: binomial chances averaged over equally probable shares (SciPy)."""
    chances = np.zeros(parts + 1)
    good = scipy_stats.binom.pmf(np.arange(parts + 1), parts, false_alarm)
    for j, origin in enumerate(posterior.origin):
        if j > place:
            chances += origin * good
            continue
        log = np.zeros_like(SHARES)
        for tally in (t for s in stations[j:] for t in s.tallies):
            q = tally.false_alarm + SHARES * (tally.detection - tally.false_alarm)
            log += tally.nok * np.log(q) + (tally.checked - tally.nok) * np.log1p(-q)
        weight = np.exp(log - log.max())
        weight /= weight.sum()
        q = false_alarm + SHARES * (detection - false_alarm)
        chances += origin * np.array(
            [np.sum(weight * scipy_stats.binom.pmf(k, parts, q)) for k in range(parts + 1)]
        )
    return chances + posterior.none * good


def gain_by_definition(stations, place, parts):
    """Entropy now less the mean entropy after the check, each possible count worked through in full."""
    now = origin_posterior(stations)
    here = stations[place]
    d, f = here.next_detection, here.next_false_alarm
    later = 0.0
    for k, chance in enumerate(forecast(stations, now, place, parts, d, f)):
        tally = Tally(checked=parts, nok=k, detection=d, false_alarm=f)
        after = [*stations]
        after[place] = replace(here, tallies=(*here.tallies, tally))
        later += chance * entropy(origin_posterior(after))
    return entropy(now) - later


CASES = [
    stream((0, 0), (0, 0), (0, 0)),
    stream((20, 0), (0, 0), (0, 0), (20, 7)),
    stream((5, 1), (5, 0), (3, 2)),
    (
        station(1, 20, 0),
        station(2, 0, 0, detection=0.6, false_alarm=0.05),
        station(3, 10, 4, detection=1.0, false_alarm=0.0),
    ),
]


@pytest.mark.parametrize("stations", CASES)
@pytest.mark.parametrize("parts", [1, 5, 30])
def test_the_expected_gain_is_the_loss_of_entropy_over_all_counts(stations, parts):
    gains = expected_gains(stations, origin_posterior(stations))

    for place in range(len(stations)):
        assert gains[place][parts] == pytest.approx(gain_by_definition(stations, place, parts), abs=2e-6)


def test_a_perfect_check_of_a_wholly_affected_lot_is_a_halving_search():
    # d = 1, f = 0, share 1, three stations and "not present": four answers of 1/4. One part at the
    # second station splits them two and two: exactly 1 bit, as in a search by halving.
    stations = stream((0, 0), (0, 0), (0, 0), detection=1.0, false_alarm=0.0)
    posterior = origin_posterior(stations, share=SharePrior(low=1.0, high=1.0))

    gains = expected_gains(stations, posterior)

    assert gains[1][1] == pytest.approx(1.0, abs=1e-14)
    assert gains[0][1] == pytest.approx(2 - 0.75 * math.log2(3), abs=1e-14)


def test_a_check_at_the_median_gains_the_capacity_of_the_channel():
    # One of 8 places for sure, answer "first half" with error 0.10: the entropy falls from 3 to
    # 2.468996 bits, by the capacity of a binary symmetric channel, 0.531 bit (teaching page on
    # Shannon's theorem; MacKay, Information Theory, Inference, and Learning Algorithms, chapter 9).
    # "Not present" stands for the eighth place; the affected share is known to be 1.
    stations = stream(*[(0, 0)] * 7, detection=0.9, false_alarm=0.1)
    posterior = origin_posterior(stations, share=SharePrior(low=1.0, high=1.0))

    assert expected_gains(stations, posterior)[3][1] == pytest.approx(0.531004, abs=5e-7)


shops = st.lists(
    st.integers(0, 40).flatmap(lambda n: st.tuples(st.just(n), st.integers(0, n))), min_size=1, max_size=8
)


@settings(max_examples=60, deadline=None)
@given(counts=shops)
def test_more_parts_never_teach_less_and_never_more_than_is_unknown(counts):
    stations = stream(*counts)
    posterior = origin_posterior(stations)

    for gain in expected_gains(stations, posterior):
        bits = [gain[m] for m in BATCHES]
        assert all(after >= before - 1e-12 for before, after in pairwise(bits))
        assert bits[0] >= 0.0 and bits[-1] <= entropy(posterior) + 1e-12


def test_walking_time_is_the_sum_of_the_stretches_in_both_directions():
    stations = tuple(station(i, minutes=m) for i, m in enumerate((9.0, 1.0, 2.0, 4.0), start=1))

    assert walking_minutes(stations, 1) == (0.0, 1.0, 3.0, 7.0)
    assert walking_minutes(stations, 3) == (3.0, 2.0, 0.0, 4.0)


def test_without_a_place_every_station_is_the_mean_walk_away():
    stations = tuple(station(i, minutes=m) for i, m in enumerate((9.0, 1.0, 2.0), start=1))

    # Pairs: 1, 2 and 3 minutes.
    assert walking_minutes(stations, None) == pytest.approx((2.0, 2.0, 2.0))
    assert walking_minutes(stations[:1], None) == (0.0,)


def test_an_unknown_place_is_refused():
    with pytest.raises(ValueError, match="order 7"):
        walking_minutes(stream((0, 0)), 7)


def advice(stations, here=None):
    limits = [0.1 if s.checked else None for s in stations]
    return advise(stations, origin_posterior(stations), limits, here)


def test_the_rate_advised_is_within_a_fifth_of_the_best_of_all():
    stations = stream((20, 0), (0, 0), (0, 0), (10, 1), (20, 7))
    gains = expected_gains(stations, origin_posterior(stations))
    walking = walking_minutes(stations, 5)
    best = max(gains[i][m] / (walking[i] + m * 0.25) for i in range(5) for m in BATCHES)

    found = advice(stations, here=5)

    assert GOOD_ENOUGH * best <= found.bits_per_minute <= best
    assert found.minutes == pytest.approx(walking[found.order - 1] + found.parts * 0.25)
    assert found.parts in BATCHES


def test_an_untouched_stream_is_halved():
    found = advice(stream(*[(0, 0)] * 8))

    assert found.order == 4
    assert found.why.startswith(
        "It halves the stream: 44 % that the defect is already in what leaves Station 4"
    )


def test_a_skipped_station_before_the_first_nok_is_visited():
    found = advice(stream((20, 0), (0, 0), (20, 9), (20, 11)))

    assert found.station == "Station 2"
    assert found.why == "Station 2 was skipped: 49 % that the defect starts there."


def test_a_small_clean_sample_is_made_larger():
    found = advise((stations := stream((3, 0), (3, 2))), origin_posterior(stations), [0.6316, None])

    assert found.station == "Station 1"
    assert found.why == (
        "With only 3 parts OK so far, up to 64 % at Station 1 could be NOK: "
        "more parts show whether it is clean."
    )


def test_a_doubtful_nok_is_looked_at_again():
    first, *others = stream((60, 1), (1, 0), (1, 0))

    found = advice((first, *(replace(s, can_be_checked=False) for s in others)), here=1)

    assert found.station == "Station 1"
    assert found.why.startswith("1 NOK of 60 at Station 1 do not settle it:")


def test_a_long_walk_turns_the_advice_to_what_is_near():
    near = tuple(replace(s, minutes=0.0) for s in stream(*[(0, 0)] * 8))
    far = tuple(replace(s, minutes=60.0) for s in near)

    assert advice(near, here=7).order == advice(near, here=1).order == 4
    assert advice(far, here=7).order == 7


def test_a_station_without_a_check_is_never_advised():
    stations = tuple(replace(s, can_be_checked=s.order in (1, 8)) for s in stream(*[(0, 0)] * 8))

    assert advice(stations).order in (1, 8)
    assert advice(tuple(replace(s, can_be_checked=False) for s in stations)) is None


@pytest.mark.parametrize("counts", [((20, 0), (20, 9)), ((4000, 0), (4000, 0))])
def test_a_sure_answer_needs_no_advice(counts):
    assert advice(stream(*counts)) is None


def test_nothing_to_learn_gives_no_advice():
    # The share is known to be 0: no check can tell the answers apart.
    stations = stream((0, 0), (0, 0))
    posterior = origin_posterior(stations, share=SharePrior(low=0.0, high=0.0))

    assert advise(stations, posterior, [None, None]) is None


@pytest.mark.parametrize("million", [0, 5_200, 400_000])
def test_a_million_parts_do_no_harm(million):
    stations = stream((0, 0), (1_000_000, million), (0, 0))
    gains = expected_gains(stations, origin_posterior(stations))

    assert all(math.isfinite(bits) and bits >= 0.0 for gain in gains for bits in gain.values())


def test_twenty_stations_are_quick():
    # 20 stations that all differ, two kinds of check; about 5 ms and 20 ms when nothing else runs.
    stations = tuple(
        station(i, 4, int(i > 12), detection=0.9 if i % 2 else 0.8, false_alarm=0.005) for i in range(1, 21)
    )
    begin = time.process_time()
    posterior = origin_posterior(stations)
    middle = time.process_time()
    advise(stations, posterior, [0.5] * 20, 10)
    end = time.process_time()

    # Ten times what was measured: only a change of order of growth fails here.
    assert middle - begin < 0.05
    assert end - middle < 0.25


@pytest.mark.parametrize("stations", CASES)
@pytest.mark.parametrize("parts", [1, 5, 30])
@pytest.mark.parametrize("sure", [0.6, 0.95])
def test_the_chance_to_be_sure_is_the_sum_over_all_counts(stations, parts, sure):
    posterior = origin_posterior(stations)

    for place, here in enumerate(stations):
        d, f = here.next_detection, here.next_false_alarm
        expected, near_the_line = 0.0, 0.0
        for k, chance in enumerate(forecast(stations, posterior, place, parts, d, f)):
            tally = Tally(checked=parts, nok=k, detection=d, false_alarm=f)
            after = [*stations]
            after[place] = replace(here, tallies=(*here.tallies, tally))
            later = origin_posterior(after)
            best = max(*later.origin, later.none)
            expected += chance * (best >= sure)
            near_the_line += chance * (abs(best - sure) < 1e-5)

        found = chance_sure(stations, posterior, place, parts, sure)

        assert found == pytest.approx(expected, abs=1e-5 + near_the_line)


def test_plans_tell_what_fewer_and_more_parts_would_bring():
    plan = advice(stream((20, 0), (20, 0), (10, 2), (10, 1)))

    assert [p.parts for p in plan.plans] == list(BATCHES)
    for fewer, more in pairwise(plan.plans):
        assert more.minutes > fewer.minutes
        assert more.bits >= fewer.bits - 1e-12
    assert plan.chance_sure == next(p.chance_sure for p in plan.plans if p.parts == plan.parts)


def test_after_95_percent_the_guide_still_leads_to_99():
    stations = stream((12, 0), (20, 6))
    posterior = origin_posterior(stations)
    assert 0.95 <= max(posterior.origin) < 0.99

    assert advise(stations, posterior, [None, None]) is None
    assert advise(stations, posterior, [None, None], sure=0.99).parts >= 1
