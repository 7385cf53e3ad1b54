"""Facts, refusals and small pictures. The outside witness is Pillow (libjpeg, zlib) and its Exif code."""

from __future__ import annotations

import io
import zipfile
import zlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageChops, ImageOps, ImageStat

from tests.photos.camera import (
    as_jpeg,
    as_png,
    camera_exif,
    decoded,
    jpeg_segment,
    png_chunk,
    scene,
)
from walkapp.errors import PhotoError
from walkapp.photos import PictureFacts, examine, examine_whole, small_picture, without_location

SIGNATURE_BYTES = 8


def upright(data: bytes) -> Image.Image:
    return ImageOps.exif_transpose(decoded(data)).convert("RGB")


def rgb_image(small: tuple[tuple[int, int], bytes]) -> Image.Image:
    return Image.frombytes("RGB", *small)


def mean_difference(one: Image.Image, other: Image.Image) -> float:
    return sum(ImageStat.Stat(ImageChops.difference(one, other)).mean) / 3


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("write", [as_jpeg, as_png])
def test_size_and_orientation_are_those_that_pillow_finds(write, orientation):
    data = write(exif=camera_exif(orientation))

    facts = examine(data, "IMG_0001.JPG")

    assert (facts.width_px, facts.height_px) == upright(data).size
    assert facts.orientation == orientation
    assert facts.has_location


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("write", [as_jpeg, as_png])
def test_a_small_picture_stands_upright_as_pillow_turns_it(write, orientation):
    data = write(scene((320, 192)), exif=camera_exif(orientation))
    expected = upright(data).resize((160, 96) if orientation < 5 else (96, 160))

    small = rgb_image(small_picture(data, 160))

    assert small.size == expected.size
    assert mean_difference(small, expected) < 4


def test_a_picture_without_metadata_is_upright_and_tells_no_place():
    assert examine(as_jpeg(), "a.jpg") == PictureFacts(
        media="image/jpeg", width_px=80, height_px=48, orientation=1, has_location=False
    )
    assert examine(as_png(), "a.png") == PictureFacts(
        media="image/png", width_px=80, height_px=48, orientation=1, has_location=False
    )


def test_camera_metadata_without_a_position_tells_no_place():
    assert not examine(as_jpeg(exif=camera_exif(place=False)), "a.jpg").has_location


def test_a_position_table_that_holds_only_its_version_tells_no_place():
    exif = camera_exif(place=False)
    exif.get_ifd(0x8825)[0] = b"\x02\x03\0\0"

    assert not examine(as_jpeg(exif=exif), "a.jpg").has_location


@pytest.mark.parametrize(
    "insertion",
    [
        jpeg_segment(0xE1, b"http://ns.adobe.com/xap/1.0/\0<x exif:GPSLatitude='48,7.5N'/>"),
        jpeg_segment(0xFE, b"GPS 48.1 7.9"),
        jpeg_segment(0xE1, b"Exif\0\0II*\0\xff\xff\xff\xff"),
        jpeg_segment(0xE1, b"Exif\0\0garbage"),
    ],
    ids=["xmp", "comment", "exif table out of range", "exif unreadable"],
)
def test_a_place_in_a_jpeg_segment_is_noticed_or_not_ruled_out(insertion):
    data = as_jpeg()

    facts = examine(data[:2] + insertion + data[2:], "a.jpg")

    assert facts.has_location
    assert facts.orientation == 1


@pytest.mark.parametrize(
    "insertion",
    [
        png_chunk(b"tEXt", b"Comment\0GPS 48.1 7.9"),
        png_chunk(b"zTXt", b"Comment\0\0" + zlib.compress(b"GPS 48.1 7.9")),
        png_chunk(b"iTXt", b"XML:com.adobe.xmp\0\x01\0\0\0" + zlib.compress(b"GPSLatitude")),
        png_chunk(b"tEXt", b"Raw profile type exif\0\nexif\n      4\n45786966\n"),
        png_chunk(b"eXIf", b"garbage"),
    ],
    ids=["text", "packed text", "packed xmp", "profile as text", "exif unreadable"],
)
def test_a_place_in_a_png_chunk_is_noticed_or_not_ruled_out(insertion):
    data = as_png()
    behind_header = SIGNATURE_BYTES + 12 + 13

    facts = examine(data[:behind_header] + insertion + data[behind_header:], "a.png")

    assert facts.has_location


