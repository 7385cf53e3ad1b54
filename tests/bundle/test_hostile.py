"""Every kind of wrong bundle is refused with a sentence that says where, what and how to mend it."""

import hashlib
import re
import stat
import struct
import zipfile

import pytest

from tests.builders import make
from tests.bundle.samples import PICTURE, PICTURE_NAME, Forger, sample_records, sample_rows, write_sample
from walkapp.bundle import Limits, open_bundle
from walkapp.bundle.layout import FORMAT
from walkapp.errors import BundleError
from walkapp.model.records import HEADER, Photo, kind_of

MEND_TABLE = "a table that was saved by another program cannot be taken over, ask for the untouched bundle"


@pytest.fixture
def good(tmp_path):
    write_sample(tmp_path / "good.zip")
    return tmp_path / "good.zip"


@pytest.fixture
def forger(good):
    return Forger.of(good)


def refusal(path, **options):
    with pytest.raises(BundleError) as caught:
        open_bundle(path, **options)
    return str(caught.value)


def refusal_of(forger, folder, *extra, **options):
    return refusal(forger.save(folder / "walk.zip", *extra), **options)


def test_a_bundle_that_was_packed_again_unchanged_is_read(forger, tmp_path):
    # The control of all tests below: taking apart and putting together is no fault by itself.
    with open_bundle(forger.save(tmp_path / "walk.zip")) as bundle:
        assert set(sample_records()) == set(bundle.records)


# The file itself


def test_a_file_that_is_not_there_is_refused(tmp_path):
    assert refusal(tmp_path / "walk.zip") == "walk.zip: is not there; check the name of the file."


def test_a_folder_is_refused(tmp_path):
    assert f"{tmp_path.name}: is a folder; name the zip file itself." == refusal(tmp_path)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"id,device\r\n", "is not a zip file, or has something in front of the zip"),
        (b"PK\x03\x04" + bytes(100), "breaks off, or has something behind the zip"),
        (b"PK\x03\x04" + bytes(26) + b"PK\x05\x06" + bytes(18), "lists no file, or is damaged"),
        (b"PK\x05\x06" + bytes(18), "is not a zip file, or has something in front of the zip"),
    ],
)
def test_a_file_that_is_no_zip_is_refused(tmp_path, content, words):
    (tmp_path / "walk.zip").write_bytes(content)

    assert f"walk.zip: {words}; ask for the bundle again." == refusal(tmp_path / "walk.zip")


@pytest.mark.parametrize("front", [b"#!/bin/sh\n", b"PK\x03\x04 looks like a zip"])
def test_something_in_front_of_the_zip_is_refused(good, front):
    good.write_bytes(front + good.read_bytes())

    assert "something in front of the zip" in refusal(good)


def test_something_behind_the_zip_is_refused(good):
    good.write_bytes(good.read_bytes() + b"more")

    assert (
        refusal(good) == "good.zip: breaks off, or has something behind the zip; ask for the bundle again."
    )


def test_a_zip_without_a_descriptor_is_no_bundle(tmp_path):
    path = Forger({"note.csv": b"id\r\n"}).save(tmp_path / "walk.zip")

    assert (
        refusal(path)
        == "walk.zip: has no datapackage.json, so it is no bundle; choose a bundle of walkapp."
    )


# Names and sorts of members


@pytest.mark.parametrize(
    "name",
    [
        "../note.csv", "/note.csv", "..\\note.csv", "C:\\note.csv", "photos/../note.csv", "./note.csv",
        "photos/", "CON.csv", "nul", "note.csv.", "note.csv ", "note.csv:ads", "Note.csv", "nöte.csv",
        "no\u0308te.csv", "n\u202eote.csv", "sub/note.csv", "photos/abc.jpg", f"photos/{'a' * 64}.exe",
        f"photos/{'A' * 64}.jpg", f"checklists/{'a' * 64}/../x.toml", "checklists/x.toml", "run.py",
        "note-0.csv", "note-1.csv",
        "first_bad_station-2.csv", "a" * 41 + ".csv", ".csv", "\n.csv", "note.csv\n",
    ],
)  # fmt: skip
def test_a_member_with_a_name_that_does_not_belong_is_refused(forger, tmp_path, name):
    words = refusal_of(forger, tmp_path, (zipfile.ZipInfo(name), b"x"))

    assert words.startswith("walk.zip: ")
    assert words.endswith(": is not a file that belongs in a bundle; ask for the bundle again.")
    assert "\u202e" not in words
    assert "\n" not in words


