"""What a text from a code is taken for: plain, GS1 or identified, and what is refused in one sentence.

Numbers and strings are our own: the GTIN is in the GS1 prefix 950, kept for examples (from memory),
and its check digit follows from the rule that the standard gives. Standards: from memory.
"""

from __future__ import annotations

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from walkapp.codes import read_label, read_station, station_text
from walkapp.codes.gs1 import is_gtin
from walkapp.errors import InputError

GTIN = "09506000134352"
YEAR = 2026
GS, RS, EOT = "\x1d", "\x1e", "\x04"


def read(text, kind=""):
    return read_label(text, kind=kind, year=YEAR)


def envelope(*fields, form="06"):
    return f"[)>{RS}{form}{GS}{GS.join(fields)}{RS}{EOT}"


# Plain texts


def test_a_plain_text_is_a_tag_as_it_stands_without_the_blanks_around_it():
    assert read("  EAR 0042 ").plain == "EAR 0042"


@pytest.mark.parametrize(
    "text", ["", "   ", "EAR\x07", "EAR\u202e1", "EAR\ufffd", "a\nb", "x" * 41, "x" * 100_000]
)
def test_a_text_that_records_cannot_keep_is_refused_in_one_sentence(text):
    with pytest.raises(InputError) as refused:
        read(text)

    assert str(refused.value).endswith(".")
    assert str(refused.value).isprintable()


def test_digits_alone_are_never_taken_for_gs1():
    assert read("0109506000134352").plain == "0109506000134352"


# GS1


def test_a_gs1_label_gives_lot_serial_date_and_article():
    label = read(f"01{GTIN}1126030110AB-123{GS}21S1", "]d2")

    assert (label.lot, label.serial, label.made_on, label.gtin) == ("AB-123", "S1", "2026-03-01", GTIN)
    assert label.plain == ""


def test_the_words_below_a_code_are_read_like_the_code():
    assert read(f"(01){GTIN}(10)AB-123(21)S1") == read(f"01{GTIN}10AB-123{GS}21S1", "]C1")


def test_a_hand_scanner_may_send_the_kind_of_the_code_in_front():
    assert read(f"]d201{GTIN}10AB-123{GS}21S1").serial == "S1"


@pytest.mark.parametrize("sent", ["<GS>", "{GS}", "\u241d", "|", "~", "^"])
def test_what_a_hand_scanner_sends_for_the_separator_is_understood(sent):
    assert read(f"]d210AB-123{sent}21S1").lot == "AB-123"


def test_lot_and_serial_that_were_run_together_are_refused_and_not_guessed():
    with pytest.raises(InputError, match="cannot be told apart"):
        read("]d210AB-12321S1")


def test_the_customers_part_number_is_given_first():
    label = read(f"240SUP-1{GS}2414711-A{GS}21S1", "]d2")

    assert label.part_numbers == ("4711-A", "SUP-1")


def test_a_box_is_told_from_a_part():
    assert read(f"02{GTIN}3724{GS}10AB", "]C1").is_of_a_box
    assert read(f"00{'1' * 17}5", "]C1").is_of_a_box
    assert not read("21S1", "]d2").is_of_a_box


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("0109506000134353", "check digit"),
        ("01095060001343", "cut short"),
        ("0109506000134AB2", "no number"),
        ("11260230", "date"),
        ("11261301", "date"),
        ("10", "cut short"),
        ("10" + "A" * 21, "longer than the standard"),
        ("10A\u00e4", "wrong letter"),
        ("9", "not known"),
        ("05X", "not known"),
        (f"10A{GS}10B", "twice"),
        ("", "empty"),
    ],
)
def test_a_gs1_label_that_is_not_well_formed_is_refused(text, says):
    with pytest.raises(InputError, match=says):
        read(text, "]d2")


@pytest.mark.parametrize(("yy", "year"), [("26", 2026), ("76", 2076), ("77", 1977), ("00", 2000)])
def test_the_century_of_a_date_is_the_one_within_fifty_years(yy, year):
    # GS1 General Specifications, "determination of century in dates", from memory.
    assert read(f"11{yy}022821S1", "]d2").made_on == f"{year}-02-28"


def test_a_date_that_gives_only_the_month_is_no_day():
    label = read("1126020021S1", "]d2")

    assert label.made_on == ""
    assert ("11", "260200") in label.more


