"""Numbers in sentences: no rounding that makes an answer look surer than it is."""

from hypothesis import given
from hypothesis import strategies as st

from walkapp.analysis.wording import (
    either,
    p_in_words,
    percent,
    percent_at_most,
    rounded,
    value_range,
)

shares = st.floats(0.0, 1.0)


def number(text):
    return float(text.removesuffix(" %").strip("<>"))


@given(share=shares)
def test_a_probability_is_never_written_larger_than_it_is(share):
    text = percent(share)

    assert text in ("<0.1 %",) or number(text) / 100 <= share * (1 + 1e-15)
    assert text not in ("0 %", "100 %", "0.0 %", "100.0 %")


@given(share=shares)
def test_an_upper_limit_is_never_written_smaller_than_it_is(share):
    text = percent_at_most(share)

    assert text in (">99.9 %",) or number(text) / 100 >= share * (1 - 1e-15)
    assert text not in ("0 %", "100 %", "0.0 %", "100.0 %")


def test_just_under_a_limit_stays_under_it():
    assert percent(0.9499999999999) == "94 %"
    assert percent(0.9497) == "94 %"
    assert percent(0.95) == "95 %"
    assert percent(0.9999) == percent(1.0) == ">99.9 %"
    assert percent(0.999) == "99.9 %"
    assert percent(0.9899) == "98 %"
    assert percent(0.0) == percent(1e-12) == "<0.1 %"
    assert percent(0.0059) == "0.5 %"


def test_decimals_that_binary_numbers_miss_are_not_cut_by_one():
    assert [percent(n / 100) for n in range(1, 99)] == [
        f"{n}{'.0' if n < 1 else ''} %" for n in range(1, 99)
    ]


def test_names_are_joined_as_in_speech():
    assert either(["A", "B", "C"]) == "A, B or C"


@given(p=st.floats(1e-300, 1.0))
def test_a_p_is_never_written_smaller_than_it_is(p):
    text = p_in_words(p)

    assert float(text.split()[-1]) >= p * (1 - 1e-15)
    # Two digits, and none beyond the fourth decimal.
    assert float(text.split()[-1]) <= max(1.1 * p, p + 1e-4)


values = st.floats(-1e12, 1e12)


@given(low=values, width=st.floats(0.0, 1e6), decimals=st.integers(0, 6))
def test_an_interval_is_never_written_narrower_than_it_is(low, width, decimals):
    written = [
        float(word.replace("−", "-")) for word in value_range(low, low + width, decimals).split(" to ")
    ]

    assert written[0] <= low and low + width <= written[1]
    assert written[1] - written[0] <= width + 2.1 * 10.0**-decimals + 1e-3


@given(value=values, decimals=st.integers(0, 6))
def test_a_value_is_written_to_the_nearest_with_a_true_minus_sign(value, decimals):
    text = rounded(value, decimals)

    assert "-" not in text and len(text.partition(".")[2]) == decimals
    assert abs(float(text.replace("−", "-")) - value) <= 0.5 * 10.0**-decimals + 1e-3
    assert not (text.startswith("−") and not text.strip("−0."))
