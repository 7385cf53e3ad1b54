"""The keyboard alone: a walk from the concern to an answer and its undo, and what a key must not do."""

from __future__ import annotations

from dataclasses import replace

import pytest
from kivy.base import EventLoop

from tests.fakes import SAID, Desk
from walkapp.app import window_app
from walkapp.demo.finger import _place, _Touch
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import Answer, Measurement, Withdrawal
from walkapp.presenters.route import Route
from walkapp.screens import keys as k
from walkapp.screens.stops import scroll_views

pytestmark = pytest.mark.window

SHIFT, CTRL = ["shift"], ["ctrl"]


class Wheel:
    """A mouse at a point of the window, with buttons and a wheel."""

    def __init__(self, x, y) -> None:
        self._place = _place(x, y)

    def turn(self, button) -> None:
        """Press and release a button; a wheel is buttons too."""
        touch = _Touch("mouse", button, self._place, is_touch=True, type_id="touch")
        touch.profile, touch.button = ["pos", "button"], button
        for what in ("begin", "end"):
            EventLoop.post_dispatch_input(what, touch)


class Typist:
    """Somebody who has only a keyboard."""

    def __init__(self, hand, walk) -> None:
        self.hand, self.walk, self.app = hand, walk, hand.app

    def move(self, key=k.TAB, modifiers=(), *, times=1) -> None:
        """Press a key, and let it go after `times` reports that it is down."""
        for _ in range(times):
            if not self.hand.window.dispatch("on_key_down", key, 0, "", list(modifiers)):
                self.hand.window.dispatch("on_keyboard", key, 0, "", list(modifiers))
        self.hand.window.dispatch("on_key_up", key, 0)
        self.hand.wait(1 / 60)

    def press(self, key, modifiers=(), *, times=1) -> None:
        """Press a key that does something, and wait until that is on disk and on the screen."""
        self.move(key, modifiers, times=times)
        self.hand.wait(0.3)
        self.walk.settle()

    @property
    def at(self) -> str:
        """Name of what the ring is around."""
        return self.app.keys.at.name if self.app.keys.at else ""

    def to(self, name) -> None:
        """Move the ring to a thing, by as many keys as it takes."""
        for _ in range(60):
            if self.at == name:
                return
            self.move()
        raise LookupError(f"the ring does not reach {name!r}; it is at {self.at!r}")

    def tap(self, name) -> None:
        """Move the ring to a thing and tap it."""
        self.to(name)
        self.press(k.ENTER)


