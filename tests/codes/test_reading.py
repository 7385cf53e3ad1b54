"""Codes drawn by two libraries are read from pixels; what a picture costs is bounded."""

from __future__ import annotations

import sys

import pytest
import zxingcpp
from PIL import Image

from tests.scenes import ground, qr_picture, scene
from walkapp.codes import MOST_PIXELS, read_codes, read_label
from walkapp.codes.reading import MOST_CODES
from walkapp.errors import DeviceError

FORMATS = zxingcpp.BarcodeFormat


def drawn(text, form, scale=4, **more) -> Image.Image:
    """Draw a code with the library that also reads it; QR is drawn by another one (segno)."""
    made = zxingcpp.create_barcode(text, form, **more).to_image(scale=scale)
    grey = Image.frombytes("L", (made.shape[1], made.shape[0]), memoryview(made).tobytes())
    framed = Image.new("RGB", (grey.width + 80, grey.height + 80), "white")
    framed.paste(grey.convert("RGB"), (40, 40))
    return framed


def read(picture):
    return read_codes(picture.size, picture.convert("RGB").tobytes())


@pytest.mark.parametrize(
    ("text", "form", "kind"),
    [
        ("EAR-0042", FORMATS.DataMatrix, "]d1"),
        ("EAR-0042", FORMATS.Code128, "]C0"),
        ("EAR-0042", FORMATS.Code39, "]A0"),
        ("9506000134352", FORMATS.EAN13, "]E0"),
    ],
)
def test_each_kind_of_code_is_read_with_its_kind(text, form, kind):
    picture = scene((drawn(text, form, scale=3), (640, 360)))

    (code,) = read(picture)

    assert (code.text, code.kind) == (text, kind)
    assert code.is_linear == (kind[1] in "ACE")


def test_a_qr_code_of_another_library_is_read_with_its_place():
    (code,) = read(scene((qr_picture("EAR-0042"), (400, 300))))

    assert (code.text, code.name) == ("EAR-0042", "QR Code")
    left, top, right, bottom = code.place
    assert left < 400 < right and top < 300 < bottom
    assert 290 <= code.middle[1] <= 310


@pytest.mark.parametrize("form", [FORMATS.DataMatrix, FORMATS.Code128, FORMATS.QRCode])
def test_a_gs1_code_keeps_its_separators(form):
    text = "(01)09506000134352(10)AB-123(21)S1"

    (code,) = read(drawn(text, form, scale=3, gs1=True))

    label = read_label(code.text, kind=code.kind, year=2026)
    assert (label.lot, label.serial, label.gtin) == ("AB-123", "S1", "09506000134352")


@pytest.mark.parametrize("angle", [0, 30, 90, 180, 265])
def test_a_code_is_read_however_it_is_turned(angle):
    codes = read(scene((qr_picture("EAR-0042"), (640, 360)), angle=angle))

    assert [code.text for code in codes] == ["EAR-0042"]


def test_light_squares_on_a_dark_part_are_read_when_looked_for():
    light = Image.eval(drawn("EAR-0042", FORMATS.DataMatrix), lambda value: 255 - value)

    assert [code.text for code in read(light)] == ["EAR-0042"]


def test_several_codes_come_from_top_to_bottom_and_a_text_comes_once():
    picture = scene(
        (qr_picture("B"), (900, 200)), (qr_picture("A"), (300, 500)), (qr_picture("B"), (300, 200))
    )

    assert [code.text for code in read(picture)] == ["B", "A"]


def test_of_very_many_codes_only_some_are_told():
    wall = Image.new("RGB", (2000, 1500), "white")
    for number in range(40):
        wall.paste(qr_picture(f"N{number}", 5), (number % 8 * 220, number // 8 * 220))

    assert len(read(wall)) == MOST_CODES


def test_a_picture_without_a_code_has_none():
    assert read(ground()) == ()


def test_a_huge_picture_is_shrunk_and_its_code_is_still_where_it_was():
    size = (5_000, 4_000)
    assert size[0] * size[1] > MOST_PIXELS
    picture = Image.new("RGB", size, "white")
    picture.paste(qr_picture("EAR-0042", 12), (4_000, 3_000))

    (code,) = read(picture)

    assert code.text == "EAR-0042"
    assert code.place[0] > 4_000 and code.place[1] > 3_000


@pytest.mark.parametrize("size", [(0, 4), (2, 2), (-1, -4)])
def test_bytes_that_do_not_fit_the_size_are_a_mistake_of_the_caller(size):
    with pytest.raises(ValueError, match="are no picture"):
        read_codes(size, b"\0" * 3)


def test_without_the_library_one_sentence_says_what_else_there_is(monkeypatch):
    monkeypatch.setitem(sys.modules, "zxingcpp", None)

    with pytest.raises(DeviceError) as missing:
        read_codes((1, 1), b"\0\0\0")

    assert "walkapp[scan]" in str(missing.value)
    assert "hand scanner" in str(missing.value)
