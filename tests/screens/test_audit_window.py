"""An audit in a real window by touch: begun, answered, reacted to, interrupted, gone on with and signed."""

from __future__ import annotations

import shutil
from contextlib import closing
from datetime import datetime, timedelta, timezone

import pytest

from tests.fakes import CHECKLISTS, Desk
from tests.screens.layout_check import problems
from tests.screens.test_layout import TABLETS
from walkapp.app import window_app
from walkapp.demo.hand import Hand
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import AuditAnswer, AuditReaction, AuditSigned, AuditStart, Withdrawal
from walkapp.presenters.route import Route
from walkapp.screens.kit.buttons import BOUNCE_S

pytestmark = pytest.mark.window

MONDAY = datetime(2026, 3, 9, 6, 30, tzinfo=timezone(timedelta(hours=1)))


class Tablet:
    """The window of one tablet on the floor; it is Monday 9 March, 06:30."""

    def __init__(self, drive, folder, tablet, *, seed=0, checklists=CHECKLISTS):
        sizes = dict(TABLETS[tablet])
        self.pixels_per_inch = sizes.pop("pixels_per_inch")
        self.desk = Desk(folder, by="SL-AB", seed=seed, starts=MONDAY)
        self.desk.place.checklists = checklists
        self.app = window_app(self.desk.place, folder / "camera", bundles=folder / "bundles")
        self.hand = drive(self.app, **sizes)
        self.touch = TouchWalk(self.desk, self.hand, folder / "camera")
        self.touch.settle()

    def tap(self, *names):
        """Tap one after the other; a question, or a form that follows it, as late as who has read it."""
        for name in names:
            if self.app.page.name in ("audit", "form"):
                self.hand.wait(BOUNCE_S)
            self.touch.tap(name)

    def bounce(self, name, taps):
        """Tap with a glove that bounces; each answer is on disk before the next touch."""
        self.hand.wait(BOUNCE_S)
        x, y = self.hand.find(name).to_window(*self.hand.find(name).center)
        for _ in range(taps):
            finger = self.hand.finger((x, y))
            finger.down()
            self.hand.wait(0.03)
            finger.up()
            self.app.worker.finish()
            self.hand.wait(0.03)
        self.touch.settle()

    def text(self, name):
        return self.hand.find(name).text

    def problems(self):
        self.touch.settle()
        return problems(self.hand.window, pixels_per_inch=self.pixels_per_inch)

    def held(self, kind):
        taken_back = {old for r in self.desk.records if isinstance(r, Withdrawal) for old in r.replaces}
        return [r for r in self.desk.records if isinstance(r, kind) and r.id not in taken_back]

    def answers(self):
        return [(answer.ref, answer.answer) for answer in self.held(AuditAnswer)]

    def back(self):
        self.hand.back()
        self.touch.settle()


