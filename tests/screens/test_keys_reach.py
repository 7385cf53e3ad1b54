"""Every thing that can be tapped is reached by Tab, each once, and seen with the ring around it."""

from __future__ import annotations

import pytest
from kivy.core.window import Window
from kivy.uix.behaviors import ButtonBehavior, FocusBehavior
from kivy.uix.recycleview import RecycleView

from tests.screens.gallery import PAGES, GalleryApp
from tests.screens.layout_check import ancestors, clipped, visible
from walkapp.app import window_app
from walkapp.demo.fix_routes import fix_routes
from walkapp.demo.tour import walked_by
from walkapp.demo.walk_routes import tour_routes
from walkapp.presenters.session import Route
from walkapp.screens import keys as k
from walkapp.screens.window import SCREENS

pytestmark = pytest.mark.window

FRAME_S = 1 / 60


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


def reach(hand, keys, *, modifiers=()) -> list[object]:
    """Press Tab until the ring has gone round; give what it was around, and check that it was seen."""
    reached = []
    for _ in range(400):
        hand.window.dispatch("on_key_down", k.TAB, 0, "", list(modifiers))
        hand.window.dispatch("on_key_up", k.TAB, 0)
        stop = keys.at
        if not is_seen(stop):
            hand.wait(3 * FRAME_S)  # it was scrolled to
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
        assert same(
            expected, *([reach(hand, keys), reach(hand, keys, modifiers=["shift"])] if expected else [])
        )
    finally:
        keys.close()


def routes(desk, folder) -> dict[str, Route]:
    """One place for each screen of the app, with what the demo recorded."""
    concern = desk.concern
    walked = walked_by(desk, folder / "desk.zip")
    own = {
        name: Route(screen=name, concern=concern, station="leak-test")
        for name in ("desk", "merge", "reviews", "review", "review_station", "review_pictures")
    }
    return {**tour_routes(walked), **fix_routes(desk.place, concern), **own}


def test_everything_on_every_page_is_reached_by_tab_once(drive, desk_demo):
    desk, folder = desk_demo
    app = window_app(desk.place, folder / "camera", bundles=folder / "bundles")
    hand = drive(app, size=(1280, 800))
    wrong, seen = {}, set()

    for name, route in routes(desk, folder).items():
        app.go(route)
        for _ in range(3):
            app.worker.finish()
            hand.wait(3 * FRAME_S)
        if app.page.name in seen:
            continue
        seen.add(app.page.name)
        expected, found = to_reach(app.page), reach(hand, app.keys)
        if not same(expected, found):
            wrong[name] = [expected.get(one, one) for one in set(expected) ^ set(found)] or "twice"

    assert wrong == {}
    assert set(SCREENS) - seen <= {"audit", "disputes"}  # of these the demo has none here
