"""Every thing that can be tapped is reached by Tab, each once, and seen with the ring around it."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

import pytest
from kivy.clock import Clock
from kivy.core.window import Window
from kivy.lang import Builder
from kivy.uix.behaviors import ButtonBehavior, FocusBehavior
from kivy.uix.recycleview import RecycleView

from tests.fakes import Desk
from tests.quarrels import Quarrel
from tests.screens.gallery import PAGES, GalleryApp
from tests.screens.layout_check import ancestors, clipped, visible
from walkapp.app import window_app
from walkapp.demo.fix_routes import fix_routes
from walkapp.demo.tour import TouchWalk, walked_by
from walkapp.demo.walk_routes import tour_routes
from walkapp.presenters.route import Route
from walkapp.screens import keys as k
from walkapp.screens.window import SCREENS

pytestmark = pytest.mark.window

FRAME_S = 1 / 60
MONDAY = datetime(2026, 3, 9, 6, 30, tzinfo=timezone(timedelta(hours=1)))


def to_reach(page) -> dict[object, str]:
    """Find everything that can be tapped or typed into in another way than the keys do; with its name."""
    found = {}
    for widget in visible(page):
        if isinstance(widget, RecycleView):
            rows = enumerate(widget.data)
            found |= {(widget, index): row["test_name"] for index, row in rows if not row["disabled"]}
        elif (
            isinstance(widget, (ButtonBehavior, FocusBehavior))
            and not widget.disabled
            and not any(isinstance(parent, RecycleView) for parent in ancestors(widget))
        ):
            found[widget] = widget.test_name
    return found


def is_seen(stop) -> bool:
    """Whether at least a good part of it is within the window and all that scrolls around it."""
    widget = stop.shown_widget()
    if widget is None:
        return False
    left, bottom, right, top = clipped(widget)
    wide, high = min(right, Window.width) - max(left, 0), min(top, Window.height) - max(bottom, 0)
    return wide > 0.9 * widget.width and high > min(0.9 * widget.height, 100)


def lay_out(hand, frames) -> None:
    """Let time pass without drawing, which takes most of it and shows nobody anything here."""
    for _ in range(frames):
        hand.now += FRAME_S
        Clock.tick()
        Builder.sync()
        Clock.tick_draw()
        Builder.sync()


def press(hand, key, modifiers=()) -> None:
    """Press and release a key of the keyboard."""
    hand.window.dispatch("on_key_down", key, 0, "", list(modifiers))
    hand.window.dispatch("on_key_up", key, 0)


def reach(hand, keys, *, modifiers=()) -> list[object]:
    """Press Tab until the ring has gone round; give what it was around, and check that it was seen."""
    reached = []
    for _ in range(400):
        press(hand, k.TAB, modifiers)
        stop = keys.at
        if not is_seen(stop):
            lay_out(hand, 6)  # it is scrolled to
        assert is_seen(stop), stop.name
        what = stop.widget if stop.view is None else (stop.view, stop.index)
        if reached and reached[0] == what:
            break
        reached.append(what)
    return reached


def same(expected, *found) -> bool:
    return all(len(one) == len(set(one)) and set(one) == set(expected) for one in found)


@pytest.mark.parametrize("page", PAGES)
def test_everything_of_the_kit_is_reached_once_in_both_directions(drive, page):
    hand = drive(GalleryApp(PAGES[page]), size=(800, 1280))
    hand.wait(0.2)
    keys = k.Keys(lambda: hand.app.root, lambda route: None)
    try:
        expected = to_reach(hand.app.root)
        if expected:
            assert same(expected, reach(hand, keys))
        if 0 < len(expected) < 30:  # a long list takes its time to be drawn anew at each step
            assert same(expected, reach(hand, keys, modifiers=["shift"]))
    finally:
        keys.close()


def routes(desk, folder) -> dict[str, Route]:
    """One place for each screen of the app, with what the demo recorded."""
    concern = desk.concern
    walked = walked_by(desk, folder / "desk.zip")
    own = {
        name: Route(screen=name, concern=concern, station="leak-test")
        for name in ("desk", "merge", "reviews", "review", "review_station", "gallery", "sheet")
    }
    own["look_at"] = Route(screen="look_at", concern=concern, picture=walked.covered)
    own["figure"] = Route(screen="figure", concern=concern, entry="share-by-station")
    return {**tour_routes(walked), **fix_routes(desk.place, concern), **own}


@pytest.mark.long
def test_everything_on_every_page_is_reached_by_tab_once(drive, desk_demo):
    desk, folder = desk_demo
    app = window_app(desk.place, folder / "camera", bundles=folder / "bundles")
    hand = drive(app, size=(1280, 800))
    wrong, seen = {}, set()

    for name, route in routes(desk, folder).items():
        app.go(route)
        for _ in range(3):
            app.worker.finish()
            lay_out(hand, 3)
        if app.page.name in seen:
            continue
        seen.add(app.page.name)
        expected, found = to_reach(app.page), reach(hand, app.keys)
        if not same(expected, found):
            wrong[name] = [expected.get(one, one) for one in set(expected) ^ set(found)] or "twice"

    assert wrong == {}
    assert set(SCREENS) - seen <= {"audit", "disputes"}  # of these the demo has none here


def test_everything_on_the_page_of_entries_that_disagree_is_reached_by_tab_once(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        quarrel = Quarrel(desk)
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(app, size=(1024, 600))
        app.go(Route(screen="disputes", concern=quarrel.concern))
        TouchWalk(desk, hand, tmp_path / "camera").settle()

        assert app.page.name == "disputes" and same(to_reach(app.page), reach(hand, app.keys))


def test_an_audit_is_reached_by_tab_and_a_key_that_bounces_answers_one_question(drive, tmp_path):
    desk = Desk(tmp_path, by="SL-AB", starts=MONDAY)
    with desk.store:
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(app, size=(1024, 600))
        walk = TouchWalk(desk, hand, tmp_path / "camera")
        row = "row-shift-lead 2026-03-09 early"
        for name in ("audits", "choices-shift-lead", row, "record", "cautions-read"):
            hand.wait(0.5)  # as late as who has read the page
            walk.tap(name)
        assert app.page.name == "audit" and same(to_reach(app.page), reach(hand, app.keys))

        names = [getattr(what, "test_name", "") for what in reach(hand, app.keys)]
        for _ in range(names.index("answer-ok")):
            press(hand, k.TAB)
        hand.wait(0.5)
        for _ in range(3):
            press(hand, k.ENTER)
            app.worker.finish()
            hand.wait(FRAME_S)
        assert len([r for r in desk.records if r.kind == "audit_answer"]) == 1
        hand.wait(0.5)
        press(hand, k.ENTER)
        walk.settle()
        assert len([r for r in desk.records if r.kind == "audit_answer"]) == 2
        hand.wait(0.5)
        press(hand, k.LETTER_Z, ["ctrl"])
        walk.settle()
        assert len([r for r in desk.records if r.kind == "withdrawal"]) == 1