def test_an_audit_is_done_by_touch_from_home_to_the_signature(drive, tmp_path):
    tablet = Tablet(drive, tmp_path, "7 inch lying")
    with tablet.desk.store:
        assert tablet.problems() == []
        tablet.tap("audits")
        assert tablet.problems() == []
        tablet.tap("choices-shift-lead", "row-shift-lead 2026-03-09 early")
        assert tablet.text("words").splitlines()[2:] == [
            "1. Degating: 3 questions",
            "2. Leak test: 3 questions",
        ]
        assert tablet.problems() == []
        tablet.tap("record")
        (start,) = tablet.held(AuditStart)
        assert (start.layer, start.shift, start.by) == ("shift-lead", "early", "SL-AB")
        assert tablet.hand.has("cautions") and not tablet.hand.has("answer-ok")
        assert tablet.problems() == []

        tablet.tap("cautions-read")
        assert tablet.text("ask") == "Blade changed within its stroke limit?"
        assert tablet.problems() == []
        tablet.tap("answer-ok")
        assert tablet.answers() == [("degating/blade", "ok")]
        assert tablet.text("saved") == "On disk: OK at Degating"

        tablet.tap("answer-not_ok")
        assert tablet.answers()[1:] == [("degating/scrap-marked", "not_ok")]
        assert tablet.problems() == []
        tablet.tap("field-reaction-choice-contained", "field-what-choice-Station stopped, parts held")
        tablet.tap("field-owner-choice-maintenance lead", "field-due_on-choice-2026-03-10")
        assert tablet.problems() == []
        tablet.tap("record")
        (reaction,) = tablet.held(AuditReaction)
        assert (reaction.reaction, reaction.what, reaction.owner, reaction.due_on) == (
            "contained", "Station stopped, parts held", "maintenance lead", "2026-03-10",
        )  # fmt: skip

        tablet.tap("answer-not_applicable", "field-reason-choice-equipment not running", "record")
        assert tablet.answers()[2:] == [("degating/instruction", "not_applicable")]
        tablet.tap("cautions-read")
        assert (tablet.text("progress"), tablet.text("special")) == (
            "4 of 6, 3 answered", "Special characteristic",
        )  # fmt: skip
        tablet.tap("answer-ok", "undo")
        assert (tablet.text("saved"), len(tablet.answers())) == ("Taken back: OK at Leak test", 3)
        tablet.tap("list")
        assert tablet.text("sentence") == "Still missing: 3 of 6 answers."
        assert tablet.problems() == []
        tablet.tap("go_on", "answer-ok", "answer-ok", "answer-ok")
        assert tablet.text("sentence") == "All is answered; it is still to be signed."

        tablet.tap("audit_sign")
        assert tablet.problems() == []
        tablet.tap("field-by-choice-SL-AB", "record")
        (signed,) = tablet.held(AuditSigned)
        assert (signed.ok, signed.nok, signed.not_applicable, signed.by) == (4, 1, 1, "SL-AB")
        assert tablet.text("sentence") == "Done in time"
        assert tablet.problems() == []

        tablet.tap("undo")
        assert tablet.held(AuditSigned) == []
        assert tablet.text("sentence") == "All is answered; it is still to be signed."


def test_an_interrupted_audit_goes_on_where_it_was_after_a_restart(drive, tmp_path):
    first = Tablet(lambda app, **sizes: Hand(app, folder=tmp_path, **sizes), tmp_path, "10 inch lying")
    with first.desk.store, closing(first.hand):
        first.app.go(Route(screen="audits"))
        first.tap(
            "row-shift-lead 2026-03-09 early", "record", "cautions-read", "answer-ok", "answer-not_ok"
        )
        first.tap("field-reaction-choice-corrected", "field-what-choice-Replaced")
    again = Tablet(drive, tmp_path, "10 inch lying", seed=1)
    with again.desk.store:
        assert again.hand.find("field-what").words == "Replaced"
        again.tap("record")
        assert [r.what for r in again.held(AuditReaction)] == ["Replaced"]
        again.tap("cautions-read")
        assert again.text("progress") == "3 of 6, 2 answered"
        again.back()
        again.tap("row-shift-lead 2026-03-09 early", "cautions-read", "answer-ok")
        assert len(again.answers()) == 3


def test_a_glove_that_bounces_answers_no_second_question(drive, tmp_path):
    tablet = Tablet(drive, tmp_path, "7 inch lying")
    with tablet.desk.store:
        tablet.app.go(Route(screen="audits"))
        tablet.tap("row-shift-lead 2026-03-09 early", "record")

        tablet.bounce("cautions-read", 2)
        assert (tablet.answers(), tablet.text("progress")) == ([], "1 of 6, 0 answered")

        tablet.bounce("answer-ok", 3)
        assert tablet.answers() == [("degating/blade", "ok")]

        tablet.tap("answer-ok")
        assert len(tablet.answers()) == 2


