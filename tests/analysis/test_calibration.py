"""The benchmark's vectorised walks do what the program does; and a few of them as a standing check."""

import math
import random

import numpy as np
import pytest

from tests.analysis.streams import stream
from tests.benchmarks.calibration import (
    Belief,
    Truth,
    capacity,
    choose,
    fixed,
    guided,
    with_sorting,
)
from walkapp.analysis.guide import BATCHES, advise, expected_gains, walking_minutes
from walkapp.analysis.origin import origin_posterior

STATES = 25


def random_counts(rng):
    many = rng.randint(2, 6)
    counts = []
    for _ in range(many):
        checked = rng.choice((0, 0, 3, 10, 45))
        counts.append((checked, rng.choice((0, 0, min(1, checked), checked // 3, checked))))
    return counts


@pytest.mark.parametrize("seed", range(STATES))
def test_the_simulated_walker_thinks_and_goes_as_the_program_does(seed):
    rng = random.Random(seed)
    detection, false_alarm = rng.choice(((0.9, 0.005), (0.7, 0.01), (0.9, 0.0)))
    counts = random_counts(rng)
    stations = stream(*counts, detection=detection, false_alarm=false_alarm)
    here = rng.choice((None, *range(1, len(counts) + 1)))

    belief = Belief(len(counts), detection, false_alarm)
    checked, nok = (np.array([column], dtype=float) for column in zip(*counts, strict=True))
    joint, none = belief.posterior(checked, nok)
    gains = belief.gains(joint)
    station, batch, minutes = choose(gains, np.array([walking_minutes(stations, here)]))

    posterior = origin_posterior(stations)
    advice = advise(stations, posterior, [None] * len(counts), here)
    expected = expected_gains(stations, posterior)
    assert joint.sum(2)[0] == pytest.approx(posterior.origin, abs=1e-6)
    assert none[0] == pytest.approx(posterior.none, abs=1e-6)
    assert gains[0] == pytest.approx(np.array([[g[m] for m in BATCHES] for g in expected]), abs=1e-5)
    if advice is not None:
        rate = advice.bits_per_minute
        found = gains[0, station[0], batch[0]] / minutes[0]
        # The same choice, or one that is as good: stations without parts between them are equal.
        assert (station[0] + 1, BATCHES[batch[0]]) == (
            advice.order,
            advice.parts,
        ) or found == pytest.approx(rate, rel=1e-3)


@pytest.mark.parametrize(
    ("share", "detection", "false_alarm"), [(0.05, 0.9, 0.01), (0.1, 0.7, 0.0), (0.6, 0.9, 0.01)]
)
def test_what_is_called_95_percent_is_right_in_at_least_95_of_100_walks(share, detection, false_alarm):
    # 1,000 walks, seed fixed: the standard error is 0.7 points. tests/benchmarks/calibration.py has more.
    truth = Truth(8, share, detection, false_alarm, detection, false_alarm)

    walks = guided(truth, 1_000, seed=11, minutes_between=1.0)

    assert walks.named > 0.99
    assert walks.right >= 0.95


def test_walks_with_the_same_number_of_parts_everywhere_overstate_nothing_either():
    truth = Truth(8, 0.3, 0.9, 0.01, 0.9, 0.01)

    walks = fixed(truth, 2_000, seed=12, parts=30)

    assert walks.named > 0.8
    assert walks.right >= 0.95
    assert walks.plain_right < 0.6


def test_where_parts_are_sorted_out_a_checklist_that_says_so_names_more_and_not_worse():
    silent, told = (with_sorting(0.3, 0.0, 10, 300, says_so) for says_so in (False, True))

    assert told[0] > 1.5 * silent[0]
    assert min(silent[1], told[1]) >= 0.95


@pytest.mark.parametrize(
    ("miss", "false_alarm", "bits"),
    [
        # Binary symmetric channel: 1 - H(e). e = 0.1: teaching page on Shannon's theorem; e = 0.15:
        # MacKay, Information Theory, Inference, and Learning Algorithms, chapter 9 (from memory).
        (0.10, 0.10, 0.531004),
        (0.15, 0.15, 0.390160),
        # Z channel, misses only: log2(5) - 2 (standard example, from memory).
        (0.5, 0.0, math.log2(5) - 2),
        (0.10, 0.02, 0.691864),
    ],
)
def test_the_capacity_of_the_part_check_channel(miss, false_alarm, bits):
    assert capacity(1 - miss, false_alarm) == pytest.approx(bits, abs=5e-7)
