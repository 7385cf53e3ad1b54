"""The file of the index is a cache: whatever is not exactly as it was written is as good as none."""

from __future__ import annotations

import errno
import json
import random

import pytest

from tests.search.test_index import document, fill, found
from walkapp.files import Disk, sha256_of
from walkapp.search import FtsIndex, read_index, write_index

DEVICE = "019c937d-7a41-7000-8000-0000000f4240"


@pytest.fixture
def path(tmp_path):
    index = FtsIndex()
    fill(index, "a", [document(n, f"pads {n}") for n in range(30)])
    assert write_index(tmp_path / "search.index", index, DEVICE)
    return tmp_path / "search.index"


def test_it_is_read_as_it_was_written(path):
    index = read_index(path, DEVICE)

    assert len(found(index, "pads")) == 30
    assert index.states() == {"a": "now"}


def test_another_tablet_a_missing_and_an_empty_file_are_no_index(path):
    assert read_index(path, DEVICE.replace("4240", "4241")) is None
    assert read_index(path.with_name("nothing"), DEVICE) is None
    assert read_index(path.parent, DEVICE) is None
    path.write_bytes(b"")
    assert read_index(path, DEVICE) is None


def test_another_format_or_table_of_letters_is_no_index(path):
    rest = path.read_bytes().partition(b"\n")[2]
    header, _, image = rest.partition(b"\n")
    for changed in ({"format": 0}, {"letters": "1.0"}, {"more": 1}):
        other = json.dumps({**json.loads(header), **changed}).encode() + b"\n" + image
        path.write_bytes(sha256_of(other).encode() + b"\n" + other)
        assert read_index(path, DEVICE) is None


def test_a_bit_that_flipped_anywhere_and_a_cut_anywhere_are_noticed(path):
    data, chance = path.read_bytes(), random.Random(1)
    places = {*range(80), len(data) - 1, *(chance.randrange(len(data)) for _ in range(300))}
    for place in sorted(places):
        spoilt = bytearray(data)
        spoilt[place] ^= 1 << chance.randrange(8)
        path.write_bytes(spoilt)
        assert read_index(path, DEVICE) is None, place
        path.write_bytes(data[:place])
        assert read_index(path, DEVICE) is None, place
    path.write_bytes(data + b"\0")
    assert read_index(path, DEVICE) is None


class FullDisk(Disk):
    """Takes half of what is written, then no more."""

    def write(self, file, data):
        """Fail after the first half."""
        if len(data) < 100:
            raise OSError(errno.ENOSPC, "No space left on device")
        return super().write(file, data[: len(data) // 2])


def test_a_full_disk_keeps_the_index_that_was_there_and_nothing_half(path):
    before = path.read_bytes()
    index = FtsIndex()
    fill(index, "b", [document(1, "other words")])

    assert not write_index(path, index, DEVICE, FullDisk())

    assert path.read_bytes() == before
    assert [p.name for p in path.parent.iterdir()] == ["search.index"]


class PowerCut(BaseException):
    """What a stop of the program looks like from inside."""


class StoppingDisk(Disk):
    """Stops in the middle of a writing."""

    def write(self, file, data):
        """Write some of it, then stop."""
        super().write(file, data[: len(data) // 3])
        raise PowerCut


def test_a_stop_in_the_middle_of_the_writing_leaves_the_old_index(path):
    before = path.read_bytes()

    with pytest.raises(PowerCut):
        write_index(path, FtsIndex(), DEVICE, StoppingDisk())

    assert path.read_bytes() == before
    assert len(found(read_index(path, DEVICE), "pads")) == 30


def test_a_nearly_full_disk_is_left_to_the_records(path):
    before = path.read_bytes()

    assert not write_index(path, FtsIndex(), DEVICE, room=10**18)
    assert path.read_bytes() == before
