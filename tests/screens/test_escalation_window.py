"""A safety-class concern in a real window: the caution leads by one tap to recording who was told."""

from __future__ import annotations

import pytest

from tests.fakes import Desk
from tests.screens.layout_check import problems
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window

TABLETS = [((1280, 800), 1.0, 149), ((800, 1280), 1.33, 189), ((1024, 600), 1.0, 170)]


@pytest.mark.parametrize(("size", "density", "pixels_per_inch"), TABLETS)
def test_who_was_told_is_recorded_from_the_caution(drive, tmp_path, size, density, pixels_per_inch):
    desk = Desk(tmp_path)
    with desk.store:
        concern = desk.concern(severity="safety")
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(app, size=size, density=density)
        walk = TouchWalk(desk, hand, tmp_path / "camera")
        app.go(Route(screen="concern", concern=concern))
        walk.settle()
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []

        walk.tap("row-escalation")

        assert app.session.kept.route().screen == "escalation"
        hand.back()
        walk.settle()
        (row,) = hand.find("escalate").children
        assert row.title == "Record who was told"
