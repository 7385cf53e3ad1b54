"""How many acknowledged records are lost at how many crash points: none may be.

Run it with ``python -m tests.soak.crash_points [--count N] [--seed S] [--workers W] [--folder DIR]``.
Every kind of writing that the store does is run on :class:`tests.store.lossy_disk.LossyDisk`,

1. stopped after every operation and at every byte of every write, by the program or by the power;
2. stopped before every operation and started again, then stopped by the power at every later one;
3. with a refusal of the system (ENOSPC, EIO, EROFS, EDQUOT, EFBIG, EINTR; once or lasting; with or
   without half a write) at some operation, one in three also stopped and started again, until at least
   `count` crash points are done;

and some of the openings that follow are stopped at every operation in turn. What would be left is
opened and compared with what was promised; one in four is opened once more, added to and opened a
third time. The controls are wrong on purpose and have to be caught. Exit status: 1 when anything was
found wrong or a control was not caught.
"""

from __future__ import annotations

import argparse
import multiprocessing
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from itertools import count, islice
from pathlib import Path
from random import Random

from tests.soak.crash_controls import CONTROLS, catch
from tests.soak.crash_judge import ALTERED, LOST, OTHER, PHOTOS, Tally
from tests.soak.crash_runs import ERRORS, MEMORY, Bench, Run
from tests.soak.crash_workloads import WORKLOADS

LEAST_REFUSALS = 6
"""Runs with a refusal that each workload gets however small `count` is: one for each error."""

Outcome = tuple[Run, Tally, Tally, int]
RunAll = Callable[[Iterable[Run]], Iterable[Outcome]]


def stops(operations: dict[int, int]) -> Iterator[Run]:
    """Every workload stopped before each of its operations and started again."""
    for workload, most in operations.items():
        for stop_at in range(1, most + 1):
            yield Run(workload=workload, stop_at=stop_at)


def refusals(operations: dict[int, int], seed: int) -> Iterator[Run]:
    """Workloads in turn, with refusals drawn by chance; never ends."""
    chance = Random(seed)
    for turn in count():
        for workload, most in operations.items():
            yield Run(
                workload=workload,
                fail_at=chance.randint(1, most),
                error=ERRORS[turn % len(ERRORS)],
                lasts=chance.random() < 0.4,
                halves=chance.random() < 0.5,
                stop_at=chance.randint(1, most) if chance.random() < 1 / 3 else 0,
            )


class Table:
    """What was found, by workload."""

    def __init__(self) -> None:
        self.work = [Tally() for _ in WORKLOADS]
        self.opening = [Tally() for _ in WORKLOADS]

    def add(self, outcome: Outcome) -> None:
        """Count one run in."""
        run, work, opening, _ = outcome
        self.work[run.workload].add(work)
        self.opening[run.workload].add(opening)

    def total(self) -> Tally:
        """Everything in one."""
        total = Tally()
        for tally in (*self.work, *self.opening):
            total.add(tally)
        return total

    def __str__(self) -> str:
        head = ("workload", "points", "states", LOST, ALTERED, PHOTOS, OTHER)
        rows = [(w.name, tally) for w, tally in zip(WORKLOADS, self.work, strict=True)]
        rows.append(("opening after any of these", _sum(self.opening)))
        rows.append(("together", self.total()))
        lines = [f"{head[0]:44}" + "".join(f"{word:>13}" for word in head[1:])]
        for name, tally in rows:
            numbers = (tally.points, tally.states, *(tally.wrong[kind] for kind in head[3:]))
            lines.append(f"{name:44}" + "".join(f"{number:>13,}" for number in numbers))
        return "\n".join(lines)


def _sum(tallies: Iterable[Tally]) -> Tally:
    total = Tally()
    for tally in tallies:
        total.add(tally)
    return total


def search(run_all: RunAll, *, least: int, seed: int) -> Table:
    """Do the three parts; the last until there are at least `least` crash points."""
    table = Table()
    done = count(1)

    def add(outcome: Outcome) -> None:
        table.add(outcome)
        if (number := next(done)) % 50 == 0:
            total = table.total()
            print(f"{number} runs, {total.points:,} points, {total.wrong.total()} wrong", file=sys.stderr)

    operations: dict[int, int] = {}
    for outcome in run_all(Run(workload=n, byte_step=1) for n in range(len(WORKLOADS))):
        add(outcome)
        operations[outcome[0].workload] = outcome[3]
    for outcome in run_all(stops(operations)):
        add(outcome)
    more = refusals(operations, seed)
    batch = LEAST_REFUSALS * len(WORKLOADS)
    while True:
        for outcome in run_all(islice(more, batch)):
            add(outcome)
        if table.total().points >= least:
            return table
        batch = len(WORKLOADS)


_bench: Bench | None = None
_seed = 0


def _begin(folder: str, seed: int) -> None:
    global _bench, _seed
    # A first opening shows nearly everything; three for each state would halve the number of states.
    _bench = Bench(Path(tempfile.mkdtemp(dir=folder)), again=0.01, reopened_share=4)
    _seed = seed


def _do(run: Run) -> Outcome:
    return run, *_bench.run(run, _seed)


def main(arguments: list[str] | None = None) -> int:
    """Search, print the table and the controls, and say whether all is well."""
    parser = argparse.ArgumentParser(prog="python -m tests.soak.crash_points")
    parser.add_argument("--count", type=int, default=20_000, help="least number of crash points")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--folder", default=MEMORY, help="where to build the states")
    said = parser.parse_args(arguments)
    begun = time.perf_counter()
    with tempfile.TemporaryDirectory(dir=said.folder) as scratch:
        with multiprocessing.Pool(said.workers, _begin, (scratch, said.seed)) as pool:
            table = search(lambda runs: pool.imap(_do, runs), least=said.count, seed=said.seed)
        caught = [catch(control, Path(scratch) / f"c{n}", said.seed) for n, control in enumerate(CONTROLS)]
    seconds = time.perf_counter() - begun
    total = table.total()
    print(table)
    print(f"{total.states / seconds:,.0f} states a second, {seconds:,.0f} s")
    for example in total.examples:
        print("found wrong:", example)
    is_good = not total.wrong.total()
    for control, tally in zip(CONTROLS, caught, strict=True):
        times = tally.wrong[control.caught_at]
        print(f"control: {control.name}: {f'caught {times} times' if times else 'NOT CAUGHT'}")
        is_good &= times > 0
    return 0 if is_good else 1


if __name__ == "__main__":
    sys.exit(main())
