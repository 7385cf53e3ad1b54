"""Covering people in a real window: a gloved finger draws, and what it drew is gone from the copy."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from io import BytesIO
from itertools import pairwise

import pytest
from PIL import Image, ImageChops, ImageStat

from tests.cameras import Camera, pictures_in
from tests.photos.camera import camera_exif
from tests.screens.layout_check import problems
from tests.screens.picture_hand import PictureHand
from walkapp.demo.bench import packing_bench
from walkapp.model.boxes import Box
from walkapp.photos import cover
from walkapp.screens import look

pytestmark = pytest.mark.window

TABLETS = {
    "10 inch lying": {"size": (1280, 800), "density": 1.0, "pixels_per_inch": 149},
    "8 inch standing": {"size": (800, 1280), "density": 1.33, "pixels_per_inch": 189},
    "7 inch lying": {"size": (1024, 600), "density": 1.0, "pixels_per_inch": 170},
}
FACE = (0.5, 0.18, 0.66, 0.48)


packing_bench_once = cache(packing_bench)


@cache
def as_taken(orientation: int) -> bytes:
    """The drawn packing bench as a camera that was held another way stores it."""
    upright = Image.open(BytesIO(packing_bench_once()))
    turns = {6: Image.Transpose.ROTATE_90, 8: Image.Transpose.ROTATE_270, 3: Image.Transpose.ROTATE_180}
    stored = upright.transpose(turns[orientation]) if orientation in turns else upright
    file = BytesIO()
    stored.save(file, "JPEG", quality=90, exif=camera_exif(orientation))
    return file.getvalue()


class CoverHand(PictureHand):
    """On the page on which people are covered."""

    def open(self):
        self.go("cover")
        return self

    @property
    def boxes(self):
        found = self.camera.copies.get(self.photo.sha256)
        return found.boxes if found else ()

    def at(self, right, down):
        """A point of the picture, in shares of it, as a point in the window."""
        left, bottom, far, top = self.pad.sides()
        return left + right * (far - left), top - down * (top - bottom)

    def shares(self, box):
        width, height = self.photo.width_px, self.photo.height_px
        return box.left / width, box.top / height, box.right / width, box.bottom / height


def picture_of(data):
    return Image.open(BytesIO(data)).convert("RGB")


def bench():
    return picture_of(packing_bench_once())


def is_covered(image, box) -> bool:
    """Whether a box of the bench is as covering the upright drawing makes it, up to packing the JPEG."""
    expected = picture_of(cover(packing_bench_once(), [box]))
    return max(ImageStat.Stat(ImageChops.difference(image, expected).crop(box)).mean) < 8


@pytest.mark.parametrize("tablet", TABLETS)
def test_a_face_is_covered_by_one_drag_from_the_photo_page_to_the_bundle(camera, tablet):
    sizes = dict(TABLETS[tablet])
    pixels_per_inch = sizes.pop("pixels_per_inch")
    photo = camera.take(as_taken(1))

    with CoverHand(camera, photo, **sizes) as at:
        at.hand.app.go(replace(camera.route, screen="photo"))
        at.walk.tap("kept-1")
        at.walk.tap("cover")
        assert problems(at.hand.window, pixels_per_inch=pixels_per_inch) == []
        at.walk.draw_box(*FACE)
        assert at.hand.find("said").text.startswith("1 place covered.")
        assert at.hand.find("saved").text == "On disk: covered place at Moulding"
        assert problems(at.hand.window, pixels_per_inch=pixels_per_inch) == []
        (box,) = at.boxes
        # A finger's place is known to one pixel of the window.
        assert at.shares(box) == pytest.approx(FACE, abs=2.5 / at.pad.sides()[2])
        for _ in ("the picture", "the photo page"):
            at.hand.back()
            at.walk.settle()
        assert at.hand.find("kept-1").tile.caption == "1600 x 1200, 1 place covered"

    ((_, data),) = pictures_in(camera.send().path).items()
    assert is_covered(picture_of(data), box)
    assert not is_covered(bench(), box)


@pytest.mark.parametrize("orientation", [3, 6, 8])
def test_the_finger_covers_what_it_sees_whichever_way_the_camera_was_held(camera, orientation):
    photo = camera.take(as_taken(orientation))
    assert (photo.width_px, photo.height_px) == (1600, 1200)

    with CoverHand(camera, photo).open() as at:
        at.walk.draw_box(*FACE)
        (box,) = at.boxes
        assert at.shares(box) == pytest.approx(FACE, abs=0.005)

    ((_, data),) = pictures_in(camera.send().path).items()
    assert is_covered(picture_of(data), box)
    # Nothing else was turned, moved or changed, up to packing the JPEG anew.
    apart = ImageChops.difference(picture_of(data), bench())
    apart.paste((0, 0, 0), box)
    assert max(ImageStat.Stat(apart).mean) < 2


@pytest.mark.parametrize("tablet", TABLETS)
def test_a_wobbling_tap_draws_nothing_and_a_short_drag_a_box_a_glove_can_aim_at(camera, tablet):
    sizes = dict(TABLETS[tablet])
    pixels_per_inch = sizes.pop("pixels_per_inch")
    photo = camera.take(as_taken(1))

    with CoverHand(camera, photo, **sizes).open() as at:
        x, y = at.at(0.5, 0.5)
        wobble = look.gap() * 0.9
        at.hand.drag((x, y), (x + wobble, y - wobble))
        at.walk.settle()
        assert at.boxes == ()

        at.hand.drag((x, y), (x + look.gap() * 1.2, y))
        at.walk.settle()
        (box,) = at.boxes
        left, top, right, bottom = at.shares(box)
        near, low, far, high = at.pad.sides()
        sides_px = (right - left) * (far - near), (bottom - top) * (high - low)
        assert min(sides_px) / pixels_per_inch * 25.4 >= 12 - 0.05


def test_a_drag_that_leaves_the_picture_covers_up_to_its_edge(camera):
    photo = camera.take(as_taken(1))

    with CoverHand(camera, photo).open() as at:
        at.hand.drag(at.at(0.7, 0.6), (at.hand.window.width - 5, 5))
        at.walk.settle()
        (box,) = at.boxes

    assert (box.right, box.bottom) == (1600, 1200)


def test_a_second_finger_draws_nothing(camera):
    photo = camera.take(as_taken(1))

    with CoverHand(camera, photo).open() as at:
        first, second = at.hand.finger(at.at(0.2, 0.3)), at.hand.finger(at.at(0.8, 0.8))
        first.down()
        second.down()
        second.move(*at.at(0.6, 0.6))
        second.up()
        first.move(*at.at(0.4, 0.5))
        first.up()
        at.walk.settle()
        (box,) = at.boxes
        assert at.shares(box) == pytest.approx((0.2, 0.3, 0.4, 0.5), abs=0.005)


def test_a_touch_beside_the_picture_draws_nothing(camera):
    photo = camera.take(as_taken(1))

    with CoverHand(camera, photo, size=(800, 1280), density=1.33).open() as at:
        left, bottom, _, _ = at.pad.sides()
        at.hand.drag((left + 50, bottom - 40), at.at(0.5, 0.5))
        at.walk.settle()
        assert at.boxes == ()


def test_undo_is_one_tap_and_boxes_stay_through_turning_and_restart(camera):
    photo = camera.take(as_taken(1))
    with CoverHand(camera, photo).open() as at:
        at.walk.draw_box(*FACE)
        at.walk.draw_box(0.1, 0.5, 0.3, 0.7)
        at.hand.turn((800, 1280))
        at.walk.draw_box(0.6, 0.54, 0.9, 0.7)
        assert len(at.boxes) == 3
        at.walk.tap("undo")
        assert len(at.boxes) == 2

    with CoverHand(camera, photo) as later:
        later.hand.until(lambda: later.hand.has("pad"))
        later.walk.settle()
        assert len(later.pad.places) == 2
        later.walk.tap("undo")
        later.walk.tap("undo")
        assert later.boxes == ()
        assert later.hand.find("undo").disabled


def test_what_is_covered_is_hatched_and_outlined_not_only_coloured(camera):
    photo = camera.take(as_taken(1))

    with CoverHand(camera, photo).open() as at:
        before = Image.open(at.hand.shot("before")).convert("L")
        at.walk.draw_box(0.1, 0.62, 0.4, 0.9)
        after = Image.open(at.hand.shot("after")).convert("L")
        left, top = (round(side) for side in at.at(0.1, 0.62))
        right, bottom = (round(side) for side in at.at(0.4, 0.9))
        high = at.hand.window.height
        box = (left, high - top, right, high - bottom)

    def changes(image):
        """How often a line across the box passes between dark and light."""
        row = image.crop(box).resize((right - left, 1), Image.Resampling.NEAREST)
        dark = [value < 90 for value in row.tobytes()]
        return sum(one != other for one, other in pairwise(dark))

    assert changes(after) >= changes(before) + 10


def test_two_tablets_that_contradict_are_settled_by_one_tap(camera, tmp_path):
    photo = camera.take(as_taken(1))
    whole = camera.send("all.zip", originals=True).path
    for seed, box in ((1, (0, 200, 300, 500)), (2, (800, 200, 1100, 600))):
        two = Camera(tmp_path / str(seed), seed=seed, route=camera.route)
        two.merge(whole)
        two.cover(photo, Box(*box))
        camera.merge(two.send().path)
        two.close()

    with CoverHand(camera, photo, size=(1024, 600)).open() as at:
        assert problems(at.hand.window, pixels_per_inch=170) == []
        at.walk.tap("settle")
        assert not at.hand.has("settle")

    assert len(camera.copies[photo.sha256].safe) == 1
    assert camera.send().photo_count == 1
