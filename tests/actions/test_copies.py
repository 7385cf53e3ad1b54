"""Copies of pictures in the records: made at intake, covered place by place, and undone."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from tests.cameras import BADGE, FACE, PHONE, Camera
from tests.photos.camera import as_jpeg, scene
from walkapp.actions.copies import cover_all, make_missing_copies, shown_bytes
from walkapp.actions.reasons import COVERED
from walkapp.errors import InputError, PhotoError
from walkapp.files import sha256_of
from walkapp.model.boxes import MOST_BOXES, Box
from walkapp.model.records import Photo, PhotoCopy, Withdrawal
from walkapp.photos import cover, without_location


def copies_in(camera):
    return [r for r in camera.desk.records if isinstance(r, PhotoCopy)]


def covers(camera, photo):
    return [head.boxes for head in camera.copies[photo.sha256].heads]


def test_a_picture_with_metadata_is_recorded_together_with_its_copy(camera):
    photo = camera.take()

    (copy,) = copies_in(camera)
    assert camera.desk.store.photo_path(photo.file_name).read_bytes() == PHONE
    assert (copy.photo, copy.sha256) == (photo.sha256, sha256_of(without_location(PHONE)))
    assert (copy.size_bytes, copy.boxes) == (len(without_location(PHONE)), ())
    assert (copy.station, copy.walk, copy.number) == (photo.station, photo.walk, photo.number + 1)
    assert camera.desk.store.photo_names() == (photo.file_name,)


def test_a_picture_without_metadata_has_no_copy(camera):
    camera.take(as_jpeg())

    assert copies_in(camera) == []


def test_one_undo_takes_the_picture_back_with_its_copy(camera):
    camera.walking.note("moulding", "before")
    camera.take()

    camera.undo()

    assert not [r for r in camera.now.current if isinstance(r, Photo)]
    assert camera.now.undoable.kind == "note"


def test_each_covered_place_is_a_copy_of_its_own_that_covers_all_before(camera):
    photo = camera.take()
    camera.cover(photo, FACE)

    second = camera.cover(photo, BADGE)

    assert covers(camera, photo) == [(FACE, BADGE)]
    kept = camera.desk.store.photo_path(second.file_name).read_bytes()
    assert kept == cover(PHONE, [FACE, BADGE])
    assert camera.desk.store.photo_path(photo.file_name).read_bytes() == PHONE


def test_undo_takes_back_place_by_place_and_then_the_picture(camera):
    photo = camera.take()
    camera.cover(photo, FACE)
    camera.cover(photo, BADGE)

    seen = []
    for _ in range(2):
        camera.undo()
        seen.append(covers(camera, photo))

    assert seen == [[(FACE,)], [()]]
    camera.undo()
    assert not [r for r in camera.now.current if isinstance(r, Photo)]
    with pytest.raises(InputError, match="nothing to undo"):
        camera.undo()


def test_the_last_place_can_be_taken_back_long_after(camera):
    photo = camera.take()
    camera.cover(photo, FACE)
    camera.cover(photo, BADGE)
    camera.walking.note("dock", "much later")

    camera.uncover(photo)

    assert covers(camera, photo) == [(FACE,)]
    assert camera.now.undoable.kind == "note"
    camera.undo()
    assert camera.now.undoable.why == COVERED  # that of the first place; the second is back already
    camera.undo()
    assert covers(camera, photo) == [()]


def test_taking_back_the_last_place_of_a_picture_without_metadata_withdraws_the_copy(camera):
    photo = camera.take(as_jpeg())
    camera.cover(photo)

    assert isinstance(camera.uncover(photo), Withdrawal)

    assert photo.sha256 not in camera.copies
    assert camera.now.undoable == photo
    camera.cover(photo)
    assert covers(camera, photo) == [(FACE,)]


def test_undo_of_a_place_leaves_alone_what_another_tablet_covered(tmp_path, camera):
    photo = camera.take()
    camera.cover(photo, FACE)
    # The other tablet's record arrives: it goes on from this one's and covers a badge as well.
    with_badge = another_tablet(tmp_path, camera, lambda two: two.cover(photo, BADGE))
    camera.merge(with_badge)
    assert covers(camera, photo) == [(FACE, BADGE)]

    camera.undo()

    assert covers(camera, photo) == [(BADGE,)]


def another_tablet(tmp_path, camera, act, name="two"):
    """Let a second tablet take in all of the first, act, and give its bundle."""
    bundle = camera.send(f"for-{name}.zip", originals=True)
    two = Camera(tmp_path / name, seed=len(name) + ord(name[0]), route=camera.route)
    two.merge(bundle.path)
    act(two)
    sent = two.send("back.zip")
    two.close()
    return sent.path


@pytest.mark.parametrize("order", list(itertools.permutations(("one", "two", "three"))))
def test_places_covered_apart_contradict_until_one_covers_them_all_in_any_order_of_merging(
    tmp_path, camera, order
):
    photo = camera.take()
    bundles = {
        "one": another_tablet(tmp_path, camera, lambda c: c.cover(photo, FACE), "one"),
        "two": another_tablet(tmp_path, camera, lambda c: c.cover(photo, BADGE), "two"),
        "three": another_tablet(tmp_path, camera, lambda c: c.cover(photo, FACE), "three"),
    }

    for name in order:
        camera.merge(bundles[name])

    everything = camera.copies[photo.sha256]
    assert set(everything.boxes) == {FACE, BADGE}
    assert everything.safe == ()
    cover_all(camera.desk.place, camera.now, photo.sha256)
    (settled,) = camera.copies[photo.sha256].safe
    assert set(settled.boxes) == {FACE, BADGE}
    assert camera.copies[photo.sha256].heads == (settled,)


def test_a_further_place_settles_a_contradiction_and_its_undo_keeps_both(tmp_path, camera):
    photo = camera.take()
    camera.merge(another_tablet(tmp_path, camera, lambda c: c.cover(photo, FACE), "one"))
    camera.merge(another_tablet(tmp_path, camera, lambda c: c.cover(photo, BADGE), "two"))
    third = Box(60, 0, 79, 20)

    camera.cover(photo, third)
    assert [set(boxes) for boxes in covers(camera, photo)] == [{FACE, BADGE, third}]
    camera.undo()

    assert [set(boxes) for boxes in covers(camera, photo)] == [{FACE, BADGE}]


def test_screens_show_every_place_covered_even_while_tablets_contradict(tmp_path, camera):
    photo = camera.take()
    camera.merge(another_tablet(tmp_path, camera, lambda c: c.cover(photo, FACE), "one"))
    camera.merge(another_tablet(tmp_path, camera, lambda c: c.cover(photo, BADGE), "two"))

    shown = shown_bytes(camera.desk.store, photo, camera.copies[photo.sha256])

    assert set(camera.copies[photo.sha256].boxes) == {FACE, BADGE}
    assert shown in (cover(PHONE, [FACE, BADGE]), cover(PHONE, [BADGE, FACE]))


def test_a_desk_that_has_only_the_copy_can_cover_it_and_take_that_back(tmp_path, camera):
    photo = camera.take()
    desk = Camera(tmp_path / "desk", seed=5, route=camera.route)
    desk.merge(camera.send().path)
    assert desk.desk.store.photo_path(photo.file_name) is None

    desk.cover(photo, FACE)
    assert covers(desk, photo) == [(FACE,)]
    desk.uncover(photo)

    assert covers(desk, photo) == [()]
    desk.close()


def test_a_desk_that_has_only_a_covered_copy_cannot_uncover_it(tmp_path, camera):
    photo = camera.take()
    camera.cover(photo)
    desk = Camera(tmp_path / "desk", seed=5, route=camera.route)
    desk.merge(camera.send().path)

    with pytest.raises(
        PhotoError, match=r"^Only a covered copy is here; take the place back on the tablet"
    ):
        desk.uncover(photo)
    desk.cover(photo, BADGE)

    assert covers(desk, photo) == [(FACE, BADGE)]
    desk.close()


def test_a_picture_that_is_not_here_is_said_in_a_sentence(camera):
    photo = camera.take()
    camera.desk.store.photo_path(photo.file_name).unlink()

    with pytest.raises(
        PhotoError, match=r"^The picture is not on this tablet; cover it on the one that took it\.$"
    ):
        camera.cover(photo)


def test_what_cannot_be_covered_is_refused_and_nothing_is_written(camera):
    photo = camera.take()
    before = camera.desk.records

    with pytest.raises(InputError, match="not recorded here; go back and choose one"):
        camera.cover(replace(photo, sha256="0" * 64))
    with pytest.raises(InputError, match="Nothing is covered in this picture yet"):
        cover_all(camera.desk.place, camera.now, photo.sha256)
    with pytest.raises(InputError, match="so nothing can be taken back"):
        camera.uncover(photo)

    assert camera.desk.records == before


def test_a_picture_takes_a_hundred_places_and_no_more(camera):
    photo = camera.take(as_jpeg(scene((8, 200))))
    boxes = [Box(0, row, 8, row + 1) for row in range(MOST_BOXES + 1)]
    for box in boxes[:-1]:
        camera.cover(photo, box)

    with pytest.raises(InputError, match="at most 100 covered places"):
        camera.cover(photo, boxes[-1])


def test_pictures_of_an_older_version_get_their_copies_once(camera):
    photo = camera.walking.add_photo("moulding", PHONE, "ear.jpg")
    (copy,) = copies_in(camera)
    camera.desk.place.add(
        Withdrawal, concern=copy.concern, walk=copy.walk, replaces=(copy.id,), why="as if never made"
    )
    assert photo.sha256 not in camera.copies

    made = [make_missing_copies(camera.desk.place, photo.concern) for _ in range(2)]

    assert made == [1, 0]
    assert covers(camera, photo) == [()]