LETTERS_82 = string.ascii_letters + string.digits + "!\"%&'()*+,-./:;<=>?_"
VALUES = st.text(LETTERS_82, min_size=1, max_size=20)


@given(lot=VALUES, serial=VALUES, kind=st.sampled_from(("]d2", "]C1", "]Q3", "]e0")))
def test_whatever_lot_and_serial_are_they_come_back_as_they_were_written(lot, serial, kind):
    label = read(f"01{GTIN}10{lot}{GS}21{serial}", kind)

    assert (label.lot, label.serial) == (lot, serial)


@given(st.text(string.digits, min_size=13, max_size=13), st.integers(0, 13), st.integers(1, 9))
def test_a_check_digit_finds_every_wrong_digit(digits, place, by):
    # The property for which it was made: 3 and 1 have no factor in common with 10.
    right = next(digits + str(last) for last in range(10) if is_gtin(digits + str(last)))
    wrong = right[:place] + str((int(right[place]) + by) % 10) + right[place + 1 :]

    assert not is_gtin(wrong)


@given(st.text(max_size=60), st.sampled_from(("", "]d2", "]C1", "]d1")))
def test_any_text_is_read_or_refused_in_one_printable_sentence(text, kind):
    try:
        label = read(text, kind)
    except InputError as refused:
        assert str(refused).isprintable() and str(refused).endswith(".")
    else:
        assert len(label.plain or label.serial) <= 40
        assert len(label.lot) <= 60


# ISO/IEC 15434


def test_a_suppliers_label_gives_lot_serial_part_number_and_day():
    label = read(envelope("P4711-A", "1PSUP-9", "1TL0815", "SX1", "Q1", "16D20260301"))

    assert (label.serial, label.lot, label.made_on) == ("X1", "L0815", "2026-03-01")
    assert label.part_numbers == ("4711-A", "SUP-9")
    assert not label.is_of_a_box


def test_a_suppliers_label_of_many_parts_is_that_of_a_box():
    assert read(envelope("P4711-A", "SX1", "Q24")).is_of_a_box
    assert read(envelope("P4711-A", "SX1", "Q2.5")).is_of_a_box


def test_the_lot_that_the_customer_gives_is_taken_where_there_is_no_other():
    assert read(envelope("TC1")).lot == "C1"
    assert read(envelope("TC1", "1TS1")).lot == "S1"


def test_gs1_fields_in_the_envelope_are_read_as_gs1():
    assert read(envelope(f"01{GTIN}10AB", form="05")).lot == "AB"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[)>06P4711SX1", "left out what separates"),
        (envelope("X", form="99"), "does not read"),
        (envelope("lower"), "cannot be read"),
        (envelope("S1", "S2"), "twice"),
        (envelope(), "empty"),
        (envelope("S" + "x" * 41), "at most 40"),
    ],
)
def test_an_envelope_that_is_not_well_formed_is_refused(text, says):
    with pytest.raises(InputError, match=says):
        read(text)


# Labels of stations

KEYS = st.from_regex(r"[a-z][a-z0-9-]{0,39}", fullmatch=True)


@given(KEYS, KEYS)
def test_the_label_of_a_station_is_read_back_in_any_case(stream, station):
    text = station_text(stream, station)

    for shown in (text, text.upper(), text.lower(), f" {text} "):
        found = read_station(shown)
        assert found is not None and (found.stream, found.station) == (stream, station)


@given(KEYS, KEYS, st.data())
def test_a_letter_that_was_typed_wrong_is_nearly_always_noticed(stream, station, data):
    text = station_text(stream, station)
    place = data.draw(st.integers(len("station:"), len(text) - 1))
    letter = data.draw(st.sampled_from(string.ascii_lowercase.replace(text[place].lower(), "")))
    wrong = text[:place] + letter + text[place + 1 :]

    # One in 160,000 such mistakes fits by chance; the examples are the same each time.
    with pytest.raises(InputError, match="last four letters"):
        read_station(wrong)


def test_what_is_no_label_of_a_station_is_left_to_others():
    assert read_station("EAR-0042") is None


@pytest.mark.parametrize("text", ["station:", "station:a/b", "station:a/b:XXXX", "station:" + "x" * 10_000])
def test_a_damaged_label_of_a_station_is_refused(text):
    with pytest.raises(InputError, match="damaged or was typed wrong"):
        read_station(text)
