"""The number pad and the tolerance drawing, without a window."""

from __future__ import annotations

from decimal import Decimal
from functools import reduce

import pytest
from hypothesis import given
from hypothesis import strategies as st

from walkapp.analysis.readings import plain_number
from walkapp.presenters.pad import PadState, press, tolerance_view

KEYS = [*"0123456789", ".", ",", "-", "back", "clear", "enter"]


def typed(keys, state=PadState()) -> PadState:
    return reduce(press, keys, state)


@pytest.mark.parametrize("separator", [".", ","])
def test_point_and_comma_type_the_same_number(separator):
    assert typed(["1", "2", separator, "5", "0"]).value == Decimal("12.50")


def test_the_decimals_that_were_typed_are_kept():
    assert str(typed("12.50").value) == "12.50"


def test_a_second_point_changes_nothing():
    assert typed("1.2.3").text == "1.23"


def test_a_point_first_starts_with_zero():
    assert typed(".5").text == "0.5"
    assert typed("-.5").value == Decimal("-0.5")


def test_leading_zeros_do_not_pile_up():
    assert typed("007").text == "7"
    assert typed("-05").text == "-5"


def test_minus_turns_the_sign_at_any_time():
    assert typed(["1", "2", "-"]).value == -12
    assert typed(["1", "2", "-", "-"]).value == 12


def test_a_minus_alone_is_no_number():
    assert typed("-").value is None


def test_zero_has_no_sign():
    assert str(typed(["0", "-"]).value) == "0"


def test_delete_takes_the_last_key_back_and_clear_all():
    assert typed(["1", "2", "back"]).text == "1"
    assert typed(["1", "back", "back"]).text == ""
    assert typed(["1", ".", "2", "clear"]).text == ""


def test_enter_leaves_the_number_as_it_is():
    assert typed(["4", "2", "enter"]) == typed("42")


def test_a_whole_number_takes_no_point():
    assert typed("3.5", PadState(is_whole=True)).value == 35


def test_the_thirteenth_digit_and_the_seventh_decimal_are_not_taken():
    assert typed("1234567890123").text == "123456789012"
    assert typed("1.1234567").text == "1.123456"


def test_a_key_that_does_not_exist_is_a_mistake_of_the_program():
    with pytest.raises(ValueError, match="no key 'x'"):
        press(PadState(), "x")


@given(st.lists(st.sampled_from(KEYS), max_size=40), st.booleans())
def test_whatever_is_typed_stays_within_bounds_and_is_a_number_once_it_has_a_digit(keys, is_whole):
    state = typed(keys, PadState(is_whole=is_whole))

    digits = [c for c in state.text if c.isdigit()]
    assert len(digits) <= 12
    assert len(state.text.partition(".")[2]) <= 6
    assert (state.value is not None) == bool(digits)
    assert not (is_whole and "." in state.text)


@given(st.decimals(min_value=-999999, max_value=999999, places=3))
def test_every_number_can_be_typed_on_the_pad(number):
    text = format(number, "f")

    assert typed(text).value == number


@pytest.mark.parametrize("text", ["", "-", "abc", "NaN", "Infinity", "1.2.3"])
def test_what_is_no_number_is_read_as_none(text):
    assert plain_number(text) is None


# The rule that a value on a limit conforms is that of ISO 14253-1 without guard band; from memory.


@pytest.mark.parametrize(
    ("text", "mark", "words"),
    [
        ("12.0", "clean", "inside"),
        ("11.5", "clean", "inside"),
        ("12,5", "clean", "inside"),
        ("11.20", "bad", "below LSL by 0.30 mm"),
        ("13.7", "bad", "above USL by 1.2 mm"),
        ("", "not_visited", "no value yet"),
        ("-", "not_visited", "no value yet"),
    ],
)
def test_a_value_is_judged_against_both_limits(text, mark, words):
    view = tolerance_view(text, Decimal("11.5"), Decimal("12.5"), Decimal(12), "mm")

    assert (view.mark, view.words) == (mark, words)


def test_one_limit_alone_is_enough():
    high_only = tolerance_view("3.2", None, Decimal("2.5"), None, "mbar")
    low_only = tolerance_view("40", Decimal(50), None, None, "N")

    assert (high_only.words, high_only.lsl_at, high_only.lsl) == ("above USL by 0.7 mbar", None, "")
    assert (low_only.words, low_only.usl_at, low_only.usl) == ("below LSL by 10 N", None, "")


def test_without_limits_nothing_is_judged():
    view = tolerance_view("3", None, None, None, "")

    assert (view.mark, view.words, view.value) == ("not_visited", "no limits given", "3")


def test_a_value_far_out_is_drawn_at_the_end_and_said_to_be_beyond():
    view = tolerance_view("9999", Decimal(1), Decimal(2), None, "mm")

    assert (view.value_at, view.is_off_scale) == (1.0, True)


finite = st.decimals(min_value=-10000, max_value=10000, places=2)


@given(value=finite, one=finite, other=finite)
def test_the_drawing_says_the_same_as_the_words(value, one, other):
    lsl, usl = min(one, other), max(one, other)

    view = tolerance_view(format(value, "f"), lsl, usl, None, "mm")

    assert 0 < view.lsl_at <= view.usl_at < 1
    is_inside = view.lsl_at <= view.value_at <= view.usl_at
    assert is_inside == (view.words == "inside") == (view.mark == "clean")


@given(value=finite, limit=finite, nominal=st.none() | finite, has_low=st.booleans())
def test_a_one_sided_scale_shows_its_limit_inside_the_drawing(value, limit, nominal, has_low):
    limits = (limit, None) if has_low else (None, limit)

    view = tolerance_view(format(value, "f"), *limits, nominal, "")

    assert 0 < (view.lsl_at if has_low else view.usl_at) < 1
    assert 0 <= view.value_at <= 1
