"""``python -m tests.soak.power_cuts``: what is left on a real file system when the power goes.

A writer works on a small ext4 in a file. At a random moment that file is held still and copied as it is;
the copy is mounted, and the store on it opened. Everything that had been said to be saved by then has to be
there. Two controls have to lose records: the same writer without ``fsync``, and SQLite with a
write-ahead log and ``synchronous=NORMAL``; SQLite with ``FULL`` must not, or the method would be too hard.

The file lies on a second file system, which is frozen (``FIFREEZE``) for the copy. That stops the writer's
disk between any two of its blocks, so that states inside an ``fsync`` are met too; the report says how
often. What is not seen: a medium that says "done" and keeps data in a memory of its own, and blocks that
are torn or reordered (the tests of the store make such states up). Only ext4 is tried.

Needs Linux, root and loop devices. The mounts lie in a name space of their own, so that they go with this
process however it ends; only a kill within the few milliseconds of a copy can leave a frozen file system
behind.
"""

from __future__ import annotations

import argparse
import contextlib
import fcntl
import json
import mmap
import os
import random
import select
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.soak.work import Left, Told, look_at, work
from tests.store.support import HastyDisk, open_store
from walkapp.files import Disk

TOOLS = ("losetup", "mkfs.ext4", "mount", "umount", "unshare")
OWN_MOUNTS = "WALKAPP_SOAK_OWN_MOUNTS"
FIFREEZE, FITHAW = 0xC0045877, 0xC0045878  # linux/fs.h, from memory
DISK_MB, OUTER_MB = 32, 64
CUTS_A_DISK = 10
MOST_WAIT_S = 0.15
HELD_S = 0.005


class MissingError(Exception):
    """This machine cannot do it; the text says why."""


def what_is_missing() -> str:
    """Say in one sentence why power cuts cannot be tried here; empty when nothing seems to be missing."""
    if sys.platform != "linux":
        return "Power cuts need Linux with loop devices: run this command there."
    if os.geteuid() != 0:
        return "Power cuts need root, to mount small file systems: run this command as root."
    tools = [tool for tool in TOOLS if shutil.which(tool) is None]
    if tools:
        return f"Power cuts need the command {tools[0]}: install util-linux and e2fsprogs."
    if not Path("/dev/loop-control").exists():
        return "Power cuts need loop devices, and this machine has none (/dev/loop-control is missing)."
    return ""


def _run(*call: str | Path) -> None:
    done = subprocess.run(call, capture_output=True, text=True)
    if done.returncode:
        words = " ".join(done.stderr.split()) or f"status {done.returncode}"
        raise MissingError(f"Power cuts cannot be tried here: {call[0]} refused ({words}).")


@contextlib.contextmanager
def mounted(image: Path, place: Path) -> Iterator[Path]:
    """Mount a file as a disk; its loop device is freed with it."""
    place.mkdir(exist_ok=True)
    _run("mount", "-o", "loop", image, place)
    try:
        yield place
    finally:
        for _ in range(50):
            if subprocess.run(["umount", place], capture_output=True).returncode == 0:
                break
            time.sleep(0.05)


def make_ext4(image: Path, size_mb: int) -> None:
    """Make a file that holds an empty ext4."""
    with image.open("wb") as file:
        file.truncate(size_mb << 20)
    _run("mkfs.ext4", "-q", "-F", "-E", "lazy_itable_init=0,lazy_journal_init=0", image)


def copy_held_still(outer: Path, image: Path, copy: Path, look: Callable[[], None]) -> None:
    """Copy a disk at one moment, between two of its blocks; `look` is called while it is held still."""
    folder = os.open(outer, os.O_RDONLY)
    try:
        fcntl.ioctl(folder, FIFREEZE, 0)
        try:
            look()
            shutil.copyfile(image, copy)
        finally:
            fcntl.ioctl(folder, FITHAW, 0)
    finally:
        os.close(folder)


# The writers: each works in a child on a folder, and says what is saved.

Flag = mmap.mmap
Writer = Callable[[Path, int, Callable[[dict], None], Flag], None]


class _Watched(Disk):
    """Says in shared memory whether a sync is under way."""

    def __init__(self, flag: Flag) -> None:
        self._flag = flag

    def sync(self, file: int) -> None:
        self._flag[0] = 1
        super().sync(file)
        self._flag[0] = 0

    def sync_folder(self, path: Path) -> None:
        self._flag[0] = 1
        super().sync_folder(path)
        self._flag[0] = 0


