"""Actions in a real window by touch: what is overdue at home, done, its effect and the audits' question."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.fakes import Desk
from tests.floors import Floor
from tests.screens.layout_check import problems
from tests.screens.test_layout import TABLETS
from walkapp.actions.acting import EFFECTIVE, action_facts
from walkapp.actions.action_records import open_action
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import Action, ActionDone, EffectCheck, WatchQuestion
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window


class Shop:
    """The window of one tablet with a concern whose defect starts at the leak test; today is 3 March."""

    def __init__(self, drive, folder, tablet):
        sizes = dict(TABLETS[tablet])
        self.pixels_per_inch = sizes.pop("pixels_per_inch")
        self.desk = Desk(folder)
        self.floor = Floor(self.desk)
        self.concern = self.floor.route.concern
        self.app = window_app(self.desk.place, folder / "camera", bundles=folder / "bundles")
        self.hand = drive(self.app, **sizes)
        self.walk = TouchWalk(self.desk, self.hand, folder / "camera")

    def problems(self):
        self.walk.settle()
        return problems(self.hand.window, pixels_per_inch=self.pixels_per_inch)

    def held(self, kind):
        return [r for r in self.floor.facts.standing.current if isinstance(r, kind)]

    def go(self, screen, entry=""):
        self.app.go(Route(screen=screen, concern=self.concern, entry=entry))
        self.walk.settle()


def test_a_new_action_is_entered_done_and_taken_back_by_touch(drive, tmp_path):
    shop = Shop(drive, tmp_path, "8 inch standing")
    with shop.desk.store:
        walk, hand = shop.walk, shop.hand
        shop.go("actions")
        assert hand.find("sentence").text.startswith("No action yet.")
        walk.tap("new_action")
        walk.tap("field-aim-choice-corrective")
        walk.write("what", "Fit the soft clamp pads")
        walk.tap("field-owner-choice-QE-RT")
        walk.tap("field-due_on-choice-2026-03-06")
        walk.tap("field-station-choice-leak-test")
        walk.tap("field-at_most-choice-5")
        assert shop.problems() == []
        walk.tap("record")

        (action,) = shop.held(Action)
        assert (action.what, action.owner, action.due_on, action.station, action.at_most) == (
            "Fit the soft clamp pads", "QE-RT", "2026-03-06", "leak-test", "0.05",
        )  # fmt: skip
        assert hand.find("sentence").text == "Open, due in 3 days"
        assert shop.problems() == []

        walk.tap("action_done")
        walk.write("evidence", "Pads fitted, shore 40")
        assert shop.problems() == []
        walk.tap("record")
        (finished,) = shop.held(ActionDone)
        assert (finished.done_on, finished.evidence) == ("2026-03-03", "Pads fitted, shore 40")
        assert hand.find("sentence").text == "Done on 2026-03-03, effect not checked"

        walk.tap("undo")
        assert (hand.find("saved").text, shop.held(ActionDone)) == ("Taken back", [])
        assert hand.find("sentence").text == "Open, due in 3 days"


@pytest.mark.parametrize("tablet", ["7 inch lying", "10 inch lying"])
def test_an_overdue_action_leads_from_home_to_its_proof_and_its_question(drive, tmp_path, tablet):
    shop = Shop(drive, tmp_path, tablet)
    with shop.desk.store:
        walk, hand, place = shop.walk, shop.hand, shop.desk.place
        shop.floor.walk()
        shop.floor.lots()
        said = {"aim": "corrective", "what": "Fit the soft clamp pads", "owner": "ME-KL", "at_most": "0.05"}
        action = open_action(place, shop.floor.facts, due_on="2026-03-01", station="leak-test", **said)
        shop.app.go(Route())
        walk.settle()
        assert hand.find("overdue").children[0].title == (
            "1 action overdue, longest: Fit the soft clamp pads"
        )
        assert shop.problems() == []
        hand.tap(hand.find("overdue").children[0])
        walk.settle()
        assert hand.find("sentence").text == "1 of 1 action overdue."
        assert shop.problems() == []
        walk.tap(f"row-{action.action}")
        walk.tap("action_done")
        walk.write("evidence", "Pads fitted")
        walk.tap("record")

        place.now.time += timedelta(days=3)
        for _ in range(60):
            shop.floor.walking.judge_part(shop.desk.facts(shop.floor.route), "leak-test", "ear-look", "ok")
        walk.tap("effect_check")
        walk.tap("field-numbers-choice-on-record")
        assert "60" in hand.find("field-after_checked-words").text
        assert shop.problems() == []
        walk.tap("record")
        (check,) = shop.held(EffectCheck)
        assert (check.before_checked, check.before_nok, check.after_checked, check.after_nok) == (
            40,
            19,
            60,
            0,
        )
        assert hand.find("sentence").text == "Effective"
        assert shop.problems() == []

        walk.tap("watch_question")
        assert shop.problems() == []
        walk.tap("record")
        (asked,) = shop.held(WatchQuestion)
        assert (asked.question, asked.station, asked.from_on, asked.until_on) == (
            "Still in place: Fit the soft clamp pads?", "leak-test", "2026-03-06", "2026-05-01",
        )  # fmt: skip
        assert action_facts(place, shop.concern, action.action).status == EFFECTIVE

        for screen in ("new_action", "correct_action"):
            shop.go(screen, action.action)
            assert shop.problems() == []
