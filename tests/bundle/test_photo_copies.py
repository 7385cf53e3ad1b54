"""Copies of pictures in bundles: which files may be there, and what counts as missing."""

from __future__ import annotations

import hashlib

import pytest

from tests.builders import make, record_id
from tests.bundle.samples import PICTURE, PICTURE_NAME, sample_records
from walkapp.bundle import open_bundle, write_bundle
from walkapp.errors import BundleError
from walkapp.model.records import PhotoCopy, Withdrawal

COPIED = PICTURE + b" without metadata"
COPY = make(
    PhotoCopy, 30, station="leak-test", photo=PICTURE_NAME[:64], sha256=hashlib.sha256(COPIED).hexdigest(),
    media="image/jpeg", size_bytes=len(COPIED), width_px=2, height_px=1, covered="0 0 1 1",
)  # fmt: skip


def written(folder, photos, *more):
    """Write the sample records with more, and pictures given by their content; open the bundle."""
    files = {}
    for name, data in photos.items():
        (folder / name).write_bytes(data)
        files[name] = folder / name
    records = [*sample_records(), *more]
    out = write_bundle(folder / "walk.zip", records=records, rows=(), photos=files, checklists={}).path
    return open_bundle(out)


def test_a_picture_of_which_the_bundle_has_a_copy_is_not_missing(tmp_path):
    with written(tmp_path, {COPY.file_name: COPIED}, COPY) as bundle:
        assert bundle.photo_names == (COPY.file_name,)
        assert bundle.missing_photos == ()
        assert bundle.extract_photo(COPY.file_name, tmp_path).read_bytes() == COPIED
        assert COPY in bundle.records


def test_a_picture_with_neither_itself_nor_a_copy_is_missing(tmp_path):
    with written(tmp_path, {}, COPY) as bundle:
        assert bundle.missing_photos == (PICTURE_NAME,)


def test_a_picture_that_was_taken_back_is_not_missing(tmp_path):
    back = make(Withdrawal, 31, replaces=(record_id(17),))

    with written(tmp_path, {}, COPY, back) as bundle:
        assert bundle.missing_photos == ()


def test_a_copy_that_no_record_names_is_refused(tmp_path):
    with pytest.raises(BundleError, match="is a picture that no record names"):
        written(tmp_path, {COPY.file_name: COPIED})