def write_store(folder: Path, seed: int, tell: Callable[[dict], None], flag: Flag) -> None:
    """Work on a store as it is."""
    _work(folder, seed, tell, _Watched(flag))


def write_without_fsync(folder: Path, seed: int, tell: Callable[[dict], None], flag: Flag) -> None:
    """Work on a store that waits for nothing: a control."""
    _work(folder, seed, tell, HastyDisk())


def _work(folder: Path, seed: int, tell: Callable[[dict], None], disk: Disk) -> None:
    (folder / "bundles").mkdir(exist_ok=True)
    with open_store(folder / "store", disk=disk) as store:
        tell({})
        work(store, seed, tell, bundles=folder / "bundles")


def look_at_store(folder: Path, told: Told) -> Left:
    """See what is left of a store."""
    if not told.saved and not (folder / "store" / "store.json").exists():
        return Left(lost=0, problems=())
    return look_at(folder / "store", told, folder / "bundles")


def write_sqlite(synchronous: str) -> Writer:
    """Make a writer that appends rows to an SQLite database with a write-ahead log."""

    def write(folder: Path, seed: int, tell: Callable[[dict], None], flag: Flag) -> None:
        base = sqlite3.connect(folder / "rows.db", isolation_level=None)
        base.execute("PRAGMA journal_mode=WAL")
        base.execute(f"PRAGMA synchronous={synchronous}")
        base.execute("CREATE TABLE IF NOT EXISTS rows (id TEXT PRIMARY KEY, words TEXT)")
        first = base.execute("SELECT count(*) FROM rows").fetchone()[0]
        os.sync()
        tell({})
        for number in range(first, 10**9):
            base.execute("INSERT INTO rows VALUES (?, ?)", (str(number), "warm " * 60))
            tell({"saved": [[str(number), ""]]})

    return write


def look_at_sqlite(folder: Path, told: Told) -> Left:
    """See what is left of an SQLite database."""
    try:
        with contextlib.closing(sqlite3.connect(folder / "rows.db")) as base:
            found = {row[0] for row in base.execute("SELECT id FROM rows")}
    except sqlite3.Error as error:
        return Left(lost=len(told.saved), problems=(f"the database cannot be read: {error}",))
    lost = len(told.saved.keys() - found)
    return Left(lost=lost, problems=(f"{lost} rows are lost",) if lost else ())


@dataclass
class Tally:
    """What came of some cuts.

    Parameters
    ----------
    cuts, in_sync
        How often the power went, and how often in the middle of a sync.
    told, lost, with_loss
        Records said to be saved at the cuts, how many of them were gone, and at how many cuts.
    problems
        All that was wrong.
    """

    cuts: int = 0
    in_sync: int = 0
    told: int = 0
    lost: int = 0
    with_loss: int = 0
    problems: tuple[str, ...] = ()


class _Child:
    """A writer at work in a process of its own."""

    def __init__(self, writer: Writer, folder: Path, seed: int) -> None:
        self.flag = mmap.mmap(-1, 1)
        self._read, write = os.pipe()
        self._said = b""
        self._pid = os.fork()
        if self._pid == 0:
            try:
                signal.signal(signal.SIGTERM, signal.SIG_DFL)
                _die_with_parent()
                writer(folder, seed, lambda said: _say(write, said), self.flag)
            finally:
                os._exit(3)
        os.close(write)
        while b"\n" not in self._said:
            heard = os.read(self._read, 1 << 16)
            assert heard, "the writer ended before it had begun"
            self._said += heard

    def listen(self, seconds: float) -> None:
        """Hear what the writer says for a while; a full pipe would hold it up."""
        end = time.monotonic() + seconds
        while True:
            left = max(end - time.monotonic(), 0)
            if not select.select([self._read], [], [], left)[0]:
                return
            self._said += os.read(self._read, 1 << 20)
            if left == 0:
                return

    def told(self) -> Told:
        """Give what has been said so far."""
        told = Told()
        told.hear(self._said)
        return told

    def end(self) -> None:
        """Kill it."""
        os.kill(self._pid, signal.SIGKILL)
        os.waitpid(self._pid, 0)
        os.close(self._read)


def _say(pipe: int, said: dict) -> None:
    data = json.dumps(said).encode() + b"\n"
    while data:
        data = data[os.write(pipe, data) :]


def _die_with_parent() -> None:
    import ctypes

    ctypes.CDLL(None).prctl(1, signal.SIGKILL)  # PR_SET_PDEATHSIG


