"""Records and pictures of a newer version go through tablets of this one unharmed, byte for byte."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from tests.builders import CONCERN, make, record_id
from tests.bundle.samples import PICTURE, PICTURE_NAME
from tests.fakes import Desk
from tests.keep_sample import picture
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.merging import merge_bundles
from walkapp.bundle import open_bundle, write_bundle
from walkapp.errors import BundleError
from walkapp.files import sha256_of
from walkapp.model.records import CarriedRecord, Concern, Photo, Record

OTHER_PICTURE = picture("red")
OTHER_NAME = sha256_of(OTHER_PICTURE) + ".png"
MARKINGS = (
    make(CarriedRecord, 30, walk="", carried_kind="marking",
         cells=(("shape", "=ring"), ("picture", OTHER_NAME[:64]), ("size_mm", "-2.50"))),
    make(CarriedRecord, 31, walk="", carried_kind="marking", cells=(("remark", "two\nlines, 'quoted'"),)),
    make(CarriedRecord, 32, walk="", carried_kind="weld_scan", cells=(), replaces=(record_id(30),)),
)  # fmt: skip


def newer_bundle(folder: Path, *more: Record, photos: dict[str, bytes] | None = None) -> Path:
    """Write what a tablet of a newer version would send."""
    folder.mkdir()
    paths = {}
    for name, data in (photos if photos is not None else {OTHER_NAME: OTHER_PICTURE}).items():
        (folder / name).write_bytes(data)
        paths[name] = folder / name
    concern = make(Concern, id=CONCERN, walk="", number=1, stream="washer", defect="ear-crack",
                   what="invented", severity="function")  # fmt: skip
    records = [concern, *MARKINGS, *more]
    return write_bundle(folder / "newer.zip", records=records, rows=(), photos=paths, checklists={}).path


def members(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as bundle:
        return {name: bundle.read(name) for name in bundle.namelist()}


def pass_on(bundle: Path, folder: Path, seed: int) -> Path:
    """Merge a bundle into a new tablet, start the tablet again, and write its bundle."""
    desk = Desk(folder, seed=seed)
    with desk.store:
        merge_bundles(desk.place, [bundle])
    desk = Desk(folder, seed=seed)
    with desk.store:
        return bundle_concerns(desk.place, folder / "on.zip").path


def test_records_and_pictures_of_a_newer_version_pass_three_tablets_byte_for_byte(tmp_path):
    first = newer_bundle(tmp_path / "newer")
    found = members(first)
    for seed in range(3):
        (tmp_path / str(seed)).mkdir()
        first = pass_on(first, tmp_path / str(seed), seed)

        passed = members(first)
        for name in ("marking.csv", "marking-2.csv", "weld_scan.csv", f"photos/{OTHER_NAME}"):
            assert passed[name] == found[name]
        with open_bundle(first) as bundle:
            assert set(MARKINGS) <= set(bundle.records)
            assert bundle.missing_photos == ()


def test_what_three_tablets_carry_is_the_same_in_any_order_of_merging(tmp_path):
    whole = newer_bundle(tmp_path / "newer")
    more = make(CarriedRecord, 40, walk="", carried_kind="marking", cells=(("shape", "arrow"),))
    other = newer_bundle(tmp_path / "other", more)
    made = []
    for seed, order in enumerate(([whole, other], [other, whole], [other, whole, other])):
        desk = Desk(tmp_path / f"desk-{seed}", seed=seed)
        with desk.store:
            merge_bundles(desk.place, order)
            made.append(bundle_concerns(desk.place, tmp_path / f"{seed}.zip").path.read_bytes())
    assert made[0] == made[1] == made[2]


def test_a_picture_that_a_photo_record_names_too_is_left_to_that_record(tmp_path):
    photo = make(Photo, 50, walk="", station="weld", sha256=OTHER_NAME[:64], media="image/png",
                 size_bytes=len(OTHER_PICTURE), width_px=8, height_px=6)  # fmt: skip
    bundle = newer_bundle(tmp_path / "newer", photo)
    (tmp_path / "tablet").mkdir()

    assert members(pass_on(bundle, tmp_path / "tablet", 0))[f"photos/{OTHER_NAME}"] == OTHER_PICTURE


def test_a_damaged_carried_picture_does_not_hold_up_the_records(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        merge_bundles(desk.place, [newer_bundle(tmp_path / "newer")])
        assert desk.store.check().is_sound
        desk.store.photo_path(OTHER_NAME).write_bytes(b"cut")
        on = bundle_concerns(desk.place, tmp_path / "on.zip").path
    with open_bundle(on) as bundle:
        assert set(MARKINGS) <= set(bundle.records)
        assert bundle.photo_names == ()


def test_a_picture_that_no_record_names_is_refused_as_before(tmp_path):
    with pytest.raises(BundleError, match="a picture that no record names"):
        newer_bundle(tmp_path / "newer", photos={PICTURE_NAME: PICTURE})