@pytest.mark.parametrize("value", [0, 9, 65535])
def test_an_orientation_that_exif_does_not_know_counts_as_upright(value):
    assert examine(as_jpeg(exif=camera_exif(value)), "a.jpg").orientation == 1


def test_the_content_decides_and_not_the_ending():
    assert examine(as_png(), "really.jpg").media == "image/png"
    assert examine(as_jpeg(), "really.png").media == "image/jpeg"


def test_a_picture_with_an_archive_behind_it_is_the_picture_and_its_copy_is_only_that():
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w") as file:
        file.writestr("hidden.txt", "hidden")
    data = as_jpeg()

    facts = examine(data + archive.getvalue(), "both.jpg")
    copy = without_location(data + archive.getvalue(), "both.jpg")

    assert facts.media == "image/jpeg"
    assert facts.has_location
    assert not zipfile.is_zipfile(io.BytesIO(copy))
    assert copy == without_location(data)


@pytest.mark.parametrize("kind", ["GIF", "BMP", "TIFF", "WEBP", "PDF", "ICO"])
def test_other_kinds_of_file_are_refused_whatever_their_name(kind):
    target = io.BytesIO()
    scene().save(target, kind)

    with pytest.raises(
        PhotoError, match=r"^photo\.jpg is neither a JPEG nor a PNG picture; set the camera"
    ):
        examine(target.getvalue(), "photo.jpg")


@pytest.mark.parametrize("data", [b"<html><img src=x></html>", b"PK\x03\x04", b"\xff\xd8", b"\0" * 64])
def test_bytes_that_only_pretend_are_refused(data):
    with pytest.raises(PhotoError, match="neither a JPEG nor a PNG"):
        examine(data, "photo.jpg")


def test_an_empty_file_is_refused_in_words():
    with pytest.raises(PhotoError, match=r"^a\.jpg is empty; copy it again or take the picture again\.$"):
        examine(b"", "a.jpg")


@pytest.mark.parametrize("options", [{}, {"progressive": True}, {"exif": camera_exif(6)}])
def test_every_truncated_jpeg_is_refused(options):
    data = as_jpeg(scene((64, 40)), **options)

    for length in range(3, len(data), 7):
        with pytest.raises(PhotoError, match="was not copied completely"):
            examine(data[:length], "cut.jpg")
    with pytest.raises(PhotoError, match="was not copied completely"):
        examine(data[:-1], "cut.jpg")


def test_every_truncated_png_is_refused():
    data = as_png(scene((64, 40)))

    for length in range(8, len(data)):
        with pytest.raises(PhotoError, match="was not copied completely"):
            examine(data[:length], "cut.png")


def test_a_jpeg_whose_tail_was_never_written_is_refused():
    data = as_jpeg(scene((400, 300)))
    half = len(data) // 2

    with pytest.raises(PhotoError, match="was not copied completely"):
        examine(data[:half] + bytes(len(data) - half), "card.jpg")


