"""Records: what each column allows, and the way through JSON and CSV cells."""

import dataclasses
import sys
import unicodedata

import pytest

from tests.builders import CONCERN, WALK, make, record_id
from walkapp.errors import RecordError
from walkapp.model.records import (
    HEADER,
    KINDS,
    Answer,
    CarriedRecord,
    Concern,
    Count,
    DatedCount,
    Measurement,
    Note,
    PhotoCopy,
    RatesChosen,
    Record,
    Sample,
    Study,
    StudyReading,
    Withdrawal,
    columns_of_kind,
    record_from_plain,
    record_to_plain,
)


def test_a_record_comes_back_from_json_values_unchanged():
    count = make(Count, station="leak-test", check="ear", checked=20, nok=9)

    assert record_from_plain(record_to_plain(count)) == count


def test_a_kind_of_a_newer_version_is_carried_unharmed():
    carried = make(CarriedRecord, carried_kind="weld_scan", cells=(("factor", "pads"), ("level", "hard")))

    assert record_from_plain(record_to_plain(carried)) == carried


def test_a_carried_record_becomes_its_own_kind_once_that_kind_is_known():
    count = make(Count, station="leak-test", check="ear", checked=20, nok=9)
    said = ("station", "leak-test"), ("check", "ear"), ("checked", "20"), ("nok", "9"), ("unit", "")
    carried = make(CarriedRecord, carried_kind="count", cells=said)

    assert record_from_plain(record_to_plain(carried)) == count


def test_a_carried_record_with_a_cell_that_does_not_fit_is_refused():
    carried = make(CarriedRecord, carried_kind="count", cells=(("checked", "twenty"),))

    with pytest.raises(RecordError, match="checked must be a whole number, not 'twenty'"):
        record_from_plain(record_to_plain(carried))


@pytest.mark.parametrize(
    ("kind", "fields", "complaint"),
    [
        (Count, {"checked": 3, "nok": 5}, "nok must not be above checked (5 of 3)"),
        (Count, {"checked": -1, "nok": 0}, "checked must be from 0 to 1000000, not -1"),
        (Count, {"checked": True, "nok": 0}, "checked must be a whole number"),
        (Count, {"checked": 3.0, "nok": 0}, "checked must be a whole number"),
        (Count, {"checked": None, "nok": 0}, "checked is missing"),
        (Count, {"checked": 1, "nok": 0, "by": ""}, "by is missing"),
        (Count, {"checked": 1, "nok": 0, "station": "Leak test"}, "station must be small letters"),
        (Count, {"checked": 1, "nok": 0, "at": "2026-03-03"}, "at must be a time such as"),
        (Count, {"checked": 1, "nok": 0, "at": "2026-03-03T06:20:00"}, "at must be a time such as"),
        # Valid in RFC 3339 (a leap second), refused by Python: a sentence, not a crash.
        (Count, {"checked": 1, "nok": 0, "at": "1990-12-31T23:59:60Z"}, "at must be a time such as"),
        (Count, {"checked": 1, "nok": 0, "id": "7"}, "id must be a record id"),
        (Count, {"checked": 1, "nok": 0, "replaces": ("x",)}, "replaces must be a record id"),
        (Count, {"checked": 1, "nok": 0, "walk": CONCERN}, "walk must differ from concern"),
        (Answer, {"answer": "maybe"}, "answer must be one of ok, not_ok, not_applicable, not 'maybe'"),
        (Answer, {"answer": "not_applicable"}, "reason is missing: not_applicable needs one"),
        (Measurement, {"value": "1e3", "unit_of_measure": "mm"}, "value must be a decimal number"),
        (Measurement, {"value": "nan", "unit_of_measure": "mm"}, "value must be a decimal number"),
        (Measurement, {"value": "\u0661", "unit_of_measure": "mm"}, "value must be a decimal number"),
    ],
)
def test_a_value_that_is_not_allowed_is_named(kind, fields, complaint):
    said = {"station": "leak-test", "check": "ear", **fields}

    with pytest.raises(RecordError) as raised:
        make(kind, **said)

    assert str(raised.value).startswith(complaint)


