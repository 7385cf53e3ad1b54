"""Disks that refuse, fill up or lose power: nothing that was confirmed is lost."""

from __future__ import annotations

import contextlib
import errno
import shutil
from pathlib import Path
from random import Random

import pytest

from tests.store.lossy_disk import NOTHING, LossyDisk, Stopped, restart_from
from tests.store.support import (
    CONCERN,
    DEVICE,
    OTHER_DEVICE,
    OTHER_WALK,
    WALK,
    FailingDisk,
    HastyDisk,
    all_of,
    answer,
    begin_walk,
    concern,
    failing_from,
    failing_named,
    failing_once,
    note,
    open_store,
    own_journal,
    tree,
    walk_start,
)
from walkapp.errors import StoreError
from walkapp.files import sha256_of
from walkapp.store.lines import decode_line


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "store"


def _save_while_it_fails(folder: Path, disk: FailingDisk) -> list:
    """Work as the app does: a record that was refused is tried again with the same id, then left."""
    confirmed = []
    try:
        store = open_store(folder, disk=disk)
    except StoreError:
        return confirmed
    with store:
        for make in (concern, walk_start, note, answer, note, note):
            record = make(store.next_number)
            for _ in range(2):
                try:
                    store.append(record)
                except StoreError as error:
                    assert "nothing saved before is lost" in str(error)
                else:
                    confirmed.append(record)
                    break
            assert confirmed == sorted(all_of(store), key=lambda r: r.number)
    return confirmed


@pytest.mark.parametrize(
    ("failing", "number", "halves"),
    [
        (failing_once, errno.EIO, False),
        (failing_once, errno.EIO, True),
        (failing_once, errno.ENOSPC, True),
        (failing_from, errno.EIO, True),
        (failing_from, errno.ENOSPC, False),
        (failing_from, errno.EROFS, False),
        (failing_from, errno.EDQUOT, True),
        (failing_once, errno.EFBIG, True),
    ],
)
def test_an_error_at_any_operation_loses_no_confirmed_record(tmp_path, number, halves, failing):
    for n in range(1, 80):
        folder = tmp_path / str(n)
        disk = FailingDisk(failing(n, number), halves=halves)
        confirmed = _save_while_it_fails(folder, disk)

        with open_store(folder, disk=HastyDisk()) as store:
            found = sorted(all_of(store), key=lambda r: r.number)
            assert confirmed == found[: len(confirmed)], n
            assert len(found) <= len(confirmed) + 1, n
            store.append(note(store.next_number, "life goes on"))
        before = tree(folder)
        with open_store(folder, disk=HastyDisk()) as again:
            assert [*found, note(again.next_number - 1, "life goes on")] == sorted(
                all_of(again), key=lambda r: r.number
            )
            assert again.notices == ()
        assert before == tree(folder)
        if disk.count < n:
            return
    pytest.fail("the work never got through")


def test_after_a_failed_write_the_same_journal_goes_on(folder):
    with open_store(folder) as store:
        begin_walk(store, 1)
    disk = FailingDisk(failing_named("write", times=2), halves=True)
    with open_store(folder, disk=disk) as store:
        with pytest.raises(StoreError, match="write a bundle"):
            store.append(note(4))
        store.append(note(4))

        assert len(store.records(WALK)) == 3
    assert not own_journal(folder, part=2).exists()


def test_after_a_failed_sync_a_new_journal_is_begun_and_the_record_written_again(folder):
    with open_store(folder) as store:
        begin_walk(store, 1)
        size = own_journal(folder).stat().st_size
    disk = FailingDisk(failing_named("sync", times=1))

    with open_store(folder, disk=disk) as store:
        store.append(note(4))
        store.append(note(5))

    second = own_journal(folder, part=2).read_bytes().splitlines()
    assert decode_line(second[0])["confirmed_bytes"] == [size]
    assert [decode_line(line)["number"] for line in second[1:]] == [4, 5]
    assert disk.log.count("truncate") == 0
    with open_store(folder) as again:
        assert [r.number for r in again.records(WALK)] == [2, 3, 4, 5]
        assert again.notices == ()


def test_what_a_failed_sync_left_in_the_old_journal_does_not_come_back(folder):
    with open_store(folder) as store:
        begin_walk(store, 1)
    disk = FailingDisk(failing_named("sync", times=2))
    with open_store(folder, disk=disk) as store:
        with pytest.raises(StoreError):
            store.append(note(4, "refused"))
        store.append(note(4, "saved", key=77))

    assert b"refused" in own_journal(folder).read_bytes()
    with open_store(folder) as again:
        assert [r.words for r in again.records(WALK)[1:]] == ["clamp pads look new", "saved"]
        assert again.next_number == 5


def test_on_a_full_disk_the_reserve_lets_the_item_be_finished(folder):
    ballast = folder / "ballast"

    class Full(FailingDisk):
        def write(self, file, data):
            if ballast.exists():
                raise OSError(errno.ENOSPC, "full")
            return super().write(file, data)

    with open_store(folder) as store:
        begin_walk(store, 0)
        assert ballast.stat().st_size == 4 * 1024 * 1024
    with open_store(folder, disk=Full(lambda name, n: None)) as store:
        store.append(note(3))
        data = b"invented"
        store.add_photo(sha256_of(data) + ".jpg", data)

        assert len(store.records(WALK)) == 2
        assert any("free some space now" in notice for notice in store.notices)
        assert not ballast.exists()
    with open_store(folder):
        assert ballast.exists()


