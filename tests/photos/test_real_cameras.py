"""Pictures straight from cameras, with all that real cameras write into them.

They come with Debian's package golang-github-rwcarlsen-goexif-dev (goexif by its contributors, licence
BSD-2-clause), which tests a reader of metadata with them: two whole pictures of a Nikon D2H and an iPhone
4S, both with a position; the beginnings of files of some fifty cameras, cut off behind their metadata; one
small picture in each of the eight orientations; and three files that were made to break readers. Pillow is
the outside witness of what they hold.
"""

from __future__ import annotations

import io
import time
from pathlib import Path

import pytest
from PIL import ExifTags, Image, ImageOps

from tests.fakes import Desk
from tests.photos.camera import as_jpeg, decoded, jpeg_segment, metadata_of, scene
from tests.photos.test_picture import mean_difference, rgb_image, upright
from walkapp.actions.intake import Subject, keep_photo
from walkapp.actions.picture_folders import FolderWatch
from walkapp.errors import PhotoError
from walkapp.files import sha256_of
from walkapp.photos import examine, examine_whole, small_picture, without_location

FOLDER = Path("/usr/share/gocode/src/github.com/rwcarlsen/goexif/exif")
NIKON, IPHONE = FOLDER / "sample1.jpg", FOLDER / "samples" / "has-lens-info.jpg"
TURNED = sorted(FOLDER.glob("**/f?-exif.jpg"))
WHOLE = (NIKON, IPHONE, FOLDER / "samples" / "geodegrees_as_string.jpg", *TURNED)
BEGINNINGS = sorted((FOLDER / "samples").glob("*-sep-*.jpg"))
WITH_EXIF = [path for path in BEGINNINGS if b"Exif\0\0" in path.read_bytes()]
BROKEN = sorted((FOLDER / "corrupt").glob("*.jpg"))

pytestmark = pytest.mark.skipif(
    not FOLDER.is_dir(), reason="the package golang-github-rwcarlsen-goexif-dev is not installed"
)


def name_of(path: Path) -> str:
    return path.stem


def test_there_are_as_many_cameras_as_the_text_above_says():
    assert len(TURNED) == 8
    assert len(BEGINNINGS) >= len(WITH_EXIF) > 45
    assert len(BROKEN) == 3


@pytest.mark.parametrize("path", WHOLE, ids=name_of)
def test_a_real_picture_is_whole_upright_and_small_as_pillow_has_it(path):
    data = path.read_bytes()

    whole = examine_whole(data, 320, path.name)

    assert whole.facts == examine(data, path.name)
    assert (whole.facts.width_px, whole.facts.height_px) == upright(data).size
    assert whole.facts.orientation == decoded(data).getexif().get(ExifTags.Base.Orientation, 1)
    wanted = upright(data).convert("RGB")
    wanted.thumbnail((320, 320))
    for small in ((whole.size, whole.rgb), small_picture(data, 320, path.name)):
        assert small[0] == wanted.size
        assert mean_difference(rgb_image(small), wanted) < 3


@pytest.mark.parametrize("path", [NIKON, IPHONE], ids=name_of)
def test_a_real_picture_tells_where_it_was_taken_and_its_copy_does_not(path):
    data = path.read_bytes()
    assert decoded(data).getexif().get_ifd(ExifTags.IFD.GPSInfo)
    assert examine(data, path.name).has_location

    copy = without_location(data, path.name)

    kept = {ExifTags.TAGS[ExifTags.Base.Orientation]}
    assert set(metadata_of(copy)) <= kept
    assert not examine(copy, path.name).has_location
    assert list(ImageOps.exif_transpose(decoded(copy)).tobytes()) == list(upright(data).tobytes())
    assert without_location(copy) == copy
    assert examine_whole(data, 320).copy == copy


@pytest.mark.parametrize("path", [NIKON, IPHONE], ids=name_of)
def test_a_real_picture_is_kept_byte_for_byte(path, tmp_path):
    desk = Desk(tmp_path)

    photo = keep_photo(
        desk.place, Subject(concern=desk.concern(), limit="ok"), path.read_bytes(), path.name
    )

    kept = desk.store.photo_path(photo.file_name)
    assert kept.read_bytes() == path.read_bytes()
    assert kept.stem == photo.sha256 == sha256_of(path.read_bytes())
    desk.store.close()


@pytest.mark.parametrize("path", [NIKON, IPHONE], ids=name_of)
def test_a_real_picture_that_is_cut_short_anywhere_is_refused(path):
    data = path.read_bytes()
    cuts = {round(number * (len(data) - 1) / 200) for number in range(1, 201)}
    assert len(cuts) == 200

    for cut in sorted(cuts):
        for look in (examine, lambda part, name: examine_whole(part, 320, name)):
            with pytest.raises(PhotoError, match=r"^x\.jpg is (damaged|neither)"):
                look(data[:cut], "x.jpg")


@pytest.mark.parametrize("path", BEGINNINGS, ids=name_of)
def test_the_beginning_of_a_file_is_no_picture(path):
    with pytest.raises(PhotoError):
        examine_whole(path.read_bytes(), 320, path.name)


def test_a_folder_of_beginnings_offers_none_and_says_how_many(tmp_path):
    for path in BEGINNINGS[:5]:
        (tmp_path / path.name).write_bytes(path.read_bytes())
    watch = FolderWatch(tmp_path)
    watch.look()

    while watch.read_next(0):
        pass

    page = watch.page(0)
    assert (page.pictures, page.not_whole, page.total) == ((), 5, 5)


def exif_segment(path: Path) -> bytes:
    """Give the segment of metadata as the camera wrote it."""
    data = path.read_bytes()
    at = data.find(b"Exif\0\0")
    length = int.from_bytes(data[at - 2 : at], "big")
    return data[at - 4 : at - 2 + length]


@pytest.mark.parametrize("path", WITH_EXIF, ids=name_of)
def test_the_metadata_of_real_cameras_is_read_as_pillow_reads_it_and_removed_whole(path):
    segment = exif_segment(path)
    plain = as_jpeg(scene((96, 64)))
    data = plain[:2] + segment + plain[2:]
    exif = Image.Exif()
    exif.load(segment[4:])

    whole = examine_whole(data, 96, path.name)

    orientation = exif.get(ExifTags.Base.Orientation, 1)
    assert whole.facts.orientation == (orientation if orientation in range(1, 9) else 1)
    gps = set(exif.get_ifd(ExifTags.IFD.GPSInfo)) - {ExifTags.GPS.GPSVersionID}
    assert whole.facts.has_location or not gps
    assert set(metadata_of(whole.copy)) <= {"Orientation"}
    assert segment[10:200] not in whole.copy


@pytest.mark.parametrize("path", BROKEN, ids=name_of)
def test_files_made_to_break_readers_give_facts_or_one_sentence_at_once(path):
    data, began = path.read_bytes(), time.process_time()

    for whole in (data, as_jpeg()[:2] + jpeg_segment(0xE1, data[6:60_000]) + as_jpeg()[2:]):
        try:
            assert examine_whole(whole, 320, path.name).size > (0, 0)
        except PhotoError as error:
            assert str(error).endswith(".") and "\n" not in str(error)

    assert time.process_time() - began < 5


def test_pictures_in_a_row_are_each_the_picture_and_never_the_one_before():
    small = [examine_whole(path.read_bytes(), 64).rgb for path in (NIKON, IPHONE, NIKON)]

    assert small[0] == small[2] != small[1]
    assert Image.open(io.BytesIO(IPHONE.read_bytes())).getexif()[ExifTags.Base.Model] == "iPhone 4S"