@pytest.mark.parametrize("words", ["a\x00b", "a\rb", "\ud800", "\x85"])
def test_control_characters_are_refused_in_free_text(words):
    with pytest.raises(RecordError, match=r"words holds the control character U\+"):
        make(Note, station="leak-test", words=words)


def test_free_text_keeps_line_breaks_and_tabs():
    note = make(Note, station="leak-test", words="pads changed\n\tharder")

    assert note.words == "pads changed\n\tharder"


def test_a_correction_must_say_why():
    with pytest.raises(RecordError, match="why is missing"):
        make(Count, station="a", check="b", checked=1, nok=0, replaces=(record_id(5),), why="")


def test_a_withdrawal_names_what_it_takes_back():
    with pytest.raises(RecordError, match="replaces is missing"):
        make(Withdrawal)


def test_a_sample_says_lot_or_date():
    with pytest.raises(RecordError, match="lot and made_on are both missing"):
        make(Sample, station="a")


@pytest.mark.parametrize(("low", "high"), [("0.5", "0.5"), ("0.6", "0.2"), ("-0.1", ""), ("", "1.1")])
def test_an_expected_share_out_of_order_is_refused(low, high):
    with pytest.raises(RecordError, match="share_low and share_high"):
        make(
            Concern, walk="", stream="s", defect="d", what="x", severity="safety",
            share_low=low, share_high=high,
        )  # fmt: skip


@pytest.mark.parametrize("change", [{"extra": 1}, {"nok": None}, {"nok": ...}])
def test_json_with_an_unknown_missing_or_wrong_field_is_refused(change):
    plain = record_to_plain(make(Count, station="a", check="b", checked=1, nok=0)) | change
    plain = {name: value for name, value in plain.items() if value is not ...}

    with pytest.raises(RecordError):
        record_from_plain(plain)


def test_records_cannot_be_changed():
    count = make(Count, station="a", check="b", checked=1, nok=0)

    with pytest.raises(dataclasses.FrozenInstanceError):
        count.nok = 1  # type: ignore[misc]


def test_the_walk_is_the_scope_and_the_concern_outside_a_walk():
    assert make(Note, station="a", words="x").scope == WALK
    assert make(Note, station="a", words="x", walk="").scope == CONCERN


@pytest.mark.parametrize("kind", list(KINDS.values()))
def test_every_kind_has_a_title_the_header_and_a_description_of_each_column(kind):
    columns = columns_of_kind(kind.kind)

    assert issubclass(kind, Record)
    assert kind.title
    assert tuple(columns)[: len(HEADER)] == HEADER
    for name, column in columns.items():
        described = column.table_schema(name)
        assert described["description"]
        assert described["type"] in {"string", "integer", "number", "boolean", "date"}


COPY = {
    "station": "weld", "photo": "a" * 64, "sha256": "b" * 64, "media": "image/jpeg", "size_bytes": 10,
    "width_px": 80, "height_px": 48,
}  # fmt: skip


@pytest.mark.parametrize(
    ("wrong", "complaint"),
    [
        ({"covered": "0 0 81 48"}, "covered must lie on the picture"),
        ({"covered": "0 0 0 48"}, "covered must lie on the picture"),
        ({"covered": "0 0 10"}, "covered must be boxes such as 10 20 30 40, each once, at most 100"),
        ({"covered": "0 0 9 9; 0 0 9 9"}, "covered must be boxes such as"),
        ({"covered": "; ".join(f"0 0 {i} 9" for i in range(1, 102))}, "covered must be boxes such as"),
        ({"covered": "-1 0 9 9"}, "covered must be boxes such as"),
        ({"sha256": "a" * 64}, "sha256 must differ from photo"),
        ({"photo": ""}, "photo is missing"),
    ],
)
def test_a_copy_of_a_photo_covers_places_that_lie_on_it(wrong, complaint):
    with pytest.raises(RecordError, match=complaint):
        make(PhotoCopy, **{**COPY, **wrong})


def test_a_copy_of_a_photo_gives_its_places_and_its_file():
    copy = make(PhotoCopy, **COPY, covered="0 0 80 48; 1 2 3 4")

    assert copy.boxes == ((0, 0, 80, 48), (1, 2, 3, 4))
    assert copy.file_name == "b" * 64 + ".jpg"


