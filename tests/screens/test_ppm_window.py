"""Ppm in a real window: a month typed in, a table read and taken back by touch; nothing cut off."""

from __future__ import annotations

import pytest

from tests.deliverers import STREAM, Deliverer, table
from tests.fakes import Desk
from tests.screens.layout_check import problems
from tests.screens.test_layout import TABLETS
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import Deliveries
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window


def window(drive, desk, tmp_path, tablet):
    sizes = dict(TABLETS[tablet])
    pixels_per_inch = sizes.pop("pixels_per_inch")
    app = window_app(desk.place, desk.pictures, bundles=tmp_path / "bundles")
    hand = drive(app, **sizes)
    walk = TouchWalk(desk, hand, desk.pictures)

    def show(route):
        app.go(route)
        walk.settle()

    def faults():
        walk.settle()
        return problems(hand.window, pixels_per_inch=pixels_per_inch)

    return hand, walk, show, faults


def test_a_month_is_typed_in_by_touch_and_its_ppm_is_shown(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        desk.concern(quantity=35, reported_on="2026-02-10", severity="safety")
        hand, walk, show, faults = window(drive, desk, tmp_path, "7 inch lying")

        show(Route(screen="desk"))
        walk.tap("row-ppm")
        assert hand.find("sentence").text == "No deliveries are recorded yet, so there is no ppm."
        assert faults() == []

        walk.tap("deliveries")
        walk.write("delivered", "50000")
        assert faults() == []
        walk.tap("record")

        (record,) = [r for r in desk.records if isinstance(r, Deliveries)]
        assert (record.stream, record.month, record.delivered) == (STREAM, "2026-02-01", 50_000)
        assert hand.find("sentence").text.startswith("February 2026: 700 ppm, 35 NOK of 50,000 delivered")
        assert any("nobody has recorded who was told" in text for text in hand.texts())
        assert faults() == []

        walk.tap("row-2026-02-01")
        assert "487.5 to 973.6 ppm, two-sided 95 %" in hand.find("sentence").text
        assert faults() == []
        walk.tap("back")
        walk.tap("undo")

        assert hand.find("sentence").text == "No deliveries are recorded yet, so there is no ppm."
        assert Deliverer(desk).facts.kept(Deliveries) == ()


def test_a_table_is_looked_at_recorded_and_taken_back_by_touch(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        deliverer = Deliverer(desk)
        deliverer.month("2026-01", 40_000, nok=0)
        path = table(desk.pictures, "month,delivered,nok", "2026-01,41000,0", "2026-02,50000,0")
        bad = table(desk.pictures, "month,delivered", "2026-01,41.000", name="bad.csv")
        before = desk.records
        hand, walk, show, faults = window(drive, desk, tmp_path, "8 inch standing")

        show(Route(screen="ppm", stream=STREAM))
        walk.tap("deliveries_file")
        assert faults() == []
        walk.tap(f"row-{bad}")
        assert hand.find("sentence").text.startswith("1 mistake; nothing of it is recorded.")
        assert faults() == []
        walk.tap("back")
        walk.tap(f"row-{path}")
        assert hand.find("sentence").text.startswith("Reading it adds 1, corrects 1, leaves 0 as they are.")
        assert faults() == []
        assert desk.records == before

        walk.tap("load")

        assert hand.find("sentence").text.startswith("January 2026 to February 2026: 0 ppm")
        assert [r.delivered for r in deliverer.facts.kept(Deliveries)] == [41_000, 50_000]
        assert faults() == []

        walk.tap("undo")

        assert hand.find("sentence").text.startswith("January 2026: 0 ppm, 0 NOK of 40,000 delivered")
        assert [r.delivered for r in deliverer.facts.kept(Deliveries)] == [40_000]
