"""How long simulated walks take until one answer is sure: guided, and station by station.

Run by hand, it takes a minute or two::

    python -m tests.benchmarks.guided_walks

Streams, defects and walkers are invented: eight stations one minute apart, 15 seconds a part, the
affected share anywhere from 5 % to 100 %, detection 0.90, false alarm 0.005, walkers start at the
customer's dock. Each line prints the mean minutes, the mean number of instructions, and how many of
the walks named the true station.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

from walkapp.analysis import guide
from walkapp.analysis.locate import locate
from walkapp.analysis.results import OriginAnswer, StationTally, Tally

STATIONS, WALKS, SEED = 8, 60, 1
DETECTION, FALSE_ALARM = 0.90, 0.005
NOTHING = Tally(checked=0, nok=0, detection=DETECTION, false_alarm=FALSE_ALARM)

Step = Callable[[int, OriginAnswer], tuple[int, int] | None]


def follow_the_guide(step: int, answer: OriginAnswer) -> tuple[int, int] | None:
    """Go where the guide says."""
    return (answer.next.order, answer.next.parts) if answer.next else None


def walk_up(parts: int) -> Step:
    """Check so many parts at every station, from the dock upwards, and then stop."""

    def choose(step: int, answer: OriginAnswer) -> tuple[int, int] | None:
        return (STATIONS - step, parts) if step < STATIONS else None

    return choose


def simulate(choose: Step) -> tuple[float, float, int]:
    """Mean minutes, mean instructions, and walks that named the true station."""
    rng = random.Random(SEED)
    minutes, steps, right = 0.0, 0, 0
    for _ in range(WALKS):
        origin, share = rng.randint(1, STATIONS), rng.uniform(0.05, 1.0)
        stations = [
            StationTally(order=i, name=f"Station {i}", tallies=(NOTHING,)) for i in range(1, STATIONS + 1)
        ]
        here, step = STATIONS, 0
        answer = locate(stations, here=here, thorough=False)
        while (to := choose(step, answer)) is not None:
            order, parts = to
            chance = FALSE_ALARM + (share * (DETECTION - FALSE_ALARM) if order >= origin else 0.0)
            nok = sum(rng.random() < chance for _ in range(parts))
            (tally,) = stations[order - 1].tallies
            tally = replace(tally, checked=tally.checked + parts, nok=tally.nok + nok)
            stations[order - 1] = replace(stations[order - 1], tallies=(tally,))
            minutes += abs(order - here) + parts * 0.25
            here, step = order, step + 1
            answer = locate(stations, here=here, thorough=False)
        steps += step
        right += answer.first_bad_station == f"Station {origin}"
    return minutes / WALKS, steps / WALKS, right


def main() -> None:
    """Print one line for each way of walking."""
    for good_enough in (1.0, 0.9, guide.GOOD_ENOUGH, 0.6):
        guide.GOOD_ENOUGH = good_enough
        print_line(f"guided, {good_enough:.1f} of the best rate", follow_the_guide)
    for parts in (10, 20, 30):
        print_line(f"upwards, {parts} parts each", walk_up(parts))


def print_line(title: str, choose: Step) -> None:
    """Simulate and print."""
    minutes, steps, right = simulate(choose)
    print(f"{title}: {minutes:5.1f} min, {steps:4.1f} steps, {right}/{WALKS}", flush=True)


if __name__ == "__main__":
    main()
