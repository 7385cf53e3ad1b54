"""What the tests of the store share: ids, invented records, disks that fail."""

from __future__ import annotations

import errno
import itertools
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from walkapp.files import Disk
from walkapp.model.ids import compose_uuid7
from walkapp.model.records import Answer, Concern, Note, Photo, Record, WalkStart
from walkapp.store import Store

BEGIN = datetime(2026, 3, 2, 6, 10, tzinfo=UTC)


def make_id(n: int) -> str:
    """The same id for the same number."""
    return compose_uuid7(1_772_431_800_000 + n, 0, n)


def id_maker(start: int) -> Callable[[], str]:
    numbers = itertools.count(start)
    return lambda: make_id(next(numbers))


CONCERN = make_id(1)
WALK = make_id(2)
OTHER_WALK = make_id(3)
DEVICE = make_id(900)
OTHER_DEVICE = make_id(901)


def open_store(
    folder: Path, *, device: str = DEVICE, writable: bool = True, disk: Disk | None = None
) -> Store:
    return Store(
        folder,
        now=lambda: BEGIN,
        new_id=lambda: device,
        app="0.1.0",
        writable=writable,
        disk=disk or Disk(),
    )


def head(number: int, *, device: str = DEVICE, walk: str = WALK, key: int | None = None, **more) -> dict:
    return {
        "id": make_id(number if key is None else key),
        "device": device,
        "number": number,
        "at": "2026-03-02T06:10:00+01:00",
        "by": "QE ab",
        "concern": CONCERN,
        "walk": walk,
        **more,
    }


def note(number: int, words: str = "clamp pads look new", **more) -> Note:
    more.setdefault("key", 1000 + number)
    return Note(**head(number, **more), station="leak-test", words=words)


def answer(number: int, **more) -> Answer:
    more.setdefault("key", 1000 + number)
    return Answer(**head(number, **more), station="welding", check="ear", answer="ok")


def concern(number: int = 1, **more) -> Concern:
    more.setdefault("key", 1)
    return Concern(
        **head(number, walk="", **more),
        stream="washer-reservoir",
        defect="cracked-ear",
        what="Ears are whitened and cracked",
        severity="function",
    )


def walk_start(number: int = 2, **more) -> WalkStart:
    more.setdefault("key", 2)
    return WalkStart(
        **head(number, **more), stream="washer-reservoir", checklist="ab" * 32, direction="down"
    )


def photo(number: int, sha256: str, **more) -> Photo:
    more.setdefault("key", 1000 + number)
    return Photo(
        **head(number, **more),
        station="leak-test",
        sha256=sha256,
        media="image/png",
        size_bytes=10,
        width_px=1,
        height_px=1,
        invented=True,
    )


def begin_walk(store: Store, notes: int) -> list[Record]:
    """A concern, a walk and some notes, all saved."""
    records: list[Record] = [concern(), walk_start(), *(note(n) for n in range(3, 3 + notes))]
    for record in records:
        store.append(record)
    return records


def all_of(store: Store) -> list[Record]:
    return list(store.all_records())


def own_journal(folder: Path, scope: str = WALK, part: int = 1) -> Path:
    middle = "" if part == 1 else f".{part}"
    return folder / "journals" / "own" / f"{scope}{middle}.journal"


def tree(folder: Path) -> dict[str, bytes]:
    """Every file of a folder, without the reserve and the lock, which hold nothing."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.name not in ("ballast", "lock")
    }


class HastyDisk(Disk):
    """Waits for nothing and reserves no room, for tests that open a store thousands of times."""

    def sync(self, file):
        pass

    def sync_folder(self, path):
        pass

    def reserve(self, path, size_bytes):
        path.write_bytes(b"")


class FailingDisk(Disk):
    """Lets chosen operations fail.

    ``fails`` is asked before each operation with its name and its number, counted from 1; it gives
    the error's number or ``None``. A failing write first writes half of its bytes when `halves`.
    """

    def __init__(self, fails: Callable[[str, int], int | None], *, halves: bool = False) -> None:
        self._fails = fails
        self._halves = halves
        self.count = 0
        self.log: list[str] = []

    def _step(self, name: str) -> None:
        self.count += 1
        self.log.append(name)
        number = self._fails(name, self.count)
        if number is not None:
            raise OSError(number, errno.errorcode[number])

    def open_append(self, path):
        self._step("open_append")
        return super().open_append(path)

    def create(self, path):
        self._step("create")
        return super().create(path)

    def create_private(self, path):
        self._step("create_private")
        return super().create_private(path)

    def write(self, file, data):
        try:
            self._step("write")
        except OSError:
            if self._halves:
                super().write(file, data[: len(data) // 2])
            raise
        return super().write(file, data)

    def sync(self, file):
        self._step("sync")
        super().sync(file)

    def truncate(self, file, size_bytes):
        self._step("truncate")
        super().truncate(file, size_bytes)

    def rename(self, source, target):
        self._step("rename")
        super().rename(source, target)

    def remove(self, path):
        self._step("remove")
        super().remove(path)

    def make_folder(self, path):
        self._step("make_folder")
        super().make_folder(path)

    def sync_folder(self, path):
        self._step("sync_folder")
        super().sync_folder(path)

    def reserve(self, path, size_bytes):
        self._step("reserve")
        super().reserve(path, size_bytes)


def failing_once(n: int, number: int = errno.EIO) -> Callable[[str, int], int | None]:
    return lambda name, count: number if count == n else None


def failing_from(n: int, number: int = errno.EIO) -> Callable[[str, int], int | None]:
    return lambda name, count: number if count >= n else None


def failing_named(
    *names: str, number: int = errno.EIO, times: int = 1_000_000
) -> Callable[[str, int], int | None]:
    left = itertools.count(times, -1)
    return lambda name, count: number if name in names and next(left) > 0 else None