def test_a_tap_at_once_on_the_form_that_an_answer_leads_to_fills_in_nothing(drive, tmp_path):
    tablet = Tablet(drive, tmp_path, "7 inch lying")
    with tablet.desk.store:
        tablet.app.go(Route(screen="audits"))
        tablet.tap("row-shift-lead 2026-03-09 early", "record", "cautions-read")
        tablet.hand.wait(BOUNCE_S)
        tablet.hand.tap("answer-not_ok", hold_s=0.02)
        tablet.app.worker.finish()
        tablet.hand.until(lambda: tablet.hand.has("field-reaction-choice-contained"))

        tablet.hand.poke("field-reaction-choice-contained", hold_s=0.02)
        assert tablet.hand.find("field-reaction").words == ""

        tablet.tap("field-reaction-choice-contained")
        assert tablet.hand.find("field-reaction").words == "contained"
        tablet.hand.wait(2 * BOUNCE_S)  # the page moves on to the next field


def test_a_finger_that_came_down_on_the_question_before_does_not_answer_this_one(drive, tmp_path):
    tablet = Tablet(drive, tmp_path, "7 inch lying")
    with tablet.desk.store:
        tablet.app.go(Route(screen="audits"))
        tablet.tap("row-shift-lead 2026-03-09 early", "record", "cautions-read")
        tablet.hand.wait(BOUNCE_S)
        tapping, resting = tablet.hand.finger("answer-ok"), tablet.hand.finger("answer-ok")
        tapping.down()
        tablet.hand.wait(0.05)
        tapping.up()
        resting.down()
        tablet.touch.settle()
        tablet.hand.wait(1.0)
        resting.up()
        tablet.touch.settle()
        assert tablet.answers() == [("degating/blade", "ok")]


@pytest.mark.parametrize("size", TABLETS)
def test_every_page_fits_every_tablet_with_the_longest_questions(drive, tmp_path, size):
    folder = tmp_path / "lists"
    shutil.copytree(CHECKLISTS / "washer-reservoir", folder / "washer-reservoir")
    path = folder / "washer-reservoir" / "audits.toml"
    text = path.read_text(encoding="utf-8")
    long_ask = (
        "Is each clamp pad the one that is on the drawing, with no edge broken off or worn down? " * 3
    )
    long_how = (
        "Look from the outlet side with the clamp open and stopped by its operator, pad after pad. " * 7
    )
    text = text.replace("Blade changed within its stroke limit?", long_ask[:200].strip())
    text = text.replace("Counter on the panel against the limit on its plate.", long_how[:600].strip())
    path.write_text(text, encoding="utf-8")
    tablet = Tablet(drive, tmp_path, size, checklists=folder)
    with tablet.desk.store:
        tablet.tap("audits")
        assert tablet.problems() == []
        tablet.tap("row-shift-lead 2026-03-09 early")
        assert tablet.problems() == []
        tablet.tap("record", "cautions-read")
        assert (len(tablet.text("ask")), len(tablet.text("how"))) == (200, 600)
        assert tablet.problems() == []
        tablet.tap("answer-not_ok")
        assert tablet.problems() == []
        tablet.back()
        assert tablet.text("missing") == "NOK: what was done is still to be said."
        assert tablet.problems() == []
        tablet.tap("list")
        assert tablet.problems() == []
        (start,) = tablet.held(AuditStart)
        which = {"concern": start.concern, "entry": start.id, "station": "degating", "check": "blade"}
        for screen in ("audit_na", "audit_sign"):
            tablet.app.go(Route(screen=screen, **which))
            assert tablet.problems() == []


@pytest.mark.parametrize("size", ["7 inch lying", "8 inch standing"])
def test_an_audit_to_be_made_up_and_one_that_was_missed_fit_the_tablet(drive, tmp_path, size):
    tablet = Tablet(drive, tmp_path, size)
    with tablet.desk.store:
        tablet.app.go(Route(screen="audits"))
        tablet.tap("choices-department-manager", "row-department-manager 2026-03-02 ")
        assert tablet.text("record") == "Begin: it is made up"
        assert tablet.problems() == []
        tablet.tap("other")
        assert tablet.problems() == []
        tablet.tap("field-reason-choice-line did not run", "record")
        assert tablet.desk.records[-1].reason == "line did not run"
        assert tablet.problems() == []
