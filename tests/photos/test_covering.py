"""Covered places: what is seen under the finger is what is gone, and nothing brings it back."""

from __future__ import annotations

import random

import pytest
from PIL import Image, ImageChops, ImageCms, ImageFilter, ImageOps

from tests.photos.camera import (
    SECRETS,
    as_jpeg,
    as_png,
    camera_exif,
    decoded,
    metadata_of,
    phone_jpeg,
    phone_png,
    scene,
)
from walkapp.errors import PhotoError
from walkapp.model.boxes import Box
from walkapp.photos import cover, examine, without_location

FACE = Box(24, 16, 64, 40)
PROFILE = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def noise(size, seed=1):
    """A picture in which every pixel matters."""
    return Image.frombytes("RGB", size, random.Random(seed).randbytes(size[0] * size[1] * 3))


def upright(data):
    return ImageOps.exif_transpose(decoded(data))


def outside(image, *boxes):
    """The picture with the boxes black."""
    clean = image.convert("RGB")
    for box in boxes:
        clean.paste((0, 0, 0), box)
    return clean


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("write", [as_png, as_jpeg])
def test_what_is_covered_is_what_was_seen_whichever_way_the_camera_was_held(write, orientation):
    data = write(noise((96, 72)), exif=camera_exif(orientation))
    seen = upright(data)

    copy = decoded(cover(data, [FACE]))

    assert copy.size == seen.size
    # Two colours and no more, up to what packing a JPEG adds at the rim.
    inner = copy.convert("RGB").crop((FACE.left + 8, FACE.top + 8, FACE.right - 8, FACE.bottom - 8))
    apart = ImageChops.difference(inner, seen.convert("RGB").crop(
        (FACE.left + 8, FACE.top + 8, FACE.right - 8, FACE.bottom - 8)))  # fmt: skip
    assert apart.getbbox() is not None
    difference = ImageChops.difference(outside(copy, FACE), outside(seen, FACE))
    if write is as_png:
        assert len(inner.getcolors()) == 2
        assert difference.getbbox() is None
    else:
        assert sum(difference.convert("L").histogram()[40:]) == 0


def same_mean(image):
    """The same picture with the pixels of the face in another order: their mean is the same."""
    face = image.crop(FACE)
    pixels = face.tobytes()
    order = list(range(len(pixels) // 3))
    random.Random(7).shuffle(order)
    other = image.copy()
    shuffled = b"".join(pixels[3 * at : 3 * at + 3] for at in order)
    other.paste(Image.frombytes("RGB", face.size, shuffled), FACE)
    return other


def test_two_faces_of_the_same_mean_colour_give_the_same_copy():
    """Nothing but one colour of what was there is left: with it nobody tells one face from another.

    Shown with PNG: in a JPEG as it was taken the pixels beside the box hold a little of the box already.
    """
    one = noise((96, 72))

    copies = [cover(as_png(image), [FACE]) for image in (one, same_mean(one))]

    assert as_png(one) != as_png(same_mean(one))
    assert copies[0] == copies[1]


def test_a_soft_blur_would_be_caught_by_that_test():
    one = noise((96, 72))

    blurred = [
        image.crop(FACE).filter(ImageFilter.GaussianBlur(6)).tobytes() for image in (one, same_mean(one))
    ]

    assert blurred[0] != blurred[1]


@pytest.mark.parametrize(("write", "media"), [(phone_jpeg, "image/jpeg"), (phone_png, "image/png")])
def test_the_covered_copy_holds_no_metadata(write, media):
    copy = cover(write(scene((96, 72)), 6), [FACE])

    assert metadata_of(copy) == {}
    assert [secret for secret in SECRETS if secret in copy] == []
    assert examine(copy, "copy").media == media
    assert without_location(copy) == copy


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16"])
def test_png_of_every_mode_keeps_what_is_outside(mode):
    image = scene().convert("L").convert("I;16") if mode == "I;16" else scene(mode=mode)
    data = as_png(image)

    copy = decoded(cover(data, [FACE]))

    if mode == "I;16":
        expected = image.convert("I").point(lambda grey: grey * (1 / 256)).convert("L")
    else:
        expected = image.convert("RGB")
    assert ImageChops.difference(outside(copy, FACE), outside(expected, FACE)).getbbox() is None


@pytest.mark.parametrize("mode", ["L", "CMYK"])
def test_grey_and_four_colour_jpegs_can_be_covered(mode):
    copy = decoded(cover(as_jpeg(scene(mode=mode), icc_profile=PROFILE), [FACE]))

    assert copy.mode == {"L": "L", "CMYK": "RGB"}[mode]
    assert ("icc_profile" in copy.info) == (mode == "L")


def test_the_colour_profile_stays():
    assert decoded(cover(as_jpeg(icc_profile=PROFILE), [FACE])).info["icc_profile"] == PROFILE


def test_boxes_over_each_other_and_at_the_edges_are_all_covered():
    boxes = [Box(0, 0, 10, 10), Box(5, 5, 80, 48), Box(79, 47, 80, 48)]

    copy = decoded(cover(as_png(noise((80, 48))), boxes))

    assert len(copy.convert("RGB").crop(boxes[1]).getcolors(10_000)) <= 4


@pytest.mark.parametrize("box", [Box(0, 0, 81, 10), Box(5, 5, 5, 10), Box(0, 10, 10, 5)])
def test_a_box_beside_the_picture_is_a_programming_mistake(box):
    with pytest.raises(ValueError, match="does not lie on a picture of 80 x 48 pixels"):
        cover(as_png(), [box])


def test_a_picture_that_cannot_be_read_is_said_in_a_sentence():
    with pytest.raises(PhotoError, match=r"^ear\.jpg is damaged or was not copied completely"):
        cover(as_jpeg()[:-40], [FACE], "ear.jpg")
