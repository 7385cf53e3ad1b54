"""Whole files or none, hashes, and names that mean the same everywhere."""

from __future__ import annotations

import errno
import hashlib
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.store.lossy_disk import NOTHING, LossyDisk
from tests.store.support import FailingDisk, failing_once
from walkapp.files import (
    DISK,
    is_safe_name,
    make_folder_durably,
    remove_folder,
    safe_name,
    sha256_of,
    sha256_of_file,
    write_all,
    write_atomically,
    write_folder_atomically,
)


def test_an_atomic_write_replaces_the_whole_file(tmp_path):
    path = tmp_path / "a.txt"
    write_atomically(path, b"old and longer")

    write_atomically(path, b"new")

    assert path.read_bytes() == b"new"
    assert [path] == list(tmp_path.iterdir())


def test_an_error_during_an_atomic_write_leaves_the_old_file_or_the_new_one(tmp_path):
    path = tmp_path / "a.txt"
    for n in range(1, 10):
        path.write_bytes(b"old")
        disk = FailingDisk(failing_once(n, errno.ENOSPC), halves=True)
        try:
            write_atomically(path, b"new content", disk)
        except OSError as error:
            assert error.errno == errno.ENOSPC
            # Only the last step, making the name durable, comes after the renaming.
            assert path.read_bytes() == (b"new content" if disk.log[-1] == "sync_folder" else b"old")
        else:
            assert path.read_bytes() == b"new content"
        assert [path] == list(tmp_path.iterdir())
        if disk.count < n:
            return
    pytest.fail("the write never got through")


def test_an_atomic_write_survives_a_power_cut_when_it_has_returned(tmp_path):
    disk = LossyDisk(tmp_path)

    write_atomically(tmp_path / "a.txt", b"new", disk)

    assert disk.crash_state(NOTHING, Random(1)) == {"a.txt": b"new"}


def test_a_folder_that_was_made_but_is_not_durable_becomes_so(tmp_path):
    disk = LossyDisk(tmp_path)
    disk.make_folder(tmp_path / "a")

    make_folder_durably(tmp_path / "a" / "b", disk)

    assert disk.crash_state(NOTHING, Random(1)) == {"a": None, "a/b": None}


def test_a_folder_appears_whole_or_not_at_all(tmp_path):
    files = {"a.txt": b"a", "b.txt": b"b"}
    for n in range(1, 20):
        target = tmp_path / f"target{n}"
        disk = FailingDisk(failing_once(n), halves=True)
        try:
            write_folder_atomically(target, files, tmp_path / "beside", disk)
        except OSError:
            assert not target.exists() or disk.log[-1] == "sync_folder"
        if target.exists():
            assert files == {path.name: path.read_bytes() for path in target.iterdir()}
        assert not (tmp_path / "beside").exists()
        if disk.count < n:
            return
    pytest.fail("the write never got through")


def test_a_folder_takes_no_unsafe_names(tmp_path):
    with pytest.raises(ValueError, match="safe"):
        write_folder_atomically(tmp_path / "t", {"../a": b""}, tmp_path / "b")

    assert list(tmp_path.iterdir()) == []


def test_folders_are_made_with_all_that_is_missing_above(tmp_path):
    make_folder_durably(tmp_path / "a" / "b" / "c")
    make_folder_durably(tmp_path / "a" / "b" / "c")

    assert (tmp_path / "a" / "b" / "c").is_dir()


def test_a_file_in_the_way_of_a_folder_is_an_error(tmp_path):
    (tmp_path / "a").write_bytes(b"")

    with pytest.raises(OSError, match="a"):
        make_folder_durably(tmp_path / "a" / "b")
    with pytest.raises(FileExistsError):
        make_folder_durably(tmp_path / "a")


def test_removing_a_folder_does_not_follow_links(tmp_path):
    (tmp_path / "kept").mkdir()
    (tmp_path / "kept" / "x").write_bytes(b"")
    (tmp_path / "gone" / "in").mkdir(parents=True)
    (tmp_path / "gone" / "link").symlink_to(tmp_path / "kept", target_is_directory=True)

    remove_folder(tmp_path / "gone")
    remove_folder(tmp_path / "never there")

    assert [tmp_path / "kept"] == list(tmp_path.iterdir())
    assert (tmp_path / "kept" / "x").exists()


def test_a_disk_that_takes_nothing_is_an_error(tmp_path):
    class Stuck(FailingDisk):
        def write(self, file, data):
            return 0

    file = DISK.create(tmp_path / "a")
    with pytest.raises(OSError, match="no bytes"):
        write_all(file, b"x", Stuck(lambda name, n: None))
    DISK.close(file)


# FIPS 180-4 example messages of NIST ("SHA256.pdf"): "abc" and the two-block message; and the message
# of no bytes (from memory, checked by hashlib).
@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (
            b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
        (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
    ],
)
def test_hashes_are_those_of_the_standard(tmp_path, data, expected):
    (tmp_path / "a").write_bytes(data)

    assert expected == sha256_of(data) == sha256_of_file(tmp_path / "a")


def test_a_large_file_is_hashed_piece_by_piece_to_the_same(tmp_path):
    data = bytes(range(256)) * 10_000
    (tmp_path / "a").write_bytes(data)

    assert hashlib.sha256(data).hexdigest() == sha256_of_file(tmp_path / "a")


@pytest.mark.parametrize(
    "name",
    [
        "", ".", "..", ".hidden", "a/b", "a\\b", "a.", "a ", "C:x", "con", "NUL.txt", "lpt1", "ä",
        "a\x00", "-x", "x" * 121,
    ],
)  # fmt: skip
def test_unsafe_names_are_refused(name):
    assert not is_safe_name(name)


@pytest.mark.parametrize("name", ["a", "stream.toml", "X_1-b.2.csv", "console.txt", "x" * 120])
def test_safe_names_pass(name):
    assert is_safe_name(name)
    assert name == safe_name(name)


@given(st.text(max_size=200))
def test_any_text_becomes_a_safe_name(words):
    name = safe_name(words)

    assert is_safe_name(name)
    assert Path(name).name == name
    assert name == safe_name(name)
