"""Wrong disks, writers and readers: a search that does not catch them proves nothing."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

from tests.soak.crash_hand import Hand, WorkDisk
from tests.soak.crash_judge import ALTERED, LOST, PHOTOS, Tally
from tests.soak.crash_runs import Bench, Run
from tests.soak.crash_workloads import WORKLOADS
from tests.store.lossy_disk import MIXED, Arrival
from tests.store.support import photo
from walkapp.store import reading
from walkapp.store.lines import LineError, decode_line


class NoSync(WorkDisk):
    """Says that the content of a file is on the medium, and waits for nothing."""

    def sync(self, file: int) -> None:
        self._step("sync")


class NoFolderSync(WorkDisk):
    """Says that the names in a folder are on the medium, and waits for nothing."""

    def sync_folder(self, path: Path) -> None:
        self._step("sync_folder")


class SyncAgain(WorkDisk):
    """Asks once more when a sync has failed, and believes the answer."""

    def sync(self, file: int) -> None:
        try:
            super().sync(file)
        except OSError:
            super().sync(file)


class RecordFirst(Hand):
    """Records a picture before it keeps it."""

    def take_photo(self, name: str, walk: str = "") -> None:
        self.save(lambda number, key: photo(number, name[:64], key=key))
        self.keep_picture(name)


def believe_any_line(line: bytes) -> dict[str, Any]:
    """Read a line without a look at its checksum."""
    try:
        found = json.loads(line[9:].decode("ascii"))
    except ValueError:
        return decode_line(line)
    if not isinstance(found, dict):
        raise LineError("it is not a JSON object")
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """Something wrong, the work in which it shows, and what it has to be caught at."""

    name: str
    work: str
    caught_at: str
    disk: Callable[..., WorkDisk] = WorkDisk
    hand: Callable[..., Hand] = Hand
    reader: Callable[[bytes], dict[str, Any]] = decode_line
    draws: tuple[Arrival, ...] = ()


CONTROLS = (
    Control(name="a disk that skips fsync", work="later records", caught_at=LOST, disk=NoSync),
    Control(name="a rename without the folder's sync", work="merging", caught_at=LOST, disk=NoFolderSync),
    Control(
        name="a second fsync after a failed one is believed",
        work="next journal after a failure",
        caught_at=LOST,
        disk=SyncAgain,
    ),
    Control(
        name="a photo recorded before it is kept",
        work="taking photos in",
        caught_at=PHOTOS,
        hand=RecordFirst,
    ),
    Control(
        name="a reader that ignores the checksum",
        work="later records",
        caught_at=ALTERED,
        reader=believe_any_line,
        draws=(MIXED,) * 120,
    ),
)


def catch(control: Control, scratch: Path, seed: int) -> Tally:
    """Run a control; the tally has to hold what it must be caught at."""
    scratch.mkdir()
    bench = Bench(scratch, disk=control.disk, hand=control.hand, draws=control.draws, again=0)
    names = [workload.name for workload in WORKLOADS]
    with patch.object(reading, "decode_line", control.reader):
        tally, _, _ = bench.run(Run(workload=names.index(control.work)), seed)
    return tally
