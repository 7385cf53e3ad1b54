"""The keyboard alone: a walk from the concern to an answer and its undo, and what a key must not do."""

from __future__ import annotations

import pytest

from tests.fakes import SAID, Desk
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import Answer, Withdrawal
from walkapp.screens import keys as k

pytestmark = pytest.mark.window

SHIFT, CTRL = ["shift"], ["ctrl"]


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


@pytest.mark.parametrize(("size", "density"), [((1280, 800), 1.0), ((800, 1280), 1.33)])
def test_a_concern_is_opened_walked_answered_and_undone_without_mouse_or_finger(typing, size, density):
    desk, start = typing
    typist = start(size, density)
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
