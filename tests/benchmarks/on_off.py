"""How often "proved" is wrong where switching makes no difference; simulated confirmations, seeds fixed.

Run by hand::

    python -m tests.benchmarks.on_off                      # 4,000 confirmations a row: a few minutes
    python -m tests.benchmarks.on_off --confirmations 500

All confirmations are invented. Printed for each kind of turn-to-turn variation: the share that the rule of
``walkapp.analysis.on_off`` calls proved (goal: at most 5 % where switching makes no difference), when it
is looked at after every turn and stopped as soon as it is proved; and beside it a control, the same rule
without the count of turns, which takes on-off-on-off for enough. The last rows have a true cause: how often
it is proved.
"""

from __future__ import annotations

import argparse
import math
import random
from collections.abc import Callable, Iterator
from fractions import Fraction

from walkapp.analysis.on_off import LEVEL, OFF, ON, PROVED, OnOff, Turn, confirm_counts, confirm_values
from walkapp.analysis.proportions import proportion_interval

PARTS = 20
"""Parts of a turn."""

VALUES = 4
"""Values of a turn."""

Level = Callable[[random.Random, int, str], float]
"""Gives the share NOK, or the mean, of a turn, by its number and state."""


def _logit(mean: float, spread: float) -> Level:
    middle = math.log(mean / (1 - mean))
    return lambda chance, _number, _state: 1 / (1 + math.exp(-chance.gauss(middle, spread)))


def _drift(chance: random.Random, number: int, _state: str) -> float:
    return min(0.95, 0.05 + 0.08 * number + 0.1 * chance.random())


NOTHING: dict[str, Level] = {
    "one share, 30 %": lambda *_: 0.3,
    "one share, 5 %": lambda *_: 0.05,
    "turns differ, logit sd 0.5": _logit(0.3, 0.5),
    "turns differ, logit sd 1": _logit(0.3, 1.0),
    "turns differ, logit sd 3": _logit(0.3, 3.0),
    "each turn all or none": lambda chance, *_: float(chance.random() < 0.5),
    "a drift": _drift,
}
"""What the share NOK of a turn is where switching makes no difference."""

NOTHING_MEASURED: dict[str, Level] = {
    "one mean": lambda *_: 0.0,
    "turns differ, sd as of the values": lambda chance, *_: chance.gauss(0, 1),
    "turns differ, sd 5 times that": lambda chance, *_: chance.gauss(0, 5),
}
"""What the mean of a turn is where switching makes no difference; values spread by 1 around it."""

CAUSES: dict[str, Level] = {
    "on 40 %, off 0 %": lambda _chance, _number, state: 0.4 if state == ON else 0.0,
    "on 20 %, off 2 %": lambda _chance, _number, state: 0.2 if state == ON else 0.02,
}


def counted(chance: random.Random, level: Level, turns: int) -> list[Turn]:
    """Make up the turns of one confirmation, on and off in turn."""
    made = []
    for number in range(1, turns + 1):
        state = ON if number % 2 else OFF
        share = level(chance, number, state)
        nok = sum(chance.random() < share for _ in range(PARTS))
        made.append(Turn(number=number, state=state, checked=PARTS, nok=nok))
    return made


def measured(chance: random.Random, level: Level, turns: int) -> list[Turn]:
    """Make up the same with measured values of one decimal."""
    made = []
    for number in range(1, turns + 1):
        state = ON if number % 2 else OFF
        mean = level(chance, number, state)
        values = tuple(Fraction(round(10 * chance.gauss(mean, 1)), 10) for _ in range(VALUES))
        made.append(Turn(number=number, state=state, values=values))
    return made


def without_count_of_turns(found: OnOff) -> bool:
    """The control: on-off-on-off is enough, however much the turns of a machine differ."""
    return len(found.turns) >= 4 and found.are_apart and found.within is not None and found.within < LEVEL


def rates(
    level: Level, confirmations: int, *, is_counted: bool = True, most_turns: int = 8, seed: int = 1
) -> tuple[int, int]:
    """Count how many confirmations the rule proves and how many the control, looked at after every turn."""
    chance = random.Random(seed)
    proved = control = 0
    for _ in range(confirmations):
        found = list(_looked_at(chance, level, most_turns, is_counted))
        proved += any(one.verdict == PROVED for one in found)
        control += any(map(without_count_of_turns, found))
    return proved, control


def _looked_at(chance: random.Random, level: Level, most_turns: int, is_counted: bool) -> Iterator[OnOff]:
    if is_counted:
        turns = counted(chance, level, most_turns)
        yield from (confirm_counts(turns[:many]) for many in range(4, most_turns + 1))
    else:
        turns = measured(chance, level, most_turns)
        for many in range(4, most_turns + 1):
            yield confirm_values(turns[:many], lambda: random.Random(2))


def main() -> None:
    """Print all rows."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--confirmations", type=int, default=4_000)
    many = parser.parse_args().confirmations

    def row(name: str, found: tuple[int, int]) -> None:
        cells = []
        for hits in found:
            interval = proportion_interval(hits, many)
            cells.append(f"{hits / many:7.2%} ({interval.low:.2%} to {interval.high:.2%})")
        print(f"{name:45}  proved {cells[0]}   control {cells[1]}")

    for name, level in NOTHING.items():
        row(f"no cause, counted: {name}", rates(level, many))
    for name, level in NOTHING_MEASURED.items():
        row(f"no cause, measured: {name}", rates(level, many, is_counted=False))
    for name, level in CAUSES.items():
        row(f"a cause, 6 turns: {name}", rates(level, many, most_turns=6))


if __name__ == "__main__":
    main()
