"""``python -m tests.soak.taps``: a very long walk; the last taps cost what the first did.

Each entry is followed by a bare append of the same length to another file, so that a machine that gets
busy slows both: what counts is how the ratio of the two medians changes from the first to the last
twentieth. The control is a disk that reads the journal again at each entry, as a store that rewrites its
file would; neither it nor its peer waits for the disk, so that nothing hides it. It has to be found out.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from tests.store.support import WALK, HastyDisk, answer, begin_walk, open_store, own_journal
from walkapp.files import Disk

MOST_GROWTH = 2.0
SHARE = 20
"""The first and the last twentieth of the taps are compared."""


@dataclass(frozen=True)
class Taps:
    """How long taps took.

    Parameters
    ----------
    first, last
        Median time of the first and of the last ones, as multiples of a bare append.
    last_ms
        Median time of the last ones in milliseconds.
    handles
        How many more files were open at the end than after the first tap.
    kept
        Entries of the walk that a new opening found, besides its start.
    """

    first: float
    last: float
    last_ms: float
    handles: int
    kept: int

    @property
    def growth(self) -> float:
        """Last by first."""
        return self.last / self.first


class RereadingDisk(HastyDisk):
    """Reads all of a journal whenever a line is added to it: the control."""

    def write(self, file: int, data: bytes) -> int:
        Path(f"/proc/self/fd/{file}").resolve().read_bytes()
        return super().write(file, data)


def tap(folder: Path, count: int, disk: Disk, peer: Disk) -> Taps:
    """Record one answer after the other into one walk, each followed by a bare append of a peer."""
    ours, bare = [], []
    with open_store(folder, disk=disk) as store:
        begin_walk(store, 0)
        other = peer.open_append(folder.with_name(f"{folder.name}-bare"))
        line = own_journal(folder).read_bytes().splitlines(keepends=True)[-1]
        handles = _open_handles()
        for _ in range(count):
            record = answer(store.next_number)
            ours.append(_seconds(lambda record=record: store.append(record)))
            bare.append(_seconds(lambda: (peer.write(other, line), peer.sync(other))))
        handles = _open_handles() - handles
        peer.close(other)
    with open_store(folder) as again:
        kept = len(again.records(WALK)) - 1
    part = max(count // SHARE, 1)
    return Taps(
        first=median(ours[:part]) / median(bare[:part]),
        last=median(ours[-part:]) / median(bare[-part:]),
        last_ms=1000 * median(ours[-part:]),
        handles=handles,
        kept=kept,
    )


def _seconds(do: Callable[[], object]) -> float:
    begin = time.perf_counter()
    do()
    return time.perf_counter() - begin


def _open_handles() -> int:
    return len(os.listdir("/proc/self/fd"))  # noqa: PTH208  the one that lists is closed again


def main(arguments: list[str] | None = None) -> int:
    """Tap, and tell."""
    parser = argparse.ArgumentParser(prog="python -m tests.soak.taps", description=__doc__.split("\n")[0])
    parser.add_argument("--count", type=int, default=20_000, help="taps (default %(default)s)")
    call = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        taps = tap(Path(folder) / "store", call.count, Disk(), Disk())
        control = tap(Path(folder) / "control", call.count, RereadingDisk(), HastyDisk())
    for name, one in (("the store", taps), ("control: reads its file at each tap", control)):
        print(
            f"{name}: {call.count} taps, {one.kept} kept, {one.first:.2f} bare appends at first, "
            f"{one.last:.2f} at last ({one.last_ms:.2f} ms): ratio {one.growth:.2f}, "
            f"{one.handles} more files open"
        )
    is_good = taps.growth < MOST_GROWTH and taps.kept == call.count and taps.handles == 0
    print(f"growth below {MOST_GROWTH:g}: {'yes' if is_good else 'NO'}")
    print(f"control found out: {'yes' if control.growth >= MOST_GROWTH else 'NO'}")
    return 0 if is_good and control.growth >= MOST_GROWTH else 1


if __name__ == "__main__":
    raise SystemExit(main())
