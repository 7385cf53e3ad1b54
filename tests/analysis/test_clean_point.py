"""What OK parts from a clean point on support, and which escapes contradict it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from walkapp.analysis.clean_point import (
    BEFORE,
    BEFORE_BY_LOT,
    CONTRADICTS,
    IN_DOUBT,
    MadeWhen,
    clean_support,
    judge_escape,
    lot_order,
    share_words,
)

CERTIFIED = "2026-03-03"


@pytest.mark.parametrize(
    ("checked", "says"),
    [
        # Success run, 95 % confidence: 29, 59, 299 and 2995 parts for 90, 95, 99 and 99.9 % are the
        # widely printed sample sizes (from memory), and one part less supports less.
        (29, "fewer than 10 % are"),
        (58, "fewer than 6 % are"),
        (59, "fewer than 5 % are"),
        (299, "fewer than 1.0 % are"),
        (298, "fewer than 2 % are"),
        (2995, "fewer than 0.1 % are"),
        (1, "fewer than 95 % are"),
    ],
)
def test_ok_parts_support_a_share_with_95_percent_one_sided(checked, says):
    sentence = clean_support(checked).sentence

    assert says in sentence
    assert sentence.endswith("with 95 % confidence (one-sided).")


def test_how_many_more_are_needed_is_said_for_smaller_shares():
    assert clean_support(59).more == ((0.01, 240), (0.001, 2936))
    assert clean_support(58).more[0] == (0.05, 1)
    assert clean_support(3000).more == ()
    assert "Further OK parts needed: 240 more for fewer than 1 %, 2,936 more for fewer than 0.1 %." in (
        clean_support(59).lines
    )


def test_a_check_that_misses_bad_parts_supports_less_and_says_so():
    perfect, usual = clean_support(59), clean_support(59, detection=0.9)

    assert usual.share == pytest.approx(perfect.share / 0.9)
    assert "fewer than 6 % are" in usual.sentence
    assert "Reckoned with a check that finds 90 % of bad parts." in usual.lines
    assert clean_support(1, detection=0.5).sentence == (
        "1 OK part: too few to support anything with 95 % confidence (one-sided)."
    )


def test_a_lot_of_known_size_is_reckoned_exactly_and_speaks_for_itself_alone():
    found = clean_support(45, lot_size=100)

    assert found.sentence.startswith("45 OK parts of a lot of 100: at most 4 are affected")
    assert found.more == ((0.01, 50), (0.001, 50))
    assert found.lines[-1] == "This speaks for that lot alone, not for the lots after it."
    assert "none is affected" in clean_support(95, lot_size=100).sentence
    assert "too few to support anything" in clean_support(1, lot_size=100, detection=0.9).sentence


def test_what_no_number_of_parts_of_the_lot_can_show_is_said():
    found = clean_support(50, lot_size=50, detection=0.9)

    assert found.more == ((0.01, None), (0.001, None))
    assert "Fewer than 1 % cannot be shown for this lot with this check." in found.lines


@given(st.integers(1, 2000), st.sampled_from((1.0, 0.9, 0.3)))
def test_the_share_falls_with_every_part_and_a_finite_lot_never_supports_less(checked, detection):
    found = clean_support(checked, detection=detection)

    assert 0 < found.share <= 1
    assert clean_support(checked + 1, detection=detection).share <= found.share
    # A lot of 100,000 is nearly endless; one part more or less is its own rounding.
    finite = clean_support(checked, lot_size=100_000, detection=detection)
    assert finite.share <= found.share + 1e-5


def test_small_shares_are_said_in_a_million_and_rounded_up():
    assert [share_words(share) for share in (0.0495, 0.001, 0.0009999, 0.00091, 0.000002996)] == [
        "5 %", "0.1 %", "0.1 %", "910 in a million", "3 in a million",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("lot", "other", "order"),
    [
        ("0303-2", "0303-10", -1),
        ("0304-1", "0303-1", 1),
        (" lot 7", "LOT7", 0),
        ("A12", "B13", None),
        ("12-25", "01-26", None),  # a month and a year: nobody can tell which one leads
        ("7", "", None),
        ("", "", None),
        ("A", "A", 0),
        ("A", "B", None),
        ("1-2", "12", None),
    ],
)
def test_lots_compare_only_where_their_labels_leave_no_doubt(lot, other, order):
    assert lot_order(lot, other) == order


@given(st.from_regex(r"[AB]?[0-9]{0,3}-?[0-9]{0,2}", fullmatch=True), st.text(max_size=12))
def test_comparing_the_other_way_round_says_the_same(lot, other):
    for one, two in ((lot, other), (lot, lot)):
        order = lot_order(one, two)
        assert lot_order(two, one) == (None if order is None else -order)


@pytest.mark.parametrize(
    ("clean", "escape", "found_on", "verdict"),
    [
        # The same lot contradicts, whatever the days say.
        ({"lot": "0303-1", "made_on": "2026-03-03"}, {"lot": "0303-1", "made_on": "2026-03-02"}, "03-05",
         CONTRADICTS),
        ({"made_on": "2026-03-03"}, {"made_on": "2026-03-03"}, "03-05", CONTRADICTS),
        ({"made_on": "2026-03-03"}, {"made_on": "2026-03-02"}, "03-05", BEFORE),
        ({"lot": "0303-1"}, {"lot": "0304-1"}, "03-05", CONTRADICTS),
        ({"lot": "0303-1"}, {"lot": "0302-1"}, "03-05", BEFORE_BY_LOT),
        # Days go before the numbers of lots.
        ({"lot": "0303-1", "made_on": "2026-03-03"}, {"lot": "0304-1", "made_on": "2026-03-02"}, "03-05",
         BEFORE),
        # Two lots that do not compare, or nothing at all to compare.
        ({"lot": "0303-1"}, {"lot": "X9"}, "03-01", IN_DOUBT),
        ({"lot": "0303-1"}, {}, "03-03", IN_DOUBT),
        ({"lot": "0303-1"}, {}, "03-02", BEFORE),
        ({}, {"lot": "0303-1"}, "03-04", IN_DOUBT),
    ],
)  # fmt: skip
def test_an_escape_contradicts_a_clean_point_when_it_was_made_from_it_on(clean, escape, found_on, verdict):
    found = judge_escape(MadeWhen(**clean), CERTIFIED, MadeWhen(**escape), f"2026-{found_on}")

    assert found == verdict
