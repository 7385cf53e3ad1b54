"""``python -m tests.soak.kills``: a writer is killed with signal 9 at random moments.

Killing a process empties no memory of the system, so this cannot tell a store that waits for the disk
from one that does not (``tests.soak.power_cuts`` can). What it shows is that no step leaves the folder in
a state that opening does not understand, and that "saved" is never said too early; the control is a
writer that says it too early, and has to be caught.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import select
import shutil
import signal
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from tests.soak.work import Told, look_at, work
from tests.store.support import open_store
from walkapp.store.lock import FolderLock

KILLS_A_STORE = 10
MOST_WAIT_S = 0.12


@dataclass
class Tally:
    """What came of some kills.

    Parameters
    ----------
    kills, told
        How often a writer was killed, and how many records it had said to be saved.
    lost
        How many of them were not there.
    problems
        All that was wrong.
    """

    kills: int = 0
    told: int = 0
    lost: int = 0
    problems: tuple[str, ...] = ()


def kill_once(folder: Path, told: Told, seed: int, wait_s: float, *, tells_early: bool = False) -> None:
    """Let a child work on a store, kill it, and hear what it said."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        _be_the_child(folder, seed, write, tells_early)
    os.close(write)
    said = b""
    while b"open\n" not in said:
        heard = os.read(read, 1 << 16)
        assert heard, "the child ended before it had opened the store"
        said += heard
    end = time.monotonic() + wait_s
    # Reading all the time: a full pipe would hold up the child.
    while (left := end - time.monotonic()) > 0:
        if select.select([read], [], [], left)[0]:
            said += os.read(read, 1 << 16)
    os.kill(child, signal.SIGKILL)
    while more := os.read(read, 1 << 16):
        said += more
    os.close(read)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), "the child ended by itself: a mistake in its work"
    told.hear(said.partition(b"open\n")[2])


def _be_the_child(folder: Path, seed: int, pipe: int, tells_early: bool) -> None:
    try:
        with open_store(folder) as store:
            os.write(pipe, b"open\n")
            work(
                store,
                seed,
                lambda said: os.write(pipe, json.dumps(said).encode() + b"\n"),
                bundles=folder.parent / "bundles",
                tells_early=tells_early,
            )
    finally:
        os._exit(3)  # Never reached but by a mistake, which the parent must not take for a kill.


def run(folder: Path, count: int, seed: int, *, tells_early: bool = False, stops: bool = False) -> Tally:
    """Kill a writer a number of times; every few kills it begins a new store.

    Parameters
    ----------
    folder
        An empty folder.
    count
        How many kills.
    seed
        Gives the work and the moments, as far as the machine keeps to them.
    tells_early
        The control.
    stops
        End at the first loss.
    """
    chance = random.Random(seed)
    tally = Tally()
    told = Told()
    place = folder
    for number in range(count):
        if number % KILLS_A_STORE == 0:
            place = folder / str(number)
            (place / "bundles").mkdir(parents=True)
            told = Told()
        before = len(told.saved)
        kill_once(
            place / "store", told, chance.randrange(2**32), chance.uniform(0, MOST_WAIT_S),
            tells_early=tells_early,
        )  # fmt: skip
        tally.kills += 1
        tally.told += len(told.saved) - before
        is_locked = FolderLock.is_held(place / "store" / "lock")
        left = look_at(place / "store", told, place / "bundles")
        tally.lost += left.lost
        tally.problems += left.problems + (("the lock is still held",) if is_locked else ())
        if stops and tally.lost:
            break
        if number % KILLS_A_STORE == KILLS_A_STORE - 1:
            shutil.rmtree(place)
    return tally


def main(arguments: list[str] | None = None) -> int:
    """Run the kills and the control."""
    parser = argparse.ArgumentParser(prog="python -m tests.soak.kills", description=__doc__.split("\n")[0])
    parser.add_argument("--count", type=int, default=300, help="kills (default %(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="seed (default %(default)s)")
    call = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        begin = time.monotonic()
        tally = run(Path(folder) / "store", call.count, call.seed)
        seconds = time.monotonic() - begin
        control = run(Path(folder) / "control", call.count, call.seed, tells_early=True, stops=True)
    print(
        f"{tally.kills} kills in {seconds:.0f} s, {tally.told} records said to be saved, "
        f"{tally.lost} lost, {len(tally.problems)} problems"
    )
    for problem in tally.problems[:20]:
        print(f"  {problem}")
    caught = f"caught after {control.kills} kills" if control.lost else "NOT CAUGHT"
    print(f"control (says 'saved' before it is): {caught}")
    return 0 if control.lost and not tally.problems else 1


if __name__ == "__main__":
    raise SystemExit(main())
