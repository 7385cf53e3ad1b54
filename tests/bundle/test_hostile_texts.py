"""Tables and texts in encodings, shapes and sizes that they must not have."""

import tracemalloc

import pytest

from tests.bundle.samples import Forger, write_sample
from walkapp.bundle import open_bundle
from walkapp.errors import BundleError
from walkapp.model.records import HEADER

MEND_TABLE = "a table that was saved by another program cannot be taken over, ask for the untouched bundle"


@pytest.fixture
def forger(tmp_path):
    write_sample(tmp_path / "good.zip")
    return Forger.of(tmp_path / "good.zip")


def refusal_of(forger, folder):
    with pytest.raises(BundleError) as caught:
        open_bundle(forger.save(folder / "walk.zip"))
    return str(caught.value)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ("id,device\r\n".encode("utf-16"), "is not UTF-8 at byte 0"),
        ("id,device\r\n".encode("utf-16-le"), "row 1: is not CSV (a carriage return without a line feed)"),
        ("id,wärme\r\n".encode("latin-1"), "is not UTF-8 at byte 4"),
        (b"id,\xc0\xaf\r\n", "is not UTF-8 at byte 3"),  # an overlong slash
        (b"id,\xed\xa0\x80\r\n", "is not UTF-8 at byte 3"),  # half of a pair
        (b"id,\xf4\x90\x80\x80\r\n", "is not UTF-8 at byte 3"),  # beyond the last character
        (b"\xef\xbb\xbfid\r\n", "begins with a byte order mark"),
    ],
)
def test_another_encoding_is_refused(forger, tmp_path, data, words):
    forger.replace("note.csv", data)

    assert words in refusal_of(forger, tmp_path)


@pytest.mark.parametrize("old", [b"\r\n", b"weld"])
def test_a_carriage_return_without_a_line_feed_is_refused(forger, tmp_path, old):
    # One program takes it for the end of a row, another does not: they would read different records.
    forger.replace("note.csv", forger.members["note.csv"].replace(old, b"\r", 1))

    assert f"is not CSV (a carriage return without a line feed); {MEND_TABLE}." in refusal_of(
        forger, tmp_path
    )


def test_a_cell_of_ten_million_characters_is_refused_in_a_short_sentence(forger, tmp_path):
    forger.replace("note.csv", forger.members["note.csv"].replace(b"weld,", b"weld," + b"a" * 10_000_000))

    assert (
        refusal_of(forger, tmp_path)
        == "walk.zip: note.csv, row 2, column words: has 10000009 characters, at most 4000 are kept; "
        "ask for the bundle again."
    )


def test_a_row_of_millions_of_cells_is_refused_before_it_fills_the_memory(forger, tmp_path):
    forger.replace("weld_scan.csv", ",".join(HEADER).encode() + b",ab" * 5_000_000 + b"\r\n")
    path = forger.save(tmp_path / "walk.zip")
    tracemalloc.start()

    with pytest.raises(BundleError) as caught:
        open_bundle(path)

    peak_bytes = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert "weld_scan.csv, row 1: is not CSV (far too many cells)" in str(caught.value)
    assert peak_bytes < 80_000_000  # the 15 MB of the table a few times over; as cells 300 MB more


@pytest.mark.parametrize(
    "cell",
    ["1e999", "-1e999", "NaN", "nan", "inf", "Infinity", "-Infinity", "1_000", "0x10", "٣٠", "３０", "𝟛𝟘",
     " 30", "30 ", "+30", "3e1", "30.0", "9" * 400, "-1", "1000001", "TRUE", ""],
)  # fmt: skip
def test_what_is_no_plain_count_is_refused(tmp_path, forger, cell):
    assert b",30,0," in forger.members["count.csv"]
    forger.replace("count.csv", forger.members["count.csv"].replace(b",30,0,", f",{cell},0,".encode()))

    assert "count.csv, row 2, column checked: " in refusal_of(forger, tmp_path)


@pytest.mark.parametrize(
    "cell",
    ["1e999", "NaN", "inf", "-Infinity", "1_0", "١.٥", "１.５", "1,5", " 1.5", "+1.5", ".5", "5.", "1e5",
     "9" * 13, "0." + "1" * 10, "--1", "0x1p3"],
)  # fmt: skip
def test_what_is_no_plain_number_is_refused_as_a_measurement(tmp_path, forger, cell):
    table = forger.members["measurement.csv"]
    assert b"-1.50" in table
    forger.replace("measurement.csv", table.replace(b"-1.50", f'"{cell}"'.encode()))

    assert "measurement.csv, row 2, column value: must be a decimal number" in refusal_of(forger, tmp_path)


@pytest.mark.parametrize(
    "cell", ["nan", "NAN", "inf", "1e999", "1e-9999", "0.٥", "-0.5", "1.0000001", "1_0"]
)
def test_what_is_no_share_is_refused_in_the_answer(tmp_path, forger, cell):
    table = forger.members["first_bad_station.csv"]
    forger.replace("first_bad_station.csv", table.replace(b"0.11570330820513247", cell.encode()))

    assert "first_bad_station.csv, row 2: high95 must be " in refusal_of(forger, tmp_path)


@pytest.mark.parametrize("letter", [*map(chr, range(0x20)), *map(chr, range(0x7F, 0xA0))])
def test_no_control_character_but_line_feed_and_tab_is_stored(tmp_path, forger, letter):
    table = forger.members["note.csv"].replace(b"weld,", f'weld,"a{letter}b'.encode(), 1)
    forger.replace("note.csv", table.rstrip(b"\r\n") + b'"\r\n')
    path = forger.save(tmp_path / "walk.zip")

    if letter in "\n\t":
        with open_bundle(path) as bundle:
            assert any(f"a{letter}b" in getattr(record, "words", "") for record in bundle.records)
        return
    with pytest.raises(BundleError) as caught:
        open_bundle(path)
    assert str(caught.value).isprintable()


@pytest.mark.parametrize("text", ["\u202e", "\u2066", "\u200b", "\u200f", "\ufeff", "\u2028", "e\u0301"])
def test_what_can_only_mislead_the_eye_is_stored_as_it_was_typed(tmp_path, forger, text):
    # It is shown with a mark (walkapp.visible); evidence stays as it is.
    forger.replace("note.csv", forger.members["note.csv"].replace(b"weld,", f"weld,{text}".encode(), 1))

    with open_bundle(forger.save(tmp_path / "walk.zip")) as bundle:
        assert any(text in getattr(record, "words", "") for record in bundle.records)


@pytest.mark.parametrize("unit", [b"\\ud800", b"\\udfff", b"\\ud800x"])
def test_half_of_a_pair_in_the_descriptor_is_refused_in_a_printable_sentence(forger, tmp_path, unit):
    data = forger.members["datapackage.json"]
    forger.members["datapackage.json"] = data.replace(b'"note.csv"', b'"note' + unit + b'.csv"')

    words = refusal_of(forger, tmp_path)

    assert words.isprintable()
    words.encode("utf-8")


def test_numbers_out_of_range_in_places_that_nobody_reads_are_refused_too(forger, tmp_path):
    data = forger.members["datapackage.json"]
    forger.members["datapackage.json"] = data.replace(b'"name"', b'"more": 1e400, "name"', 1)

    assert "datapackage.json: holds a number out of range (1e400); " in refusal_of(forger, tmp_path)
