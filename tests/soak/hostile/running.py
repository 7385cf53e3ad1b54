"""Many inputs, judged in workers that are watched: one that hangs, dies or swells is a failure too."""

from __future__ import annotations

import multiprocessing
import resource
import shutil
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, wait
from pathlib import Path

from tests.soak.hostile.inputs import FAMILIES
from tests.soak.hostile.judge import Bench

LONGEST_S = 60.0
"""A worker that is silent for longer is taken for hanging; the machine may be busy."""

MOST_BYTES = 1_500_000_000
"""Address space that a worker may take on top of what it starts with."""

SHARES = {
    "raw": 0.39, "packed": 0.20, "checklist": 0.20, "counts": 0.05, "deliveries": 0.04, "store": 0.03,
    "label": 0.03, "reading": 0.03, "pictures": 0.03,
}  # fmt: skip
"""How many of all inputs each family gets."""


@dataclass(frozen=True)
class Failure:
    """One input with which the program did something that it must not.

    Parameters
    ----------
    family, index
        With the seed they make the input again.
    what
        What happened.
    where
        The last places of the program, for sorting failures.
    """

    family: str
    index: int
    what: str
    where: str


@dataclass
class Tally:
    """What became of the inputs of one family."""

    accepted: int = 0
    refused: int = 0
    refusals: Counter[str] = field(default_factory=Counter)
    failures: list[Failure] = field(default_factory=list)

    @property
    def inputs(self) -> int:
        """How many there were."""
        return self.accepted + self.refused + len(self.failures)


Jobs = list[tuple[str, int]]


def share_out(count: int) -> Jobs:
    """Number the inputs of every family."""
    return [(family, index) for family in FAMILIES for index in range(round(count * SHARES[family]))]


def judge_here(bench: Bench, jobs: Iterable[tuple[str, int]], seed: int) -> dict[str, Tally]:
    """Judge inputs in this process, without a watch."""
    tallies = {family: Tally() for family in FAMILIES}
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for family, index in jobs:
            _note(tallies, family, index, _judge(bench, family, seed, index))
    return tallies


def judge_watched(
    folder: Path,
    jobs: Jobs,
    seed: int,
    workers: int,
    progress: Callable[[int], None] = lambda done: None,
) -> dict[str, Tally]:
    """Judge inputs in several processes; each is watched and replaced when it fails."""
    tallies = {family: Tally() for family in FAMILIES}
    lanes = [_Lane(folder / f"worker-{number}", jobs[number::workers], seed) for number in range(workers)]
    busy = {lane.pipe: lane for lane in lanes if lane.start()}
    while busy:
        for ready in wait(list(busy), timeout=1.0):
            lane = busy[ready]  # type: ignore[index]
            try:
                _note(tallies, *lane.take(), ready.recv())  # type: ignore[union-attr]
                progress(sum(tally.inputs for tally in tallies.values()))
                is_over = not lane.waiting
            except EOFError:
                _note(tallies, *lane.taken, (("died", "the worker"), ""))
                is_over = True
            if is_over:
                del busy[ready]  # type: ignore[arg-type]
                lane.stop()
                if lane.start():
                    busy[lane.pipe] = lane
        for pipe, lane in list(busy.items()):
            if time.monotonic() - lane.heard > LONGEST_S:
                del busy[pipe]
                lane.stop()
                _note(tallies, *lane.take(), ((f"no answer in {LONGEST_S:.0f} s", "hang"), ""))
                if lane.start():
                    busy[lane.pipe] = lane
    return tallies


Found = tuple[tuple[str, str] | None, str]
"""What went wrong and where, or none; and the refusal."""


def _note(tallies: dict[str, Tally], family: str, index: int, found: Found) -> None:
    trouble, refusal = found
    tally = tallies[family]
    if trouble is not None:
        tally.failures.append(Failure(family, index, *trouble))
    elif refusal:
        tally.refused += 1
        tally.refusals[refusal] += 1
    else:
        tally.accepted += 1


def _judge(bench: Bench, family: str, seed: int, index: int) -> Found:
    try:
        return None, bench.judge(family, seed, index)
    except Exception as error:
        bench.tidy()
        frames = traceback.extract_tb(error.__traceback__)
        own = [
            frame for frame in frames if "/walkapp/" in frame.filename and "/tests/" not in frame.filename
        ]
        where = "; ".join(f"{Path(f.filename).name}:{f.name}" for f in own[-2:])
        return (f"{type(error).__name__}: {error}"[:300], where), ""


class _Lane:
    """One worker after the other, on the same list of inputs."""

    pipe: Connection
    taken: tuple[str, int]

    def __init__(self, folder: Path, jobs: Jobs, seed: int) -> None:
        self._folder = folder
        self._seed = seed
        self.waiting = jobs[::-1]
        self.heard = time.monotonic()

    def start(self) -> bool:
        """Start a worker on what is left; say whether there is anything."""
        if not self.waiting:
            return False
        shutil.rmtree(self._folder, ignore_errors=True)
        self._folder.mkdir(parents=True)
        self.pipe, theirs = multiprocessing.Pipe(duplex=False)
        self._process = multiprocessing.Process(
            target=_work, args=(theirs, self._folder, self.waiting[::-1], self._seed), daemon=True
        )
        self._process.start()
        theirs.close()
        self.heard = time.monotonic()
        return True

    def take(self) -> tuple[str, int]:
        """Give the input that was just answered for."""
        self.heard = time.monotonic()
        self.taken = self.waiting.pop()
        return self.taken

    def stop(self) -> None:
        """End the worker."""
        self._process.kill()
        self._process.join()
        self.pipe.close()


def _work(pipe: Connection, folder: Path, jobs: Jobs, seed: int) -> None:
    taken = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (taken + MOST_BYTES, taken + MOST_BYTES))
    warnings.simplefilter("error")
    bench = Bench(folder)
    for family, index in jobs:
        pipe.send(_judge(bench, family, seed, index))


def table(tallies: dict[str, Tally]) -> Iterator[str]:
    """Tell what became of all inputs."""
    yield f"{'family':<28} {'inputs':>8} {'accepted':>9} {'refused':>8} {'sentences':>10} {'failures':>9}"
    rows = [(FAMILIES[family], tally) for family, tally in tallies.items() if tally.inputs]
    whole = Tally()
    for _, tally in rows:
        whole.accepted += tally.accepted
        whole.refused += tally.refused
        whole.refusals.update(tally.refusals)
        whole.failures += tally.failures
    for name, tally in (*rows, ("all", whole)):
        yield (
            f"{name:<28} {tally.inputs:>8} {tally.accepted:>9} {tally.refused:>8} "
            f"{len(tally.refusals):>10} {len(tally.failures):>9}"
        )
