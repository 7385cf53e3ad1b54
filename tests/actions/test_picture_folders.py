"""Folders of pictures: bounded whatever they hold, and never an error that is not a sentence."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from tests.photos.camera import as_jpeg, scene
from walkapp.actions.picture_folders import (
    MOST_TRIES,
    PAGE_SIZE,
    FolderWatch,
    begin_asking,
    end_asking,
    picture_places,
    read_in,
)
from walkapp.errors import PhotoError
from walkapp.files import sha256_of


def put(path: Path, data: bytes = as_jpeg(), written_s: int = 1_000) -> Path:
    path.write_bytes(data)
    os.utime(path, (written_s, written_s))
    return path


def read_all(watch: FolderWatch, first: int = 0) -> int:
    """Read a page, and give how many files were read for it."""
    watch.look()
    many = 0
    while watch.read_next(first):
        many += 1
    return many


def test_of_a_folder_of_ten_thousand_pictures_one_page_is_read(tmp_path):
    one = put(tmp_path / "00000.jpg")
    for number in range(1, 10_000):
        (tmp_path / f"{number:05}.jpg").hardlink_to(one)
    watch = FolderWatch(tmp_path)

    assert watch.look() == 10_000
    assert read_all(watch) == PAGE_SIZE
    page = watch.page(0)
    assert [p.picture.caption for p in page.pictures][:2] == ["00000.jpg", "00001.jpg"]
    assert read_all(watch) == 0
    assert read_all(watch, 9_996) == 4
    assert (watch.page(9_996).first, len(watch.page(9_996).pictures)) == (9_996, 4)
    assert read_all(watch) == PAGE_SIZE  # what is not shown is not held


def test_a_page_beyond_the_end_is_the_last_one(tmp_path):
    for number in range(13):
        put(tmp_path / f"{number:02}.jpg")
    watch = FolderWatch(tmp_path)
    read_all(watch, 500)

    page = watch.page(500)

    assert (page.first, len(page.pictures), page.total) == (12, 1, 13)


def test_a_file_that_stays_broken_is_read_a_few_times_and_then_left_alone(tmp_path):
    put(tmp_path / "x.jpg", as_jpeg()[:300])
    watch = FolderWatch(tmp_path)

    reads = [read_all(watch) for _ in range(MOST_TRIES + 3)]

    assert reads == [1] * MOST_TRIES + [0] * 3
    assert watch.page(0).not_whole == 1
    put(tmp_path / "x.jpg", as_jpeg(), written_s=2_000)
    assert read_all(watch) == 1
    assert [p.sha256 for p in watch.page(0).pictures] == [sha256_of(as_jpeg())]


def test_a_picture_that_was_written_over_is_shown_anew(tmp_path):
    put(tmp_path / "x.jpg")
    watch = FolderWatch(tmp_path)
    read_all(watch)
    newer = as_jpeg(scene((33, 44)))

    put(tmp_path / "x.jpg", newer, written_s=1_001)
    watch.look()

    assert watch.page(0).pictures == ()  # the old one is not offered for the new one
    read_all(watch)
    assert [p.sha256 for p in watch.page(0).pictures] == [sha256_of(newer)]


@pytest.mark.parametrize(
    "name",
    [
        os.fsdecode(b"broken \xff name.jpg"),
        "\u202egpj.name.jpg",
        "a\nb\x1b[2J.jpg",
        "x" * 246 + ".jpg",
        "=1+1.jpg",
        "Ohr, weiß %20.JPEG",
    ],
)
def test_any_name_is_shown_in_one_short_line_and_can_be_taken_in(tmp_path, name):
    put(tmp_path / name)
    watch = FolderWatch(tmp_path)
    read_all(watch)

    ((tile,),) = ([p.picture for p in watch.page(0).pictures],)

    assert tile.caption.isprintable() and 0 < len(tile.caption) <= 36
    assert read_in(Path(tile.key)).data == as_jpeg()


def test_a_card_that_is_pulled_out_holds_nothing_and_one_that_breaks_is_a_sentence(tmp_path):
    card = tmp_path / "card"
    card.mkdir()
    put(card / "x.jpg")
    watch = FolderWatch(card)
    read_all(watch)

    shutil.rmtree(card)
    assert read_all(watch) == 0
    assert watch.page(0).total == 0
    card.write_bytes(b"")
    with pytest.raises(PhotoError, match="is a file and not a folder"):
        watch.look()
    card.unlink()
    card.symlink_to(card)
    with pytest.raises(PhotoError, match="cannot be read"):
        watch.look()


def test_places_are_the_watched_folder_then_what_is_there_each_once(tmp_path):
    watched, gone, drive = tmp_path / "watched", tmp_path / "gone", tmp_path / "STICK"
    (drive / "DCIM").mkdir(parents=True)
    loop = tmp_path / "loop"
    loop.symlink_to(loop)

    places = picture_places((watched, gone, tmp_path, loop), (drive, drive, tmp_path))

    assert places == (
        (str(watched), "watched"), (str(tmp_path), tmp_path.name), (str(drive / "DCIM"), "STICK"),
    )  # fmt: skip


def test_where_a_picture_cannot_be_asked_for_is_said_in_a_sentence(tmp_path):
    (tmp_path / "watched").write_bytes(b"")

    with pytest.raises(PhotoError, match=r"cannot be written; free some room .* again\.$"):
        begin_asking(tmp_path / "watched")
    assert end_asking(tmp_path / "watched") is None
    with pytest.raises(PhotoError, match="cannot be moved into"):
        end_asking(tmp_path / "watched", tmp_path / "none.jpg")
