"""Running a workload on the model of the disk, and looking at every point at which it could stop."""

from __future__ import annotations

import errno
import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random

from tests.soak.crash_hand import PICTURES, Hand, Ledger, WorkDisk
from tests.soak.crash_judge import Judge, Tally
from tests.soak.crash_workloads import WORKLOADS, Workload
from tests.store.lossy_disk import (
    ANYTHING,
    EVERYTHING,
    EXTREMES,
    MIXED,
    Arrival,
    Stopped,
    Tree,
    read_tree,
    restart_from,
)
from tests.store.support import DEVICE, all_of, failing_from, failing_once, open_store
from walkapp.errors import StoreError

MEMORY = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
"""A folder in memory, where there is one; otherwise that of the system for temporary files."""
ERRORS = (errno.ENOSPC, errno.EIO, errno.EROFS, errno.EDQUOT, errno.EFBIG, errno.EINTR)


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One way to run a workload.

    Parameters
    ----------
    workload
        Its place in :data:`WORKLOADS`.
    fail_at, error, lasts, halves
        At which operation, counted from 1, the system refuses (0 for never), with which error, whether
        it refuses everything from there on, and whether a refused write takes half of its bytes first.
    stop_at
        Before which operation the program is stopped and started again (0 for never).
    byte_step
        Within each write, which points are looked at too: every byte (1), every n-th, or none (0).
    """

    workload: int
    fail_at: int = 0
    error: int = errno.EIO
    lasts: bool = False
    halves: bool = False
    stop_at: int = 0
    byte_step: int = 0

    def __str__(self) -> str:
        words = [WORKLOADS[self.workload].name]
        if self.stop_at:
            words.append(f"stopped at {self.stop_at} and started again")
        if self.fail_at:
            error = errno.errorcode[self.error] + (" from" if self.lasts else " at")
            words.append(f"{error} {self.fail_at}{' with half a write' if self.halves else ''}")
        return ", ".join(words)


class Bench:
    """Runs workloads in a scratch folder, best one in memory.

    Parameters
    ----------
    scratch
        An empty folder.
    disk
        Makes the disk; the controls pass wrong ones.
    hand
        Makes the hand that works; the controls pass wrong ones.
    draws
        Which states are drawn by chance at each point, besides the extremes.
    again
        Share of the states whose opening is itself stopped at every operation.
    reopened_share
        One in so many states is opened more than once, see :class:`Judge`.
    """

    def __init__(
        self,
        scratch: Path,
        *,
        disk: Callable[..., WorkDisk] = WorkDisk,
        hand: Callable[..., Hand] = Hand,
        draws: tuple[Arrival, ...] = (ANYTHING, ANYTHING, MIXED),
        again: float = 0.02,
        reopened_share: int = 1,
    ) -> None:
        self._scratch = scratch
        self._make_disk = disk
        self._make_hand = hand
        self._draws = draws
        self._again = again
        self._reopened_share = reopened_share
        self._before: dict[str, tuple[Tree, Ledger]] = {}
        self._pictures = scratch / "pictures"
        self._pictures.mkdir()
        for name, data in PICTURES.items():
            (self._pictures / name).write_bytes(data)

    def run(self, run: Run, seed: int) -> tuple[Tally, Tally, int]:
        """Run one workload.

        Returns
        -------
        Tally
            The crash points of the work.
        Tally
            Those of openings after a crash.
        int
            How many operations there were.
        """
        chance = Random(f"{seed} {run}")
        tallies = Tally(), Tally()
        judges = [Judge(self._scratch, tally, self._reopened_share) for tally in tallies]
        look = _Look(self._scratch, chance, judges, draws=self._draws, again=self._again)
        workload = WORKLOADS[run.workload]
        before, ledger = self._start(workload)
        root = self._scratch / "root"
        shutil.rmtree(root, ignore_errors=True)
        restart_from(before, root)
        ledger = ledger.copy()
        self._bytes = 0

        def on_point(name: str, is_partial: bool) -> None:
            if is_partial:
                self._bytes += 1
            if not is_partial or (run.byte_step and self._bytes % run.byte_step == 0):
                look.at_point(disk, ledger, f"{run}, {name} {disk.count}", is_partial=is_partial)

        disk = self._make_disk(root, on_point=on_point, fails=_failing(run), halves=run.halves)
        disk.stop_at = run.stop_at or None
        disk.stop_in_write = chance.random()
        hand = self._make_hand(root, disk, ledger, self._pictures)
        _work(workload, hand, disk)
        on_point("end", False)
        return *tallies, disk.count

    def _start(self, workload: Workload) -> tuple[Tree, Ledger]:
        if workload.name not in self._before:
            root = self._scratch / "before"
            root.mkdir()
            ledger = workload.prepare(root)
            self._before[workload.name] = read_tree(root), ledger
            shutil.rmtree(root)
        return self._before[workload.name]


def _failing(run: Run) -> Callable[[str, int], int | None]:
    if not run.fail_at:
        return lambda name, count: None
    return (failing_from if run.lasts else failing_once)(run.fail_at, run.error)


def _work(workload: Workload, hand: Hand, disk: WorkDisk) -> None:
    """Do every step; after a stop, start again and go on with the step under way."""
    steps = list(workload.steps)
    try:
        while steps:
            try:
                if workload.needs_store and not hand.is_open:
                    hand.open()
                    if not hand.is_open:
                        return
                while steps:
                    steps[0](hand)
                    steps.pop(0)
            except Stopped:
                hand.leave()
                disk.start_again()
    finally:
        hand.leave()


class _Look:
    """Builds crash states at a point and has them judged."""

    def __init__(
        self,
        scratch: Path,
        chance: Random,
        judges: list[Judge],
        *,
        draws: tuple[Arrival, ...],
        again: float,
    ) -> None:
        self._scratch = scratch
        self._chance = chance
        self._of_work, self._of_opening = judges
        self._draws = draws
        self._again = again

    def at_point(self, disk: WorkDisk, ledger: Ledger, where: str, *, is_partial: bool) -> None:
        """Look at what a stop or a power cut would leave now."""
        self._of_work.tally.points += 1
        for arrival, state in self._states(disk, is_partial=is_partial):
            if self._of_work.look(state, ledger, f"{where}, {arrival}") and self._opens_again(ledger):
                self._stop_its_opening(state, ledger, where)

    def _states(self, disk: WorkDisk, *, is_partial: bool) -> Iterator[tuple[object, Tree]]:
        arrivals = [EVERYTHING]
        if not is_partial:
            arrivals += [*EXTREMES, *self._draws]
        elif self._chance.random() < 0.1:
            # Every byte with every arrival would be the same few states over and over.
            arrivals.append(ANYTHING)
        for arrival in arrivals:
            yield arrival, disk.crash_state(arrival, self._chance)

    def _opens_again(self, ledger: Ledger) -> bool:
        return bool(ledger.device) and self._chance.random() < self._again

    def _stop_its_opening(self, state: Tree, ledger: Ledger, where: str) -> None:
        """Open a crash state and stop that at every operation: a second fault after the first."""
        root = self._scratch / "again"
        shutil.rmtree(root, ignore_errors=True)
        restart_from(state, root)
        kept = {name: data for name, data in state.items() if name.startswith("store/journals/own/")}
        ledger = ledger.copy()
        ledger.kept = {name: data for name, data in kept.items() if data is not None}

        def on_point(name: str, is_partial: bool) -> None:
            if is_partial:
                return
            self._of_opening.tally.points += 1
            for arrival in (EVERYTHING, *EXTREMES, ANYTHING):
                self._of_opening.look(
                    disk.crash_state(arrival, self._chance),
                    ledger,
                    f"{where}, then opening, {name} {disk.count}, {arrival}",
                )

        disk = WorkDisk(root, on_point=on_point)
        try:
            with open_store(root / "store", device=DEVICE, disk=disk) as store:
                all_of(store)
        except StoreError:
            return
