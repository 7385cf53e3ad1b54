"""Bit flips and broken-off files: refused, or the very same content."""

import os
import random

import pytest

from tests.builders import make
from tests.bundle.samples import PICTURE, PICTURE_NAME, Forger, QuickDisk, write_sample
from walkapp.bundle import open_bundle, write_bundle
from walkapp.errors import BundleError
from walkapp.model.records import Photo


def content_of(path, folder):
    """Everything that a bundle gives, or none when it is refused with a sentence."""
    try:
        bundle = open_bundle(path)
    except BundleError as error:
        assert str(error).startswith("walk.zip: ")
        assert str(error).endswith(".")
        return None
    with bundle:
        pictures = [
            bundle.extract_photo(name, folder, QuickDisk()).read_bytes() for name in bundle.photo_names
        ]
        return bundle.records, bundle.rows, bundle.checklists, pictures, bundle.digest


def small_bundle(folder):
    """A bundle with little around its content: one record, one picture, a descriptor without words."""
    photo = make(
        Photo, 2, station="weld", sha256=PICTURE_NAME[:64], media="image/jpeg", size_bytes=len(PICTURE),
        width_px=1, height_px=1, caption="=1",
    )  # fmt: skip
    (folder / "picture").write_bytes(PICTURE)
    write_bundle(
        folder / "whole.zip", records=[photo], rows=[],
        photos={PICTURE_NAME: folder / "picture"}, checklists={},
    )  # fmt: skip
    forger = Forger.of(folder / "whole.zip")
    for name in ("README.txt", "first_bad_station.csv"):
        del forger.members[name]
    kept = [r for r in forger.descriptor()["resources"] if r["path"] in forger.members]
    forger.set_descriptor(
        {
            "walkapp": {"format": 1},
            "resources": [{name: r[name] for name in ("path", "bytes", "hash")} for r in kept],
        }
    )
    return forger.save(folder / "walk.zip")


def test_every_flipped_bit_is_noticed_or_changes_nothing(tmp_path):
    path = small_bundle(tmp_path)
    good = path.read_bytes()
    content = content_of(path, tmp_path)
    assert content is not None
    harmless = 0

    for place in range(len(good) * 8):
        data = bytearray(good)
        data[place // 8] ^= 1 << place % 8
        path.write_bytes(data)
        found = content_of(path, tmp_path)
        harmless += found is not None
        assert found in (None, content), f"bit {place}"

    # Dates, versions and permissions in the zip's own headers say nothing of the content.
    assert harmless < len(good) * 8 // 5


def test_flipped_bits_of_a_full_bundle_are_noticed_or_change_nothing(tmp_path):
    path = tmp_path / "walk.zip"
    write_sample(path)
    good = path.read_bytes()
    content = content_of(path, tmp_path)
    chance = random.Random(20260303)

    for place in chance.sample(range(len(good) * 8), 1000):
        data = bytearray(good)
        data[place // 8] ^= 1 << place % 8
        path.write_bytes(data)
        assert content_of(path, tmp_path) in (None, content), f"bit {place}"


def test_a_bundle_that_breaks_off_anywhere_is_refused(tmp_path):
    path = tmp_path / "walk.zip"
    write_sample(path)

    for size_bytes in reversed(range(path.stat().st_size)):
        os.truncate(path, size_bytes)
        with pytest.raises(BundleError):
            open_bundle(path)


def test_a_block_of_zeros_anywhere_is_noticed_or_changes_nothing(tmp_path):
    # What a power cut leaves of sectors that never reached the medium.
    path = tmp_path / "walk.zip"
    write_sample(path)
    good = path.read_bytes()
    content = content_of(path, tmp_path)

    for start in range(0, len(good), 256):
        block = good[start : start + 512]
        path.write_bytes(good[:start] + bytes(len(block)) + good[start + len(block) :])
        assert content_of(path, tmp_path) in (None, content), f"block at {start}"
