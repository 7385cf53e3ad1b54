"""Parts from after a fix that worked do not say where the defect started; all others do."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.builders import make, record_id
from tests.floors import Floor
from walkapp.actions.acting import action_facts
from walkapp.actions.action_records import check_effect, open_action, say_done
from walkapp.actions.walking import Walking, start_walk
from walkapp.analysis.after_fix import FixDays, fix_days, parts_from_after
from walkapp.model.records import Action, ActionDone, Answer, Count, DatedCount, Note, Sample
from walkapp.presenters.frame import after_fix_text

SAID = {"aim": "corrective", "what": "Soft pads", "owner": "PE-KL", "due_on": "2026-03-06"}


class Fix:
    """A defect found at the leak test, and a corrective action that was done on the day of the walk."""

    def __init__(self, desk) -> None:
        self.desk, self.floor = desk, Floor(desk)
        self.floor.walk()
        self.action = open_action(desk.place, self.floor.facts, **SAID).action
        say_done(desk.place, self.floor.facts, self.now, done_on="2026-03-03", evidence="Pads measured")

    @property
    def now(self):
        return action_facts(self.desk.place, self.floor.route.concern, self.action)

    def check(self, after_nok):
        counts = {"before_checked": 40, "before_nok": 20, "after_checked": 200, "after_nok": after_nok}
        day = self.desk.place.now.time.date().isoformat()
        check_effect(self.desk.place, self.floor.facts, self.now, checked_on=day, **counts)

    def walk_again(self, days=7, parts=60):
        """Judge OK parts at the leak test and after it, a week later."""
        self.desk.place.now.time += timedelta(days=days)
        walk = start_walk(self.desk.place, self.floor.facts, "down").id
        again = Walking(self.desk.place, self.floor.route.concern, walk)
        now = self.desk.facts(self.floor.route)
        for station in ("leak-test", "pump-assembly"):
            for _ in range(parts):
                again.judge_part(now, station, "ear-look", "ok")
        return walk

    @property
    def answer(self):
        return self.floor.facts.locate()

    @property
    def leak_test(self):
        return next((v.nok, v.checked) for v in self.answer.stations if v.station == "Leak test")


@pytest.fixture
def fix(desk):
    return Fix(desk)


def warning_of(answer):
    return next((w for w in answer.warnings if "corrective action" in w), "")


def test_after_a_fix_that_worked_ok_parts_leave_the_answer_as_it_was(fix):
    before = fix.answer
    fix.walk_again()
    fix.check(0)

    assert (fix.answer.first_bad_station, fix.answer.probability) == (
        before.first_bad_station,
        before.probability,
    )
    assert fix.leak_test == (12, 20)
    assert warning_of(fix.answer) == (
        "120 entries on parts from after the corrective action of 2026-03-03, which worked, "
        "are left out here."
    )


def test_until_its_effect_is_checked_they_count_and_that_is_said(fix):
    fix.walk_again()

    assert fix.leak_test == (12, 80)
    assert warning_of(fix.answer) == (
        "120 entries are on parts from after the corrective action of 2026-03-03, whose effect is not "
        "checked yet: if it worked, they blur where the defect started."
    )


def test_after_a_fix_that_did_not_work_they_count_without_a_word(fix):
    fix.walk_again()
    fix.check(100)

    assert (fix.leak_test, warning_of(fix.answer)) == ((12, 80), "")


def test_the_walk_after_the_fix_says_why_the_strip_does_not_move(fix):
    again = fix.walk_again(parts=1)
    assert after_fix_text(fix.desk.facts(fix.floor.route)) == ""
    fix.check(0)

    there = fix.desk.facts(replace(fix.floor.route, walk=again))
    assert (
        after_fix_text(there) == "Parts from after the fix of 2026-03-03, which worked, do not count here."
    )
    assert after_fix_text(fix.desk.facts(fix.floor.route)) == ""


def test_a_part_is_from_its_production_day_or_else_from_the_day_of_the_check():
    said = {"station": "leak-test", "check": "ear-look", "at": "2026-03-09T06:00:00+01:00"}
    known = make(Sample, 1, station="leak-test", made_on="2026-03-02")
    judged = make(Answer, 2, answer="ok", **said)
    counted = make(Count, 3, checked=5, nok=0, **said)
    other_walk = make(Answer, 4, answer="ok", walk=record_id(99), **said)
    older = make(DatedCount, 5, checked=5, nok=0, made_on="2026-03-02", **said)
    newer = make(DatedCount, 6, checked=5, nok=0, made_on="2026-03-04", **said)
    note = make(Note, 7, station="leak-test", words="seen", at="2026-03-09T06:00:00+01:00")
    records = (known, judged, counted, other_walk, older, newer, note)

    assert parts_from_after(records, "2026-03-03") == (other_walk, newer)
    assert parts_from_after(records, "") == ()


@given(st.permutations(range(6)))
def test_the_days_do_not_depend_on_the_order_of_the_records(order):
    actions = [
        make(Action, 20 + n, walk="", action=record_id(20 + n), **{**SAID, "aim": aim})
        for n, aim in enumerate(("corrective", "corrective", "preventive"))
    ]
    done = [
        make(ActionDone, 30 + n, walk="", action=one.action, done_on=f"2026-03-0{9 - n}", evidence="seen")
        for n, one in enumerate(actions)
    ]
    records = [*actions, *done]

    assert fix_days([records[place] for place in order]) == FixDays(worked="", unchecked="2026-03-08")
