"""Words are folded the same in what is searched and in what is asked for."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.strategies import AWKWARD_TEXTS
from walkapp.search.words import LONGEST_WORD, MOST_WORDS, SNIPPET, asked_words, fold, snippet, words_of

TEXTS = st.one_of(st.sampled_from(AWKWARD_TEXTS), st.text(max_size=60))


@pytest.mark.parametrize(
    "text, words",
    [
        ("Größe", ["grosse"]),
        ("GRÖSSE", ["grosse"]),
        ("Grösse", ["grosse"]),
        ("naïve café", ["naive", "cafe"]),
        ("cafe\u0301", ["cafe"]),
        ("İSTANBUL ıstanbul", ["istanbul", "ıstanbul"]),
        ("ΣΊΣΥΦΟΣ σίσυφος", ["σισυφοσ", "σισυφοσ"]),
        ("ﬁne ２３ ½", ["fine", "23", "1", "2"]),
        ("Ø 4,2 mm", ["ø", "4", "2", "mm"]),
        ("clamp_pad pads/2", ["clamp", "pad", "pads", "2"]),
        ("😀 -*\"' ...", []),
        ("", []),
        ("射出成形 検査", ["射出成形", "検査"]),
    ],
)
def test_words_are_folded(text, words):
    assert words_of(text) == words


@given(TEXTS)
def test_folding_twice_changes_nothing(text):
    assert fold(fold(text)) == fold(text)


@given(TEXTS)
def test_capitals_make_no_difference(text):
    # Letters whose capital is no single letter of their own script are the exceptions of Unicode itself.
    assert words_of(text.casefold()) == words_of(text)


@given(st.text(max_size=200))
def test_a_word_is_letters_and_digits_and_not_too_long(text):
    for word in words_of(text):
        assert word.isalnum() and 1 <= len(word) <= LONGEST_WORD


@given(st.text(max_size=200))
def test_what_a_text_holds_is_found_by_asking_for_the_text(text):
    words, has_more = asked_words(text)

    assert set(words) <= set(words_of(text))
    assert has_more or set(words) == set(words_of(text))


def test_very_many_words_are_cut_and_that_is_said():
    assert asked_words(" ".join(f"w{n}" for n in range(MOST_WORDS + 1))) == (
        tuple(f"w{n}" for n in range(MOST_WORDS)),
        True,
    )
    assert asked_words("ear " * 5000) == (("ear",), False)
    assert asked_words("ear " * 50_000) == (("ear",), True)
    assert asked_words("e" * 10_000) == (("e" * LONGEST_WORD,), False)


def test_a_short_text_is_shown_whole_and_of_a_long_one_the_part_around_the_hit():
    assert snippet("Pads\nare  harder", ("hard",)) == "Pads are harder"

    shown = snippet(f"{'before ' * 60}the Größe of it {'after ' * 60}", ("gross",))
    assert shown.startswith("… before") and "the Größe of it after" in shown and shown.endswith("after …")
    assert len(shown) <= SNIPPET + 4


def test_one_word_that_is_longer_than_what_is_shown_is_cut():
    assert snippet("x" * 400, ("x",)) == f"{'x' * SNIPPET} …"


@given(st.text(max_size=600), st.text(max_size=6))
def test_what_is_shown_of_a_text_is_part_of_it(text, asked):
    shown = snippet(text, asked_words(asked)[0] or ("x",))

    assert shown.removeprefix("… ").removesuffix(" …") in " ".join(text.split())
