"""Success factors in a real window, by touch: what is shown, what is on disk, nothing cut off."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

import pytest

from tests.desks import STREAM, StreamDesk
from tests.fakes import Desk
from tests.screens.layout_check import problems
from tests.screens.test_layout import TABLETS
from tests.sites import Site, contained
from walkapp.actions.indicators.factors import state_offers
from walkapp.actions.indicators.offers import OFFERS, START
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import SuccessFactor
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window

NOON = datetime(2026, 3, 11, 12, 0, tzinfo=timezone(timedelta(hours=1)))


class Glass:
    """An app on a desk with two concerns, and a hand that touches it."""

    def __init__(self, desk, drive, folder, tablet) -> None:
        sizes = dict(TABLETS[tablet])
        self.pixels_per_inch = sizes.pop("pixels_per_inch")
        self.desk, self.stream = desk, StreamDesk(desk)
        contained(Site(desk, reported_on="2026-02-19", severity="safety"))
        Site(desk, reported_on="2026-03-01", what="Leak at the pump seat (invented)")
        self.app = window_app(desk.place, folder / "camera", bundles=folder / "bundles")
        self.hand = drive(self.app, **sizes)
        self.walk = TouchWalk(desk, self.hand, folder / "camera")

    def looks_right(self) -> None:
        assert problems(self.hand.window, pixels_per_inch=self.pixels_per_inch) == []

    def text(self, name) -> str:
        return self.hand.find(name).text

    @property
    def factors(self):
        return [r for r in self.desk.records if isinstance(r, SuccessFactor)]


def test_a_factor_is_stated_by_touch_looked_behind_and_taken_back(drive, tmp_path):
    desk = Desk(tmp_path, starts=NOON)
    with desk.store:
        glass = Glass(desk, drive, tmp_path, "8 inch standing")
        walk = glass.walk
        glass.app.go(Route(screen="desk"))
        walk.settle()
        walk.tap("row-indicators")
        assert "No success factor is stated yet" in glass.text("sentence")
        assert "it is not recorded who was told" in glass.text("cautions")
        glass.looks_right()

        walk.tap("choose_indicator")
        glass.looks_right()
        walk.tap("row-days-to-contain")
        glass.looks_right()
        walk.tap("field-target-choice-5")
        assert glass.factors == []
        walk.tap("record")

        (made,) = glass.factors
        assert (made.stream, made.indicator, made.target, made.owner) == (
            STREAM, "days-to-contain", "5", "SL",
        )  # fmt: skip
        assert glass.text("sentence") == "Of 1: 1 off target."
        glass.looks_right()

        walk.tap(f"row-{made.id}")
        assert "1 still open" in glass.text("lines")
        glass.looks_right()
        walk.tap("figure")
        glass.looks_right()
        walk.tap("back")
        walk.tap("row-0")
        assert glass.app.session.kept.route().screen == "containment"
        walk.tap("back")
        assert glass.text("sentence") == "Off target: Suspect parts are held back at once."

        walk.tap("undo")
        assert "No success factor is stated yet" in glass.text("sentence")
        assert len(glass.factors) == 1


def test_all_that_is_offered_fits_a_small_tablet_with_every_state_and_long_words(drive, tmp_path):
    desk = Desk(tmp_path, starts=NOON)
    with desk.store:
        glass = Glass(desk, drive, tmp_path, "7 inch lying")
        glass.app.go(Route(screen="indicators", stream=STREAM))
        glass.walk.settle()
        glass.looks_right()
        glass.walk.tap("start")
        assert len(glass.factors) == len(START)

        state_offers(desk.place, glass.stream.facts, tuple(OFFERS.values()))
        long = glass.stream.state(
            "ppm", factor="Wort und " * 22, when_off="Weiter so " * 39, owner="Öä " * 13
        )
        glass.stream.arrive(long, indicator="energy-per-part")
        glass.app.go(Route(screen="indicators", stream=STREAM))
        glass.walk.settle()
        glass.looks_right()

        for factor in (long.id, glass.stream.board().lines[0].id):
            glass.app.go(Route(screen="factor", stream=STREAM, layer=factor))
            glass.walk.settle()
            glass.looks_right()
