"""Labels of stations: read back from the drawn page, however it is seen, and nothing cut off."""

from __future__ import annotations

import random
from dataclasses import replace

import pypdfium2 as pdfium
import pytest
from PIL import Image, ImageFilter

from tests.fakes import CHECKLISTS
from tests.paper.printed import faults_of, pages_of
from walkapp.actions.labels import labels_of
from walkapp.checklists import load_streams
from walkapp.codes import qr_squares, read_codes, read_station
from walkapp.paper.drawing import A4
from walkapp.paper.flow import Squares, Words
from walkapp.paper.labels import CODE_SIDE, MM, QUIET, label_pages, print_labels

STREAMS = {stream.id: stream for stream in load_streams(CHECKLISTS)}
STREAM = STREAMS["washer-reservoir"]


@pytest.fixture(scope="module")
def pdf():
    return print_labels(labels_of(STREAM), "labels")[0]


def rendered(pdf, page=0, dots=100):
    document = pdfium.PdfDocument(pdf)
    try:
        return document[page].render(scale=dots / 72).to_pil().convert("RGB")
    finally:
        document.close()


def stations_on(picture):
    found = (read_station(code.text) for code in read_codes(picture.size, picture.tobytes()))
    return {label.station for label in found if label is not None}


@pytest.mark.parametrize("dots", [40, 60, 100, 200])
def test_every_label_is_read_back_at_several_resolutions(pdf, dots):
    seen = stations_on(rendered(pdf, 0, dots)) | stations_on(rendered(pdf, 1, dots))

    assert seen == {station.id for station in STREAM.stations}


@pytest.mark.parametrize("angle", [7, 45, 90, 133, 180, 270])
def test_every_label_is_read_back_however_the_page_is_turned(pdf, angle):
    turned = rendered(pdf).rotate(angle, expand=True, fillcolor="white", resample=Image.Resampling.BICUBIC)

    assert stations_on(turned) == {"moulding", "degating", "welding", "leak-test"}


@pytest.mark.parametrize("seed", range(3))
def test_every_label_is_read_back_through_noise_blur_and_poor_light(pdf, seed):
    picture = rendered(pdf, dots=80)
    noise = Image.frombytes(
        "L", picture.size, random.Random(seed).randbytes(picture.width * picture.height)
    )
    worn = Image.blend(picture, noise.convert("RGB"), 0.35).filter(ImageFilter.GaussianBlur(1))
    shaded = Image.eval(worn, lambda value: 30 + value * 90 // 255)

    assert len(stations_on(shaded)) == 4


def test_the_code_is_drawn_as_lines_and_has_its_quiet_zone():
    (page,) = label_pages(labels_of(STREAM)[:1])
    (squares,) = [mark for mark in page.marks if isinstance(mark, Squares)]
    module = squares.side / squares.count

    assert squares.side + 2 * QUIET * module == pytest.approx(CODE_SIDE)
    quiet = (
        squares.x - QUIET * module,
        squares.y - QUIET * module,
        squares.x + squares.side + QUIET * module,
        squares.y + squares.side + QUIET * module,
    )
    for mark in page.marks:
        if isinstance(mark, Words):
            assert not (quiet[1] < mark.y - 0.2 * mark.size and mark.y - 0.8 * mark.size < quiet[3])
    assert quiet[0] > 0 and quiet[2] < A4[0] / 2


def test_a_code_is_large_enough_for_arms_length():
    # 0.6 m, 1280 pixels over a view of 60 degrees: the assumption that the module's text says.
    pixels_per_mm = 1280 / (2 * 600 * 0.5774)
    longest = qr_squares("station:" + "a" * 40 + "/" + "b" * 40 + ":XXXX")

    assert CODE_SIDE / MM / (37 + 8) * pixels_per_mm > 2.5
    assert CODE_SIDE / MM / (longest.side + 8) * pixels_per_mm > 2.0


def test_names_of_any_length_and_letters_stay_on_their_label_and_apart():
    long = replace(
        labels_of(STREAM)[0], station="Hot-plate welding of the upper half " * 6, stream="x" * 300
    )
    odd = replace(long, station="焊接 \u202e<U>", stream="$a_b$ \n % {x}", text="station:" + "a" * 90)
    plain = labels_of(STREAM)[1]

    pages = pages_of(print_labels((long, odd, plain, long), "labels")[0])

    assert len(pages) == 1
    assert faults_of(pages[0]) == []


def test_the_same_labels_give_the_same_bytes(pdf):
    assert print_labels(labels_of(STREAM), "labels")[0] == pdf


def test_a_stream_of_twelve_stations_takes_three_sheets():
    assert print_labels(labels_of(STREAMS["pump-bracket"]), "labels")[1] == 3
