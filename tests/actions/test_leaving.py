"""What leaves the tablet in a bundle's zip: copies without metadata, and nothing that somebody covered."""

from __future__ import annotations

import io

import pytest
from PIL import Image, ImageChops

from tests.cameras import BADGE, FACE, PHONE, Camera, pictures_in
from tests.fakes import Desk
from tests.photos.camera import SECRETS, as_jpeg, as_png, metadata_of, phone_jpeg, phone_png, scene
from walkapp.actions.copies import cover_all
from walkapp.actions.pictures import kept_pictures
from walkapp.actions.thumbnails import Thumbnails
from walkapp.bundle import open_bundle
from walkapp.files import sha256_of
from walkapp.model.records import PhotoCopy, Withdrawal
from walkapp.photos import without_location

COPY = "1 photo is sent as a copy without place, serial number and other metadata."
NO_COPY = (
    "1 photo is not sent, for lack of a copy without place and serial number: write the bundle in the "
    "app, which makes such copies, or add --originals to send photos as they were taken."
)
CONTRADICTING = (
    "1 photo is not sent, because tablets covered different places: open it from its photo page and tap "
    "'Cover all these places'."
)
ELSEWHERE = (
    "1 photo is not sent, because places are covered where the same picture was recorded elsewhere: cover "
    "them here too, from the photo page."
)


def pixels(data):
    return Image.open(io.BytesIO(data)).convert("RGB")


def kept_at_moulding(camera):
    here, standing = camera.now.at_station("moulding"), camera.now.facts.standing
    return kept_pictures(camera.desk.place, Thumbnails(camera.desk.place).give, here, standing)


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("write", [phone_jpeg, phone_png])
def test_nothing_of_the_phone_is_in_the_picture_that_leaves(camera, write, orientation):
    taken = write(orientation=orientation)
    camera.take(taken)

    ((name, data),) = camera.sent().items()

    assert name.partition(".")[0] == sha256_of(data)
    assert metadata_of(data) == ({} if orientation == 1 else {"Orientation": orientation})
    orientation_label = (b"Exif",) if orientation != 1 and write is phone_jpeg else ()
    assert [secret for secret in SECRETS if secret in data and secret not in orientation_label] == []
    assert pixels(data).tobytes() == pixels(taken).tobytes()


def test_no_byte_of_a_secret_is_anywhere_in_the_bundle(camera):
    photo = camera.take()
    camera.cover(photo)

    whole = camera.send().path.read_bytes()

    # Pictures are stored unpacked, so that a secret in one would be found as it is.
    assert [secret for secret in SECRETS if secret in whole] == []
    assert b"MAKER-SECRET" in camera.send("control.zip", originals=True).path.read_bytes()


def test_the_output_says_that_copies_are_sent(camera):
    camera.take()

    assert camera.send().photo_notes == (COPY,)


def test_a_picture_without_metadata_leaves_as_it_is(camera):
    photo = camera.take(as_jpeg())

    assert camera.sent() == {photo.file_name: as_jpeg()}
    assert camera.send().photo_notes == ()


def test_originals_are_sent_when_they_are_asked_for_and_that_is_said(camera):
    photo = camera.take()
    bare = camera.take(as_png())

    facts = camera.send(originals=True)

    assert pictures_in(facts.path) == {photo.file_name: PHONE, bare.file_name: as_png()}
    assert facts.photo_notes == ("1 photo is as taken, place and serial number included.",)


def test_originals_of_covered_pictures_are_said_to_be_uncovered(camera):
    camera.cover(camera.take())

    assert camera.send(originals=True).photo_notes == (
        "1 photo is as taken, place and serial number included.",
        "1 photo is shown uncovered, although people or names were covered in the copy.",
    )


def test_only_the_copy_with_everything_covered_leaves_and_no_earlier_one(camera):
    photo = camera.take()
    first = camera.cover(photo, FACE)
    second = camera.cover(photo, BADGE)

    ((name, data),) = camera.sent().items()

    assert name == second.file_name != first.file_name
    shown, taken = pixels(data), pixels(PHONE)
    for box in (FACE, BADGE):
        assert len(shown.crop(box).resize((4, 4), Image.Resampling.BOX).getcolors()) > 0
        assert ImageChops.difference(shown.crop(box), taken.crop(box)).getbbox() is not None
    assert camera.send().photo_notes == (COPY, "1 photo is sent with places covered.")