def cut(scratch: Path, count: int, seed: int, writer: Writer, look: Callable[[Path, Told], Left]) -> Tally:
    """Let a writer work and cut its power a number of times.

    Parameters
    ----------
    scratch
        An empty folder.
    count, seed
        How many cuts, and what gives the work and the moments.
    writer, look
        Who writes, and who sees what is left.
    """
    chance = random.Random(seed)
    tally = Tally()
    while tally.cuts < count:
        make_ext4(scratch / "outer.img", OUTER_MB)
        with mounted(scratch / "outer.img", scratch / "outer") as outer:
            make_ext4(outer / "disk.img", DISK_MB)
            with mounted(outer / "disk.img", scratch / "disk") as disk:
                os.sync()  # The empty disk itself is there before the first cut.
                child = _Child(writer, disk, chance.randrange(2**32))
                try:
                    for _ in range(min(CUTS_A_DISK, count - tally.cuts)):
                        child.listen(chance.uniform(0, MOST_WAIT_S))
                        _cut_once(child, outer, scratch, look, tally)
                finally:
                    child.end()
    return tally


def _cut_once(
    child: _Child, outer: Path, scratch: Path, look: Callable[[Path, Told], Left], tally: Tally
) -> None:
    copy = scratch / "copy.img"
    told: list[Told] = []
    is_in_sync = False

    def watch() -> None:
        # From here on nothing reaches the disk: whoever still says "saved" has to have it there already.
        nonlocal is_in_sync
        child.listen(HELD_S)
        told.append(child.told())
        is_in_sync = bool(child.flag[0])

    copy_held_still(outer, outer / "disk.img", copy, watch)
    many = len(told[0].saved)
    with mounted(copy, scratch / "after") as folder:
        left = look(folder, told[0])
    tally.cuts += 1
    tally.in_sync += is_in_sync
    tally.told += many
    tally.lost += left.lost
    tally.with_loss += bool(left.lost)
    tally.problems += left.problems


ROWS: tuple[tuple[str, bool, Writer, Callable[[Path, Told], Left]], ...] = (
    ("the store", False, write_store, look_at_store),
    ("control: the store without fsync", True, write_without_fsync, look_at_store),
    ("SQLite, write-ahead log, FULL", False, write_sqlite("FULL"), look_at_sqlite),
    ("control: SQLite, write-ahead log, NORMAL", True, write_sqlite("NORMAL"), look_at_sqlite),
)
"""Name, whether it has to lose records, who writes and who looks."""


def main(arguments: list[str] | None = None) -> int:
    """Cut the power of each writer."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.soak.power_cuts", description=__doc__.split("\n")[0]
    )
    parser.add_argument("--count", type=int, default=40, help="cuts of the store (default %(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="seed (default %(default)s)")
    call = parser.parse_args(arguments)
    if missing := what_is_missing():
        sys.stderr.write(f"{missing}\n")
        return 2
    if OWN_MOUNTS not in os.environ:
        module = [sys.executable, "-m", "tests.soak.power_cuts"]
        again = [*module, "--count", str(call.count), "--seed", str(call.seed)]
        os.environ[OWN_MOUNTS] = "yes"
        os.execvp("unshare", ["unshare", "--mount", "--propagation", "private", *again])
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(2))
    is_good = True
    try:
        with tempfile.TemporaryDirectory(prefix="walkapp-power-") as scratch:
            for number, (name, loses, writer, look) in enumerate(ROWS):
                folder = Path(scratch) / str(number)
                folder.mkdir()
                count = call.count if writer is write_store else max(call.count // 2, 5)
                is_good &= _tell(name, loses, cut(folder, count, call.seed, writer, look))
    except MissingError as missing:
        sys.stderr.write(f"{missing}\n")
        return 2
    except KeyboardInterrupt:
        sys.stderr.write("Stopped; everything that was mounted is gone again.\n")
        return 2
    return 0 if is_good else 1


def _tell(name: str, loses: bool, tally: Tally) -> bool:
    is_as_it_should = bool(tally.lost) if loses else not tally.problems
    verdict = "as it should be" if is_as_it_should else "WRONG"
    print(
        f"{name}: {tally.cuts} cuts ({tally.in_sync} inside a sync), {tally.told} records said to be "
        f"saved, {tally.lost} lost at {tally.with_loss} cuts: {verdict}",
        flush=True,
    )
    for problem in () if loses else tally.problems[:10]:
        print(f"  {problem}")
    return is_as_it_should


if __name__ == "__main__":
    raise SystemExit(main())
