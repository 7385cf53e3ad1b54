"""Copies that leave the tablet: nothing of the camera's metadata stays, and not one pixel changes."""

from __future__ import annotations

import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import ExifTags, Image, ImageCms, ImageOps

from tests.photos.camera import (
    LENS_SERIAL,
    SECRETS,
    SERIAL,
    as_jpeg,
    as_png,
    camera_exif,
    decoded,
    jpeg_segment,
    metadata_of,
    phone_jpeg,
    phone_png,
    png_chunk,
    scene,
)
from walkapp.errors import PhotoError
from walkapp.photos import examine, without_location

PROFILE = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def scans_of(data: bytes) -> bytes:
    """From the first start-of-scan marker to the end marker; only right if no metadata holds one."""
    return data[data.index(b"\xff\xda") : data.rindex(b"\xff\xd9")]


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("options", [{}, {"progressive": True}, {"restart_marker_rows": 1}])
def test_pixels_and_orientation_of_a_jpeg_stay_and_the_place_goes(orientation, options):
    data = as_jpeg(scene((200, 120)), exif=camera_exif(orientation), comment=b"GPS here", **options)

    copy = without_location(data)

    assert scans_of(copy) == scans_of(data)
    assert decoded(copy).tobytes() == decoded(data).tobytes()
    kept = decoded(copy).getexif()
    assert dict(kept) == ({} if orientation == 1 else {ExifTags.Base.Orientation: orientation})
    assert dict(kept.get_ifd(ExifTags.IFD.GPSInfo)) == {}
    for secret in (SERIAL.encode(), b"Invented Optics", b"INVENTED", b"GPS"):
        assert secret in data
        assert secret not in copy
    assert not examine(copy, "copy.jpg").has_location


@pytest.mark.parametrize("orientation", range(1, 9))
def test_pixels_and_orientation_of_a_png_stay_and_the_place_goes(orientation):
    data = as_png(scene(), exif=camera_exif(orientation))
    text = png_chunk(b"tEXt", b"Comment\0GPS here") + png_chunk(b"tIME", bytes(7))
    data = data[:33] + text + data[33:]

    copy = without_location(data)

    assert decoded(copy).tobytes() == decoded(data).tobytes()
    assert decoded(copy).getexif().get(ExifTags.Base.Orientation, 1) == orientation
    for secret in (SERIAL.encode(), b"GPS", b"tIME"):
        assert secret in data
        assert secret not in copy
    assert not examine(copy, "copy.png").has_location


def test_the_copy_looks_the_same_when_turned_upright():
    data = as_jpeg(exif=camera_exif(6))

    copy = without_location(data)

    assert (
        ImageOps.exif_transpose(decoded(copy)).tobytes() == ImageOps.exif_transpose(decoded(data)).tobytes()
    )


@pytest.mark.parametrize("write", [phone_jpeg, phone_png])
@pytest.mark.parametrize("orientation", [1, 6])
def test_nothing_that_a_phone_writes_stays(write, orientation):
    data = write(orientation=orientation)
    found = metadata_of(data)
    for secret in SECRETS:
        assert secret in data or write is phone_png
    assert (found["Exif"][ExifTags.Base.LensSerialNumber], "GPSInfo" in found) == (LENS_SERIAL, True)

    copy = without_location(data)

    assert metadata_of(copy) == ({} if orientation == 1 else {"Orientation": orientation})
    kept = (b"Exif",) if orientation != 1 and write is phone_jpeg else ()
    assert [secret for secret in SECRETS if secret in copy and secret not in kept] == []
    assert decoded(copy).tobytes() == decoded(data).tobytes()
    # Not one marker of a second picture: neither a small one inside nor further ones behind.
    assert copy.count(b"\xff\xd8\xff") == (1 if write is phone_jpeg else 0)


def test_the_small_picture_that_jfif_can_hold_goes():
    data = as_jpeg()
    small = bytes((2, 1)) + b"SECRET"  # two pixels of red, green and blue
    with_small = jpeg_segment(0xE0, b"JFIF\0\x01\x01\0\0\x01\0\x01" + small)

    copy = without_location(data[:2] + with_small + data[20:])

    assert b"SECRET" in with_small
    assert b"SECRET" not in copy
    assert decoded(copy).tobytes() == decoded(data).tobytes()


@pytest.mark.parametrize("write", [as_jpeg, as_png])
def test_the_colour_profile_stays(write):
    data = write(icc_profile=PROFILE, exif=camera_exif())

    assert decoded(without_location(data)).info["icc_profile"] == PROFILE


def test_the_colours_of_a_four_colour_jpeg_stay():
    data = as_jpeg(scene(mode="CMYK"), exif=camera_exif())

    assert decoded(without_location(data)).tobytes() == decoded(data).tobytes()


def test_makers_segments_and_further_pictures_behind_the_end_go():
    data = as_jpeg()
    makers = b"".join(jpeg_segment(code, b"MAKER-SECRET") for code in range(0xE3, 0xF0))

    copy = without_location(data[:2] + makers + data[2:] + as_jpeg(exif=camera_exif()))

    assert copy == without_location(data)


def test_a_thumbnail_inside_the_metadata_does_not_confuse_the_scan():
    inner = as_jpeg(scene((16, 12)))
    data = as_jpeg()
    exif = camera_exif(3).tobytes() + inner

    copy = without_location(data[:2] + jpeg_segment(0xE1, exif) + data[2:])

    assert scans_of(copy) == scans_of(data)


def test_fill_bytes_before_a_marker_are_allowed():
    data = as_jpeg(exif=camera_exif())
    table = data.index(b"\xff\xdb")

    copy = without_location(data[:table] + b"\xff\xff\xff" + data[table:])

    assert decoded(copy).tobytes() == decoded(data).tobytes()


def test_the_moving_part_of_a_png_goes_and_its_first_picture_stays():
    target = io.BytesIO()
    scene().save(target, "PNG", save_all=True, append_images=[scene().rotate(180)])

    copy = without_location(target.getvalue())

    assert b"fdAT" not in copy
    assert decoded(copy).tobytes() == decoded(target.getvalue()).tobytes()


def test_a_cut_picture_gives_no_copy():
    with pytest.raises(
        PhotoError, match=r"^part\.jpg is damaged or was not copied completely; copy it again"
    ):
        without_location(as_jpeg()[:-40], "part.jpg")


@settings(max_examples=120, deadline=None)
@given(
    size=st.tuples(st.integers(1, 40), st.integers(1, 40)),
    orientation=st.integers(1, 8),
    place=st.booleans(),
    is_jpeg=st.booleans(),
    pixels=st.randoms(use_true_random=False),
)
def test_a_copy_keeps_size_orientation_and_pixels_and_a_second_copy_changes_nothing(
    size, orientation, place, is_jpeg, pixels
):
    image = Image.frombytes("RGB", size, pixels.randbytes(size[0] * size[1] * 3))
    data = (as_jpeg if is_jpeg else as_png)(image, exif=camera_exif(orientation, place=place))

    copy = without_location(data)

    before, after = examine(data, "a"), examine(copy, "b")
    assert (before.width_px, before.height_px, before.orientation) == (
        after.width_px,
        after.height_px,
        after.orientation,
    )
    assert before.has_location == place
    assert not after.has_location
    assert decoded(copy).tobytes() == decoded(data).tobytes()
    assert without_location(copy) == copy
