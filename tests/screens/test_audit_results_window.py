"""The results of audits in a real window: weeks and prompts by touch, nothing cut off, nothing written."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone

import pytest

from tests.auditors import Auditor
from tests.fakes import Desk
from tests.screens.layout_check import problems
from tests.screens.test_layout import TABLETS
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window

NOON = datetime(2026, 3, 11, 12, 0, tzinfo=timezone(timedelta(hours=1)))


@pytest.mark.parametrize("tablet", ["7 inch lying", "8 inch standing"])
def test_results_are_shown_and_other_weeks_chosen_by_touch(drive, tmp_path, tablet):
    sizes = dict(TABLETS[tablet])
    pixels_per_inch = sizes.pop("pixels_per_inch")
    desk = Desk(tmp_path, starts=NOON)
    with desk.store:
        Auditor(desk).nights_without_looking(date(2026, 2, 9), date(2026, 3, 10))
        before = desk.records
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(app, **sizes)
        walk = TouchWalk(desk, hand, tmp_path / "camera")

        app.go(Route(screen="audit_results", stream="washer-reservoir"))
        walk.settle()

        assert "of the last eight weeks done in time" in hand.find("sentence").text
        assert "Shift lead: 66 of " in hand.find("words-completion").text
        assert "95 % interval" in hand.find("words-conformity").text
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []

        walk.tap("4")

        assert "of the last four weeks done in time" in hand.find("sentence").text
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []
        assert desk.records == before
        assert desk.store.place()["number"] == "4"


def test_a_prompt_leads_to_how_it_was_worked_out_and_back(drive, tmp_path):
    desk = Desk(tmp_path, starts=NOON)
    with desk.store:
        auditor = Auditor(desk)
        layer = auditor.plan.scheme.layer("shift-lead")
        for slot in auditor.plan.calendar.slots(layer, date(2026, 2, 23), date(2026, 3, 10)):
            auditor.audit(slot, minutes_each=0.02 if slot.shift == "night" else 0.6)
        before = desk.records
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(app, size=(800, 1280), density=1.0)
        walk = TouchWalk(desk, hand, tmp_path / "camera")
        app.go(Route(screen="audit_results", stream="washer-reservoir", number="4"))
        walk.settle()

        walk.tap("row-Pace of the answers: Shift lead, night")

        assert "Worth walking one audit together with Shift lead, night" in hand.find("sentence").text
        assert problems(hand.window, pixels_per_inch=170) == []

        walk.tap("back")

        assert "of the last four weeks done in time" in hand.find("sentence").text
        assert desk.records == before
