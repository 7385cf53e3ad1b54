"""Values as people type them and instruments send them, and exact conversion of units."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from walkapp.analysis.quantities import converted, unit_called
from walkapp.analysis.readings import LONGEST, plain_number, read_reading
from walkapp.errors import InputError

UNITS = [
    "mm", "µm", "cm", "m", "in", "N", "kN", "°C", "°F", "g", "kg",
    "Pa", "bar", "mbar", "kPa", "MPa", "psi", "s", "min", "Nm", "%", "V", "A",
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("12,34 mm", "12.34", "mm"),
        ("+0012.340mm", "12.340", "mm"),
        ("-0.05 in", "-0.05", "in"),
        ("\N{MINUS SIGN}0,05\N{NO-BREAK SPACE}in", "-0.05", "in"),
        ("12.3 \N{MICRO SIGN}m", "12.3", "µm"),
        ("12.3 \N{GREEK SMALL LETTER MU}m", "12.3", "µm"),
        ('0.5"', "0.5", "in"),
        ("+ 12.3", "12.3", ""),
        ("-.5", "-0.5", ""),
        ("12.", "12", ""),
        ("-0.00", "0.00", ""),
        ("1.2340E+01", "12.340", ""),
        ("12.34\tmm\r\n", "12.34", "mm"),
        ("12.34;mm", "12.34", "mm"),
        ("12,34,mm", "12.34", "mm"),
        ("\x0223.5 degC\x03", "23.5", "°C"),
        ("7 N·m", "7", "Nm"),
    ],
)
def test_what_gauges_and_people_write_is_read(text, value, unit):
    reading = read_reading(text)

    assert (str(reading.value), reading.unit) == (value, unit)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("1.234,5", "read in one way only"),
        ("1,12.34", "read in one way only"),
        ("1 234", "read in one way only"),
        ("1'234", "read in one way only"),
        ("ERR 0.00", "read in one way only"),
        ("--5", "read in one way only"),
        ("\N{EN DASH}5", "read in one way only"),
        ("1_000", "read in one way only"),
        ("1;12.34", "more than one number"),
        ("12.34;mm;OK", "a unit that this tablet does not know"),
        ("12.34 furlong", "a unit that this tablet does not know"),
        ("OL", "holds no number"),
        ("NaN", "holds no number"),
        ("-", "holds no number"),
        ("", "Nothing was sent"),
        ("\uff11\uff12", "digits 0 to 9"),
        ("\u0661\u0662", "digits 0 to 9"),
        ("12\u00b2", "digits 0 to 9"),
        ("12\x003", "cannot be seen"),
        ("12\u200b3", "cannot be seen"),
        ("\u202e12.3", "cannot be seen"),
        ("1234567890123", "more than 12 digits"),
        ("9.9E37", "more than 12 digits"),
        ("1.0000000001", "9 decimals"),
        ("1" * 10_000_000, "10,000,000 characters"),
    ],
)
def test_what_can_be_read_in_two_ways_or_not_at_all_is_refused_in_one_sentence(text, why):
    with pytest.raises(InputError, match=why) as refused:
        read_reading(text)

    assert len(str(refused.value)) < 200 and str(refused.value).endswith(".")


def test_the_unit_of_the_check_itself_is_known_whatever_it_is():
    assert read_reading("55 Shore A", "Shore A").taken_in("Shore A") == 55
    with pytest.raises(InputError, match="does not know"):
        read_reading("55 Shore A")


@pytest.mark.parametrize(
    ("value", "given", "wanted", "exact"),
    [
        # NIST SP 811 (2008), appendix B.8 and B.9, and the SI brochure (9th edition): exact; from memory.
        ("1", "in", "mm", "25.4"),
        ("-0.050", "in", "mm", "-1.27"),
        ("12.3", "µm", "mm", "0.0123"),
        ("212", "°F", "°C", "100"),
        ("-40", "°C", "°F", "-40"),
        ("1", "bar", "kPa", "100"),
        ("1", "MPa", "bar", "10"),
        ("2.5", "min", "s", "150"),
        ("1.5", "kN", "N", "1500"),
    ],
)
def test_a_value_is_converted_exactly(value, given, wanted, exact):
    assert converted(Decimal(value), given, wanted) == Decimal(exact)


def test_a_pound_force_per_square_inch_is_6894_757_pascals():
    # NIST SP 811 (2008), appendix B.8: 1 psi = 6.894 757 E+03 Pa; from memory.
    assert abs(converted(Decimal("1.000000"), "psi", "Pa") - Decimal("6894.757")) < Decimal("0.0005")


def test_a_value_that_is_rounded_stays_on_its_side_of_a_limit():
    value = Decimal("100.00")  # °F; 37.777... °C

    for limit in ("37.7777", "37.7778", "37.77777778"):
        number = converted(value, "°F", "°C", [Decimal(limit)])
        exact = (Fraction(value) - 32) * Fraction(5, 9)
        assert (number > Decimal(limit)) == (exact > Fraction(limit)) and number != Decimal(limit)


@pytest.mark.parametrize(("given", "wanted"), [("mm", "N"), ("g", "N"), ("mm", "Shore A"), ("s", "")])
def test_units_of_different_kinds_are_not_converted(given, wanted):
    with pytest.raises(InputError, match="cannot be taken where"):
        converted(Decimal(1), given, wanted)


@pytest.mark.parametrize("written", ["NM", "nm", "MPA", "Mm", "mn", "f", "'", "", "°"])
def test_a_unit_that_could_be_another_one_is_not_known(written):
    assert unit_called(written) == ""


numbers = st.decimals(-99_999, 99_999, places=3)


@given(numbers, st.sampled_from(UNITS), st.sampled_from([".", ","]), st.sampled_from(["", " ", "\t", ";"]))
def test_a_number_with_its_unit_is_read_back_however_it_is_written(number, unit, point, between):
    reading = read_reading(f"{number:+08f}".replace(".", point) + between + unit)

    assert (reading.value, reading.unit) == (number, unit)


@given(numbers, st.sampled_from(UNITS), st.sampled_from(UNITS))
def test_there_and_back_is_the_same_to_the_last_digit(number, one, other):
    try:
        there = converted(number, one, other)
    except InputError:
        return
    assert abs(converted(there, other, one) - number) <= Decimal("0.0005")


@given(st.text(max_size=LONGEST + 20))
def test_any_text_is_read_or_refused_in_one_sentence(text):
    try:
        reading = read_reading(text)
    except InputError as error:
        assert "\n" not in str(error) and len(str(error)) < 450
    else:
        assert reading.value.is_finite()
        assert set(text) & set("0123456789")


@given(st.text("0123456789.,+-− eE_", max_size=30))
def test_a_plain_number_has_at_most_one_decimal_sign_and_no_power(text):
    number = plain_number(text)

    if number is not None:
        assert text.count(".") + text.count(",") <= 1 and not set(text) & set("eE_")
