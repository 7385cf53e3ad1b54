"""The two files of keys: whole or not there, never lost unsaid, never readable by others."""

from __future__ import annotations

import errno
import os
import stat
import sys
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from tests.store.lossy_disk import EVERYTHING, EXTREMES, LossyDisk, restart_from
from tests.store.support import (
    DEVICE,
    OTHER_DEVICE,
    FailingDisk,
    HastyDisk,
    all_of,
    begin_walk,
    failing_from,
    failing_once,
    make_id,
    open_store,
    tree,
)
from walkapp.errors import StoreError
from walkapp.files import Disk
from walkapp.store import BLOCKED, KnownKey, OwnKey, TrustBook
from walkapp.store.reading import FORMAT
from walkapp.store.sealed import write_sealed

KEY = OwnKey(created="2026-03-02T06:10:00+00:00", public_key="ab" * 32, secret="cd" * 32)
FIRST = KnownKey(device=OTHER_DEVICE, public_key="01" * 32, first_seen="2026-03-02T06:10:00+00:00")
SECOND = replace(FIRST, device=make_id(902), public_key="02" * 32)
OLD, NEW = TrustBook(keys=(FIRST,)), TrustBook(keys=(replace(FIRST, state=BLOCKED), SECOND))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "store"


def _make_key(folder: Path) -> None:
    with open_store(folder, disk=HastyDisk()) as store:
        store.keys.make_own(KEY)


def _keep(folder: Path, book: TrustBook) -> None:
    with open_store(folder, disk=HastyDisk()) as store:
        store.keys.keep(book)