def test_a_name_that_is_cut_at_a_nul_is_refused(forger, tmp_path):
    # zipfile itself cuts the name there, when writing too: the letter is changed afterwards.
    path = forger.save(tmp_path / "walk.zip", (zipfile.ZipInfo("extra.csvX.exe"), b"x"))
    path.write_bytes(path.read_bytes().replace(b"extra.csvX.exe", b"extra.csv\0.exe"))

    words = "is not a file that belongs in a bundle; ask for the bundle again."
    assert refusal(path) == f"walk.zip: extra.csv<U+0000>.exe: {words}"


@pytest.mark.parametrize("mode", [stat.S_IFLNK, stat.S_IFDIR, stat.S_IFIFO, stat.S_IFCHR, stat.S_IFSOCK])
def test_a_member_that_is_no_plain_file_is_refused(forger, tmp_path, mode):
    entry = zipfile.ZipInfo("extra.csv")
    entry.external_attr = (mode | 0o644) << 16

    assert (
        refusal_of(forger, tmp_path, (entry, b"/etc/passwd"))
        == "walk.zip: extra.csv: is a link, a folder or something else that is no plain file; "
        "ask for the bundle again."
    )


@pytest.mark.filterwarnings("ignore:Duplicate name:UserWarning")
def test_a_name_that_is_there_twice_is_refused(forger, tmp_path):
    words = refusal_of(forger, tmp_path, (zipfile.ZipInfo("note.csv"), b"other"))

    assert words == "walk.zip: note.csv: is there twice; ask for the bundle again."


def patched(path, name, offset_in_header, value, sort):
    """Change a field of a member's entry in the zip's table of contents."""
    data = bytearray(path.read_bytes())
    start = data.index(b"PK\x01\x02")
    while not data[start + 46 :].startswith(name.encode()):
        start = data.index(b"PK\x01\x02", start + 4)
    struct.pack_into(sort, data, start + offset_in_header, value)
    path.write_bytes(bytes(data))
    return path


# Offsets in the central directory header: APPNOTE.TXT of PKWARE, section 4.3.12 (from memory).
FLAGS, METHOD, SIZE, LOCAL_HEADER = 8, 10, 24, 42


def test_an_encrypted_member_is_refused(good):
    assert (
        refusal(patched(good, "note.csv", FLAGS, 1, "<H"))
        == "good.zip: note.csv: is encrypted; ask for a bundle without a password."
    )


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA, 93, 99])
def test_an_unusual_packing_is_refused(good, method):
    assert (
        refusal(patched(good, "note.csv", METHOD, method, "<H"))
    ) == "good.zip: note.csv: is packed in a way that bundles do not use; ask for the bundle again."


def test_two_members_on_the_same_bytes_are_refused(good):
    answer = zipfile.ZipFile(good).getinfo("answer.csv").header_offset

    assert "overlaps another file in the zip" in refusal(
        patched(good, "note.csv", LOCAL_HEADER, answer, "<L")
    )


@pytest.mark.parametrize("size_bytes", [10, 400])
def test_a_size_that_is_not_true_is_refused(good, size_bytes):
    words = refusal(patched(good, "note.csv", SIZE, size_bytes, "<L"))

    assert words == f"good.zip: note.csv: has {size_bytes} bytes, 305 are listed; ask for the bundle again."


def test_a_size_that_is_not_true_and_listed_so_is_refused(forger, tmp_path):
    forger.members["README.txt"] += b"x"
    size_bytes = len(forger.members["README.txt"]) - 1
    path = patched(forger.save(tmp_path / "walk.zip"), "README.txt", SIZE, size_bytes, "<L")

    assert refusal(path) == "walk.zip: README.txt: is damaged; ask for the bundle again."


def test_a_bomb_is_refused(forger, tmp_path):
    # 30 MB of zeros pack to about 30 kB, a ratio near the 1,032 that deflate can reach at most.
    entry = zipfile.ZipInfo("extra.csv")
    entry.compress_type = zipfile.ZIP_DEFLATED

    assert (
        refusal_of(forger, tmp_path, (entry, bytes(30_000_000)))
    ) == "walk.zip: extra.csv: unpacks to far more than it should; ask for the bundle again."


