"""Marks drawn over a picture that is shown: where they are, at every size, whatever is written."""

from __future__ import annotations

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from tests.photos.camera import as_jpeg, as_png, camera_exif
from walkapp.model.drawings import Drawing, Point
from walkapp.model.strokes import DARK_INK, LIGHT_INK, plate, words_at
from walkapp.photos import small_jpeg, small_picture, width_of, words_as_drawn

GREY = (128, 128, 128)
ARROW = Drawing("arrow", (Point(0.2, 0.5), Point(0.8, 0.5)))
RING = Drawing("ring", (Point(0.25, 0.25), Point(0.75, 0.75)))


def grey(size=(1600, 1200), orientation=1):
    return as_jpeg(Image.new("RGB", size, GREY), exif=camera_exif(orientation, place=False))


def drawn(data, longest, *drawings):
    size, pixels = small_picture(data, longest, drawings=drawings)
    return Image.frombytes("RGB", size, pixels)


def near(colour, other, by=40):
    return all(abs(a - b) <= by for a, b in zip(colour, other, strict=True))


@pytest.mark.parametrize("longest", [1600, 640, 320, 120])
def test_an_arrow_is_light_between_dark_edges_at_every_size(longest):
    image = drawn(grey(), longest, ARROW)
    x, y = image.width // 2, image.height // 2

    column = [image.getpixel((x, row)) for row in range(image.height)]
    dark = [row for row, colour in enumerate(column) if near(colour, DARK_INK)]
    light = [row for row, colour in enumerate(column) if near(colour, LIGHT_INK)]
    assert light and min(dark) < min(light) and max(dark) > max(light)
    assert abs(sum(light) / len(light) - y) <= 1
    assert near(image.getpixel((x, y // 4)), GREY, 8)


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_marks_lie_on_the_upright_picture_whichever_way_the_camera_was_held(orientation):
    image = drawn(grey((1200, 800), orientation), 600, Drawing("line", (Point(0, 0), Point(0.2, 0))))

    assert near(image.getpixel((5, 0)), LIGHT_INK)
    assert near(image.getpixel((5, image.height - 1)), GREY, 8)


def test_without_marks_a_picture_is_the_same_to_the_byte():
    assert small_picture(grey(), 320) == small_picture(grey(), 320, drawings=())


def test_the_picture_for_paper_has_its_marks():
    size, jpeg = small_jpeg(grey(), 1000, drawings=(RING,))

    image = Image.open(io.BytesIO(jpeg))
    assert image.size == size == (1000, 750)
    assert near(image.getpixel((250, 375)), LIGHT_INK, 60)
    assert near(image.getpixel((500, 375)), GREY, 20)


def test_a_grey_or_transparent_png_is_marked_too():
    for mode in ("L", "1", "RGBA", "P"):
        image = drawn(as_png(Image.new("RGB", (300, 200), GREY).convert(mode)), 300, ARROW)
        assert near(image.getpixel((150, 100)), LIGHT_INK)


def test_words_stand_light_on_a_dark_plate():
    words = words_at(Point(0.5, 0.5), "crack")
    image = drawn(grey(), 800, words)
    box = plate(words, width_of("crack"), *image.size)

    inside = image.crop([round(side) for side in box[:4]])
    colours = inside.get_flattened_data() if hasattr(inside, "get_flattened_data") else inside.getdata()
    counted = [near(colour, DARK_INK, 20) or near(colour, LIGHT_INK, 20) for colour in colours]
    assert sum(near(colour, LIGHT_INK, 20) for colour in colours) > 200
    assert sum(counted) > 0.8 * len(counted)
    assert near(image.getpixel((round(box.left) - 3, round(box.top))), GREY, 8)


@pytest.mark.parametrize(
    ("words", "shown"),
    [
        ("crack", "crack"),
        ("трещина", "трещина"),
        ("ρωγμή", "ρωγμή"),
        ("ß ł ş ő", "ß ł ş ő"),
        ("two\nlines", "two lines"),
        ("裂纹", "<U+88C2><U+7EB9>"),
        ("\u202ekcarc", "<U+202E>kcarc"),
        ("🔧", "<U+1F527>"),
        ("=1+1 <b>", "=1+1 <b>"),
    ],
)
def test_a_letter_without_a_sign_is_shown_by_its_number(words, shown):
    assert words_as_drawn(words) == shown


@given(words=st.text(st.characters(exclude_categories=("Cc", "Cs")), min_size=1, max_size=40))
def test_any_words_can_be_drawn_and_stay_on_the_picture(words):
    image = drawn(grey((40, 30)), 40, words_at(Point(1, 1), words))

    assert image.size == (40, 30)


def test_the_smallest_picture_can_be_marked():
    assert drawn(grey((1, 1)), 1, ARROW, RING, words_at(Point(0, 0), "crack")).size == (1, 1)
