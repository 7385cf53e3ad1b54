"""Zips made to fill the memory, to wait for ever, or to be unpacked where they must not be."""

import os
import struct
import tracemalloc

import pytest

from tests.bundle.samples import PICTURE_NAME, Forger, write_sample
from walkapp.bundle import open_bundle
from walkapp.bundle.layout import is_member_name
from walkapp.errors import BundleError


@pytest.fixture
def good(tmp_path):
    write_sample(tmp_path / "good.zip")
    return tmp_path / "good.zip"


def refusal(path):
    with pytest.raises(BundleError) as caught:
        open_bundle(path)
    return str(caught.value)


@pytest.mark.parametrize("stem", ["con", "prn", "aux", "nul", "com1", "com9", "lpt1", "lpt9"])
def test_a_name_that_a_system_keeps_for_a_device_is_refused(good, tmp_path, stem):
    forger = Forger.of(good)
    for name in (f"{stem}.csv", f"checklists/{'a' * 64}/{stem}.toml"):
        forger.replace(name, b"id\r\n")
        assert (refusal(forger.save(tmp_path / "walk.zip"))).endswith(
            ": is not a file that belongs in a bundle; ask for the bundle again."
        )
        assert not is_member_name(name)
        del forger.members[name]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("note.csv", "NOTE.csv"), ("note.csv", "Note.CSV"), ("README.txt", "readme.txt"),
        ("datapackage.json", "DataPackage.json"), (f"photos/{PICTURE_NAME}", f"Photos/{PICTURE_NAME}"),
        ("n\u00f6te.csv", "no\u0308te.csv"), ("note.csv", "\uff4eote.csv"), ("k.csv", "\u212a.csv"),
    ],
)  # fmt: skip
def test_of_two_names_that_are_one_on_some_system_only_one_can_be_a_member(one, other):
    # Names are ASCII in small letters but for two fixed ones, so no two of them can collide anywhere.
    assert not (is_member_name(one) and is_member_name(other))


def test_a_pipe_is_refused_without_waiting(tmp_path):
    os.mkfifo(tmp_path / "walk.zip")

    assert refusal(tmp_path / "walk.zip") == "walk.zip: is no plain file; copy the bundle to a disk first."


@pytest.mark.skipif(not os.path.exists("/dev/zero"), reason="this system has no endless device")  # noqa: PTH110
def test_an_endless_device_is_refused(tmp_path):
    (tmp_path / "walk.zip").symlink_to("/dev/zero")

    assert refusal(tmp_path / "walk.zip") == "walk.zip: is no plain file; copy the bundle to a disk first."


def test_a_zip_in_a_zip_does_not_belong(good, tmp_path):
    forger = Forger.of(good)
    forger.replace("inner.zip", good.read_bytes())

    assert refusal(forger.save(tmp_path / "walk.zip")).startswith("walk.zip: inner.zip: is not a file that")


def peak_bytes(work):
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def ending(entries, size, at):
    return b"PK\x05\x06" + struct.pack("<HHHHLLH", 0, 0, entries, entries, size, at, 0)


def test_a_giant_table_of_contents_is_refused_before_it_is_read(tmp_path):
    # 200 MB of nothing that says it is a table of contents; only the head and the tail are on the disk.
    path, size = tmp_path / "walk.zip", 200_000_000
    with path.open("wb") as file:
        file.write(b"PK\x03\x04")
        file.seek(size)
        file.write(ending(1, size - 4, 4))

    assert peak_bytes(lambda: refusal(path)) < 5_000_000
    assert (
        refusal(path)
        == "walk.zip: is not a zip file that can be read, or is damaged; ask for the bundle again."
    )


def test_a_hundred_thousand_entries_are_refused_before_they_are_listed(tmp_path):
    entry = (
        struct.pack("<4s6H3L5H2L", b"PK\x01\x02", 20, 20, 0, 0, 0, 33, 0, 0, 0, 5, 0, 0, 0, 0, 0, 0)
        + b"a.csv"
    )
    path = tmp_path / "walk.zip"
    path.write_bytes(b"PK\x03\x04" + bytes(31) + entry * 100_000 + ending(65_535, len(entry) * 100_000, 35))

    assert peak_bytes(lambda: refusal(path)) < 8_000_000
    assert "is not a zip file that can be read, or is damaged" in refusal(path)


@pytest.mark.parametrize("comment", [b"x", b"x" * 65_535])
def test_a_comment_behind_the_table_of_contents_is_refused(good, comment):
    data = good.read_bytes()
    good.write_bytes(data[:-2] + struct.pack("<H", len(comment)) + comment)

    assert (
        refusal(good) == "good.zip: breaks off, or has something behind the zip; ask for the bundle again."
    )


def zip64_end(data, *, entries, size, at):
    """Put the end records of a zip of more than 4 GB in front of the usual one."""
    start = len(data) - 22
    record = struct.pack("<4sQ2H2L4Q", b"PK\x06\x06", 44, 45, 45, 0, 0, entries, entries, size, at)
    return data[:-22] + record + struct.pack("<4sLQL", b"PK\x06\x07", 0, start, 1) + data[-22:]


def test_the_ends_of_a_large_zip_are_read_when_they_are_true(good):
    # The control of the test below: a bundle above 4 GB needs these records.
    data = good.read_bytes()
    entries, size, at = struct.unpack("<HLL", data[-12:-2])
    good.write_bytes(zip64_end(data, entries=entries, size=size, at=at))

    with open_bundle(good) as bundle:
        assert bundle.records


@pytest.mark.parametrize(
    "lie", [{"size": 2**63}, {"size": 2**40}, {"at": 2**63}, {"at": 2**40}, {"size": 0}, {"at": 0}]
)
def test_lies_in_the_ends_of_a_large_zip_are_refused(good, lie):
    data = good.read_bytes()
    entries, size, at = struct.unpack("<HLL", data[-12:-2])
    good.write_bytes(zip64_end(data, **{"entries": entries, "size": size, "at": at, **lie}))

    assert refusal(good).startswith("good.zip: ")
