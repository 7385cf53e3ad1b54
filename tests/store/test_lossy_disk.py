"""The model of the disk keeps what a sync promises, and nothing else for certain."""

from __future__ import annotations

import errno
from pathlib import Path
from random import Random

import pytest

from tests.store.lossy_disk import (
    ANYTHING,
    EVERYTHING,
    EXTREMES,
    NOTHING,
    SECTOR_BYTES,
    Arrival,
    LossyDisk,
    Stopped,
    read_tree,
    restart_from,
)
from tests.store.support import failing_named
from walkapp.files import write_all

NAMES_ALONE, DATA_ALONE, ZEROS, NOISE = EXTREMES[1:5]


@pytest.fixture
def root(tmp_path: Path) -> Path:
    (tmp_path / "root").mkdir()
    return tmp_path / "root"


def _left(disk: LossyDisk, arrival: Arrival, seed: int = 1) -> dict:
    return disk.crash_state(arrival, Random(seed))


def _written(disk: LossyDisk, path: Path, data: bytes, *, synced: bool) -> int:
    file = disk.open_append(path)
    write_all(file, data, disk)
    if synced:
        disk.sync(file)
    return file


def test_without_a_sync_a_file_may_have_any_part_of_it(root):
    disk = LossyDisk(root)
    disk.close(_written(disk, root / "a", b"new" * 400, synced=False))

    assert _left(disk, EVERYTHING) == {"a": b"new" * 400} == read_tree(root)
    assert _left(disk, NOTHING) == {}
    assert _left(disk, NAMES_ALONE) == {"a": b""}
    assert _left(disk, DATA_ALONE) == {}
    assert _left(disk, ZEROS) == {"a": bytes(1200)}
    assert len(_left(disk, NOISE)["a"]) == 1200
    found = {_left(disk, ANYTHING, seed).get("a") for seed in range(300)}
    first, second = (b"new" * 400)[:SECTOR_BYTES], (b"new" * 400)[SECTOR_BYTES : 2 * SECTOR_BYTES]
    assert {None, b"", b"new" * 400} <= found
    assert any(d and d[:SECTOR_BYTES] == first and second not in d for d in found), "a lost sector"
    assert any(d and second in d and not d.startswith(first[:9]) for d in found), "out of order"
    assert any(d and 0 < len(d) < 1200 for d in found), "a length between"


def test_a_synced_file_keeps_its_content_but_not_its_name(root):
    disk = LossyDisk(root)
    file = _written(disk, root / "a", b"old", synced=True)
    write_all(file, b" and new", disk)
    disk.close(file)

    assert _left(disk, NOTHING) == {}
    assert _left(disk, NAMES_ALONE) == {"a": b"old"}
    disk.sync_folder(root)
    for seed in range(100):
        assert _left(disk, ANYTHING, seed)["a"].startswith(b"old")
    assert _left(disk, NOTHING) == {"a": b"old"}


def test_a_synced_folder_keeps_its_names_but_not_their_content_nor_its_own_name(root):
    disk = LossyDisk(root)
    disk.make_folder(root / "in")
    disk.close(_written(disk, root / "in" / "a", b"new", synced=False))
    disk.sync_folder(root / "in")

    assert _left(disk, NOTHING) == {}
    disk.sync_folder(root)
    assert _left(disk, NOTHING) == {"in": None, "in/a": b""}


def test_a_renamed_file_is_the_old_target_or_the_new_one_and_may_keep_its_old_name(root):
    (root / "a").write_bytes(b"old")
    disk = LossyDisk(root)
    disk.close(_written(disk, root / "b", b"new", synced=True))
    disk.sync_folder(root)
    disk.rename(root / "b", root / "a")

    found = {tuple(_left(disk, ANYTHING, seed).items()) for seed in range(100)}
    assert found == {
        (("a", b"old"), ("b", b"new")),
        (("a", b"new"), ("b", b"new")),
        (("a", b"old"),),
        (("a", b"new"),),
    }
    disk.sync_folder(root)
    assert {tuple(_left(disk, ANYTHING, seed).items()) for seed in range(100)} == {(("a", b"new"),)}


def test_a_renamed_folder_takes_its_names_with_it(root):
    disk = LossyDisk(root)
    disk.make_folder(root / "in")
    disk.make_folder(root / "to")
    disk.sync_folder(root)
    disk.make_folder(root / "in" / "x")
    disk.close(_written(disk, root / "in" / "x" / "a", b"new", synced=True))
    disk.sync_folder(root / "in" / "x")
    disk.rename(root / "in" / "x", root / "to" / "y")

    disk.sync_folder(root / "to")

    assert _left(disk, NOTHING) == {"in": None, "to": None, "to/y": None, "to/y/a": b"new"}