# Limits


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        (Limits(entries=5), "holds 21 files, at most 5 are read"),
        (Limits(photo_bytes=31), r"photos/[0-9a-f]{50}\.\.\.: has 32 bytes, at most 31 are read"),
        (Limits(table_bytes=100), "answer.csv: has [0-9]+ bytes, at most 100 are read"),
        (Limits(descriptor_bytes=100), "datapackage.json: has [0-9]+ bytes, at most 100 are read"),
        (Limits(checklist_bytes=6500, text_bytes=10_000), "holds larger tables than are read"),
        (Limits(total_bytes=8000), "is larger than a bundle may be"),
        (Limits(total_bytes=20_000), "unpacks to more than a bundle may hold"),
    ],
)
def test_a_bundle_above_a_limit_is_refused(good, limits, words):
    assert re.match(f"good.zip: {words}; ask for ", refusal(good, limits=limits))


# What is listed and what is there


def test_a_member_that_is_not_listed_is_refused(forger, tmp_path):
    forger.members["extra.csv"] = b"id\r\n"

    words = (
        "walk.zip: extra.csv: is in the zip and not listed in datapackage.json; ask for the bundle again."
    )
    assert words == refusal_of(forger, tmp_path)


def test_a_member_that_is_missing_is_refused(forger, tmp_path):
    del forger.members["note.csv"]

    assert (
        refusal_of(forger, tmp_path)
        == "walk.zip: note.csv: is listed and missing from the zip; ask for the bundle again."
    )


@pytest.mark.parametrize("name", ["note.csv", "README.txt", "checklists/" + "c" * 64 + "/stream.toml"])
def test_a_member_with_other_content_of_the_same_size_is_refused(forger, tmp_path, name):
    data = forger.members[name]
    forger.members[name] = data[:-1] + bytes([data[-1] ^ 1])

    assert refusal_of(forger, tmp_path).endswith(
        ": is not the file that is listed: its SHA-256 differs; ask for the bundle again."
    )


def test_a_member_of_another_size_is_refused(forger, tmp_path):
    forger.members["note.csv"] += b"x"

    assert refusal_of(forger, tmp_path) == (
        "walk.zip: note.csv: has 306 bytes, 305 are listed; ask for the bundle again."
    )


def test_a_picture_that_is_not_what_its_name_says_is_refused(forger, tmp_path):
    forger.replace(f"photos/{PICTURE_NAME}", PICTURE + b"x")

    assert "is named by another SHA-256 than the one listed" in refusal_of(forger, tmp_path)


def test_a_picture_that_no_record_names_is_refused(forger, tmp_path):
    del forger.members["photo.csv"]
    descriptor = forger.descriptor()
    descriptor["resources"] = [r for r in descriptor["resources"] if r["path"] != "photo.csv"]
    forger.set_descriptor(descriptor)

    assert "is a picture that no record names; ask for the bundle again." in refusal_of(forger, tmp_path)


def test_a_picture_that_is_missing_is_reported_and_not_refused(tmp_path):
    write_sample(tmp_path / "walk.zip", photos={})

    with open_bundle(tmp_path / "walk.zip") as bundle:
        assert (bundle.photo_names, bundle.missing_photos) == ((), (PICTURE_NAME,))


# The descriptor


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is not JSON (line 1: Expecting value)"),
        (b"{", "is not JSON (line 1: Expecting property name enclosed in double quotes)"),
        (b"[]", "must be a JSON object"),
        (b"\xff{}", "is not UTF-8 at byte 0"),
        (b'{"a": 1, "a": 2}', "has the name a twice in one object"),
        (b'{"a": NaN}', "holds NaN, which is not JSON"),
        (b'{"a": -Infinity}', "holds -Infinity, which is not JSON"),
        (b'{"a": 1e999}', "holds a number out of range (1e999)"),
        (b'{"a": 12345678901234567}', "holds a number out of range (12345678901234567)"),
        (b'{"a": ' + b"9" * 5000 + b"}", "holds a number out of range (" + "9" * 57 + "...)"),
        (b'{"a": ' + b"[" * 25 + b"]" * 25 + b"}", "is nested deeper than 20 levels"),
        (b"[" * 100_000, "is nested deeper than 20 levels"),
        (b"{}", "walkapp is missing"),
        (b'{"walkapp": 1}', "walkapp must be an object"),
        (b'{"walkapp": {}}', "walkapp.format is missing"),
        (b'{"walkapp": {"format": true}}', "walkapp.format must be a whole number"),
        (b'{"walkapp": {"format": 1.0}}', "walkapp.format must be a whole number"),
        (b'{"walkapp": {"format": 0}}', "walkapp.format must be 1 or more"),
        (b'{"walkapp": {"format": 1}}', "resources is missing"),
        (b'{"walkapp": {"format": 1}, "resources": []}', "resources lists no files"),
        (b'{"walkapp": {"format": 1}, "resources": [1]}', "resources[0] must be an object"),
    ],
)  # fmt: skip
def test_a_wrong_descriptor_is_refused(forger, tmp_path, data, words):
    forger.members["datapackage.json"] = data

    assert f"walk.zip: datapackage.json: {words}; ask for the bundle again." == refusal_of(forger, tmp_path)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"path": None}, "resources[2].path must be text"),
        ({"path": "answer.csv"}, "resources[2].path lists answer.csv a second time"),
        ({"path": "datapackage.json"}, "resources[2].path lists the descriptor itself"),
        ({"bytes": "338"}, "resources[2].bytes must be a whole number"),
        ({"bytes": -1}, "resources[2].bytes must be 0 or more"),
        ({"hash": "d41d8cd98f00b204e9800998ecf8427e"},
         "resources[2].hash must be sha256: and 64 small hexadecimal digits"),
        ({"hash": "sha256:" + "A" * 64},
         "resources[2].hash must be sha256: and 64 small hexadecimal digits"),
    ],
)  # fmt: skip
def test_a_wrong_listing_is_refused(forger, tmp_path, change, words):
    descriptor = forger.descriptor()
    descriptor["resources"][2].update(change)
    forger.set_descriptor(descriptor)

    assert f"walk.zip: datapackage.json: {words}; ask for the bundle again." == refusal_of(forger, tmp_path)


