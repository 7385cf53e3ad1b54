"""The demo's drawings: always the same, readable, and never to be taken for a real part."""

from __future__ import annotations

import hashlib
import io
import os
import subprocess
import sys
from functools import cache

import pytest
from PIL import Image, ImageChops, ImageStat

from walkapp.demo.brushes import (
    AMBER,
    GREEN,
    INK,
    MARK,
    MARK_BAND_PX,
    PAPER,
    RED,
    TITLE_BAND_PX,
    bent,
    rounded,
)
from walkapp.demo.pictures import NAMES, draw
from walkapp.photos import examine, without_location


@cache
def drawn(name: str) -> bytes:
    return draw(name)


def opened(name: str) -> Image.Image:
    return Image.open(io.BytesIO(drawn(name))).convert("RGB")


def contrast(one: tuple[int, int, int], other: tuple[int, int, int]) -> float:
    """Contrast ratio of WCAG 2.2, "relative luminance" and "contrast ratio" in its glossary."""

    def luminance(colour):
        parts = [value / 255 for value in colour]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def near(colour: tuple[int, int, int], band: Image.Image) -> float:
    """Share of pixels whose colour differs by less than 24 in each channel."""
    difference = ImageChops.difference(band, Image.new("RGB", band.size, colour))
    largest = difference.convert("RGB").split()
    most = ImageChops.lighter(ImageChops.lighter(largest[0], largest[1]), largest[2])
    return sum(most.histogram()[:24]) / (band.width * band.height)


@pytest.mark.parametrize("name", NAMES)
def test_a_picture_is_a_whole_jpeg_of_1600_by_1200_without_metadata(name):
    facts = examine(drawn(name), name)

    assert (facts.media, facts.width_px, facts.height_px) == ("image/jpeg", 1600, 1200)
    assert (facts.orientation, facts.has_location) == (1, False)
    assert without_location(drawn(name)) == drawn(name)
    assert len(drawn(name)) < 500_000


@pytest.mark.parametrize("name", NAMES)
def test_drawing_again_gives_the_same_bytes(name):
    assert draw(name) == drawn(name)


def test_another_process_with_other_hashes_gives_the_same_bytes():
    code = (
        "import hashlib, sys; from walkapp.demo.pictures import draw; "
        "print(hashlib.sha256(draw('leak-tester-hard-pads')).hexdigest())"
    )
    result = subprocess.run(
        [sys.executable, "-c", code],
        env={
            **os.environ,
            "PYTHONHASHSEED": "4711",
            "PYTHONPATH": os.pathsep.join(p for p in sys.path if p),
        },
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )

    assert result.stdout.strip() == hashlib.sha256(drawn("leak-tester-hard-pads")).hexdigest()


def test_the_mark_says_that_no_real_part_is_shown():
    assert MARK == "DRAWN FOR THE DEMO, NOT A REAL PART"


@pytest.mark.parametrize("name", NAMES)
def test_every_picture_carries_the_mark_in_its_lowest_band(name):
    picture = opened(name)
    band = picture.crop((0, 1200 - MARK_BAND_PX + 4, 1600, 1200))
    other = opened(NAMES[0]).crop((0, 1200 - MARK_BAND_PX + 4, 1600, 1200))

    assert near(AMBER, band) > 0.7
    assert near(INK, band) > 0.05
    assert max(ImageStat.Stat(ImageChops.difference(band, other)).mean) < 1


@pytest.mark.parametrize("name", NAMES)
def test_title_and_mark_are_not_cut_at_the_sides(name):
    picture = opened(name)

    for top, bottom, paper in ((0, TITLE_BAND_PX - 4, INK), (1200 - MARK_BAND_PX + 4, 1200, AMBER)):
        for left in (0, 1560):
            assert near(paper, picture.crop((left, top, left + 40, bottom))) == 1


def test_titles_differ_from_picture_to_picture():
    titles = {opened(name).crop((0, 0, 1600, TITLE_BAND_PX)).tobytes() for name in NAMES}

    assert len(titles) == len(NAMES)


@pytest.mark.parametrize(("ink", "paper"), [(INK, AMBER), (PAPER, INK), (GREEN, PAPER), (RED, PAPER)])
def test_words_stand_out_at_seven_to_one(ink, paper):
    assert contrast(ink, paper) >= 7


@pytest.mark.parametrize("other", ["ear-whitened", "ear-cracked"])
def test_the_root_of_a_bad_ear_looks_different_at_400_pixels_wide(other):
    root = (236, 110, 262, 200)
    good = opened("ear-ok").resize((400, 300)).crop(root).convert("L")
    bad = opened(other).resize((400, 300)).crop(root).convert("L")

    assert ImageStat.Stat(ImageChops.difference(good, bad)).mean[0] > 15


def test_only_the_cracked_ear_has_a_black_line_at_its_root():
    root = (950, 450, 1060, 640)

    def darkest(name):
        return opened(name).convert("L").crop(root).getextrema()[0]

    assert darkest("ear-cracked") < 60
    assert darkest("ear-whitened") > 100


def test_a_picture_that_nobody_drew_is_a_programming_mistake():
    with pytest.raises(ValueError, match="no picture is called 'ear'"):
        draw("ear")


def test_a_bent_line_keeps_its_ends_and_its_middle():
    curve = bent((0, 0), (10, 0), (10, 10))

    assert (curve[0], curve[-1]) == ((0, 0), (10, 10))
    # Quadratic Bezier curve at one half: (start + 2 pull + end) / 4.
    assert curve[6] == (7.5, 2.5)


def test_rounding_a_square_cuts_its_corners_and_stays_inside():
    shape = rounded([(0, 0), (10, 0), (10, 10), (0, 10)], 2)

    assert (0, 0) not in shape
    assert all(0 <= x <= 10 and 0 <= y <= 10 for x, y in shape)