def test_a_removed_file_may_come_back_until_its_folder_is_synced(root):
    (root / "a").write_bytes(b"old")
    disk = LossyDisk(root)
    disk.remove(root / "a")

    assert _left(disk, NOTHING) == {"a": b"old"}
    assert _left(disk, EVERYTHING) == {}
    disk.sync_folder(root)
    assert _left(disk, NOTHING) == {}


def test_what_was_cut_off_may_come_back_until_a_sync(root):
    (root / "a").write_bytes(b"old and more")
    disk = LossyDisk(root)
    file = disk.open_append(root / "a")
    disk.truncate(file, 3)

    assert {_left(disk, ANYTHING, seed)["a"][:3] for seed in range(100)} == {b"old"}
    assert {_left(disk, ANYTHING, seed)["a"] for seed in range(200)} >= {b"old", b"old and more"}
    disk.sync(file)
    disk.close(file)
    assert _left(disk, NOTHING) == {"a": b"old"}


def test_after_a_failed_sync_the_bytes_may_be_lost_although_a_later_one_succeeds(root):
    (root / "a").write_bytes(b"o" * SECTOR_BYTES)
    disk = LossyDisk(root, fails=failing_named("sync", times=1))
    file = _written(disk, root / "a", b"n" * SECTOR_BYTES, synced=False)
    with pytest.raises(OSError, match="EIO"):
        disk.sync(file)
    disk.sync(file)

    assert _left(disk, NOTHING) == {"a": b"o" * SECTOR_BYTES}
    assert _left(disk, EVERYTHING) == {"a": b"o" * SECTOR_BYTES + b"n" * SECTOR_BYTES}
    write_all(file, b"later", disk)
    disk.sync(file)
    disk.close(file)
    lost = b"o" * SECTOR_BYTES + bytes(SECTOR_BYTES) + b"later"
    assert {_left(disk, Arrival(sectors="old", fill="zeros"))["a"]} == {lost}


def test_a_torn_sector_never_hurts_bytes_that_stay_the_same(root):
    (root / "a").write_bytes(b"kept " * 30)
    disk = LossyDisk(root)
    disk.close(_written(disk, root / "a", b"new " * 200, synced=False))

    found = {_left(disk, ANYTHING, seed)["a"] for seed in range(200)}

    assert all(data.startswith(b"kept " * 30) for data in found)
    assert len(found) > 50


def test_every_byte_of_a_write_is_a_point(root):
    seen: list[tuple[str, bool, bytes]] = []
    disk = LossyDisk(
        root, on_point=lambda name, part: seen.append((name, part, _left(disk, EVERYTHING)["a"]))
    )

    disk.close(_written(disk, root / "a", b"new", synced=False))

    assert seen == [
        ("open_append", False, b""),
        ("write", True, b"n"),
        ("write", True, b"ne"),
        ("write", False, b"new"),
    ]


def test_a_stopped_program_changes_nothing_more(root):
    disk = LossyDisk(root)
    file = disk.open_append(root / "a")
    disk.stop_at, disk.stop_in_write = 2, 0.5

    for action in (
        lambda: disk.write(file, b"1234"),
        lambda: disk.sync(file),
        lambda: disk.remove(root / "a"),
    ):
        with pytest.raises(Stopped):
            action()

    assert read_tree(root) == {"a": b"12"} == _left(disk, EVERYTHING)
    disk.start_again()
    disk.sync(file)
    disk.close(file)
    assert _left(disk, NAMES_ALONE) == {"a": b"12"}


def test_a_refused_operation_changes_nothing_but_half_a_write(root):
    points: list[str] = []
    disk = LossyDisk(
        root,
        on_point=lambda name, part: points.append(name),
        fails=lambda name, count: errno.ENOSPC if count > 1 else None,
        halves=True,
    )
    file = disk.open_append(root / "a")
    for action in (
        lambda: disk.write(file, b"1234"),
        lambda: disk.truncate(file, 0),
        lambda: disk.rename(root / "a", root / "b"),
        lambda: disk.remove(root / "a"),
        lambda: disk.make_folder(root / "c"),
        lambda: disk.sync_folder(root),
        lambda: disk.reserve(root / "d", 10),
        lambda: disk.create(root / "e"),
    ):
        with pytest.raises(OSError, match="ENOSPC"):
            action()
    disk.close(file)

    assert read_tree(root) == {"a": b"12"} == _left(disk, EVERYTHING)
    assert len(points) == 9


def test_a_crash_state_can_be_built_as_a_folder(root, tmp_path):
    disk = LossyDisk(root)
    disk.make_folder(root / "in")
    disk.close(_written(disk, root / "in" / "a", b"new", synced=False))

    restart_from(_left(disk, EVERYTHING), tmp_path / "after")

    assert read_tree(tmp_path / "after") == read_tree(root)
