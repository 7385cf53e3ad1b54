"""What a gauge or a code reader sends as a keyboard is one text for the page; no key of it does more."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.screens import keys as k

pytestmark = pytest.mark.window


@pytest.fixture
def at_answer(drive, tmp_path):
    """The page with the three answers, the ring at OK; every text that the page is given is kept."""
    desk = Desk(tmp_path)
    with desk.store:
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(app, size=(1024, 600))
        app.go(replace(desk.walk(), screen="judge", station="leak-test", check="ear-look"))
        walk = TouchWalk(desk, hand, tmp_path / "camera")
        walk.settle()
        hand.wait(0.4)
        for _ in range(40):
            if app.keys.at is not None and app.keys.at.name == "answer-ok":
                break
            hand.key(k.TAB)
        yield desk, hand, walk


def heard(hand):
    """Note what the page that is shown is given."""
    texts = []
    hand.app.page.presenter.take_text = texts.append
    return texts


@pytest.mark.parametrize("end", [k.ENTER, k.PAD_ENTER, k.TAB])
def test_the_whole_text_comes_to_the_page_and_none_of_its_keys_taps_or_moves(at_answer, end):
    desk, hand, walk = at_answer
    texts, count = heard(hand), len(desk.records)

    hand.send("LOT 2026-11 /A", end)
    walk.settle()

    assert texts == ["LOT 2026-11 /A"]
    assert len(desk.records) == count and hand.app.keys.at.name == "answer-ok"


def test_a_text_that_nothing_ends_does_nothing_where_there_is_no_pad(at_answer):
    desk, hand, walk = at_answer
    texts, count = heard(hand), len(desk.records)

    hand.send("A 12 B 7", end=0)
    hand.wait(0.5)
    walk.settle()

    assert texts == [] and len(desk.records) == count


def test_a_space_and_an_enter_of_a_person_still_tap(at_answer):
    desk, hand, walk = at_answer
    texts, count = heard(hand), len(desk.records)

    hand.key(k.SPACE)
    walk.settle()
    assert len(desk.records) == count + 1
    hand.wait(0.5)
    hand.key(k.ENTER)
    walk.settle()

    assert len(desk.records) == count + 2 and texts == []


def test_what_separates_the_parts_of_a_code_comes_with_it_and_opens_no_search(at_answer):
    _, hand, walk = at_answer
    texts = heard(hand)

    hand.send("0104012345\x1d10ABC\x06")
    walk.settle()

    assert texts == ["0104012345\x1d10ABC\x06"]
    assert hand.app.page.presenter.route.screen == "judge"


def test_the_letters_that_the_system_tells_come_before_a_guess_from_keys(at_answer):
    _, hand, walk = at_answer
    texts = heard(hand)

    for code, letter in ((59, "ö"), (44, ";"), (49, "1")):  # a keyboard whose keys write other letters
        hand.window.dispatch("on_key_down", code, 0, "", [])
        hand.window.dispatch("on_textinput", letter)
        hand.window.dispatch("on_key_up", code, 0)
    hand.send("")
    walk.settle()

    assert texts == ["ö;1"]


def test_keys_that_waited_while_the_window_was_busy_are_one_text(at_answer):
    _, hand, walk = at_answer
    texts = heard(hand)

    for number, code in enumerate(b"12.34"):
        hand.window.dispatch("on_key_down", code, 0, "", [])
        hand.window.dispatch("on_key_up", code, 0)
        if number == 2:
            hand.now += 0.7  # one frame took that long
            hand.wait(1 / 60)
    hand.send("")
    walk.settle()

    assert texts == ["12.34"]


def test_a_text_longer_than_any_device_sends_is_left_out_as_a_whole(at_answer):
    desk, hand, walk = at_answer
    texts, count = heard(hand), len(desk.records)

    for code in b"1 " * 3000:
        hand.window.dispatch("on_key_down", code, 0, "", [])
        hand.window.dispatch("on_key_up", code, 0)
    hand.send("")
    hand.wait(0.5)
    walk.settle()

    assert texts == [] and len(desk.records) == count
