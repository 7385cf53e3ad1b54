"""Containment in a real window, by touch: a place, a sorting, and the balance that stays in sight."""

from __future__ import annotations

import pytest

from tests.fakes import Desk
from tests.screens.layout_check import problems
from tests.screens.test_layout import TABLETS
from tests.sites import Site
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import Sorting, SuspectStock
from walkapp.presenters.route import Route
from walkapp.screens.parts_balance import LEAST_DP, widths

pytestmark = pytest.mark.window


@pytest.mark.parametrize("tablet", ["8 inch standing", "7 inch lying"])
def test_a_place_and_a_sorting_are_recorded_by_touch_and_move_the_balance(drive, tmp_path, tablet):
    sizes = dict(TABLETS[tablet])
    pixels_per_inch = sizes.pop("pixels_per_inch")
    desk = Desk(tmp_path)
    with desk.store:
        site = Site(desk, reported_on="2026-02-19")
        site.range(4800, made_from="2026-02-24", made_to="2026-03-02")
        site.stock(3288, "dock B", "customer")
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(app, **sizes)
        walk = TouchWalk(desk, hand, tmp_path / "camera")
        app.go(Route(screen="concern", concern=site.concern))
        walk.settle()

        walk.tap("row-containment")
        assert hand.find("balance").text == "1,512 of 4,800 not accounted for"
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []

        walk.tap("suspect_stock")
        walk.tap("field-place-choice-stores")
        walk.write("quantity", "1200")
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []
        walk.tap("record")
        (stock,) = [r for r in desk.records if isinstance(r, SuspectStock) and r.place == "stores"]
        assert hand.find("balance").text == "1,200 of 1,200 still to sort"

        walk.tap("sorting")
        walk.write("checked", "1000")
        walk.write("nok", "45")
        walk.tap("field-fate-choice-usual")
        assert "Then 200 of 1,200 left to sort, 0 waiting for a decision." in hand.texts()
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []
        walk.tap("record")

        (sorting,) = [r for r in desk.records if isinstance(r, Sorting)]
        assert (sorting.stock, sorting.checked, sorting.nok) == (stock.stock, 1000, 45)
        assert (sorting.released, sorting.scrapped) == (955, 45)
        assert hand.find("balance").text == "200 of 1,200 still to sort"
        assert [part.words for part in hand.find("bar").bar] == [
            "200 to sort", "955 released", "45 scrapped",
        ]  # fmt: skip
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []

        hand.back()
        walk.settle()
        assert hand.find("balance").text == "312 of 4,800 not accounted for"
        assert "312 not accounted for" in hand.texts()
        assert hand.find("undo").detail == "1,000 sorted or scrapped"
        walk.tap("undo")
        assert hand.find("saved").text == "Taken back"
        assert "1,512" not in hand.find("balance").text
        assert [part.words for part in hand.find("bar").bar] == ["312 not accounted for", "4,488 to sort"]
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []


def test_parts_of_the_bar_are_as_wide_as_they_are_many_and_none_is_lost(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        drive(app, size=(1024, 600), density=1.0)

    for parts in ([4799, 1], [1, 1, 1], [10**8, 1, 1], [7], []):
        found = widths(parts, 1000.0)
        assert sum(found) == pytest.approx(1000.0 if parts else 0.0)
        assert all(width >= LEAST_DP for width in found)
        assert sorted(found) == [width for _, width in sorted(zip(parts, found, strict=True))]
    assert widths([1, 1], 4.0) == [2.0, 2.0]
