"""An on/off confirmation in a real window, by touch: opened, counted turn by turn, proved, corrected."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk
from tests.floors import Floor
from tests.screens.layout_check import problems
from tests.screens.test_layout import TABLETS
from tests.switches import FORCE, Switch
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import Confirmation, ConfirmationTurn
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window


def window(drive, desk, tmp_path, tablet):
    """Open the app; give it, the hand, the walk, and a check of what is in sight."""
    sizes = dict(TABLETS[tablet])
    ppi = sizes.pop("pixels_per_inch")
    app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
    hand = drive(app, **sizes)
    walk = TouchWalk(desk, hand, tmp_path / "camera")
    return app, hand, walk, lambda: problems(hand.window, pixels_per_inch=ppi)


def test_a_confirmation_is_opened_and_counted_by_touch(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        floor = Floor(desk)
        change = floor.change("Harder clamp pads", day=22)
        app, hand, walk, seen = window(drive, desk, tmp_path, "7 inch lying")
        app.go(Route(screen="concern", concern=floor.route.concern))
        walk.settle()
        assert seen() == []

        walk.tap("row-confirmations")
        walk.tap("new_confirmation")
        walk.tap(f"field-cause-choice-{change.id}")
        walk.write("on", "hard pads")
        walk.write("off", "soft pads")
        assert seen() == []
        walk.tap("record")
        assert (hand.find("now").text, hand.find("now-words").text) == ("Turn 1: ON", "hard pads")

        walk.tap("start")
        walk.tap("checked-value")
        walk.tap("key-2")
        walk.tap("key-0")
        assert seen() == []
        walk.tap("key-enter")
        walk.tap("nok-more")
        walk.tap("nok-more")
        walk.tap("undo")
        assert hand.find("saved").text == "Taken back"
        assert seen() == []
        walk.tap("turn-done")

        assert hand.find("now").text == "Turn 2: OFF"
        assert hand.find("sentence").text == (
            "Nothing shown yet: 1 of 20 NOK when on, no turn off. Switch it off."
        )
        (record,) = [r for r in desk.records if isinstance(r, Confirmation)]
        assert (record.change, record.station) == (change.id, "leak-test")
        last = [r for r in desk.records if isinstance(r, ConfirmationTurn)][-1]
        assert (last.turn, last.state, last.checked, last.nok) == (1, "on", 20, 1)
        hand.back()
        walk.settle()
        assert app.session.kept.route() == Route(screen="confirmations", concern=floor.route.concern)
        assert seen() == []


def test_six_turns_are_drawn_settled_and_corrected_by_touch(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        switch = Switch(desk)
        switch.counts(6, 0, 4, 0, 5, 0)
        theirs = switch.arrive(switch.turns[1], nok=1)
        app, hand, walk, seen = window(drive, desk, tmp_path, "8 inch standing")
        app.go(switch.route)
        walk.settle()
        assert "Turn 2 was counted twice, on 2 tablets" in hand.find("warnings").text
        assert seen() == []

        walk.tap("row-2")
        walk.tap(f"field-entry-choice-{theirs.id}")
        walk.tap("field-common-choice-The other one is a slip")
        assert seen() == []
        walk.tap("record")

        assert hand.find("warnings").text == ""
        assert [bar.figure for bar in hand.find("bars").bars] == [
            "6 of 20", "1 of 20", "4 of 20", "0 of 20", "5 of 20", "0 of 20",
        ]  # fmt: skip
        assert hand.find("sentence").text.startswith("Proved: switching “clamp pads” raised and lowered")
        assert seen() == []
        assert switch.found.turns[1].count.nok == 1

        walk.tap("row-1")
        walk.write("nok", "7")
        walk.tap("field-common-choice-Counted again")
        assert seen() == []
        walk.tap("record")
        assert "16 of 60 NOK when on" in hand.find("sentence").text
        walk.tap("undo")
        assert "15 of 60 NOK when on" in hand.find("sentence").text
        assert switch.found.turns[0].count.nok == 6


def test_values_are_typed_in_a_turn_and_the_app_opens_there_again(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        switch = Switch(desk, **FORCE)
        for number in range(1, 8):
            switch.measure(number, *(("2.1", "2.3", "2.2") if number % 2 else ("1.1", "1.0", "1.3")))
        app, hand, walk, seen = window(drive, desk, tmp_path, "7 inch lying")
        app.go(switch.route)
        walk.settle()
        assert seen() == []
        walk.tap("start")
        for key in ("key-1", "key-point", "key-2"):
            walk.tap(key)
        assert hand.find("typed").text == "1.2 mm"
        assert seen() == []
        walk.tap("key-enter")
        assert hand.find("values").text == "1.2"
        assert app.session.kept.route() == replace(switch.route, screen="confirmation_turn", number="8")
        assert [r.value for r in switch.turns[-1:]] == ["1.2"]

        walk.tap("turn-done")
        assert hand.find("sentence").text.startswith("Proved: switching “clamp force” moved the values")
        assert seen() == []
