"""The sheet of a concern in a real window: looked at, written, and led to what is missing, by touch."""

from __future__ import annotations

import pytest

from tests.fakes import Desk
from tests.paper.printed import pages_of
from tests.screens.layout_check import problems
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window

SMALL, TALL = ((1024, 600), 1.0, 170), ((800, 1280), 1.33, 189)


def opened(drive, desk, tmp_path, screen, tablet):
    """Open a page of the sheet of a new concern; give the app, its hand, and what walks by touch."""
    size, density, pixels_per_inch = tablet
    app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
    hand = drive(app, size=size, density=density)
    walk = TouchWalk(desk, hand, tmp_path / "camera")
    app.go(Route(screen=screen, concern=desk.concern()))
    walk.settle()
    return app, hand, walk, lambda: problems(hand.window, pixels_per_inch=pixels_per_inch)


@pytest.mark.parametrize("tablet", [SMALL, TALL])
def test_the_sheet_is_shown_and_written_by_touch(drive, tmp_path, tablet):
    desk = Desk(tmp_path)
    with desk.store:
        _, hand, walk, faults = opened(drive, desk, tmp_path, "sheet", tablet)
        hand.until(lambda: hand.find("preview").texture is not None)
        assert hand.find("preview").texture.size == (1400, 990)
        assert "First bad station: not known yet" in hand.texts()
        assert "No lesson is written down yet." in hand.texts()
        assert faults() == []

        walk.tap("pdf")
        hand.until(lambda: hand.find("saved").text.startswith("On disk: "))

        (path,) = (tmp_path / "bundles").iterdir()
        assert path.name in hand.find("saved").text
        (page,) = pages_of(path.read_bytes())
        assert "Cracked mounting ears (invented)" in page.text
        assert faults() == []
        assert len(desk.records) == 1


def test_the_sheet_is_looked_at_more_closely_by_touch(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        app, hand, walk, faults = opened(drive, desk, tmp_path, "sheet_look", SMALL)
        hand.until(lambda: hand.find("drawing").texture is not None)
        assert faults() == []

        walk.tap("zoom")
        hand.until(lambda: hand.find("drawing").texture.width > hand.window.width)
        assert faults() == []
        walk.tap("write-png")
        hand.until(lambda: hand.find("saved").text.startswith("On disk: "))
        walk.tap("back")

        (path,) = (tmp_path / "bundles").iterdir()
        assert path.suffix == ".png"
        assert app.session.kept.route().screen == "sheet"