RATES = {
    "detection": "0.9", "false_alarm": "0.05", "detection_low": "0.7", "false_alarm_high": "0.2",
    "bad_parts": 6, "good_parts": 6,
}  # fmt: skip


@pytest.mark.parametrize(
    ("wrong", "complaint"),
    [
        ({"detection": "1"}, "false_alarm and detection must be in order and between 0 and 1"),
        ({"false_alarm": "0"}, "false_alarm and detection must be in order"),
        ({"false_alarm": "0.9"}, "false_alarm and detection must be in order"),
        ({"detection_low": "0.1"}, "false_alarm_high and detection_low must be in order"),
        ({"bad_parts": 0}, "bad_parts must be from 1"),
        ({"detection": ""}, "detection is missing"),
    ],
)
def test_chosen_rates_must_tell_bad_from_good(wrong, complaint):
    said = {"station": "weld", "check": "look", "study": record_id(5), **RATES}
    make(RatesChosen, **said)

    with pytest.raises(RecordError, match=complaint):
        make(RatesChosen, **{**said, **wrong})


def test_a_reading_knows_its_look_and_only_two_answers():
    said = {"study": record_id(5), "part": "7", "inspector": "OP-TB", "repeat": 1, "called": "ok"}
    make(StudyReading, **said)

    for wrong in ({"called": "not_applicable"}, {"repeat": 0}, {"inspector": ""}, {"part": "x" * 21}):
        with pytest.raises(RecordError, match=next(iter(wrong))):
            make(StudyReading, **{**said, **wrong})


def test_a_study_has_at_least_one_look_at_each_part():
    with pytest.raises(RecordError, match="repeats must be from 1 to 9, not 0"):
        make(Study, station="weld", check="look", repeats=0, seed="s")


@pytest.mark.parametrize(
    ("wrong", "complaint"),
    [
        ({"made_on": ""}, "made_on is missing"),
        ({"made_on": "25.02.2026"}, "made_on must be a date such as"),
        ({"checked": 0}, "checked must be from 1"),
        ({"nok": 21}, r"nok must not be above checked \(21 of 20\)"),
        ({"lot": "x" * 61}, "lot"),
    ],
)
def test_a_count_of_an_older_lot_has_a_day_and_parts(wrong, complaint):
    said = {"station": "leak-test", "check": "look", "made_on": "2026-02-25", "checked": 20, "nok": 9}
    assert make(DatedCount, walk="", **said).scope == CONCERN
    assert make(DatedCount, **said).scope == WALK

    with pytest.raises(RecordError, match=complaint):
        make(DatedCount, **{**said, **wrong})


def test_free_text_refuses_exactly_control_characters_and_lone_surrogates():
    # The witness is Python's own table of the Unicode standard.
    refused = {
        letter
        for letter in map(chr, range(sys.maxunicode + 1))
        if unicodedata.category(letter) in ("Cc", "Cs") and letter not in "\n\t"
    }
    column = columns_of_kind("note")["words"]

    assert refused == {letter for letter in map(chr, range(sys.maxunicode + 1)) if column.problem(letter)}


def test_a_kind_with_an_endless_name_is_told_in_short():
    with pytest.raises(RecordError) as caught:
        record_from_plain({"kind": "9" * 5000})

    assert str(caught.value) == f"kind '{'9' * 40}...' is not known and has no cells to carry"


def test_records_are_the_same_when_kind_and_all_fields_are():
    count, same = (make(Count, station="leak-test", check="ear", checked=20, nok=9) for _ in range(2))
    other = dataclasses.replace(count, nok=8)

    assert count == same
    assert hash(count) == hash(same)
    assert count != other
    assert len({count, same, other}) == 2
    assert make(Record) != count


def test_a_record_that_is_written_out_names_its_fields():
    count = make(Count, station="leak-test", check="ear", checked=20, nok=9)

    assert repr(count).startswith(f"Count(id={count.id!r}, device={count.device!r}, ")
    assert "checked=20, nok=9" in repr(count)
