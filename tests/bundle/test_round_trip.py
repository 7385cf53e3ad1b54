import json
import random
import zipfile
import zlib
from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.builders import make
from tests.bundle.samples import (
    CHECKLISTS,
    PICTURE,
    PICTURE_NAME,
    Forger,
    sample_records,
    sample_rows,
    write_sample,
)
from tests.strategies import (
    AWKWARD_TEXTS,
    carried_records,
    first_bad_rows,
    moments,
    records,
    records_of_kind,
    twin_of,
)
from walkapp.bundle import FirstBadRow, Limits, open_bundle, write_bundle
from walkapp.bundle.archive import packing_of
from walkapp.bundle.table_writing import latest_time
from walkapp.errors import RecordError
from walkapp.model.records import KINDS, AuditStart, CarriedRecord, Note, Withdrawal

WITH_DISK = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
OLD_FILES = Path(__file__).parent / "old_files"
FEW_WITH_DISK = settings(WITH_DISK, max_examples=8)


@pytest.fixture(scope="module")
def scratch(tmp_path_factory):
    return tmp_path_factory.mktemp("round-trip")


def there_and_back(folder, held, rows=()):
    write_bundle(folder / "walk.zip", records=held, rows=rows, photos={}, checklists={})
    with open_bundle(folder / "walk.zip") as bundle:
        return bundle


def test_everything_comes_back_as_it_was(tmp_path):
    facts = write_sample(tmp_path / "walk.zip")

    with open_bundle(tmp_path / "walk.zip") as bundle:
        assert set(sample_records()) == set(bundle.records)
        assert sample_rows() == list(bundle.rows)
        assert bundle.checklists == CHECKLISTS
        assert bundle.photo_names == (PICTURE_NAME,)
        assert bundle.missing_photos == ()
        assert facts.digest == bundle.digest
        assert bundle.extract_photo(PICTURE_NAME, tmp_path).read_bytes() == PICTURE
    assert (facts.record_count, facts.photo_count) == (16, 1)
    assert (tmp_path / "walk.zip").stat().st_size == facts.size_bytes


@WITH_DISK
@given(st.lists(records() | carried_records(), max_size=10), st.lists(first_bad_rows(), max_size=3))
def test_any_records_come_back_exactly(scratch, held, rows):
    bundle = there_and_back(scratch, held, rows)

    assert set(held) == set(bundle.records)
    assert set(rows) == set(bundle.rows)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_comes_back_exactly(scratch, kind):
    @FEW_WITH_DISK
    @given(st.lists(records_of_kind(kind), min_size=1, max_size=3))
    def check(held):
        assert set(held) == set(there_and_back(scratch, held).records)

    check()


@FEW_WITH_DISK
@given(
    st.lists(records() | carried_records(), max_size=8),
    st.lists(first_bad_rows(), max_size=4),
    st.randoms(),
)
def test_the_same_records_in_any_order_give_the_same_bytes(scratch, held, rows, chance):
    there_and_back(scratch, held, rows)
    first = (scratch / "walk.zip").read_bytes()
    shuffled, shuffled_rows = [*held, *held], [*rows]
    chance.shuffle(shuffled)
    chance.shuffle(shuffled_rows)

    there_and_back(scratch, shuffled, shuffled_rows)

    assert first == (scratch / "walk.zip").read_bytes()


@pytest.mark.parametrize("words", AWKWARD_TEXTS)
def test_an_awkward_text_comes_back_exactly(tmp_path, words):
    held = [make(Note, station="weld", words=words)]

    assert tuple(held) == there_and_back(tmp_path, held).records


def test_a_bundle_of_format_1_is_read_as_it_was_meant():
    # Written by the version before format 2, where an apostrophe within a text was its own.
    words, shape = "worn;'as delivered'\n'=1", "ring,'or so'"
    held = [
        *sample_records(),
        make(Note, 60, station="weld", words=words),
        make(CarriedRecord, 61, carried_kind="marking", cells=(("shape", shape), ("size_mm", "-2.5"))),
    ]

    with open_bundle(OLD_FILES / "apostrophes_of_format_1.zip") as bundle:
        assert set(held) == set(bundle.records)
        assert sample_rows() == list(bundle.rows)
        assert bundle.photo_names == (PICTURE_NAME,)


def test_a_conflict_of_two_records_with_one_id_is_passed_on(tmp_path):
    held = sample_records()[2:3]
    held.append(twin_of(held[0]))

    assert set(held) == set(there_and_back(tmp_path, held).records)


def test_a_record_that_takes_back_thousands_comes_back(tmp_path):
    # 5,000 ids are 185,000 characters in one cell, more than the csv module reads by itself.
    many = tuple(make(Note, number, station="weld", words="x").id for number in range(1, 5001))
    held = [make(Withdrawal, 6000, replaces=many)]

    assert tuple(held) == there_and_back(tmp_path, held).records


def test_notes_of_one_letter_are_no_bomb(tmp_path):
    held = [make(Note, number, station="weld", words="\U0001f527" * 4000) for number in range(1, 301)]

    assert set(held) == set(there_and_back(tmp_path, held).records)