@pytest.fixture
def typing(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:

        def start(size=(1280, 800), density=1.0):
            app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
            hand = drive(app, size=size, density=density)
            return Typist(hand, TouchWalk(desk, hand, tmp_path / "camera"))

        yield desk, start


def test_a_concern_is_opened_walked_answered_and_undone_without_mouse_or_finger(typing):
    desk, start = typing
    typist = start()
    hand = typist.hand
    typist.walk.settle()
    assert typist.at == "" and typist.app.keys._ring.box is None

    typist.tap("new-concern")
    typist.to(f"field-stream-choice-{SAID['stream']}")
    typist.press(k.SPACE)
    typist.tap(f"field-defect-choice-{SAID['defect']}")
    typist.to("field-what-words")
    hand.type("Cracked ears (invented)")
    typist.press(k.TAB)
    typist.tap(f"field-severity-choice-{SAID['severity']}")
    typist.tap("record")
    assert typist.app.page.presenter.route.screen == "concern"
    typist.tap("start-walk")
    typist.tap("record")
    while typist.app.page.presenter.route.screen != "station":
        typist.press(k.ENTER)
    if hand.has("cautions-read"):
        typist.tap("cautions-read")
    typist.tap("row-ear-look")
    typist.to("answer-ok")
    hand.shot("keys-answer")
    typist.press(k.ENTER)
    answers = [r for r in desk.records if isinstance(r, Answer)]
    assert [a.answer for a in answers] == ["ok"]

    typist.press(k.LETTER_Z, CTRL)
    assert [r.replaces for r in desk.records if isinstance(r, Withdrawal)] == [(answers[0].id,)]
    typist.press(k.ESCAPE)
    assert typist.app.page.presenter.route.screen == "station"
    assert typist.at == "row-ear-look"  # where one was before


def at_check(desk, start, check="ear-look", station="leak-test", **sizes):
    """Open a check of a walk; give the typist."""
    route = replace(desk.walk(), screen="judge", station=station, check=check)
    typist = start(**sizes)
    if check != "ear-look":
        route = replace(route, screen="measure")
    typist.app.go(route)
    typist.walk.settle()
    return typist


def answers(desk):
    return [r.answer for r in desk.records if isinstance(r, Answer)]


def test_a_key_that_is_held_down_or_bounces_records_one_answer(typing):
    desk, start = typing
    typist = at_check(desk, start)
    typist.to("answer-ok")

    typist.move(k.ENTER, times=30)
    for _ in range(5):
        typist.move(k.ENTER)
    typist.walk.settle()
    assert answers(desk) == ["ok"]
    typist.hand.wait(0.5)
    typist.press(k.SPACE)
    assert answers(desk) == ["ok", "ok"]


def test_there_is_no_ring_until_a_key_is_used_and_none_after_a_finger(typing):
    desk, start = typing
    typist = at_check(desk, start)
    assert typist.at == "" and not typist.press(k.ENTER) and answers(desk) == []

    typist.to("answer-not_ok")
    typist.hand.wait(0.05)
    assert typist.app.keys._ring.box is not None
    typist.hand.tap("answer-ok")
    typist.walk.settle()
    assert answers(desk) == ["ok"] and typist.at == "" and typist.app.keys._ring.box is None
    typist.move(k.ENTER)
    assert answers(desk) == ["ok"]
    typist.move()
    assert typist.at == "answer-ok"  # the ring begins where the finger was


def test_digits_reach_the_number_pad_and_enter_records_the_value(typing):
    desk, start = typing
    typist = at_check(desk, start, check="part-temperature")

    for key in (52, 49, 44, 53):  # 4 1 , 5
        typist.move(key)
    typist.move(57, times=6)  # a 9 that is held down is one 9
    typist.move(k.BACKSPACE)
    typist.press(k.PAD_ENTER)

    (value,) = [r.value for r in desk.records if isinstance(r, Measurement)]
    assert value == "41.5"
    typist.press(k.ENTER, times=5)
    assert len([r for r in desk.records if isinstance(r, Measurement)]) == 1


def test_a_bounce_of_the_key_that_led_to_a_form_fills_in_nothing(typing):
    desk, start = typing
    typist = at_check(desk, start)
    typist.to("answer-not_applicable")

    typist.move(k.ENTER)
    typist.walk.settle()
    assert typist.app.page.presenter.route.screen == "reason"
    before = typist.app.page.state
    for _ in range(3):
        typist.move(k.SPACE)
    assert typist.app.page.state == before


def test_arrows_move_in_lines_and_columns_and_home_and_end_to_the_ends(typing):
    desk, start = typing
    typist = at_check(desk, start)
    typist.to("answer-ok")

    typist.move(k.RIGHT)
    assert typist.at == "answer-not_ok"
    typist.move(k.UP)
    assert typist.at.startswith("units-choice-clamp")
    typist.move(k.DOWN)
    assert typist.at.startswith("answer-")
    typist.move(k.HOME)
    assert typist.at == "back"
    typist.move(k.END)
    assert typist.at == "answer-not_applicable"
    typist.move()
    assert typist.at == "back"
    typist.move(k.TAB, SHIFT)
    assert typist.at == "answer-not_applicable"


def test_search_is_one_key_away_and_what_is_typed_goes_into_its_field(typing):
    desk, start = typing
    desk.concern()
    typist = start()
    typist.walk.settle()

    typist.press(k.LETTER_F, CTRL)
    assert typist.app.page.presenter.route.screen == "search"
    typist.hand.until(lambda: typist.app.keys.at is not None and typist.app.keys.at.is_field)
    typist.hand.type("mounting")
    assert typist.app.keys.at.widget.text == "mounting"
    typist.press(k.ESCAPE)  # leaves the field
    typist.press(k.ESCAPE)
    assert typist.app.page.presenter.route.screen == "home"


def test_a_long_list_is_gone_through_to_its_end_and_a_row_far_down_is_opened(typing):
    desk, start = typing
    concerns = [desk.concern(what=f"Crack {n} (invented)") for n in range(14)]
    typist = start(size=(1024, 600))
    typist.walk.settle()

    typist.move(k.END)
    typist.hand.wait(0.1)
    assert typist.at == f"row-{concerns[0]}"  # the newest is first
    assert typist.app.keys._ring.box is not None
    typist.press(k.ENTER)
    assert typist.app.page.presenter.route.concern == concerns[0]
    typist.press(k.ESCAPE)
    assert typist.at == f"row-{concerns[0]}"


def test_page_down_and_the_wheel_scroll_what_scrolls(typing):
    desk, start = typing
    concern = desk.concern()
    typist = start(size=(1024, 600))
    typist.app.go(Route(screen="concern", concern=concern))
    typist.walk.settle()
    view = next(scroll_views(typist.app.page))
    assert view.scroll_y == 1

    typist.press(k.PAGE_DOWN)
    after_key = view.scroll_y
    assert after_key < 1
    typist.press(k.PAGE_UP)
    assert view.scroll_y == 1
    Wheel(512, 300).turn("scrollup")
    typist.hand.wait(0.5)
    assert view.scroll_y < 1
    assert typist.at == "" and typist.app.page.presenter.route.screen == "concern"


def test_only_the_left_button_of_a_mouse_taps(typing):
    desk, start = typing
    typist = at_check(desk, start)
    x, y = typist.hand.find("answer-ok").center

    Wheel(x, y).turn("right")
    typist.walk.settle()
    assert answers(desk) == []
    Wheel(x, y).turn("left")
    typist.walk.settle()
    assert answers(desk) == ["ok"]


def test_a_page_that_fits_is_not_scrolled_when_it_opens_with_a_ring(typing):
    _, start = typing
    typist = start()
    typist.walk.settle()
    typist.tap("desk")
    typist.hand.wait(0.3)

    row = typist.hand.find("row-merge")
    assert typist.at == "row-merge"
    assert row.to_window(row.x, row.top)[1] > 0.7 * typist.hand.window.height
