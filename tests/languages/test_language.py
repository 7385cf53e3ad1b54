"""What a language does with texts, numbers and days; CLDR, as Babel ships it, is the witness."""

from __future__ import annotations

from datetime import date, datetime, time
from decimal import Decimal
from threading import Thread

import pytest
from babel import Locale, dates, numbers
from hypothesis import given
from hypothesis import strategies as st

from walkapp.language import (
    ENGLISH,
    current,
    day_said,
    day_text,
    day_words,
    decimal_text,
    in_english,
    month_text,
    month_words,
    tr,
    trn,
    use,
    weekday_words,
    whole_text,
)
from walkapp.languages import LANGUAGES, load, nearest

OTHERS = sorted(set(LANGUAGES) - {"en"})
DAYS = st.dates(date(1000, 1, 1), date(9999, 12, 31))


@pytest.fixture(autouse=True)
def english_again():
    yield
    use(ENGLISH)


@pytest.mark.parametrize("code", OTHERS)
@given(day=DAYS)
def test_days_are_written_as_the_common_locale_data_says(code, day):
    use(load(code))

    digits = dates.format_skeleton("yMd", day, locale=code)
    assert day_text(day) == day_said(day.isoformat()) == digits
    assert day_said(f"{day.isoformat()} 06:10") == f"{digits} 06:10"
    assert tr("{at}", at=datetime.combine(day, time(6, 10, 59))) == f"{digits} 06:10"
    assert day_words(day) == dates.format_skeleton("MMMEd", day, locale=code)
    assert day_words(day, with_year=True) == dates.format_skeleton("yMMMEd", day, locale=code)
    assert month_text(day) == day_said(day.isoformat()[:7]) == dates.format_skeleton("yM", day, locale=code)
    assert month_words(day) == dates.format_skeleton("yMMMM", day, locale=code)
    assert weekday_words(day) == Locale.parse(code).days["stand-alone"]["wide"][day.weekday()]


@pytest.mark.parametrize("code", ["en", *OTHERS])
@pytest.mark.parametrize(
    "text",
    ["", "2026", "2026-13", "2026-02-30", "0000-01-01", "LOT 2026-03-09", "2026-03-09 6:10"],
)
def test_a_text_that_is_no_day_stays_as_it_is(code, text):
    use(load(code))

    assert day_said(text) == text


@given(day=DAYS)
def test_days_of_records_stay_as_they_are_in_english_and_for_programs(day):
    moment = f"{day.isoformat()} 06:10"

    assert (day_said(day.isoformat()), day_said(moment)) == (day.isoformat(), moment)
    use(load("de"))
    with in_english():
        assert (day_said(day.isoformat()), day_said(moment)) == (day.isoformat(), moment)
    use(ENGLISH)


@pytest.mark.parametrize("code", OTHERS)
@given(
    number=st.one_of(st.integers(-999, 999), st.integers(10_000, 10**12), st.integers(-(10**12), -10_000))
)
def test_whole_numbers_are_grouped_as_the_common_locale_data_says(code, number):
    use(load(code))

    assert whole_text(number) == numbers.format_decimal(number, locale=code)


@pytest.mark.parametrize(
    ("code", "written"),
    [("en", "4,800"), ("de", "4.800"), ("es", "4800"), ("es_MX", "4,800"), ("pl", "4800")],
)
def test_four_digits_are_grouped_where_the_language_does_so(code, written):
    # CLDR, minimumGroupingDigits: 1 in English, German and Mexico, 2 in Spanish and Polish; from memory.
    use(load(code))

    assert whole_text(4800) == written


@pytest.mark.parametrize("code", OTHERS)
@given(number=st.decimals(allow_nan=False, allow_infinity=False, places=3, min_value=-999, max_value=999))
def test_decimals_stand_behind_the_sign_of_the_language(code, number):
    use(load(code))

    said = numbers.format_decimal(number, format="0.000", locale=code, group_separator=False)

    assert decimal_text(f"{number:.3f}") == said or number == 0


def test_values_that_are_days_or_have_decimals_are_written_by_the_language():
    use(load("de"))

    assert (
        tr("{a} {b} {c} {d}", a=date(2026, 3, 9), b=Decimal("12.50"), c=0.1, d=2026)
        == "9.3.2026 12,50 0,1 2026"
    )


def test_a_text_without_a_translation_is_said_in_english():
    use(load("pl"))

    assert tr("a text that no catalogue has, of {station}", station="Welding").endswith("of Welding")
    assert trn("{count} thing of no catalogue", "{count} things of no catalogue", 12_000) == (
        "12\u00a0000 things of no catalogue"
    )


def test_braces_in_a_value_are_left_alone():
    assert tr("{what} is here", what="{station} {0} {") == "{station} {0} { is here"


def test_what_programs_read_is_english_in_this_thread_alone():
    use(load("de"))
    seen = []

    with in_english():
        here = (current().code, day_text(date(2026, 3, 9)), decimal_text("1.5"))
        other = Thread(target=lambda: seen.append(current().code))
        other.start()
        other.join()

    assert here == ("en", "2026-03-09", "1.5")
    assert seen == ["de"]
    assert current().code == "de"


def test_english_comes_back_to_an_end_after_an_error():
    use(load("de"))

    with pytest.raises(KeyError), in_english():
        raise KeyError
    assert current().code == "de"


@pytest.mark.parametrize("code", LANGUAGES)
def test_every_language_is_nearest_to_itself(code):
    assert nearest(code) == code
    assert nearest(f"{code}.UTF-8") == code


def test_a_language_that_there_is_not_is_a_mistake():
    with pytest.raises(ValueError, match="no language 'xx'"):
        load("xx")
