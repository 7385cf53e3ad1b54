"""A folder that others fill, empty and take away while it is read."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.photos.camera import as_jpeg
from walkapp.errors import PhotoError
from walkapp.photos import look_into, pictures_in, read_picture
from walkapp.photos.folder import _pictures


def put(path: Path, written_s: int, data: bytes = b"x") -> Path:
    path.write_bytes(data)
    os.utime(path, (written_s, written_s))
    return path


def test_the_newest_comes_first_and_equal_times_go_by_name(tmp_path):
    put(tmp_path / "old.jpg", 1_000)
    put(tmp_path / "b.JPEG", 2_000)
    put(tmp_path / "a.Png", 2_000, b"123")
    put(tmp_path / "new.JPG", 3_000)

    found = pictures_in(tmp_path)

    assert [picture.path.name for picture in found] == ["new.JPG", "a.Png", "b.JPEG", "old.jpg"]
    assert found[1].taken == 2_000 * 10**9
    assert found[1].size_bytes == 3


def test_only_regular_visible_files_with_picture_endings_count(tmp_path):
    picture = put(tmp_path / "good.jpg", 1_000)
    put(tmp_path / "notes.txt", 1_000)
    put(tmp_path / "._good.jpg", 1_000)
    put(tmp_path / "just-begun.jpg", 1_000, b"")
    (tmp_path / "folder.jpg").mkdir()
    (tmp_path / "link.jpg").symlink_to(picture)
    (tmp_path / "dangling.png").symlink_to(tmp_path / "nowhere")
    os.mkfifo(tmp_path / "pipe.jpg")

    assert [found.path for found in pictures_in(tmp_path)] == [picture]


def test_an_empty_folder_gives_nothing(tmp_path):
    assert pictures_in(tmp_path) == ()


def test_a_file_that_vanishes_while_the_list_is_made_is_left_out(tmp_path):
    gone = put(tmp_path / "gone.jpg", 2_000)
    kept = put(tmp_path / "kept.jpg", 1_000)
    with os.scandir(tmp_path) as entries:
        listed = list(entries)
    gone.unlink()

    assert [picture.path for picture in _pictures(tmp_path, listed)] == [kept]


def test_folders_are_named_without_hidden_ones_and_links(tmp_path):
    (tmp_path / "102CANON").mkdir()
    (tmp_path / "101CANON").mkdir()
    (tmp_path / ".asked").mkdir()
    (tmp_path / "round").symlink_to(tmp_path)
    put(tmp_path / "a.jpg", 1_000)

    found = look_into(tmp_path)

    assert found.folders == (tmp_path / "101CANON", tmp_path / "102CANON")
    assert [picture.path.name for picture in found.pictures] == ["a.jpg"]
    assert not found.is_cut


def test_a_folder_with_more_entries_than_any_camera_writes_is_looked_at_in_part(tmp_path, monkeypatch):
    monkeypatch.setattr("walkapp.photos.folder.MOST_ENTRIES", 20)
    for number in range(21):
        put(tmp_path / f"{number}.jpg", 1_000 + number)

    found = look_into(tmp_path)

    assert (len(found.pictures), found.is_cut) == (20, True)


def test_a_missing_folder_is_said_in_words(tmp_path):
    with pytest.raises(
        PhotoError, match=r"camera is not there; connect the camera or choose another one\.$"
    ):
        pictures_in(tmp_path / "camera")


def test_a_file_in_place_of_the_folder_is_said_in_words(tmp_path):
    with pytest.raises(PhotoError, match="is a file and not a folder; choose the folder"):
        pictures_in(put(tmp_path / "a.jpg", 1_000))


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may read everything")
def test_a_locked_folder_is_said_in_words(tmp_path):
    tmp_path.chmod(0)
    try:
        with pytest.raises(PhotoError, match="cannot be read"):
            pictures_in(tmp_path)
    finally:
        tmp_path.chmod(0o700)


def test_a_picture_is_read_byte_for_byte(tmp_path):
    data = as_jpeg()

    assert read_picture(put(tmp_path / "a.jpg", 1_000, data)) == data


def test_a_picture_that_vanished_is_said_in_words(tmp_path):
    with pytest.raises(PhotoError, match=r"^a\.jpg is no longer there; copy it again"):
        read_picture(tmp_path / "a.jpg")


def test_a_folder_or_a_pipe_is_no_picture_and_does_not_wait(tmp_path):
    os.mkfifo(tmp_path / "pipe.jpg")

    for path in (tmp_path, tmp_path / "pipe.jpg"):
        with pytest.raises(PhotoError, match="is not a picture file; choose a file"):
            read_picture(path)


def test_a_path_that_the_system_refuses_is_said_in_words(tmp_path):
    loop = tmp_path / "loop.jpg"
    loop.symlink_to(loop)

    with pytest.raises(PhotoError, match=r"^loop\.jpg cannot be read"):
        read_picture(loop)


def test_25_megabytes_are_read_and_one_byte_more_is_refused(tmp_path):
    path = tmp_path / "big.jpg"
    path.touch()
    os.truncate(path, 25_000_000)
    assert len(read_picture(path)) == 25_000_000
    os.truncate(path, 25_000_001)

    with pytest.raises(PhotoError, match=r"^big\.jpg is larger than 25 MB"):
        read_picture(path)