def test_a_newer_format_asks_for_an_update(forger, tmp_path):
    forger.set_descriptor({**forger.descriptor(), "walkapp": {"format": FORMAT + 1}})

    assert (
        refusal_of(forger, tmp_path)
        == f"walk.zip: datapackage.json: has the format {FORMAT + 1}, this version reads up to {FORMAT}; "
        "the bundle was made by a newer version, update walkapp."
    )


# Tables


def test_an_unknown_column_of_a_known_kind_asks_for_an_update(forger, tmp_path):
    header, row, _ = forger.members["note.csv"].split(b"\r\n")
    forger.replace("note.csv", header + b",weather\r\n" + row + b",rain\r\n")

    assert (
        refusal_of(forger, tmp_path)
        == "walk.zip: note.csv, column weather: is not a column that this version knows; "
        "the bundle was made by a newer version, update walkapp."
    )


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (b"id,device", b"device,id", "note.csv: has its columns in another order or twice; ask"),
        (b",station,words", b",station,station", "note.csv, column words: is missing; ask"),
        (b"id,", b"\xef\xbb\xbfid,", f"note.csv: begins with a byte order mark; {MEND_TABLE}"),
        (b"weld", b"w\xe4ld", f"note.csv: is not UTF-8 at byte 290; {MEND_TABLE}"),
        (b"weld", b"", "note.csv, row 2, column station: is missing; ask"),
        (b"weld", b"We ld", "row 2, column station: must be small letters, digits and dashes (at most 40)"),
        (b"QE-RT", b"QE\0RT", "note.csv, row 2, column by: holds the control character U+0000; ask"),
        (b"QE-RT", b"QE\x1b[2J", "note.csv, row 2, column by: holds the control character U+001B; ask"),
        (b",16,", b",many,", "note.csv, row 2, column number: must be a whole number, not 'many'; ask"),
        (b",16,", b",0,", "note.csv, row 2, column number: must be from 1 to 1000000000, not 0; ask"),
        (b"2026-03-03", b"2026-02-30", "note.csv, row 2, column at: must be a time such as "),
        (b",test,", b",,", "note.csv, row 2: why is missing: a record that replaces another says why; ask"),
        (b"weld,", b"weld,,", f"note.csv, row 2: has 12 cells, not 11; {MEND_TABLE}"),
        (b"weld,", b"weld", f"note.csv, row 2: has 10 cells, not 11; {MEND_TABLE}"),
        (b"weld", b'"weld', f"note.csv, row 2: is not CSV (unexpected end of data); {MEND_TABLE}"),
        (b"weld", b'"weld"x', "note.csv, row 2: is not CSV (',' expected after '\"'); a table"),
        (b"\r\n", b"\r\n\r\n", f"note.csv, row 2: has 0 cells, not 11; {MEND_TABLE}"),
    ],
)  # fmt: skip
def test_a_wrong_table_is_refused_with_row_and_column(forger, tmp_path, old, new, words):
    data = forger.members["note.csv"]
    assert old in data
    forger.replace("note.csv", data.replace(old, new, 1))

    assert words in refusal_of(forger, tmp_path)


