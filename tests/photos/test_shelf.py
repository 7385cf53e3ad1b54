"""The shelf of small pictures: what is on it is exactly what was put there, and it keeps its bounds."""

from __future__ import annotations

import errno

from hypothesis import given
from hypothesis import strategies as st

from walkapp.files import Disk
from walkapp.photos import Shelf
from walkapp.photos.shelf import LARGEST_FILE_BYTES


class FullDisk(Disk):
    """A disk on which nothing more can be written."""

    def write(self, file: int, data: bytes) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")


def files(folder):
    return sorted(path.name for path in folder.iterdir()) if folder.is_dir() else []


def test_what_was_put_on_the_shelf_is_there_in_the_next_run_under_its_own_name_only(tmp_path):
    assert Shelf(tmp_path / "small", room=0).write("picture one", b"one")

    again = Shelf(tmp_path / "small", room=0)
    assert again.read("picture one") == b"one"
    assert again.read("picture two") is None


@given(place=st.integers(0, 10_000), byte=st.integers(0, 255), cut=st.booleans())
def test_a_file_that_is_not_as_it_was_written_is_as_good_as_none(tmp_path_factory, place, byte, cut):
    folder = tmp_path_factory.mktemp("shelf")
    Shelf(folder, room=0).write("picture", b"content of the picture")
    (name,) = files(folder)
    whole = (folder / name).read_bytes()
    place %= len(whole)
    spoilt = whole[:place] if cut else whole[:place] + bytes((byte,)) + whole[place + 1 :]
    (folder / name).write_bytes(spoilt)

    found = Shelf(folder, room=0).read("picture")

    assert found == (b"content of the picture" if spoilt == whole else None)


def test_two_files_that_were_swapped_are_both_as_good_as_none(tmp_path):
    shelf = Shelf(tmp_path, room=0)
    shelf.write("one", b"first")
    shelf.write("two", b"second")
    one, two = (tmp_path / name for name in files(tmp_path))
    one.rename(tmp_path / "aside")
    two.rename(one)
    (tmp_path / "aside").rename(two)

    assert shelf.read("one") is shelf.read("two") is None


@given(sizes=st.lists(st.integers(1, 600), min_size=1, max_size=30))
def test_the_shelf_never_holds_more_than_it_may_and_the_newest_stays(tmp_path_factory, sizes):
    folder = tmp_path_factory.mktemp("shelf")
    shelf = Shelf(folder, most_bytes=2_000, room=0)
    for number, size in enumerate(sizes):
        assert shelf.write(f"picture {number}", bytes(size))
        assert sum((folder / name).stat().st_size for name in files(folder)) <= 2_000

    assert shelf.read(f"picture {len(sizes) - 1}") == bytes(sizes[-1])


def test_a_shelf_that_was_overfilled_by_an_earlier_run_makes_way_at_the_next_write(tmp_path):
    Shelf(tmp_path, room=0).write("old", bytes(5_000))

    shelf = Shelf(tmp_path, most_bytes=2_000, room=0)
    assert shelf.write("new", b"new")

    assert shelf.read("old") is None and shelf.read("new") == b"new"


def test_a_full_disk_and_one_that_is_nearly_full_keep_nothing_and_nothing_half(tmp_path):
    assert not Shelf(tmp_path / "full", FullDisk(), room=0).write("picture", b"content")
    assert not Shelf(tmp_path / "nearly", room=1 << 60).write("picture", b"content")
    (tmp_path / "file").write_bytes(b"no folder")
    assert not Shelf(tmp_path / "file", room=0).write("picture", b"content")

    assert files(tmp_path / "full") == files(tmp_path / "nearly") == []


def test_what_is_too_large_for_a_small_picture_is_neither_kept_nor_read(tmp_path):
    shelf = Shelf(tmp_path, room=0)
    assert not shelf.write("picture", bytes(LARGEST_FILE_BYTES))
    shelf.write("picture", b"content")
    (name,) = files(tmp_path)
    (tmp_path / name).write_bytes(bytes(LARGEST_FILE_BYTES + 1))

    assert shelf.read("picture") is None


def test_what_a_crash_left_behind_goes_with_the_first_write_of_the_next_run(tmp_path):
    (tmp_path / f".{'0' * 64}.123.tmp").write_bytes(b"half")
    (tmp_path / "something else").write_bytes(b"not ours")

    assert Shelf(tmp_path, room=0).write("picture", b"content")

    assert len(files(tmp_path)) == 2 and "something else" in files(tmp_path)