def test_unknown_kinds_with_different_columns_come_back_unharmed(tmp_path):
    held = [
        make(CarriedRecord, 1, carried_kind="marking", cells=(("a", "1"),)),
        make(CarriedRecord, 2, carried_kind="marking", cells=(("a", "1"), ("b", ""))),
        make(CarriedRecord, 3, carried_kind="marking", cells=(("b", ""), ("a", "1"))),
        make(CarriedRecord, 4, carried_kind="marking", cells=()),
    ]

    assert set(held) == set(there_and_back(tmp_path, held).records)
    assert {"marking.csv", "marking-2.csv", "marking-3.csv", "marking-4.csv"} <= set(
        zipfile.ZipFile(tmp_path / "walk.zip").namelist()
    )


def test_a_column_of_an_unknown_kind_is_no_key_whatever_its_name(tmp_path):
    begun = make(AuditStart, 1, walk="", stream="seal", checklist="a" * 64, layer="lead", day="2026-03-09")
    held = [begun, make(CarriedRecord, 2, walk="", carried_kind="marking", cells=(("audit", begun.id),))]

    assert set(held) == set(there_and_back(tmp_path, held).records)


def test_an_unknown_kind_of_a_newer_version_goes_through_an_older_one_unharmed(tmp_path):
    write_sample(tmp_path / "old.zip", records=[], rows=[], photos={})
    header = "id,device,number,at,by,concern,walk,replaces,why,remark,offset"
    note = sample_records()[2]
    newer = (
        f"{header}\r\n{note.id},{note.device},7,{note.at},QE-RT,{note.concern},{note.walk},,,'=1+1,-0.5\r\n"
    ).encode()
    forger = Forger.of(tmp_path / "old.zip")
    forger.replace("weld_scan.csv", newer)
    forger.save(tmp_path / "newer.zip")

    with open_bundle(tmp_path / "newer.zip") as bundle:
        carried = bundle.records
        write_sample(tmp_path / "again.zip", records=carried, rows=[], photos={})

    assert carried[0].cells == (("remark", "=1+1"), ("offset", "-0.5"))
    assert newer == zipfile.ZipFile(tmp_path / "again.zip").read("weld_scan.csv")


def test_the_time_in_the_descriptor_is_that_of_the_latest_record(tmp_path):
    held = [
        make(Note, 1, station="weld", words="x", at="2026-03-03T06:20:00+01:00"),
        make(Note, 2, station="weld", words="x", at="2026-03-03T05:30:00Z"),
    ]
    there_and_back(tmp_path, held)

    descriptor = json.loads(zipfile.ZipFile(tmp_path / "walk.zip").read("datapackage.json"))

    assert descriptor["created"] == "2026-03-03T05:30:00Z"


@given(st.lists(moments(), max_size=8))
def test_the_latest_time_is_the_one_that_no_other_is_after(times):
    def instant(moment):
        at = datetime.fromisoformat(moment)
        return at.replace(tzinfo=None) - datetime(1, 1, 1) - at.utcoffset()  # noqa: DTZ001

    held = [make(Note, number, station="weld", words="x", at=at) for number, at in enumerate(times, 1)]

    assert max(times, key=lambda at: (instant(at), at), default="") == latest_time(held)


@given(st.integers(1, 400), st.integers(0, 1000), st.integers(1, 5))
def test_a_text_is_packed_exactly_when_a_reader_takes_it(different, alike, parts):
    limits = Limits(ratio_from_bytes=500, ratio=20)
    data = random.Random(different).randbytes(different) + bytes(20 * alike)
    whole = zlib.compressobj()
    packed = whole.compress(data) + whole.flush()
    pieces = [
        data[start : start + len(data) // parts + 1]
        for start in range(0, len(data), len(data) // parts + 1)
    ]

    found = packing_of(pieces, len(data), limits)

    wanted = (
        zipfile.ZIP_STORED if limits.is_packed_too_tight(len(data), len(packed)) else zipfile.ZIP_DEFLATED
    )
    assert wanted == found


def order_in_a_bundle(entry):
    """Texts, then the descriptor that names them all, then pictures; each sorted."""
    name = entry.filename
    return name.startswith("photos/"), name == "datapackage.json", name


def test_every_member_has_its_place_and_the_same_date_and_permissions_and_pictures_are_stored(tmp_path):
    write_sample(tmp_path / "walk.zip")

    entries = zipfile.ZipFile(tmp_path / "walk.zip").infolist()

    assert entries == sorted(entries, key=order_in_a_bundle)
    assert {((1980, 1, 1, 0, 0, 0), 3, 0o100644 << 16)} == {
        (e.date_time, e.create_system, e.external_attr) for e in entries
    }
    assert {(zipfile.ZIP_STORED, True), (zipfile.ZIP_DEFLATED, False)} == {
        (e.compress_type, e.filename.startswith("photos/")) for e in entries
    }


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"share": 1.5}, "share must be from 0 to 1, not 1.5"),
        ({"probability_origin": float("nan")}, "probability_origin must be from 0 to 1, not nan"),
        ({"station_order": -1}, "station_order must be from 0 to 1000000000, not -1"),
        ({"verdict": ""}, "verdict is missing"),
    ],
)
def test_a_row_that_cannot_be_true_is_refused(wrong, words):
    good = {
        "concern": sample_records()[0].id, "defect": "ear-crack", "station_order": 1, "station": "weld",
        "checked": 1, "nok": 0, "verdict": "undecided",
    }  # fmt: skip

    with pytest.raises(RecordError) as caught:
        FirstBadRow(**{**good, **wrong})

    assert words == str(caught.value)