def _flips(data: bytes):
    for place in range(len(data) * 8):
        changed = bytearray(data)
        changed[place // 8] ^= 1 << place % 8
        yield bytes(changed)


class _Giving(HastyDisk):
    """Gives another content for one file: quicker than to write it thousands of times."""

    def __init__(self, name: str) -> None:
        self._name = name
        self.content: bytes | None = None

    def read(self, path, start=0, size_bytes=-1):
        if path.name == self._name and self.content is not None:
            return self.content
        return super().read(path, start, size_bytes)


def damaged_key(folder: Path) -> str:
    return (
        f"{folder / 'key.json'} is damaged, so bundles are not signed: put a good copy of it back, or "
        f"move it away and make a new key with 'walkapp keys --store {folder} --make'."
    )


# The key of this tablet


def test_a_store_has_no_key_until_one_is_made(folder):
    with open_store(folder) as store:
        assert store.keys.own() is None
        assert store.keys.book() == TrustBook()


def test_a_key_is_there_after_opening_again(folder):
    _make_key(folder)

    for writable in (True, False):
        with open_store(folder, writable=writable) as store:
            assert store.keys.own() == KEY
            assert store.notices == ()


@pytest.mark.skipif(sys.platform == "win32", reason="Windows knows no modes")
def test_nobody_else_can_read_the_key_at_any_moment(folder):
    seen = []

    class Watching(Disk):
        def write(self, file, data):
            seen.append((stat.S_IMODE(os.fstat(file).st_mode), b"secret" in data))
            return super().write(file, data)

    # A file left there, open to everybody, must not lend its mode to the key.
    with open_store(folder, disk=Watching()) as store:
        left = folder / f".key.json.{os.getpid()}.tmp"
        left.touch()
        left.chmod(0o666)
        store.keys.make_own(KEY)

    assert (0o600, True) in seen
    assert all(mode == 0o600 for mode, is_key in seen if is_key)
    assert stat.S_IMODE((folder / "key.json").stat().st_mode) == 0o600
    assert stat.S_IMODE((folder / "store.json").stat().st_mode) != 0o600  # the control


def test_a_key_is_never_written_over(folder):
    _make_key(folder)
    other = replace(KEY, secret="ef" * 32)

    for content in (None, b"", b"damaged"):
        if content is not None:
            (folder / "key.json").write_bytes(content)
        before = tree(folder)
        with open_store(folder) as store, pytest.raises(ValueError, match="never written over"):
            store.keys.make_own(other)
        assert tree(folder) == before


def test_the_private_part_is_not_shown():
    assert KEY.secret not in repr(KEY)


def test_a_key_with_any_flipped_bit_is_named_and_left_alone(folder):
    _make_key(folder)
    good = (folder / "key.json").read_bytes()
    named = 0

    disk = _Giving("key.json")

    with open_store(folder, writable=False, disk=disk) as store:
        for disk.content in _flips(good):
            try:
                assert store.keys.own() == KEY
            except StoreError as error:
                assert str(error) == damaged_key(folder) or "newer version" in str(error)
                named += 1

    assert named > len(good) * 7
    assert (folder / "key.json").read_bytes() == good


def test_a_key_that_breaks_off_is_named(folder):
    _make_key(folder)
    good = (folder / "key.json").read_bytes()

    with open_store(folder) as store:
        for size_bytes in range(len(good) - 1):
            (folder / "key.json").write_bytes(good[:size_bytes])
            with pytest.raises(StoreError) as caught:
                store.keys.own()
            assert str(caught.value) == damaged_key(folder)


@pytest.mark.parametrize(
    "values",
    [
        {},
        {"created": "", "public_key": "ab" * 32},
        {"created": "", "public_key": "ab" * 32, "secret": "cd" * 31},
        {"created": "", "public_key": "AB" * 32, "secret": "cd" * 32},
        {"created": "", "public_key": "ab" * 32, "secret": 7},
        {"created": "", "public_key": "ab" * 32, "secret": "cd" * 32, "more": ""},
    ],
)
def test_a_key_with_a_right_checksum_and_wrong_values_is_named(folder, values):
    with open_store(folder) as store:
        write_sealed(folder / "key.json", values, Disk())

        with pytest.raises(StoreError) as caught:
            store.keys.own()

    assert str(caught.value) == damaged_key(folder)


def test_a_key_that_cannot_be_read_is_explained(folder):
    _make_key(folder)

    class Unreadable(HastyDisk):
        def read(self, path, start=0, size_bytes=-1):
            if path.name == "key.json":
                raise OSError(errno.EACCES, "not allowed")
            return super().read(path, start, size_bytes)

    with open_store(folder, disk=Unreadable()) as store, pytest.raises(StoreError) as caught:
        store.keys.own()

    assert str(caught.value) == (
        f"{folder / 'key.json'} cannot be read (not allowed), so bundles are not signed: mend that, or "
        "work as the user who made the key."
    )


def test_a_store_that_was_opened_for_reading_gets_no_key(folder):
    with open_store(folder):
        pass
    with open_store(folder, writable=False) as store:
        for change in (lambda: store.keys.make_own(KEY), lambda: store.keys.keep(NEW)):
            with pytest.raises(StoreError, match="opened for reading only"):
                change()
    assert not (folder / "key.json").exists()
    assert not (folder / "trust.json").exists()


# The known keys of others


def test_known_keys_are_there_after_opening_again(folder):
    _keep(folder, OLD)
    _keep(folder, NEW)

    for writable in (True, False):
        with open_store(folder, writable=writable) as store:
            assert store.keys.book() == NEW
            assert store.notices == ()


def test_a_book_with_any_flipped_bit_asks_instead_of_trusting(folder):
    _keep(folder, NEW)
    good = (folder / "trust.json").read_bytes()
    asking = 0

    disk = _Giving("trust.json")

    with open_store(folder, writable=False, disk=disk) as store:
        for disk.content in _flips(good):
            try:
                found = store.keys.book()
            except StoreError as error:
                assert "newer version" in str(error)
                continue
            assert found in (NEW, TrustBook(asks_always=True))
            asking += found.asks_always

    assert asking > len(good) * 7


@pytest.mark.parametrize(
    "values",
    [
        {},
        {"keys": []},
        {"keys": {}, "asks_always": False},
        {"keys": [], "asks_always": 0},
        {"keys": [[]], "asks_always": False},
        {"keys": [{"device": OTHER_DEVICE}], "asks_always": False},
    ],
)
def test_a_book_with_a_right_checksum_and_wrong_values_asks(folder, values):
    with open_store(folder):
        write_sealed(folder / "trust.json", values, Disk())
    with open_store(folder, writable=False) as store:
        assert store.keys.book() == TrustBook(asks_always=True)


@pytest.mark.parametrize("change", [{"state": "loved"}, {"device": "../up"}, {"public_key": "01"}])
def test_a_known_key_with_wrong_values_makes_the_book_ask(folder, change):
    _keep(folder, TrustBook(keys=(replace(FIRST, **change),)))

    with open_store(folder, writable=False) as store:
        assert store.keys.book() == TrustBook(asks_always=True)


def test_a_damaged_book_is_set_aside_and_said_and_no_key_is_trusted_unasked(folder):
    with open_store(folder) as store:
        saved = begin_walk(store, 1)
        store.keys.keep(NEW)
    path = folder / "trust.json"
    broken = path.read_bytes().replace(b"blocked", b"trusted")
    path.write_bytes(broken)
    before = tree(folder)
    lost = (
        "so which keys of other tablets were trusted or blocked is lost: from now on no key is trusted "
        "before its digits were compared and given with 'walkapp merge --trust'."
    )

    with open_store(folder, writable=False) as store:
        assert store.notices == (f"{path} is damaged, {lost}",)
        assert store.keys.book() == TrustBook(asks_always=True)
    assert tree(folder) == before

    with open_store(folder) as store:
        (notice,) = store.notices
        (kept,) = (folder / "aside").iterdir()
        assert notice == f"{path} was damaged (a copy is in aside/{kept.name}), {lost}"
        assert kept.read_bytes() == broken
        assert store.keys.book() == TrustBook(asks_always=True)
        assert {*saved} == {*all_of(store)}
    # It is said once, and the new book keeps asking.
    with open_store(folder) as store:
        assert store.notices == ()
        assert store.keys.book() == TrustBook(asks_always=True)


def test_a_damaged_book_on_a_full_disk_keeps_nobody_from_recording(folder):
    _keep(folder, NEW)
    (folder / "trust.json").write_bytes(b"broken")
    full = FailingDisk(lambda name, count: errno.ENOSPC if name == "create" else None)

    with open_store(folder, disk=full) as store:
        assert store.notices[0].startswith(
            f"{folder / 'trust.json'} is damaged and could not be set aside (ENOSPC), so which keys "
        )
        begin_walk(store, 1)
        assert store.keys.book() == TrustBook(asks_always=True)
    assert (folder / "trust.json").read_bytes() == b"broken"


@pytest.mark.parametrize("name", ["key.json", "trust.json"])
def test_keys_of_a_newer_version_are_refused_and_left_alone(folder, name):
    _make_key(folder)
    _keep(folder, NEW)
    path = folder / name
    path.write_bytes(path.read_bytes().replace(b'"format": %d' % FORMAT, b'"format": %d' % (FORMAT + 1)))
    before = tree(folder)

    for writable in (True, False):
        with (
            pytest.raises(StoreError, match=r"newer version .* nothing was changed\.$"),
            open_store(folder, writable=writable) as store,
        ):
            store.keys.own()

    assert tree(folder) == before


# Faults


@pytest.mark.parametrize("halves", [False, True])
@pytest.mark.parametrize("number", [errno.EIO, errno.ENOSPC])
@pytest.mark.parametrize("failing", [failing_once, failing_from])
def test_a_fault_while_a_key_is_made_leaves_none_or_the_whole(tmp_path, number, halves, failing):
    outcomes = set()
    for n in range(1, 20):
        folder = tmp_path / str(n)
        with open_store(folder, disk=HastyDisk()):
            pass
        disk = FailingDisk(lambda name, count: None, halves=halves)
        with open_store(folder, disk=disk) as store:
            disk._fails = failing(disk.count + n, number)
            try:
                store.keys.make_own(KEY)
                outcome = "made"
            except StoreError as error:
                assert str(error).startswith("The key of this tablet was not saved: ")
                outcome = "refused"
        with open_store(folder, disk=HastyDisk()) as store:
            found = store.keys.own()
            assert found in (None, KEY)
            assert outcome == "refused" or found == KEY
            assert [path.name for path in folder.glob(".*")] == []
        outcomes.add((outcome, found is not None))
    # None there; there though it could not be confirmed, since the folder was not synced; and made.
    all_three = {("refused", False), ("refused", True), ("made", True)}
    # A disk that is full once is helped by the reserve.
    is_helped = number == errno.ENOSPC and failing is failing_once
    assert outcomes == ({("made", True)} if is_helped else all_three)


@pytest.mark.parametrize("halves", [False, True])
@pytest.mark.parametrize("number", [errno.EIO, errno.ENOSPC])
@pytest.mark.parametrize("failing", [failing_once, failing_from])
def test_a_fault_while_keys_are_noted_leaves_the_old_book_or_the_new(tmp_path, number, halves, failing):
    outcomes = set()
    for n in range(1, 20):
        folder = tmp_path / str(n)
        _make_key(folder)
        _keep(folder, OLD)
        disk = FailingDisk(lambda name, count: None, halves=halves)
        with open_store(folder, disk=disk) as store:
            disk._fails = failing(disk.count + n, number)
            try:
                store.keys.keep(NEW)
                outcome = "kept"
            except StoreError as error:
                assert str(error).startswith("What is known of other tablets' keys was not saved: ")
                outcome = "refused"
        with open_store(folder, disk=HastyDisk()) as store:
            assert store.notices == ()
            assert store.keys.own() == KEY
            found = store.keys.book()
            assert found in (OLD, NEW)
            assert outcome == "refused" or found == NEW
        outcomes.add((outcome, found == NEW))
    is_helped = number == errno.ENOSPC and failing is failing_once
    all_three = {("refused", False), ("refused", True), ("kept", True)}
    assert outcomes == ({("kept", True)} if is_helped else all_three)


class _Hasty(LossyDisk):
    """The control: nothing waits for the content of a file before the file gets its name."""

    def sync(self, file):
        self._on_point("sync", False)


def _cut_power(tmp_path: Path, kind: type[LossyDisk]) -> list[tuple[object, object, str]]:
    """Keep a key and two books, look after each step what a power cut may leave."""
    found: list[tuple[object, object, str]] = []
    root = tmp_path / "root"
    done = "nothing"
    chance = Random(1)

    def look(name: str = "", is_partial: bool = False) -> None:
        if done == "nothing" or is_partial:
            return
        for arrival in (EVERYTHING, *EXTREMES):
            after = tmp_path / f"after{len(found)}"
            restart_from(disk.crash_state(arrival, chance), after)
            with open_store(after / "store", disk=HastyDisk(), device=OTHER_DEVICE) as store:
                try:
                    own: object = store.keys.own()
                except StoreError:
                    own = "damaged"
                found.append((own, store.keys.book(), done))

    root.mkdir()
    disk = kind(root, look)
    with open_store(root / "store", disk=disk) as store:
        done = "opened"
        store.keys.make_own(KEY)
        done = "made"
        look()
        store.keys.keep(OLD)
        done = "old"
        look()
        store.keys.keep(NEW)
        done = "new"
        look()
    return found


def _lost(found: list[tuple[object, object, str]]) -> list[tuple[object, object, str]]:
    """The states that must not be."""
    allowed: dict[str, tuple[set[object], set[object]]] = {
        "opened": ({None, KEY}, {TrustBook()}),
        "made": ({KEY}, {TrustBook(), OLD}),
        "old": ({KEY}, {OLD, NEW}),
        "new": ({KEY}, {NEW}),
    }
    return [
        (own, book, done)
        for own, book, done in found
        if own not in allowed[done][0] or book not in allowed[done][1]
    ]


def test_a_power_cut_at_any_step_leaves_whole_keys_and_loses_none(tmp_path):
    found = _cut_power(tmp_path, LossyDisk)

    assert _lost(found) == []
    assert len(found) > 10


def test_the_power_cuts_find_a_disk_that_waits_for_nothing(tmp_path):
    assert _lost(_cut_power(tmp_path, _Hasty))


# The folder


def test_a_folder_that_holds_only_keys_is_taken_for_a_store(folder):
    _make_key(folder)
    _keep(folder, NEW)
    for path in (folder / "store.json", *sorted((folder / "journals").rglob("*"), reverse=True)):
        path.unlink() if path.is_file() else path.rmdir()
    (folder / "journals").rmdir()

    with open_store(folder, device=OTHER_DEVICE) as store:
        assert store.keys.own() == KEY
        assert store.keys.book() == NEW


def test_half_a_key_of_an_interrupted_making_is_removed(folder):
    with open_store(folder) as store:
        assert store.device == DEVICE
    (folder / ".key.json.4711.tmp").write_text('{"secret": "ab', encoding="ascii")

    with open_store(folder) as store:
        assert store.keys.own() is None
    assert not list(folder.glob(".key*"))
