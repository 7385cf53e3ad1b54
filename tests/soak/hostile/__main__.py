"""Run mutated inputs by the thousand and print what became of them.

::

    python -m tests.soak.hostile --count 100000 --seed 1 --workers 2

Whatever fails is printed with its family and index and kept in ``--keep``; ``--only packed:17`` makes
and judges one input again. Exit status 1 when anything failed.
"""

from __future__ import annotations

import argparse
import random
import shutil
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from tests.soak.hostile.inputs import FAMILIES
from tests.soak.hostile.judge import Bench
from tests.soak.hostile.running import Tally, judge_watched, share_out, table


def main() -> int:
    """Take the call apart, run, tell."""
    parser = argparse.ArgumentParser(prog="tests.soak.hostile", description=__doc__.split("\n")[0])
    parser.add_argument("--count", type=int, default=100_000, help="inputs in all (default %(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="default %(default)s")
    parser.add_argument("--workers", type=int, default=2, help="processes (default %(default)s)")
    parser.add_argument("--folder", type=Path, help="where to work; in memory, such as /dev/shm, is faster")
    parser.add_argument("--keep", type=Path, default=Path("hostile-failures"),
                        help="folder for inputs that failed (default %(default)s)")  # fmt: skip
    parser.add_argument("--only", metavar="FAMILY:INDEX", help="judge one input and show what happens")
    call = parser.parse_args()
    if call.folder is not None:
        call.folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="hostile-", dir=call.folder) as folder:
        if call.only:
            family, _, index = call.only.partition(":")
            print(Bench(Path(folder)).judge(family, call.seed, int(index)))
            return 0
        started = time.monotonic()
        jobs = share_out(call.count)
        random.Random(call.seed).shuffle(jobs)  # so that every family is under way from the start

        def tell(done: int) -> None:
            if done % 5_000 == 0:
                print(f"{done} of {len(jobs)} in {time.monotonic() - started:.0f} s", flush=True)

        tallies = judge_watched(Path(folder), jobs, call.seed, call.workers, tell)
        print("\n".join(table(tallies)))
        print(f"seed {call.seed}, {time.monotonic() - started:.0f} s, {call.workers} workers")
        _keep_failures(tallies, Path(folder) / "again", call.seed, call.keep)
    return 1 if any(tally.failures for tally in tallies.values()) else 0


def _keep_failures(tallies: dict[str, Tally], folder: Path, seed: int, keep: Path) -> None:
    """Print every failure once for each place, and keep its input as a file."""
    bench = Bench(folder)
    for family in FAMILIES:
        places = Counter(failure.where for failure in tallies[family].failures)
        shown: set[str] = set()
        for failure in tallies[family].failures:
            if failure.where in shown:
                continue
            shown.add(failure.where)
            print(f"{places[failure.where]:>6} x {family}:{failure.index} ({failure.where}) {failure.what}")
            bench.inputs.make(family, seed, failure.index)
            shutil.copytree(
                bench.inputs.folder, keep / f"{seed}-{family}-{failure.index}", dirs_exist_ok=True
            )


if __name__ == "__main__":
    sys.exit(main())
