"""Within a station and along the stream, in a real window: what is written and drawn, and the tags."""

from __future__ import annotations

from pathlib import Path

import pytest
from kivy.graphics import Line

from tests.screens.layout_check import problems
from walkapp.app import window_app
from walkapp.demo.tablets import open_tablet, read_scenario
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import Measurement
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window

CHECKLISTS = Path(__file__).parents[2] / "checklists"


@pytest.fixture(scope="module")
def desk(tmp_path_factory, played_demo):
    """The desk's store with the walks of both tablets, and the newer walk."""
    folder = tmp_path_factory.mktemp("desk")
    played_demo(folder)
    desk = open_tablet(read_scenario()["desk"], folder / "desk", CHECKLISTS)
    with desk.place.store as store:
        concern = desk.concern
        yield desk, {"concern": concern, "walk": store.walks(concern)[-1]}, folder


def at(hand, walk, route):
    hand.app.go(route)
    walk.settle()


def words_of(widget):
    own = [widget.text] if getattr(widget, "text", "") else []
    return own + [text for child in reversed(widget.children) for text in words_of(child)]


def test_a_station_leads_to_its_characteristic_and_back(drive, desk):
    tablet, where, folder = desk
    hand = drive(window_app(tablet.place, folder / "camera", bundles=folder / "bundles"))
    walk = TouchWalk(tablet, hand, folder / "camera")

    at(hand, walk, Route(screen="detail", station="leak-test", **where))
    told = words_of(hand.app.page)
    assert "By fixture" in told and "worse than the rest" in told
    assert "5 parts, mean 2.418 mm (95 % interval 2.394 to 2.442)" in told
    assert hand.find("notes").text.startswith("Lots and walks cannot be told apart here")

    walk.tap("row-ear-wall")
    assert hand.find("sentences").text.startswith("First out of tolerance at Leak test")
    drawing = hand.find("chart").ids.drawing
    assert sum(isinstance(it, Line) and len(it.points) == 6 for it in drawing.canvas.children) == 5
    assert "first out of tolerance, first shift" in words_of(hand.find("chart"))
    assert hand.has("chart") and hand.find("chart").height > 200

    hand.back()
    walk.settle()
    assert hand.app.session.kept.route().screen == "detail"
    hand.back()
    walk.settle()
    assert hand.app.session.kept.route().screen == "answer"


@pytest.mark.parametrize("screen", ["detail", "measured"])
@pytest.mark.parametrize(
    ("size", "density", "pixels_per_inch"),
    [((1280, 800), 1.0, 149), ((800, 1280), 1.33, 189), ((1024, 600), 1.0, 170)],
)
def test_both_pages_fit_down_to_their_end(drive, desk, screen, size, density, pixels_per_inch):
    tablet, where, folder = desk
    app = window_app(tablet.place, folder / "camera", bundles=folder / "bundles")
    hand = drive(app, size=size, density=density)
    walk = TouchWalk(tablet, hand, folder / "camera")
    at(hand, walk, Route(screen=screen, station="leak-test", check="ear-wall", **where))

    found = problems(hand.window, pixels_per_inch=pixels_per_inch)
    for _ in range(4):
        hand.drag((size[0] / 2, size[1] * 0.2), (size[0] / 2, size[1] * 0.7))
        hand.wait(1.0)
        found += problems(hand.window, pixels_per_inch=pixels_per_inch)

    assert found == []


@pytest.mark.parametrize(("size", "density"), [((1280, 800), 1.0), ((800, 1280), 1.33), ((1024, 600), 1.0)])
def test_parts_are_tagged_by_touch_in_every_window(drive, desk, size, density):
    tablet, where, folder = desk
    app = window_app(tablet.place, folder / "camera", bundles=folder / "bundles")
    hand = drive(app, size=size, density=density)
    walk = TouchWalk(tablet, hand, folder / "camera")
    at(hand, walk, Route(screen="measure", station="leak-test", check="ear-wall-tested", **where))
    before = app.page.state.tag.tag

    has_panel = hand.has("key-unit")
    if has_panel:
        assert hand.find("key-unit").text == f"Part {before}. Which fixture?"
        walk.tap("key-unit")
    walk.tap("tag-panel-more" if has_panel else "tag-more")
    assert problems(hand.window, pixels_per_inch=160 * density) == []
    if has_panel:
        walk.tap("close-units")
    for key in ("key-2", "key-point", "key-4", "key-enter"):
        walk.tap(key)

    newest = [r for r in tablet.place.store.records(where["walk"]) if isinstance(r, Measurement)][-1]
    assert (newest.value, newest.part) == ("2.4", f"P{int(before[1:]) + 1}")
    assert app.page.state.tag.tag == f"P{int(before[1:]) + 2}"
