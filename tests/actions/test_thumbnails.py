"""Small pictures held ready: made once, never stale, never more than they may be, and dropped on demand."""

from __future__ import annotations

import os
import tracemalloc

import pytest

from tests.cameras import FACE
from tests.photos.camera import as_jpeg, as_png, scene
from walkapp.actions.pictures import SMALL_PX, shown_picture
from walkapp.actions.thumbnails import Thumbnails
from walkapp.files import sha256_of
from walkapp.model.boxes import boxes_to_text
from walkapp.model.records import Photo, PhotoCopy, picture_file_name


def fresh(camera, **more) -> Thumbnails:
    """As after a restart."""
    return Thumbnails(camera.desk.place, **more)


def spoil_unseen(camera, photo) -> None:
    """Change the bytes of a picture's file so that only reading it would tell."""
    path = camera.desk.store.photo_path(photo.file_name)
    before = path.stat()
    path.write_bytes(bytes(before.st_size))
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))


def kept(camera) -> list:
    folder = camera.desk.store.small_folder
    return sorted(folder.iterdir()) if folder.is_dir() else []


def test_a_small_picture_is_made_once_and_read_from_disk_after_a_restart(camera):
    photo = camera.take(as_jpeg(scene((800, 480))))
    first = fresh(camera).give(photo, None, SMALL_PX)
    spoil_unseen(camera, photo)

    again = fresh(camera).give(photo, None, SMALL_PX)

    assert (again.size, again.trouble) == (first.size, "") == ((320, 192), "")
    differ = max(abs(a - b) for a, b in zip(first.pixels, again.pixels, strict=True))
    assert differ < 80  # packed as a JPEG once more
    assert len(kept(camera)) == 1


def test_a_picture_whose_file_was_changed_is_read_again(camera):
    photo = camera.take(as_jpeg(scene((800, 480))))
    fresh(camera).give(photo, None, SMALL_PX)
    camera.desk.store.photo_path(photo.file_name).write_bytes(b"damaged")

    assert fresh(camera).give(photo, None, SMALL_PX).trouble == "Damaged, cannot be shown"


def test_a_picture_that_is_gone_is_not_shown_from_the_cache(camera):
    photo = camera.take(as_jpeg(scene((800, 480))))
    thumbnails = fresh(camera)
    thumbnails.give(photo, None, SMALL_PX)
    camera.desk.store.photo_path(photo.file_name).unlink()

    assert thumbnails.give(photo, None, SMALL_PX).trouble == "Not on this tablet"


def test_a_place_that_is_covered_is_covered_in_the_small_picture_at_once(camera):
    photo = camera.take()
    thumbnails = fresh(camera)
    bare = thumbnails.give(photo, camera.copies.get(photo.sha256), SMALL_PX)
    camera.cover(photo, FACE)
    copies = camera.copies[photo.sha256]

    covered = thumbnails.give(photo, copies, SMALL_PX)

    assert covered.pixels == shown_picture(camera.desk.place, photo, copies, SMALL_PX).pixels
    assert covered.pixels != bare.pixels


@pytest.mark.parametrize("spoilt", [b"", b"spoilt", bytes(64) + b"\n" + as_png()])
def test_a_spoilt_small_picture_is_made_anew(camera, spoilt):
    photo = camera.take()
    first = fresh(camera).give(photo, None, SMALL_PX)
    (path,) = kept(camera)
    path.write_bytes(spoilt)

    assert fresh(camera).give(photo, None, SMALL_PX).pixels == first.pixels
    assert path.read_bytes() != spoilt


def test_large_pictures_are_not_kept_on_disk(camera):
    photo = camera.take(as_jpeg(scene((800, 480))))
    fresh(camera).give(photo, None, SMALL_PX + 1)

    assert kept(camera) == []


def test_what_is_held_in_memory_stays_within_its_bound_and_is_given_back(camera):
    photos = [camera.take(as_jpeg(scene((400 + n, 300)))) for n in range(12)]
    one = len(fresh(camera).give(photos[0], None, SMALL_PX).pixels)
    thumbnails = fresh(camera, most_bytes=5 * one)
    tracemalloc.start()
    try:
        for photo in photos:
            thumbnails.give(photo, None, SMALL_PX)
            assert thumbnails.held_bytes <= 5 * one
        full, _ = tracemalloc.get_traced_memory()
        thumbnails.release()
        empty, _ = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()

    assert thumbnails.held_bytes == 0
    assert full - empty > 4 * one
    assert thumbnails.give(photos[0], None, SMALL_PX).trouble == ""


def test_the_picture_asked_for_last_is_the_last_to_go(camera):
    photos = [camera.take(as_jpeg(scene((400 + n, 300)))) for n in range(4)]
    one = len(fresh(camera).give(photos[0], None, 400).pixels)
    thumbnails = fresh(camera, most_bytes=int(2.5 * one))
    for photo in (photos[0], photos[1], photos[0], photos[2]):
        thumbnails.give(photo, None, 400)
    for photo in photos:
        spoil_unseen(camera, photo)

    troubles = [bool(thumbnails.give(photo, None, 400).trouble) for photo in photos[:3]]
    assert troubles == [False, True, False]


def test_covered_places_that_do_not_lie_on_the_picture_are_a_word_and_show_nothing(camera):
    small = as_jpeg(scene((8, 8)))
    place, sha256 = camera.desk.place, sha256_of(small)
    camera.desk.store.add_photo(picture_file_name(sha256, "image/jpeg"), small)
    where = {"concern": camera.route.concern, "walk": camera.route.walk, "station": "moulding"}
    size = {"media": "image/jpeg", "size_bytes": len(small), "width_px": 80, "height_px": 48}
    photo = place.add(Photo, sha256=sha256, **size, **where)
    said = {"photo": sha256, "sha256": "0" * 64, "covered": boxes_to_text([FACE])}
    place.add(PhotoCopy, **said, **size, **where)

    picture = fresh(camera).give(photo, camera.copies[sha256], SMALL_PX)

    assert (picture.trouble, picture.size) == ("Damaged, cannot be shown", (1, 1))