def test_the_original_of_a_covered_picture_without_metadata_stays(camera):
    photo = camera.take(as_jpeg())
    copy = camera.cover(photo)

    assert set(camera.sent()) == {copy.file_name}
    camera.uncover(photo)
    assert set(camera.sent()) == {photo.file_name}


def test_after_undo_the_copy_leaves_without_the_place_covered(camera):
    photo = camera.take()
    camera.cover(photo)
    camera.undo()

    assert camera.sent() == {sha256_of(without_location(PHONE)) + ".jpg": without_location(PHONE)}


def test_a_picture_that_was_taken_back_does_not_leave(camera):
    camera.take()
    camera.undo()

    facts = camera.send()

    assert pictures_in(facts.path) == {}
    with open_bundle(facts.path) as bundle:
        assert bundle.missing_photos == ()


def test_a_picture_of_an_older_version_waits_for_its_copy_and_it_is_said_how(camera):
    photo = camera.take()
    (copy,) = (r for r in camera.desk.records if isinstance(r, PhotoCopy))
    camera.desk.place.add(
        Withdrawal, concern=copy.concern, walk=copy.walk, replaces=(copy.id,), why="as if never made"
    )

    facts = camera.send()

    assert pictures_in(facts.path) == {}
    assert facts.photo_notes == (NO_COPY,)
    with open_bundle(facts.path) as bundle:
        assert bundle.missing_photos == (photo.file_name,)
    assert set(camera.sent(originals=True)) == {photo.file_name}


def test_a_damaged_picture_does_not_hold_up_the_records(camera):
    photo = camera.take()
    camera.desk.store.photo_path(photo.file_name).write_bytes(PHONE[:-1])

    facts = camera.send()

    assert (facts.photo_count, facts.photo_notes) == (0, ())


def other_tablet(camera, tmp_path, name, box):
    """Let a second tablet take all of the first in, as taken, cover a place, and give its bundle."""
    photo = camera.take()
    two = Camera(tmp_path / name, seed=ord(name[0]), route=camera.route)
    two.merge(camera.send(f"for-{name}.zip", originals=True).path)
    two.cover(photo, box)
    sent = two.send("back.zip").path
    two.close()
    return sent


def contradicting(camera, tmp_path):
    """Two tablets cover different places of one picture; give both bundles and the picture."""
    first = camera.take()
    camera.undo()
    one = other_tablet(camera, tmp_path, "one", FACE)
    camera.undo()
    two = other_tablet(camera, tmp_path, "two", BADGE)
    return first, one, two


def test_where_tablets_covered_different_places_none_leaves_whatever_came_first(camera, tmp_path):
    _, one, two = contradicting(camera, tmp_path)
    outcomes = []
    for number, order in enumerate(((one, two), (two, one))):
        desk = Camera(tmp_path / f"desk-{number}", seed=200 + number, route=camera.route)
        desk.merge(*order)
        facts = desk.send()
        outcomes.append((facts.path.read_bytes(), facts.photo_notes))
        desk.close()

    assert outcomes[0] == outcomes[1]
    assert outcomes[0][1] == (CONTRADICTING,)
    assert pictures_in(tmp_path / "desk-0" / "sent.zip") == {}


def test_a_copy_leaves_again_once_it_covers_what_both_covered(camera, tmp_path):
    photo, one, two = contradicting(camera, tmp_path)
    desk = Camera(tmp_path / "desk", seed=200, route=camera.route)
    desk.merge(one, two)

    settled = cover_all(desk.desk.place, desk.now, photo.sha256)

    assert set(settled.boxes) == {FACE, BADGE}
    assert set(desk.sent()) == {settled.file_name}
    desk.close()


