"""Simulated walks: what they count, that they repeat, and that they agree with the vectorised ones."""

import math
import random

import pytest

from tests.analysis.streams import station, stream
from tests.benchmarks.calibration import Truth, guided
from walkapp.analysis.simulate import EVERYWHERE, simulate_walks


def walks(stations, many, seed=1, **more):
    return simulate_walks(stations, chance=random.Random(seed), walks=many, **more)


def test_the_same_seed_gives_the_same_rows_and_another_seed_others():
    stations = stream(*[(0, 0)] * 4)

    assert walks(stations, 5, shares=(0.6,)) == walks(stations, 5, shares=(0.6,))
    assert walks(stations, 5, shares=(0.6,)) != walks(stations, 5, seed=2, shares=(0.6,))


def test_what_was_counted_so_far_is_left_out():
    assert walks(stream((20, 9), (20, 11)), 5, shares=(0.3,)) == walks(
        stream((0, 0), (0, 0)), 5, shares=(0.3,)
    )


def test_a_wholly_affected_stream_with_perfect_checks_is_always_found():
    stations = tuple(station(i, detection=1.0, false_alarm=0.0) for i in (1, 2, 3))

    (row,) = walks(stations, 20, shares=(1.0,))

    assert row.named == row.right == row.everywhere_right == row.plain_right == 20
    assert row.everywhere_parts == 3 * EVERYWHERE
    assert row.right_interval.low == pytest.approx(0.025 ** (1 / 20))  # Clopper-Pearson, all of 20


def test_the_walks_agree_with_those_of_the_benchmark():
    # The same policy, written twice (here station by station, there with NumPy): means within four
    # standard errors of each other. 120 walks here, 2,000 there, seeds fixed.
    stations = stream(*[(0, 0)] * 5)
    (row,) = walks(stations, 120, shares=(0.3,))

    other = guided(Truth(5, 0.3, 0.9, 0.005, 0.9, 0.005), 2_000, seed=5, minutes_between=1.0)

    spread = 35.0  # parts; seen in the benchmark
    assert abs(row.parts - other.parts) < 4 * spread * math.sqrt(1 / 120 + 1 / 2_000)
    assert row.right / row.named > other.right - 4 * math.sqrt(0.02 / 120)


def test_progress_is_told_walk_by_walk():
    told = []
    walks(
        stream((0, 0), (0, 0)),
        2,
        shares=(0.5, 0.9),
        progress=lambda done, total: told.append((done, total)),
    )

    assert told == [(1, 4), (2, 4), (3, 4), (4, 4)]


def test_stations_without_a_check_are_passed_by():
    stations = (station(1), station(2, can_be_checked=False), station(3))

    (row,) = walks(stations, 5, shares=(0.9,))

    assert row.everywhere_parts == 2 * EVERYWHERE


@pytest.mark.parametrize(
    "options", [{"many": 0}, {"many": 1, "shares": (0.0,)}, {"many": 1, "shares": (1.2,)}]
)
def test_numbers_out_of_range_are_refused(options):
    with pytest.raises(ValueError, match="must be"):
        walks(stream((0, 0), (0, 0)), **options)
