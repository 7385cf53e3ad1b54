"""A page to be mailed, written by touch in a real window."""

from __future__ import annotations

import pytest

from tests.fakes import Desk
from tests.paper.mailed_pages import Read
from tests.screens.layout_check import problems
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window


@pytest.mark.parametrize(
    ("size", "density", "pixels_per_inch"),
    [((1024, 600), 1.0, 170), ((800, 1280), 1.33, 189)],
    ids=["7 inch lying", "8 inch standing"],
)
def test_a_page_is_written_by_touch_and_says_what_it_lacks(drive, tmp_path, size, density, pixels_per_inch):
    desk = Desk(tmp_path)
    with desk.store:
        concern = desk.concern(severity="safety")
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(app, size=size, density=density)
        walk = TouchWalk(desk, hand, tmp_path / "camera")
        app.go(Route(screen="concern", concern=concern))
        walk.settle()

        walk.tap("row-mailed")
        assert "Safety or regulatory class" in hand.find("cautions").text
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []
        walk.tap("write")
        hand.until(lambda: hand.find("saved").text.startswith("On disk: "))

        (path,) = (tmp_path / "bundles").iterdir()
        assert path.name in hand.find("saved").text
        assert "Cracked mounting ears (invented)" in Read(path.read_bytes()).texts
        assert "No station was visited yet." in hand.texts()
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []
        assert len(desk.records) == 1
        hand.back()
        walk.settle()
        assert app.page.name == "concern"
