"""Search for histories that do not merge as they should.

Run it with ``python -m tests.soak.merges [--count N] [--runs N] [--steps N] [--stops N] [--seed S]``:

* the laws of merging over `count` examples for each of lists of records, real stores and real bundles;
* `runs` histories of three tablets and a desk, each of up to `steps` steps;
* `stops` merges of bundles of random size, stopped at a random operation of the disk or record.

The same seed gives the same examples. A failure ends the run with the smallest example found; before
them, two wrong merges and a tablet that forgets have to be caught.
"""

from __future__ import annotations

import argparse
import random
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from functools import partial
from pathlib import Path

import hypothesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.merging.fleet import Fleet, ForgetfulFleet
from tests.merging.histories import Case, cases
from tests.merging.stopping import piecemeal, sample_bundles, stop_and_go_on, unstopped
from tests.merging.worlds import (
    World,
    bundle_world,
    forgets_early_replacements,
    holds,
    last_writer_wins,
    record_world,
    store_world,
)


def main() -> None:
    """Run every part and tell what was tried."""
    parser = argparse.ArgumentParser(description="Search for histories that do not merge as they should.")
    parser.add_argument("--count", type=int, default=2_000, help="examples of the laws at each level")
    parser.add_argument("--runs", type=int, default=300, help="histories of three tablets and a desk")
    parser.add_argument("--steps", type=int, default=30, help="most steps of a history")
    parser.add_argument("--stops", type=int, default=300, help="merges that are stopped and called again")
    parser.add_argument("--seed", type=int, default=1, help="the same seed gives the same examples")
    call = parser.parse_args()
    for world in (last_writer_wins, forgets_early_replacements):
        expect_refusal(partial(try_laws, world, 2_000, call.seed, shrink=False), world.__name__)
    for world in (record_world, store_world, bundle_world):
        begun, tried = time.perf_counter(), try_laws(world, call.count, call.seed)
        laws = ", ".join(f"{law} {number}" for law, number in sorted(tried.items()))
        print(f"{world.__name__}: {tried.total()} examples ({laws}), {_since(begun)}", flush=True)
    forgets = partial(try_fleet, ForgetfulFleet, 50, call.steps, call.seed, shrink=False)
    expect_refusal(forgets, "a tablet that forgets")
    expect_refusal(try_piecemeal, "a merge of record after record")
    begun = time.perf_counter()
    try_fleet(Fleet, call.runs, call.steps, call.seed)
    print(
        f"three tablets and a desk: {call.runs} histories of {call.steps} steps, {_since(begun)}",
        flush=True,
    )
    begun = time.perf_counter()
    print(f"{try_stops(call.stops, random.Random(call.seed))}, {_since(begun)}", flush=True)


def try_laws(world: World, count: int, seed: int, *, shrink: bool = True) -> Counter[str]:
    """Try the laws on so many examples; count them by law."""
    tried: Counter[str] = Counter()

    @hypothesis.seed(seed)
    @settings(_long(count, shrink))
    @given(case=cases())
    def law_holds(case: Case) -> None:
        tried[case.law] += 1
        assert holds(world, case), case

    law_holds()
    return tried


def try_fleet(fleet: type[Fleet], runs: int, steps: int, seed: int, *, shrink: bool = True) -> None:
    """Let three tablets and a desk go through so many histories."""
    hypothesis.seed(seed)(fleet)
    run_state_machine_as_test(fleet, settings=settings(_long(runs, shrink), stateful_step_count=steps))


def try_stops(count: int, chance: random.Random) -> str:
    """Stop so many merges somewhere and call them again; say how many bundles they had merged."""
    found: Counter[int] = Counter()
    done = 0
    while done < count:
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            bundles = sample_bundles(folder, chance.randint(2, 6), chance.randint(1, 60))
            wanted, operations, steps = unstopped(folder / "whole", bundles)
            for _ in range(min(10, count - done)):
                done += 1
                at = {"at_operation": chance.randrange(operations)}
                if chance.random() < 0.5:
                    at = {"at_step": chance.randint(1, steps)}
                stopped = stop_and_go_on(folder / f"{done}", bundles, wanted, **at)
                assert stopped.was_stopped
                found[stopped.merged] += 1
    merged = ", ".join(f"{number} bundles {times} times" for number, times in sorted(found.items()))
    return f"stopped merges: {done}, all went on; merged at the stop: {merged}"


def try_piecemeal() -> None:
    """The control: stop a merge that takes record by record."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        bundles = sample_bundles(folder, 2, 20)
        wanted, _, _ = unstopped(folder / "whole", bundles)
        stop_and_go_on(folder / "control", bundles, wanted, at_step=7, merge=piecemeal)


def expect_refusal(run: Callable[[], object], name: str) -> None:
    """Make sure that something wrong is caught."""
    try:
        run()
    except AssertionError:
        print(f"control: {name} is caught", flush=True)
        return
    raise SystemExit(f"The control {name!r} was not caught: the search is blind.")


def _long(count: int, shrink: bool) -> settings:
    return settings(
        max_examples=count,
        derandomize=False,
        database=None,
        deadline=None,
        phases=[Phase.generate, Phase.shrink] if shrink else [Phase.generate],
        report_multiple_bugs=False,
        suppress_health_check=list(HealthCheck),
    )


def _since(begun: float) -> str:
    return f"{time.perf_counter() - begun:.0f} s"


if __name__ == "__main__":
    main()
