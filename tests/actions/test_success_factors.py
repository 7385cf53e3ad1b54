"""Success factors: stated, corrected, taken back, from several tablets, and told in one sentence each."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.desks import STREAM, StreamDesk
from tests.sites import Site
from walkapp.actions.books import facts_of
from walkapp.actions.disputes import disputes_of, settle
from walkapp.actions.indicators.board import NOT_READABLE
from walkapp.actions.indicators.factors import (
    GONE,
    correct_factor,
    factors_of,
    follow_factor,
    read_target,
    state_factor,
    state_offers,
    take_factor_back,
    target_text,
)
from walkapp.actions.indicators.offers import OFFERS, START
from walkapp.actions.indicators.telling import (
    NOTHING_STATED,
    board_lines,
    board_to_json,
    cautions_of,
    headline,
    sentence_of,
)
from walkapp.actions.undoing import newest_entry, take_back
from walkapp.analysis.indicators.fixed_set import INDICATORS
from walkapp.analysis.indicators.reading import NO_DATA, OFF_TARGET, ON_TARGET
from walkapp.analysis.indicators.words import NOTES
from walkapp.errors import InputError, RecordError
from walkapp.model.ids import desk_book_id
from walkapp.model.records import SuccessFactor

SAID = {
    "factor": "Fixes last", "indicator": "audits-done", "target": "95", "when_off": "Ask why",
    "owner": "PM",
}  # fmt: skip


@pytest.fixture
def stream(desk):
    return StreamDesk(desk)


# Stating.


def test_a_factor_lies_in_the_desk_book_of_its_stream(stream):
    made = state_factor(stream.place, stream.facts, **SAID)

    assert made.concern == desk_book_id(STREAM)
    assert factors_of(stream.facts) == (made,)
    assert stream.desk.records == [made]


def test_several_factors_may_be_watched_by_one_indicator(stream):
    first, second = stream.state("audits-done", "95"), stream.state("audits-done", "80", factor="Else")

    assert {line.id for line in stream.board().lines} == {first.id, second.id}


def test_what_is_offered_is_recorded_only_when_it_is_taken_and_all_or_none(stream):
    assert headline(stream.board()) == NOTHING_STATED
    assert stream.desk.records == []

    state_offers(stream.place, stream.facts)

    assert [one.indicator for one in factors_of(stream.facts)] == [one.indicator for one in START]
    with pytest.raises(InputError, match="watched already"):
        state_offers(stream.place, stream.facts)


def test_every_indicator_has_an_offer_that_can_be_recorded(stream):
    assert set(OFFERS) == set(INDICATORS)

    state_offers(stream.place, stream.facts, tuple(OFFERS.values()))

    assert len(factors_of(stream.facts)) == len(INDICATORS)


def test_every_offered_target_makes_sense():
    for indicator in INDICATORS.values():
        for target in (*indicator.targets, OFFERS[indicator.id].target):
            read_target(indicator, target)


# Targets.


@pytest.mark.parametrize(
    ("indicator", "typed", "kept"),
    [
        ("audits-done", "95", "95"), ("audits-done", " 97,50 % ", "97.50"), ("ppm", "50 ppm", "50"),
        ("days-to-fix", "10 days", "10"), ("days-to-fix", "2.5", "2.5"), ("overdue-actions", "0", "0"),
        ("overdue-actions", "-0", "0"), ("audits-done", "1e2", "100"), ("audits-done", "100", "100"),
    ],
)  # fmt: skip
def test_a_target_is_kept_as_it_was_typed_without_its_unit(stream, indicator, typed, kept):
    assert stream.state(indicator, typed).target == kept
    assert read_target(INDICATORS[indicator], typed) == Fraction(kept)


@pytest.mark.parametrize(
    ("indicator", "typed", "words"),
    [
        ("audits-done", "101", "can only be 0 to 100 %"),
        ("audits-done", "-1", "can only be 0 to 100 %"),
        ("audits-done", "0", "anything would meet this"),
        ("repeat-findings", "100", "anything would meet this"),
        ("days-to-fix", "-2", "can only be 0 to 36,500 days"),
        ("days-to-fix", "99999", "can only be 0 to 36,500 days"),
        ("overdue-actions", "1.5", "is a whole number"),
        ("overdue-actions", "-1", "can only be 0 or more"),
        ("ppm", "0", "cannot show 0 ppm"),
        ("ppm", "1000000", "anything would meet this"),
        ("audit-conformity", "100", "cannot show 100 %"),
        ("audits-done", "", "must be a number such as 90 %"),
        ("audits-done", "many", "must be a number such as 90 %"),
        ("audits-done", "٩٥", "must be a number such as 90 %"),
        ("audits-done", "NaN", "must be a number such as 90 %"),
        ("audits-done", "1e999999999", "must be a number such as 90 %"),
        ("audits-done", "1" * 5000, "must be a number such as 90 %"),
        ("audits-done", "95.0000000001", "more than nine decimals"),
        ("overdue-actions", "x", "must be a number such as 0."),
    ],
)
def test_a_target_that_makes_no_sense_is_refused_and_nothing_is_recorded(stream, indicator, typed, words):
    with pytest.raises(InputError, match=words):
        state_factor(stream.place, stream.facts, **{**SAID, "indicator": indicator, "target": typed})

    assert stream.desk.records == []


@given(st.sampled_from(sorted(INDICATORS)), st.text(max_size=30))
def test_whatever_is_typed_is_a_target_that_a_record_takes_or_is_refused_in_one_sentence(indicator, typed):
    try:
        target = read_target(INDICATORS[indicator], typed)
    except InputError as error:
        assert str(error).startswith("Target: ")
        assert "\n" not in str(error)
    else:
        assert Fraction(target_text(INDICATORS[indicator], typed)) == target


def test_an_indicator_that_is_not_there_cannot_be_chosen(stream):
    with pytest.raises(InputError, match="no indicator 'mood' in this version"):
        state_factor(stream.place, stream.facts, **{**SAID, "indicator": "mood"})


def test_a_factor_without_words_is_refused(stream):
    with pytest.raises(RecordError, match="factor"):
        state_factor(stream.place, stream.facts, **{**SAID, "factor": " "})


# Correcting, taking back, undo.


def test_a_correction_says_why_and_what_was_said_before_stays_on_record(stream):
    first = stream.state("audits-done", "95")

    second = correct_factor(stream.place, stream.facts, first.id, target="90 %", why="to be reached")

    assert factors_of(stream.facts) == (second,)
    assert (second.target, second.replaces, second.why) == ("90", (first.id,), "to be reached")
    assert first in stream.desk.records
    assert follow_factor(stream.place, stream.facts, first.id) == second


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"why": " ", "target": "90"}, "Why it is corrected is missing"),
        ({"why": "x", "target": "95 %"}, "Nothing was changed"),
        ({"why": "x", "target": "0"}, "anything would meet this"),
    ],
)
def test_a_correction_that_says_nothing_is_refused(stream, said, words):
    first = stream.state("audits-done", "95")

    with pytest.raises(InputError, match=words):
        correct_factor(stream.place, stream.facts, first.id, **said)

    assert factors_of(stream.facts) == (first,)


def test_what_was_taken_back_is_watched_no_more_and_comes_back_by_undo(stream):
    factor = stream.state("audits-done", "95")

    take_factor_back(stream.place, stream.facts, factor.id, "stated twice")
    assert factors_of(stream.facts) == ()
    with pytest.raises(InputError, match="not here any more"):
        follow_factor(stream.place, stream.facts, factor.id)

    take_back(stream.place, stream.facts.book, (SuccessFactor,))

    (again,) = factors_of(stream.facts)
    assert again.factor == factor.factor
    assert follow_factor(stream.place, stream.facts, factor.id) == again


def test_undo_takes_back_a_correction_and_then_the_factor(stream):
    first = stream.state("audits-done", "95")
    correct_factor(stream.place, stream.facts, first.id, target="90", why="x")
    where = stream.place, stream.facts.book, (SuccessFactor,)

    take_back(*where)
    assert [one.target for one in factors_of(stream.facts)] == ["95"]
    take_back(*where)

    assert factors_of(stream.facts) == ()
    assert newest_entry(*where) is None


def test_what_is_gone_cannot_be_corrected_or_taken_back_once_more(stream):
    factor = stream.state("audits-done", "95")
    take_factor_back(stream.place, stream.facts, factor.id)

    for change in (
        lambda: correct_factor(stream.place, stream.facts, factor.id, target="90", why="x"),
        lambda: take_factor_back(stream.place, stream.facts, factor.id),
    ):
        with pytest.raises(InputError) as told:
            change()
        assert str(told.value) == GONE


# Several tablets.


def test_factors_of_two_tablets_hold_side_by_side(stream):
    mine = stream.state("audits-done", "95")
    theirs = stream.arrive(mine, factor="We go and look", by="TL-XY")

    assert {line.factor for line in stream.board().lines} == {mine, theirs}


def test_two_corrections_are_both_kept_and_said_until_a_person_settles_it(stream):
    first = stream.state("audits-done", "95")
    mine = correct_factor(stream.place, stream.facts, first.id, target="90", why="x")
    theirs = stream.arrive(mine, target="99")

    board = stream.board()

    assert len(board.lines) == 1
    assert "1 success factor was corrected differently on two tablets" in " ".join(cautions_of(board))
    (dispute,) = disputes_of(stream.place, facts_of(stream.place, stream.facts.book))
    assert {side.record for side in dispute.sides} == {mine, theirs}
    assert follow_factor(stream.place, stream.facts, first.id) in (mine, theirs)

    settle(stream.place, stream.facts.book, dispute, 1, "agreed at the desk")

    assert not stream.board().conflicts
    assert len(stream.board().lines) == 1


def test_a_factor_of_another_stream_that_lies_in_this_book_is_not_shown(stream):
    mine = stream.state("audits-done", "95")
    stream.arrive(mine, stream="pump-bracket")

    assert [line.id for line in stream.board().lines] == [mine.id]


def test_an_indicator_of_a_newer_version_is_kept_and_said_not_to_be_known(stream):
    mine = stream.state("audits-done", "95")
    came = stream.arrive(mine, indicator="energy-per-part", target="0.25")

    line = stream.line(came.id)

    assert line.state == NOT_READABLE
    assert sentence_of(line) == (
        "Cannot be read: Fixes last, because we go and look – The indicator 'energy-per-part' is not known "
        "to this version; bring walkapp up to date. Its target says 0.25; when it is off: Ask each layer "
        "what kept it from its audits, and take one thing away (PM)."
    )


@pytest.mark.parametrize("target", ["-5", "999999999999.999999999", "0"])
def test_a_target_from_elsewhere_that_makes_no_sense_is_said_and_compared_with_nothing(stream, target):
    came = stream.arrive(stream.state("audits-done", "95"), target=target)

    line = stream.line(came.id)

    assert (line.state, line.judged) == (NOT_READABLE, None)
    assert "Target: " in sentence_of(line)


def test_texts_of_other_tablets_stay_one_line_each(stream):
    came = stream.arrive(
        stream.state("audits-done", "95"), factor="a\nb", when_off="<script>$x$</script>\n\n" + "w" * 370
    )

    assert "\n" not in sentence_of(stream.line(came.id))
    assert "<script>$x$</script>" in sentence_of(stream.line(came.id))


# The board.


def test_what_is_off_comes_first_and_then_what_was_stated_first(stream):
    Site(stream.desk, reported_on="2026-02-20")
    on, no_data, off = (stream.state(*one) for one in (
        ("customer-reports", "0"), ("ppm", "50"), ("days-since-escape", "90"),
    ))  # fmt: skip
    late = stream.state("safety-untold", "0")

    lines = stream.board().lines

    assert [line.id for line in lines] == [on.id, off.id, no_data.id, late.id]
    assert [line.state for line in lines] == [OFF_TARGET, OFF_TARGET, NO_DATA, ON_TARGET]
    assert (
        headline(stream.board()) == "Of 4: 2 off target, 1 with nothing to work it out from, 1 on target."
    )


def test_a_factor_is_told_in_one_sentence(stream):
    stream.go_to("2024-01-01")
    stream.desk.concern()
    stream.go_to("2026-03-03")
    Site(stream.desk, reported_on="2026-02-20")
    factor = stream.state("days-since-escape", "90")

    assert sentence_of(stream.line(factor.id)) == (
        "Off target: No bad part gets past us – Days since the last escape or report: 11 days (the last "
        "on 2026-02-20), target at least 90 days, too few to tell a trend (0 reports in the 26 weeks "
        "before the last 26); now: Check the containment at the last station before dispatch, every "
        "shift, until it holds (SL)."
    )


def test_a_safety_class_concern_of_which_nobody_was_told_is_said_whatever_is_watched(stream):
    for number in range(7):
        stream.desk.concern(severity="safety", what=f"Crack {number} (invented)")

    (words,) = cautions_of(stream.board())

    assert words.startswith("Safety or regulatory class, and it is not recorded who was told: Crack 6")
    assert "and 2 more. Tell the responsible people by your site's rules" in words
    assert any(line == f"Mind: {words}" for line in board_lines(stream.board()))


def test_the_board_is_empty_and_not_on_target_while_nothing_is_stated(stream):
    stream.desk.concern()

    assert not stream.board().are_all_on_target


def test_json_has_the_same_names_whatever_is_known(stream):
    Site(stream.desk, reported_on="2026-02-20")
    first = stream.state("days-since-escape", "90")
    stream.arrive(first, indicator="energy-per-part")
    state_offers(stream.place, stream.facts, tuple(OFFERS.values()))

    told = json.loads(json.dumps(board_to_json(stream.board())))

    assert {tuple(one) for one in told["factors"]} == {tuple(told["factors"][0])}
    assert told["counts"]["not_readable"] == 1
    assert told["notes"] == list(NOTES)
    (one,) = [one for one in told["factors"] if one["id"] == first.id]
    assert (one["value"], one["unit"], one["state"], one["n"], one["trend"]) == (
        11.0, "days", "off_target", 1, "no_earlier",
    )  # fmt: skip