def test_a_place_covered_in_another_concern_does_not_leave_from_here(camera):
    here = camera.take()
    elsewhere = Camera(camera.folder, desk=camera.desk, route=camera.desk.walk())
    elsewhere.take()
    covered = elsewhere.cover(here)

    facts = camera.send(concern=camera.route.concern)

    assert pictures_in(facts.path) == {}
    assert facts.photo_notes == (ELSEWHERE,)
    assert set(camera.sent("all.zip")) == {covered.file_name}


def test_a_record_that_calls_an_original_a_copy_does_not_get_it_out(camera):
    """The SHA-256 of every original is in every bundle, so that anybody could write such a record."""
    secret = camera.take(phone_jpeg(scene((30, 20))))
    photo = camera.take(as_jpeg())
    said = {
        "station": "moulding", "photo": photo.sha256, "sha256": secret.sha256, "media": secret.media,
        "size_bytes": secret.size_bytes, "width_px": 80, "height_px": 48, "covered": "0 0 80 48",
    }  # fmt: skip
    camera.desk.place.add(PhotoCopy, concern=photo.concern, walk=photo.walk, **said)

    whole = camera.send().path.read_bytes()

    assert [word for word in SECRETS if word in whole] == []
    assert secret.file_name not in camera.sent()
    assert photo.file_name not in camera.sent()


def test_the_same_picture_with_and_without_metadata_leaves_covered_or_not_at_all(camera):
    with_metadata = camera.take()
    without = camera.take(without_location(PHONE))
    copy = camera.cover(without)

    assert set(camera.sent()) == {copy.file_name}
    assert ELSEWHERE in camera.send().photo_notes
    assert camera.cover(with_metadata).file_name == copy.file_name
    assert camera.send().photo_count == 1


def test_the_same_picture_at_two_stations_leaves_once_and_covered(camera):
    photo = camera.take(station="moulding")
    camera.take(station="dock")
    copy = camera.cover(photo)

    assert set(camera.sent()) == {copy.file_name}


def test_a_desk_without_the_picture_shows_the_copy_and_passes_it_on(camera, tmp_path):
    photo = camera.take()
    first = camera.send().path
    desk = Camera(tmp_path / "desk", seed=1, route=camera.route)

    (merged,) = desk.merge(first)

    assert merged.missing_photos == ()
    (tile,) = kept_at_moulding(desk)
    assert tile.caption == "80 x 48, copy without place and serial number"
    assert desk.desk.store.photo_path(photo.file_name) is None
    assert desk.send("on.zip").path.read_bytes() == first.read_bytes()
    assert desk.sent("again.zip", originals=True) == pictures_in(first)
    assert desk.desk.store.check().findings == ()
    for file in pictures_in(first):
        desk.desk.store.photo_path(file).unlink()
    (finding,) = desk.desk.store.check().findings
    assert f"photos/{photo.file_name} is missing" in finding.text
    desk.close()


def test_a_lost_copy_with_covered_places_is_told(camera):
    photo = camera.take()
    camera.cover(photo, FACE)
    store = camera.desk.store
    assert store.check().is_sound

    covered = next(r for r in store.all_records() if isinstance(r, PhotoCopy) and r.boxes)
    store.photo_path(covered.file_name).unlink()

    (finding,) = store.check().findings
    assert f"photos/{covered.file_name} is missing" in finding.text


def test_the_tablet_itself_shows_the_covered_copy(camera):
    photo = camera.take()
    camera.cover(photo, FACE)
    camera.cover(photo, BADGE)

    (tile,) = kept_at_moulding(camera)

    assert tile.caption == "80 x 48, 2 places covered"
    shown, taken = Image.frombytes("RGB", tile.size, tile.pixels), pixels(PHONE)
    assert ImageChops.difference(shown.crop(FACE), taken.crop(FACE)).getbbox() is not None


def test_the_bundle_is_the_same_whichever_tablet_writes_it(camera, tmp_path):
    photo = camera.take()
    camera.cover(photo)
    camera.take(as_png(scene((30, 20))))
    first = camera.send()
    other = Desk(tmp_path / "other", seed=9)
    second = Camera(tmp_path / "other", desk=other, route=camera.route)
    second.merge(first.path)

    assert second.send().path.read_bytes() == first.path.read_bytes()
    second.close()
