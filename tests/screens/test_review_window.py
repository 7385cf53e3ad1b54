"""Reviewing a concern in a real window: from the list down to a single entry and a picture, and a part."""

from __future__ import annotations

import pytest

from tests.screens.layout_check import problems
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window

TABLETS = [((800, 1280), 1.33, 189), ((1024, 600), 1.0, 170)]


@pytest.mark.parametrize(("size", "density", "pixels_per_inch"), TABLETS)
def test_the_answer_leads_by_taps_to_its_parts_and_pictures_and_to_a_part_of_the_records(
    drive, desk_demo, size, density, pixels_per_inch
):
    desk, folder = desk_demo
    before = len(list(desk.place.store.all_records()))
    app = window_app(desk.place, folder / "camera", bundles=folder / "bundles")
    hand = drive(app, size=size, density=density)
    walk = TouchWalk(desk, hand, folder / "camera")
    shots = iter("abcdefghijklmnop")

    def nothing_wrong():
        hand.shot(f"review-{next(shots)}")
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []

    app.go(Route(screen="desk"))
    walk.tap("row-reviews")
    nothing_wrong()
    walk.tap(f"row-{desk.concern}")
    assert hand.find("sentence").text.startswith("The defect starts at Leak test")
    nothing_wrong()
    walk.tap("station-leak-test")
    nothing_wrong()
    groups = hand.find("rows-groups").children[::-1]
    walk.tap(groups[0].test_name)
    nothing_wrong()
    entries = hand.find("rows-entries").children[::-1]
    walk.tap(entries[0].test_name)
    nothing_wrong()
    walk.tap("row-gallery")
    hand.until(lambda: hand.has("picture-1"))
    nothing_wrong()
    walk.tap("picture-1")
    hand.until(lambda: hand.has("zoom-in"))
    nothing_wrong()
    for screen in ("gallery", "review_entry", "review_entries", "review_station", "review"):
        hand.back()
        walk.settle()
        assert app.page.presenter.route.screen == screen

    walk.tap("review_filter")
    nothing_wrong()
    tablets = sorted(r.device for r in desk.place.store.all_records() if r.kind == "walk_start")
    walk.tap(f"field-tablet-choice-{tablets[0]}")
    walk.tap("record")
    assert hand.find("part").text.endswith(" only")
    assert app.page.presenter.route.filter
    nothing_wrong()
    walk.tap("station-leak-test")
    assert hand.find("lines").text.startswith("A part of the records: tablet")
    hand.back()
    walk.settle()
    assert app.session.kept.route() == app.page.presenter.route
    walk.tap("all")
    assert not hand.find("part").text
    hand.back()
    walk.settle()
    assert app.page.presenter.route.screen == "reviews"
    assert len(list(desk.place.store.all_records())) == before
