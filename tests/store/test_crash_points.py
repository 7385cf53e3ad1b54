"""A share of ``python -m tests.soak.crash_points``: nothing that was promised is lost at any point."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from random import Random

import pytest

from tests.soak.crash_controls import CONTROLS, catch
from tests.soak.crash_judge import Tally
from tests.soak.crash_points import refusals
from tests.soak.crash_runs import MEMORY, Bench, Run
from tests.soak.crash_workloads import WORKLOADS
from tests.store.lossy_disk import ANYTHING

SEED = 7
BYTE_STEP = 61
STOPS = 1
REFUSALS = 1


@pytest.fixture
def scratch() -> Iterator[Path]:
    with tempfile.TemporaryDirectory(dir=MEMORY) as folder:
        yield Path(folder)


@pytest.mark.parametrize("number", range(len(WORKLOADS)), ids=[w.name for w in WORKLOADS])
def test_nothing_promised_is_lost_at_any_point(scratch, number):
    bench = Bench(scratch, draws=(ANYTHING,), again=0.005, reopened_share=3)
    together = Tally()

    *tallies, operations = bench.run(Run(workload=number, byte_step=BYTE_STEP), SEED)
    stops = Random(SEED).sample(range(1, operations + 1), STOPS)
    more = [
        *(Run(workload=number, stop_at=stop_at) for stop_at in stops),
        *islice(refusals({number: operations}, SEED + number), REFUSALS),
    ]
    tallies += [tally for run in more for tally in bench.run(run, SEED)[:2]]

    for tally in tallies:
        together.add(tally)
    assert together.examples == []
    assert together.wrong.total() == 0
    assert together.states > 30


@pytest.mark.parametrize("control", CONTROLS, ids=[control.name for control in CONTROLS])
def test_what_is_wrong_on_purpose_is_caught(scratch, control):
    tally = catch(control, scratch / "control", SEED)

    assert tally.wrong[control.caught_at] > 0
