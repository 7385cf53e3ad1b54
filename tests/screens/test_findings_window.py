"""Findings of audits in a real window by touch: from the list to the finding, its picture, put right."""

from __future__ import annotations

import pytest

from tests.audited import LATER, MONDAY, Audited
from tests.fakes import Desk
from tests.photos.camera import as_jpeg, scene
from tests.screens.layout_check import problems
from tests.screens.test_layout import TABLETS
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import FindingClosed, Photo, PhotoCopy, Withdrawal
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window


class Plant:
    """The window of one tablet on which audits of two weeks were done."""

    def __init__(self, drive, folder, tablet):
        sizes = dict(TABLETS[tablet])
        self.pixels_per_inch = sizes.pop("pixels_per_inch")
        self.desk = Desk(folder, by="SL-AB", starts=MONDAY)
        self.audits = Audited(self.desk)
        self.camera = folder / "camera"
        self.camera.mkdir()
        self.late = self.audits.finding(**LATER)
        self.audits.days_later(1)
        self.spot = self.audits.finding("supervisor", reaction="corrected", what="Locked again")
        self.audits.days_later(4)
        self.open = self.audits.finding(**LATER | {"due_on": "2026-03-20"})
        self.audits.days_later(7)
        self.app = window_app(self.desk.place, self.camera, bundles=folder / "bundles")
        self.hand = drive(self.app, **sizes)
        self.walk = TouchWalk(self.desk, self.hand, self.camera)

    def problems(self):
        self.walk.settle()
        return problems(self.hand.window, pixels_per_inch=self.pixels_per_inch)

    def go(self, screen, **more):
        self.app.go(Route(screen=screen, **more))
        self.walk.settle()

    def row_of(self, finding):
        return f"row-{finding.start.concern} {finding.answer.id}"

    def held(self, kind):
        return [r for r in self.desk.records if isinstance(r, kind)]

    @property
    def at(self):
        return self.app.page.presenter.route


@pytest.mark.parametrize("tablet", ["7 inch lying", "8 inch standing"])
def test_an_overdue_finding_is_opened_shown_by_a_picture_and_put_right_by_touch(drive, tmp_path, tablet):
    plant = Plant(drive, tmp_path, tablet)
    with plant.desk.store:
        walk, hand = plant.walk, plant.hand
        (plant.camera / "box.jpg").write_bytes(as_jpeg(scene((80, 48))))
        plant.go("findings", stream="washer-reservoir")
        assert hand.find("sentence").text == "1 of 2 open findings overdue."
        assert plant.problems() == []

        walk.tap(plant.row_of(plant.late))
        assert hand.find("sentence").text == "Overdue by 4 days"
        assert plant.problems() == []

        walk.tap("evidence")
        assert plant.problems() == []
        walk.tap("picture-1")
        walk.tap("kept-1")
        assert plant.problems() == []
        walk.tap("cover")
        walk.draw_box(0.1, 0.2, 0.4, 0.6)
        for _ in ("the picture", "the evidence"):
            hand.back()
            walk.settle()
        assert "1 place covered" in hand.find("kept-1").tile.caption
        assert plant.problems() == []
        (photo,) = plant.held(Photo)
        assert (photo.concern, photo.about) == (plant.late.start.concern, plant.late.answer.id)
        assert [len(r.boxes) for r in plant.held(PhotoCopy)] == [1]
        hand.back()
        walk.settle()
        assert plant.at.screen == "finding"

        walk.tap("close_finding")
        walk.write("evidence", "Blade changed")
        assert plant.problems() == []
        walk.tap("record")
        (closed,) = plant.held(FindingClosed)
        assert (closed.finding, closed.closed_on, closed.evidence) == (
            plant.late.answer.id, "2026-03-16", "Blade changed",
        )  # fmt: skip
        assert hand.find("sentence").text == "Closed on 2026-03-16"
        assert plant.problems() == []

        walk.tap("undo")
        assert hand.find("saved").text == "Taken back"
        assert [r.replaces for r in plant.held(Withdrawal)] == [(closed.id,)]
        assert hand.find("sentence").text == "Overdue by 4 days"
        hand.back()
        walk.settle()
        assert plant.at.screen == "findings"


def test_a_word_that_is_searched_leads_to_the_finding_and_back_to_the_search(drive, tmp_path):
    plant = Plant(drive, tmp_path, "10 inch lying")
    with plant.desk.store:
        walk, hand = plant.walk, plant.hand
        plant.go("search")
        hand.app.page.presenter.type("locked")
        walk.settle()
        assert plant.problems() == []
        walk.tap("row-result-0")

        assert (plant.at.screen, plant.at.entry) == ("finding", plant.spot.answer.id)
        assert hand.find("sentence").text == "Corrected on the spot"
        assert plant.problems() == []
        hand.back()
        walk.settle()
        assert plant.at.screen == "search"