def test_a_really_full_disk_is_explained_and_the_store_can_be_read(folder):
    with open_store(folder) as store:
        saved = begin_walk(store, 1)
    with open_store(folder, disk=FailingDisk(failing_named("write", number=errno.ENOSPC))) as store:
        with pytest.raises(StoreError, match=r"full; delete old bundles .* and try again; nothing saved"):
            store.append(note(4))

        assert saved[1:] == list(store.records(WALK))
        assert store.next_number == 4


def test_several_journals_are_written_all_or_none(folder):
    with open_store(folder) as store:
        begin_walk(store, 1)
    before = tree(folder)
    batch = [note(4), note(5, walk=OTHER_WALK), note(6)]
    for names in (("open_append",), ("write",), ("sync",), ("sync_folder",)):
        for n in range(1, 12):
            calls = iter(range(1, 1000))
            disk = FailingDisk(
                lambda name, count, names=names, n=n, calls=calls: (
                    errno.EIO if name in names and next(calls) in (n, n + 1) else None
                )
            )
            with open_store(folder, disk=disk) as store:
                try:
                    store.append_all(batch)
                except StoreError:
                    assert len(all_of(store)) == 3
                    store.append_all(batch)
                assert len(all_of(store)) == 6
            with open_store(folder) as again:
                assert batch == sorted(all_of(again), key=lambda r: r.number)[3:]
            _restore(folder, before)


def _restore(folder: Path, files: dict[str, bytes]) -> None:
    for name in tree(folder).keys() - files.keys():
        (folder / name).unlink()
    for name, data in files.items():
        (folder / name).write_bytes(data)


def test_a_short_write_is_completed(folder):
    class Slow(HastyDisk):
        def write(self, file, data):
            return super().write(file, data[:7])

    with open_store(folder, disk=Slow()) as store:
        saved = begin_walk(store, 2)
    with open_store(folder) as again:
        assert saved == sorted(all_of(again), key=lambda r: r.number)


def _left_after_a_power_cut(disk: LossyDisk, target: Path) -> Path:
    restart_from(disk.crash_state(NOTHING, Random(1)), target)
    return target / "store"


def test_what_an_interrupted_first_start_made_is_durable_before_anything_is_saved(tmp_path):
    root = tmp_path / "root"
    for stop_at in range(1, 80):
        root.mkdir()
        disk = LossyDisk(root)
        disk.stop_at = stop_at
        with contextlib.suppress(Stopped), open_store(root / "store", disk=disk) as store:
            store.append(concern(1))
        is_through = disk.count < stop_at - 1
        disk.start_again()
        with open_store(root / "store", disk=disk) as store:
            saved = note(store.next_number, walk="", key=77)
            store.append(saved)
            after = _left_after_a_power_cut(disk, tmp_path / f"after{stop_at}")
        with open_store(after, disk=HastyDisk(), device=OTHER_DEVICE) as found:
            assert saved in all_of(found), stop_at
            assert found.device == DEVICE
        shutil.rmtree(root)
        if is_through:
            return
    pytest.fail("the first start never got through")


def test_a_line_that_a_start_shows_is_on_the_medium(tmp_path):
    root = tmp_path / "root"
    root.mkdir()
    disk = LossyDisk(root)
    with open_store(root / "store", disk=disk) as store:
        begin_walk(store, 1)
        disk.stop_at = disk.count + 2  # after the writing, before the sync
        disk.stop_in_write = 1.0
        with pytest.raises(Stopped):
            store.append(note(4))
    disk.start_again()

    with open_store(root / "store", disk=disk) as store:
        assert [record.number for record in store.records(WALK)] == [2, 3, 4]
        after = _left_after_a_power_cut(disk, tmp_path / "after")

    with open_store(after, writable=False) as found:
        assert [record.number for record in found.records(WALK)] == [2, 3, 4]


def test_a_storage_that_cannot_confirm_what_is_shown_is_told_of(folder):
    with open_store(folder) as store:
        begin_walk(store, 1)
    with open_store(folder, disk=FailingDisk(failing_named("sync", times=1))) as store:
        assert len(store.records(WALK)) == 2
        (notice,) = store.notices
        assert notice == (
            f"The storage that holds {folder} could not confirm the newest entries (EIO): they are shown, "
            "but write a bundle to another medium soon."
        )
        store.append(note(4))

    assert own_journal(folder, part=2).exists()
    with open_store(folder) as again:
        assert [record.number for record in again.records(WALK)] == [2, 3, 4]


def test_a_refused_record_does_not_come_back_when_its_number_is_given_in_another_journal(folder):
    with open_store(folder) as store:
        begin_walk(store, 1)
        store.append(walk_start(4, key=3, walk=OTHER_WALK))
    with open_store(folder, disk=FailingDisk(failing_named("sync", times=3))) as store:
        for _ in range(2):
            with pytest.raises(StoreError):
                store.append(note(5, "refused"))
        saved = note(5, "saved", walk=OTHER_WALK, key=77)
        store.append(saved)

    with open_store(folder) as again:
        assert [record for record in all_of(again) if record.number == 5] == [saved]


def test_the_first_record_of_a_walk_that_was_refused_does_not_come_back_either(tmp_path):
    root = tmp_path / "root"
    root.mkdir()
    disk = LossyDisk(root)
    with open_store(root / "store", disk=disk) as store:
        begin_walk(store, 1)
    failing = LossyDisk(root, fails=failing_named("sync", times=2))
    with open_store(root / "store", disk=failing) as store:
        with pytest.raises(StoreError):
            store.append(walk_start(4, key=3, walk=OTHER_WALK))
        saved = note(4, "saved", key=77)
        store.append(saved)
        after = _left_after_a_power_cut(failing, tmp_path / "after")

    with open_store(after, disk=HastyDisk()) as again:
        assert [record for record in all_of(again) if record.number == 4] == [saved]
        assert again.walks(CONCERN) == (WALK,)