def test_an_empty_table_is_refused(forger, tmp_path):
    forger.replace("note.csv", b"")

    assert (
        refusal_of(forger, tmp_path)
        == "walk.zip: note.csv: is empty, even the column names are missing; ask for the bundle again."
    )


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (b"0.11570330820513247", b"1.5", "row 2: high95 must be from 0 to 1, not 1.5"),
        (b"0.11570330820513247", b"nan", "row 2: high95 must be a number from 0 to 1"),
        (b",30,", b",x,", "row 2: checked must be a whole number, not 'x'"),
        (b"low95", b"low99", "column low99: is not a column that this version knows"),
    ],
)
def test_a_wrong_answer_table_is_refused(forger, tmp_path, old, new, words):
    forger.replace("first_bad_station.csv", forger.members["first_bad_station.csv"].replace(old, new))

    assert f"first_bad_station.csv, {words}; " in refusal_of(forger, tmp_path)


@pytest.mark.parametrize(
    ("header", "words"),
    [
        ("id,device", "column number: is missing"),
        (",".join(HEADER) + ",=cmd", "column =cmd: is not the name of a column"),
        (",".join(HEADER) + ",x,x", "has two columns of the same name"),
        (",".join(HEADER) + ",by", "has two columns of the same name"),
    ],
)
def test_a_table_of_an_unknown_kind_without_proper_columns_is_refused(forger, tmp_path, header, words):
    forger.replace("weld_scan.csv", f"{header}\r\n".encode())

    assert f"{words}; " in refusal_of(forger, tmp_path)


def test_a_control_character_in_an_unknown_column_is_refused(forger, tmp_path):
    forger.replace("marking.csv", forger.members["marking.csv"].replace(b"ring", b"ri\x07ng"))

    assert (
        refusal_of(forger, tmp_path)
        == "walk.zip: marking.csv, row 2, column shape: holds the control character U+0007; "
        "ask for the bundle again."
    )


def test_a_picture_named_by_a_kind_that_is_not_known_is_let_through(forger, tmp_path):
    picture = next(r for r in sample_records() if isinstance(r, Photo))
    rest = [r for r in sample_records() if kind_of(r) not in ("photo", "marking")]
    write_sample(tmp_path / "old.zip", records=rest, photos={})
    newer = Forger.of(tmp_path / "old.zip")
    cells = ",".join(forger.members["marking.csv"].decode().split("\r\n")[1].split(",")[:9])
    newer.replace("marking.csv", f"{','.join(HEADER)},of\r\n{cells},{picture.sha256}\r\n".encode())
    newer.replace(f"photos/{PICTURE_NAME}", PICTURE)

    with open_bundle(newer.save(tmp_path / "walk.zip")) as bundle:
        assert bundle.photo_names == (PICTURE_NAME,)


def test_a_bundle_changed_after_it_was_opened_gives_out_no_picture(tmp_path):
    picture, folder = bytes(range(256)) * 1000, tmp_path / "store"
    digest = hashlib.sha256(picture).hexdigest()
    named = make(
        Photo,
        station="weld",
        sha256=digest,
        media="image/png",
        size_bytes=len(picture),
        width_px=1,
        height_px=1,
    )
    (tmp_path / "picture").write_bytes(picture)
    path, photos = tmp_path / "walk.zip", {f"{digest}.png": tmp_path / "picture"}
    write_sample(path, records=[named], photos=photos)
    folder.mkdir()
    with open_bundle(path) as bundle:
        start = path.read_bytes().index(picture)
        with path.open("r+b") as file:
            file.seek(start + 100_000)
            file.write(b"other bytes")

        with pytest.raises(BundleError) as caught:
            bundle.extract_photo(f"{digest}.png", folder)

    assert "is damaged; ask for the bundle again." in str(caught.value)
    assert list(folder.iterdir()) == []


def test_a_picture_that_the_bundle_lacks_cannot_be_taken_out(good, tmp_path):
    with open_bundle(good) as bundle, pytest.raises(BundleError) as caught:
        bundle.extract_photo("../" + PICTURE_NAME, tmp_path)

    assert "is not in the bundle; choose one of its pictures." in str(caught.value)


def test_rows_of_the_answer_are_not_taken_for_records(good):
    with open_bundle(good) as bundle:
        assert sample_rows() == list(bundle.rows)
        assert "first_bad_station" not in {kind_of(record) for record in bundle.records}
