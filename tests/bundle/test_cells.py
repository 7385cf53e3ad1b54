import pytest
from hypothesis import given
from hypothesis import strategies as st

from walkapp.bundle.cells import neutralise, neutralise_unless_number, restore

# The signs of the OWASP page "CSV Injection" (OWASP Foundation), read for reliability facts 5.1;
# the full-width forms stand in the Unicode chart "Halfwidth and Fullwidth Forms".
OWASP_SIGNS = ("=", "+", "-", "@", "\t", "\r", "\n")
FULL_WIDTH = ("\uff1d", "\uff0b", "\uff0d", "\uff20")


@pytest.mark.parametrize("sign", [*OWASP_SIGNS, *FULL_WIDTH, "'"])
def test_a_text_that_could_run_as_a_formula_gets_one_apostrophe(sign):
    assert f"'{sign}1+1" == neutralise(f"{sign}1+1")
    assert f"'{sign}1+1" == neutralise_unless_number(f"{sign}1+1")


@pytest.mark.parametrize("text", ["", "crack at the ear", "1=1", " =1", "ä", "0.5"])
def test_a_harmless_text_stays_as_it_is(text):
    assert text == neutralise(text)


def test_a_negative_number_stays_a_number_only_where_the_column_is_unknown():
    assert (neutralise("-12.5"), neutralise_unless_number("-12.5")) == ("'-12.5", "-12.5")


@given(st.text())
def test_every_text_comes_back_exactly(text):
    assert text == restore(neutralise(text)) == restore(neutralise_unless_number(text))
