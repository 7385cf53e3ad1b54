"""Scanning in a real window: a live view of the test's own, a hand scanner, and labels of stations."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk
from tests.scenes import StagedView, frame_of, ground, qr_picture, scene
from tests.screens.layout_check import problems
from walkapp.app import window_app
from walkapp.codes import station_text
from walkapp.model.records import Answer, PartSeen
from walkapp.presenters.devices import Devices
from walkapp.presenters.route import Route

pytestmark = [pytest.mark.long, pytest.mark.window]

SIZES = [((1024, 600), 1.0, 170), ((800, 1280), 1.33, 189)]
at_both_sizes = pytest.mark.parametrize("tablet", SIZES, indirect=True, ids=["1024x600", "800x1280"])


class Tablet:
    """An app in the window on a store with one walk, and a camera that shows what the test says."""

    def __init__(self, drive, folder, size, density, pixels_per_inch):
        self.desk = Desk(folder)
        self.walk = self.desk.walk(part_number="4711-A")
        self.app = window_app(self.desk.place, self.desk.pictures, bundles=folder / "bundles")
        self.hand = drive(self.app, size=size, density=density)
        self.pixels_per_inch = pixels_per_inch

    def settle(self):
        for _ in range(3):
            self.app.worker.finish()
            self.app.aside.finish()
            self.hand.wait(0.1)

    def open(self, **where):
        self.app.go(replace(self.walk, **where))
        self.settle()

    def sees(self, *pictures):
        view = StagedView([frame_of(picture) for picture in pictures])
        self.app.session.devices = Devices(live=view)
        return view

    @property
    def route(self):
        return self.app.session.kept.route()

    @property
    def faults(self):
        return problems(self.hand.window, pixels_per_inch=self.pixels_per_inch)

    def of_kind(self, kind):
        return [record for record in self.desk.records if isinstance(record, kind)]


@pytest.fixture
def tablet(request, drive, tmp_path):
    size = getattr(request, "param", SIZES[0])
    made = Tablet(drive, tmp_path, *size)
    yield made
    made.app.worker.finish()
    made.desk.store.close()


@at_both_sizes
def test_a_part_in_the_live_view_is_held_answered_and_let_go(tablet):
    hand = tablet.hand
    view = tablet.sees(ground(), scene((qr_picture("EAR-0042"), (640, 360)), angle=20))
    tablet.open(screen="judge", station="welding", check="ear-look")

    hand.tap("scan")
    hand.until(lambda: view.given >= 2 and hand.has("answer-ok"))
    tablet.settle()

    assert not view.is_open
    assert hand.find("held").text == "Part EAR-0042"
    assert tablet.faults == []
    assert tablet.of_kind(Answer) == []

    hand.tap("answer-not_ok")
    tablet.settle()

    (answer,), (seen,) = tablet.of_kind(Answer), tablet.of_kind(PartSeen)
    assert (answer.answer, seen.part, seen.about) == ("not_ok", "EAR-0042", answer.id)
    assert not hand.has("held")
    assert any(text.endswith("part EAR-0042") for text in hand.texts())


def test_the_live_view_is_shown_and_let_go_by_the_back_button(tablet):
    hand = tablet.hand
    view = tablet.sees(ground())
    tablet.open(screen="judge", station="welding", check="ear-look")

    hand.tap("scan")
    hand.until(lambda: hand.find("live").texture is not None)
    tablet.settle()
    assert tuple(hand.find("live").texture.size) == (1280, 720)
    assert tablet.faults == []

    tablet.app.dispatch("on_pause")
    tablet.settle()
    assert not view.is_open
    tablet.app.dispatch("on_resume")
    tablet.settle()
    assert view.is_open

    hand.back()
    tablet.settle()
    assert not view.is_open
    assert tablet.route.screen == "judge"


def test_several_codes_are_chosen_from_by_touch(tablet):
    hand = tablet.hand
    tablet.sees(scene((qr_picture("EAR-1"), (540, 360)), (qr_picture("EAR-2"), (760, 360))))
    tablet.open(screen="judge", station="welding", check="ear-look")

    hand.tap("scan")
    hand.until(lambda: "EAR-2" in hand.texts())
    tablet.settle()
    assert tablet.faults == []
    hand.tap(next(w for w in hand.widgets() if getattr(w, "row_id", "") and "EAR-2" in str(w.title)))
    tablet.settle()

    assert hand.find("held").text == "Part EAR-2"


@at_both_sizes
def test_a_hand_scanner_holds_a_part_and_a_tap_lets_it_go(tablet):
    hand = tablet.hand
    tablet.open(screen="judge", station="welding", check="ear-look")

    hand.send("[)>\x1e06\x1dP4711-B\x1dSX1\x1d1T0303\x1e\x04")
    tablet.settle()

    assert hand.find("held").text == "Part X1"
    assert hand.find("held").detail == "OTHER PART NUMBER"
    assert "4711-B" in hand.find("mind").text
    assert tablet.faults == []
    hand.tap("held")
    tablet.settle()

    assert not hand.has("held")
    assert tablet.of_kind(Answer) == []


def test_labels_open_stations_in_a_walk_and_offer_walks_at_home(tablet):
    hand = tablet.hand
    tablet.open(screen="note", station="welding")

    hand.send(station_text("washer-reservoir", "leak-test"))
    tablet.settle()
    assert (tablet.route.screen, tablet.route.station) == ("station", "leak-test")
    assert tablet.route.walk == tablet.walk.walk

    tablet.app.go(Route())
    tablet.settle()
    tablet.sees(scene((qr_picture(station_text("washer-reservoir", "welding"), 5), (640, 360))))
    hand.tap("scan")
    hand.until(lambda: "3  Hot-plate welding" in hand.texts())
    tablet.settle()

    assert tablet.route.screen == "at_station"
    assert tablet.faults == []