def test_a_png_bomb_is_refused_by_its_header():
    header = (9000).to_bytes(4, "big") * 2 + b"\x01\0\0\0\0"
    rows = zlib.compress(bytes((9000 // 8 + 1) * 9000), 9)
    bomb = as_png()[:8] + png_chunk(b"IHDR", header) + png_chunk(b"IDAT", rows) + png_chunk(b"IEND", b"")
    assert decoded(bomb).size == (9000, 9000)

    for refuse in (examine, without_location):
        with pytest.raises(
            PhotoError, match=r"^b\.png has 9000 x 9000 pixels, more than 50 million; set the"
        ):
            refuse(bomb, "b.png")
    with pytest.raises(PhotoError, match="more than 50 million"):
        small_picture(bomb, 320)


def test_a_jpeg_that_claims_a_huge_frame_is_refused_by_its_header():
    data = as_jpeg()
    frame = data.index(b"\xff\xc0")
    bomb = data[: frame + 5] + (65535).to_bytes(2, "big") * 2 + data[frame + 9 :]

    with pytest.raises(PhotoError, match="65535 x 65535 pixels"):
        examine(bomb, "b.jpg")


def test_a_second_huge_frame_behind_a_small_one_is_refused():
    data = as_jpeg()
    frame = data.index(b"\xff\xc0")
    huge = jpeg_segment(0xC0, b"\x08\xff\xff\xff\xff\x01\x01\x11\0")

    with pytest.raises(PhotoError, match="65535 x 65535 pixels"):
        examine(data[:frame] + data[frame : frame + 19] + huge + data[frame + 19 :], "b.jpg")


def test_a_png_with_a_second_header_is_refused():
    data = as_png()
    second = png_chunk(b"IHDR", (9000).to_bytes(4, "big") * 2 + b"\x08\x02\0\0\0")

    with pytest.raises(PhotoError, match="is damaged"):
        examine(data[:33] + second + data[33:], "b.png")


@pytest.mark.parametrize("at_pixels", [0.1, 0.5, 0.9])
def test_a_png_with_damaged_pixels_and_a_right_checksum_is_refused(at_pixels):
    data = as_png(scene((64, 40)))
    start, end = data.index(b"IDAT") + 4, data.index(b"IEND") - 8
    pixels = bytearray(data[start:end])
    at = int(at_pixels * len(pixels))
    pixels[at : at + 3] = b"\xff\x00\xff"

    with pytest.raises(PhotoError, match="is damaged"):
        examine(data[:33] + png_chunk(b"IDAT", bytes(pixels)) + png_chunk(b"IEND", b""), "b.png")


def test_a_jpeg_with_more_scans_than_any_camera_writes_is_refused():
    data = as_jpeg(progressive=True)
    last_scan = data.rindex(b"\xff\xda")

    with pytest.raises(PhotoError, match="is damaged"):
        examine(data[:-2] + data[last_scan:-2] * 200 + data[-2:], "scans.jpg")


def test_a_file_above_25_megabytes_is_refused_before_it_is_read():
    with pytest.raises(PhotoError, match=r"^big\.jpg is larger than 25 MB; set the camera to a smaller"):
        examine(as_jpeg() + bytes(25_000_000), "big.jpg")


def test_fifty_million_pixels_are_accepted():
    data = as_png(Image.new("1", (10_000, 5_000)))

    assert examine(data, "large.png").width_px == 10_000


def test_a_name_with_line_breaks_still_gives_one_line():
    with pytest.raises(PhotoError) as refusal:
        examine(b"", "a\nb\u202egpj." + "x" * 500)

    assert str(refusal.value).startswith("a b<U+202E>gpj.xxx")
    assert len(str(refusal.value)) < 160


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16"])
def test_every_kind_of_png_gives_the_picture_it_shows(mode):
    grey = Image.linear_gradient("L")
    image = (
        grey.convert("I").point(lambda level: level * 257).convert("I;16")
        if mode == "I;16"
        else grey.convert(mode)
    )

    small = rgb_image(small_picture(as_png(image), 256))

    assert small.size == (256, 256)
    assert mean_difference(small, image.convert("RGB") if mode != "I;16" else grey.convert("RGB")) < 1


def test_a_palette_png_with_transparency_shows_white_there():
    image = Image.new("P", (4, 4), 0)
    image.putpalette([200, 0, 0, 0, 200, 0])
    image.putpixel((0, 0), 1)

    (_, rgb) = small_picture(as_png(image, transparency=b"\x00\xff"), 4)

    assert rgb[:3] == bytes((0, 200, 0))
    assert rgb[-3:] == b"\xff\xff\xff"


@pytest.mark.parametrize("mode", ["L", "CMYK", "YCbCr"])
def test_every_kind_of_jpeg_gives_rgb(mode):
    data = as_jpeg(scene((200, 100), mode))

    size, rgb = small_picture(data, 100)

    assert size == (100, 50)
    assert mean_difference(rgb_image((size, rgb)), decoded(data).convert("RGB").resize(size)) < 4


def test_a_small_picture_is_not_enlarged():
    assert small_picture(as_jpeg(), 2048)[0] == (80, 48)


def test_a_very_flat_picture_keeps_at_least_one_row():
    size, rgb = small_picture(as_jpeg(Image.new("RGB", (4000, 3), "red")), 32)

    assert size == (32, 1)
    assert len(rgb) == 32 * 3


@pytest.mark.parametrize("longest_px", [0, -1, 2049])
def test_a_size_that_no_texture_may_have_is_a_programming_mistake(longest_px):
    with pytest.raises(ValueError, match="longest_px must be 1 to 2048"):
        small_picture(as_jpeg(), longest_px)


def test_a_phone_picture_with_a_second_picture_behind_it_is_the_first_one():
    target = io.BytesIO()
    scene().save(target, "MPO", save_all=True, append_images=[scene((40, 30))], exif=camera_exif(6))

    facts = examine(target.getvalue(), "phone.jpg")

    assert (facts.media, facts.width_px, facts.height_px) == ("image/jpeg", 48, 80)
    assert decoded(without_location(target.getvalue())).format == "JPEG"


DAMAGED = {
    "jpeg": as_jpeg(scene((48, 32)), exif=camera_exif(6)),
    "progressive": as_jpeg(scene((48, 32)), progressive=True, exif=camera_exif(3), icc_profile=b"p" * 200),
    "png": as_png(scene((48, 32)), exif=camera_exif(8)),
}


@settings(max_examples=400, deadline=None)
@given(
    kind=st.sampled_from(sorted(DAMAGED)),
    changes=st.lists(
        st.tuples(st.floats(0, 1, exclude_max=True), st.binary(min_size=1, max_size=4)), max_size=6
    ),
    cut=st.floats(0.1, 1),
    more=st.binary(max_size=20),
)
def test_any_damage_gives_facts_or_one_plain_sentence(kind, changes, cut, more):
    damaged = bytearray(DAMAGED[kind])
    for where, what in changes:
        at = int(where * len(damaged))
        damaged[at : at + len(what)] = what
    data = bytes(damaged[: int(cut * len(damaged))]) + more

    try:
        facts = examine(data, "found.jpg")
        size, rgb = small_picture(data, 16)
    except PhotoError as error:
        assert str(error).startswith("found.jpg ") or str(error).startswith("The picture ")
        assert str(error).endswith(".")
        assert "\n" not in str(error)
        with pytest.raises(PhotoError):
            examine_whole(data, 16, "found.jpg")
    else:
        assert facts.width_px >= 1
        assert facts.orientation in range(1, 9)
        assert len(rgb) == size[0] * size[1] * 3
        whole = examine_whole(data, 16, "found.jpg")
        assert (whole.facts, whole.copy, whole.size) == (facts, without_location(data), size)
        assert len(whole.rgb) == len(rgb)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16"])
def test_decoding_once_gives_the_same_small_picture_of_every_kind_of_png(mode):
    data = as_png(scene((120, 70)).convert("L").convert(mode) if mode == "I;16" else scene((120, 70), mode))

    whole = examine_whole(data, 50)

    assert (whole.size, whole.rgb) == small_picture(data, 50)


@pytest.mark.parametrize("mode", ["L", "CMYK", "RGB"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_decoding_once_gives_nearly_the_same_small_picture_of_every_kind_of_jpeg(mode, orientation):
    data = as_jpeg(scene((640, 400), mode), exif=camera_exif(orientation))

    whole = examine_whole(data, 80)

    once, apart = rgb_image((whole.size, whole.rgb)), rgb_image(small_picture(data, 80))
    assert once.size == apart.size
    assert mean_difference(once, apart) < 3


@pytest.mark.parametrize("longest_px", [0, -1, 2049])
def test_decoding_once_has_the_same_bounds(longest_px):
    with pytest.raises(ValueError, match="longest_px"):
        examine_whole(as_jpeg(), longest_px)


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=300), st.integers(0, 200))
def test_damage_inside_the_exif_never_blocks_a_picture_that_can_be_seen(noise, where):
    exif = camera_exif(6).tobytes().removeprefix(b"Exif\0\0")
    block = exif[:where] + noise + exif[where + len(noise) :]
    data = as_jpeg(scene((16, 8)))

    facts = examine(data[:2] + jpeg_segment(0xE1, b"Exif\0\0" + block) + data[2:], "a.jpg")

    assert sorted((facts.width_px, facts.height_px)) == [8, 16]
