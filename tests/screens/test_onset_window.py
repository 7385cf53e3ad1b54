"""A count of an older lot in a real window, by touch, and the page that says when it started."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk
from tests.floors import Floor
from tests.screens.layout_check import problems
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import DatedCount

pytestmark = pytest.mark.window

LOW_PIXELS_PER_INCH = 170


def test_a_lot_is_counted_by_touch_and_moves_the_onset(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        floor = Floor(desk)
        floor.walk()
        for day, nok in ((12, 0), (26, 9), (27, 10)):
            floor.lot(day, nok=nok, lot=f"02{day}-1")
        floor.change("Harder clamp pads", day=22)
        floor.change("New operator", day=28, kind="man")
        floor.change("Spare screwdriver", "pump-assembly")
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(app, size=(1024, 600), density=1.0)
        walk = TouchWalk(desk, hand, tmp_path / "camera")
        app.go(replace(floor.route, screen="onset"))
        walk.settle()
        assert "after the parts of 2026-02-12 were made" in hand.find("sentence").text

        walk.tap("dated-count")
        walk.write("lot", "0222-2")
        walk.tap("field-made_on-choice-2026-02-22")
        walk.write("checked", "20")
        walk.write("nok", "0")
        assert problems(hand.window, pixels_per_inch=LOW_PIXELS_PER_INCH) == []
        walk.tap("record")

        (count,) = [r for r in desk.records if isinstance(r, DatedCount) and r.lot == "0222-2"]
        assert (count.made_on, count.checked, count.nok, count.station) == (
            "2026-02-22",
            20,
            0,
            "leak-test",
        )
        assert "after the parts of 2026-02-22 were made" in hand.find("sentence").text
        assert len(hand.find("rows").children) == 4
        suspects = list(reversed(hand.find("suspects").children))
        assert [line.row.what for line in suspects] == [
            "Harder clamp pads", "Spare screwdriver", "New operator", "None of the recorded changes",
        ]  # fmt: skip
        assert problems(hand.window, pixels_per_inch=LOW_PIXELS_PER_INCH) == []

        walk.tap("undo")
        assert "after the parts of 2026-02-12 were made" in hand.find("sentence").text
        assert hand.find("saved").text == "Taken back"
        hand.back()
        walk.settle()
        assert app.session.kept.route().screen == "answer"
