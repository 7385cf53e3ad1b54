"""The merge page in a real window: bundles chosen and merged by touch, and the report with its links."""

from __future__ import annotations

import pytest

from tests.arrivals import Arrivals
from tests.fakes import Desk
from tests.screens.layout_check import problems
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.presenters.disputes import REASONS
from walkapp.presenters.route import Route

pytestmark = [pytest.mark.long, pytest.mark.window]

TABLETS = [((800, 1280), 1.33, 189), ((1024, 600), 1.0, 170)]


@pytest.mark.parametrize(("size", "density", "pixels_per_inch"), TABLETS)
def test_bundles_are_merged_by_touch_and_what_disagrees_is_settled_from_the_report(
    drive, tmp_path, size, density, pixels_per_inch
):
    desk = Desk(tmp_path)
    with desk.store:
        arrivals = Arrivals(tmp_path / "others", tmp_path / "bundles")
        arrivals.spoil(arrivals.of_ben)
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(app, size=size, density=density)
        walk = TouchWalk(desk, hand, tmp_path / "camera")

        def nothing_wrong():
            assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []

        walk.tap("desk")
        nothing_wrong()
        walk.tap("row-merge")
        hand.until(lambda: hand.has("row-" + str(arrivals.of_ann)))
        walk.settle()
        nothing_wrong()
        walk.tap("row-" + str(arrivals.of_ann))
        hand.shot("merge-list")
        nothing_wrong()
        walk.tap("all")
        walk.tap("merge")
        hand.until(lambda: app.page.presenter.route.screen == "merge_report")
        walk.settle()
        hand.shot("merge-report")
        nothing_wrong()

        assert len(desk.records) == 44 and app.session.merging is None
        assert hand.find("sentence").text.startswith("2 of 3 bundles merged, each whole; 44 new records")
        walk.tap(f"row-disputes {arrivals.concern}")
        walk.tap("dispute-1-decide")
        walk.tap("field-side-choice-1")
        walk.tap(f"field-common-choice-{REASONS[0]}")
        walk.tap("record")
        assert app.page.presenter.route.screen == "merge_report"
        assert [r.why for r in desk.records].count(f"settled: {REASONS[0]}") == 1
        nothing_wrong()
        hand.back()
        walk.settle()
        assert app.page.presenter.route.screen == "merge"


def test_the_bar_shows_how_far_a_merge_is_and_the_page_can_be_left(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        Arrivals(tmp_path / "others", tmp_path / "bundles")
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(app, size=(1024, 600))
        walk = TouchWalk(desk, hand, tmp_path / "camera")
        app.go(Route(screen="merge"))
        walk.settle()
        walk.tap("all")
        with desk.store._archive.lock:  # the merge waits for its turn, as behind a long entry
            walk._hand.tap("merge")
            hand.until(lambda: hand.has("progress"))
            hand.shot("merge-running")
            assert problems(hand.window, pixels_per_inch=170) == []
            assert hand.find("sentence").text.startswith("Merging 1 of 2 bundles")
            hand.back()
            assert app.page.presenter.route.screen == "desk"
        app.aside.finish()
        app.go(Route(screen="merge"))
        hand.until(lambda: app.page.presenter.route.screen == "merge_report")
        walk.settle()  # the report may be there before any frame has passed
        assert len(desk.records) == 44
