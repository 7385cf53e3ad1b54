import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from walkapp.bundle.cells import neutralise, neutralise_unless_number, restore

# The signs of the OWASP page "CSV Injection" (OWASP Foundation), read for reliability facts 5.1;
# the full-width forms stand in the Unicode chart "Halfwidth and Fullwidth Forms".
OWASP_SIGNS = ("=", "+", "-", "@", "\t", "\r", "\n")
FULL_WIDTH = ("\uff1d", "\uff0b", "\uff0d", "\uff20")
# What spreadsheets offer as separators, and what ends a row.
SEPARATORS = (",", ";", "|", "\t", "\r", "\n")


@pytest.mark.parametrize("sign", [*OWASP_SIGNS, *FULL_WIDTH, "'"])
def test_a_text_that_could_run_as_a_formula_gets_one_apostrophe(sign):
    assert f"'{sign}1+1" == neutralise(f"{sign}1+1")
    assert f"'{sign}1+1" == neutralise_unless_number(f"{sign}1+1")


@pytest.mark.parametrize("separator", SEPARATORS)
@pytest.mark.parametrize("sign", [*"=+-@", *FULL_WIDTH, "'", '"'])
def test_what_could_begin_a_cell_within_a_text_gets_one_apostrophe(separator, sign):
    assert f"worn{separator}'{sign}1+1" == neutralise(f"worn{separator}{sign}1+1")
    assert f"worn{separator}'{sign}1+1" == neutralise_unless_number(f"worn{separator}{sign}1+1")


@given(st.text(st.sampled_from("ab=-@＝'\",;|\t\r\n 1"), max_size=12))
def test_no_part_of_a_cell_begins_like_a_formula_whatever_separates(text):
    first, *others = re.split("[,;|\t\r\n]", neutralise(text))

    assert not first.startswith((*OWASP_SIGNS, *FULL_WIDTH))
    assert not any(part.startswith((*OWASP_SIGNS, *FULL_WIDTH, '"')) for part in others)


@given(st.text(st.sampled_from("a='\",;|\t\r\n"), max_size=12))
def test_every_awkward_text_comes_back_exactly(text):
    assert text == restore(neutralise(text))


@pytest.mark.parametrize(
    "text", ["", "worn, -5 °C", "a, 'b'", "one\n\ntwo", "crack at the ear", "1=1", " =1", "ä", "0.5"]
)
def test_a_harmless_text_stays_as_it_is(text):
    assert text == neutralise(text)


def test_a_negative_number_stays_a_number_only_where_the_column_is_unknown():
    assert (neutralise("-12.5"), neutralise_unless_number("-12.5")) == ("'-12.5", "-12.5")


@given(st.text())
def test_every_text_comes_back_exactly(text):
    assert text == restore(neutralise(text)) == restore(neutralise_unless_number(text))
