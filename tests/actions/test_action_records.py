"""Recording actions: what cannot be is refused in words, and nothing is lost; what is late is taken."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.fakes import Desk
from tests.floors import Floor
from walkapp.actions.acting import OVERDUE, action_facts, actions_of
from walkapp.actions.action_records import (
    ask_for_a_while,
    check_effect,
    correct_action,
    open_action,
    say_done,
)
from walkapp.actions.effect_numbers import numbers_on_record
from walkapp.actions.reading import concern_facts
from walkapp.analysis.effect import PartsJudged
from walkapp.errors import InputError, RecordError
from walkapp.model.records import Action, ActionDone, Concern, EffectCheck, WatchQuestion

SAID = {"aim": "corrective", "what": "Soft pads", "owner": "ME-KL", "due_on": "2026-03-06"}
COUNTS = {"before_checked": 60, "before_nok": 12, "after_checked": 60, "after_nok": 0}
WATCH = {
    "station": "leak-test",
    "question": "Soft pads?",
    "from_on": "2026-03-03",
    "until_on": "2026-04-28",
}


class Bench:
    """One concern on one desk, reported on 26 February; today is 3 March."""

    def __init__(self, desk, **more):
        self.place = desk.place
        self.concern = desk.concern(**{"reported_on": "2026-02-26", **more})

    @property
    def facts(self):
        return concern_facts(self.place, self.concern)

    def now(self, action):
        return action_facts(self.place, self.concern, action.action)

    def open(self, **more):
        return open_action(self.place, self.facts, **{**SAID, **more})

    def done(self, action, day="2026-03-02", **more):
        return say_done(self.place, self.facts, self.now(action), done_on=day, evidence="fitted", **more)

    def check(self, action, day="2026-03-03", **more):
        said = {**COUNTS, **more}
        return check_effect(self.place, self.facts, self.now(action), checked_on=day, **said)

    def ask(self, action, **more):
        return ask_for_a_while(self.place, self.facts, self.now(action), **{**WATCH, **more})

    def kinds(self):
        return [r.kind for r in self.place.store.records(self.concern) if not isinstance(r, Concern)]


@pytest.fixture
def bench(desk):
    return Bench(desk)


def test_the_id_of_an_action_is_that_of_its_first_record_through_all_corrections(bench):
    first = bench.open()
    second = correct_action(bench.place, bench.facts, bench.now(first), why="late", due_on="2026-03-09")

    assert first.id == first.action == second.action
    assert (second.replaces, second.why, second.what) == ((first.id,), "late", "Soft pads")


def test_a_due_day_that_has_passed_is_taken_and_overdue_at_once(bench):
    assert bench.now(bench.open(due_on="2026-01-15")).status == OVERDUE


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"station": "press"}, "has no station 'press'"),
        ({"change": "00000000-0000-7000-8000-000000000001"}, "The change point that it mends is not in"),
        ({"at_most": "0"}, "no number of parts can show 0 %"),
        ({"at_most": "0.000"}, "no number of parts can show 0 %"),
        ({"check_on": "2026-03-05"}, r"Effect check on: .* is before the day it is due \(2026-03-06\)"),
    ],
)
def test_an_action_that_cannot_be_is_refused(bench, more, words):
    with pytest.raises(InputError, match=words):
        bench.open(**more)
    with pytest.raises(RecordError, match="at_most must be a decimal"):
        bench.open(at_most="some")
    assert bench.kinds() == []


def test_a_correction_says_why_and_changes_something(bench):
    action = bench.open()
    for said, words in (
        ({"why": " ", "due_on": "2026-03-09"}, "Why it is corrected is missing"),
        ({"why": "late", "due_on": "2026-03-06"}, "Nothing was changed"),
        ({"why": "late", "due_on": "2026-03-09", "check_on": "2026-03-08"}, "is before the day it is due"),
    ):
        with pytest.raises(InputError, match=words):
            correct_action(bench.place, bench.facts, bench.now(action), **said)
    assert bench.kinds() == ["action"]


def test_what_another_tablet_said_is_not_refused_when_something_else_is_corrected(bench):
    new = bench.place.new_id()
    action = bench.place.add(
        Action, id=new, action=new, concern=bench.concern, **{**SAID, "at_most": "0", "station": "press"}
    )

    made = correct_action(bench.place, bench.facts, bench.now(action), why="late", due_on="2026-03-09")

    assert (made.station, made.at_most) == ("press", "0")


@pytest.mark.parametrize(
    ("day", "words"),
    [
        ("2026-03-04", "Done on: 2026-03-04 is still to come"),
        ("2026-02-25", r"Done on: 2026-02-25 is before the day the concern was reported \(2026-02-26\)"),
    ],
)
def test_a_day_on_which_nothing_can_have_been_done_is_refused(bench, day, words):
    action = bench.open()
    with pytest.raises(InputError, match=words):
        bench.done(action, day)
    assert bench.kinds() == ["action"]


def test_without_a_report_the_day_of_opening_is_the_first(desk):
    bench = Bench(desk, reported_on="")
    action = bench.open()

    with pytest.raises(InputError, match=r"before the day the concern was opened \(2026-03-03\)"):
        bench.done(action, "2026-03-02")
    assert isinstance(bench.done(action, "2026-03-03"), ActionDone)


def test_a_correction_of_the_concern_does_not_move_its_first_day(desk):
    bench = Bench(desk, reported_on="")
    opened = bench.facts.concern
    desk.place.now.time += timedelta(days=2)
    said = {name: getattr(opened, name) for name in ("stream", "defect", "severity")}
    desk.place.add(
        Concern, concern=opened.id, what="Cracks", **said, replaces=(opened.id,), why="what is wrong"
    )

    assert bench.done(bench.open(), "2026-03-03").done_on == "2026-03-03"


def test_done_twice_is_a_correction_that_says_why(bench):
    action = bench.open()
    first = bench.done(action)

    with pytest.raises(InputError, match="recorded as done on 2026-03-02; say why"):
        bench.done(action, "2026-03-03")
    second = bench.done(action, "2026-03-03", why="a day later")

    assert second.replaces == (first.id,)
    assert bench.now(action).done == (second,)


@pytest.mark.parametrize(
    ("day", "more", "words"),
    [
        ("2026-03-04", {}, "Checked on: 2026-03-04 is still to come"),
        ("2026-03-01", {}, r"Checked on: 2026-03-01 is before the day it was done \(2026-03-02\)"),
        ("2026-03-03", {"before_nok": 61}, "NOK before: 61 of 60 parts cannot be"),
        ("2026-03-03", {"after_nok": 61}, "NOK after: 61 of 60 parts cannot be"),
        ("2026-03-03", {"after_checked": 0}, "after_checked must be from 1"),
    ],
)
def test_an_effect_check_that_cannot_be_is_refused(bench, day, more, words):
    action = bench.open()
    bench.done(action)
    with pytest.raises(InputError, match=words):
        bench.check(action, day, **more)
    assert bench.kinds() == ["action", "action_done"]


def test_the_effect_of_an_action_that_is_not_done_is_not_checked(bench):
    action = bench.open()
    with pytest.raises(InputError, match="not recorded as done"):
        bench.check(action)
    bench.done(action)
    assert isinstance(bench.check(action), EffectCheck)


def test_a_question_needs_a_corrective_action_that_is_done_and_days_to_come(bench):
    corrective, preventive = bench.open(), bench.open(aim="preventive")
    with pytest.raises(InputError, match="Only a corrective action that is done"):
        bench.ask(corrective)
    bench.done(corrective)
    bench.done(preventive)
    for action, more, words in (
        (preventive, {}, "Only a corrective action that is done"),
        (corrective, {"station": "press"}, "has no station"),
        (corrective, {"from_on": "2026-04-29"}, "Last day: 2026-04-28 is before the first day"),
        (corrective, {"from_on": "2026-02-01", "until_on": "2026-03-02"}, "Last day: .* before today"),
    ):
        with pytest.raises(InputError, match=words):
            bench.ask(action, **more)
    assert isinstance(bench.ask(corrective), WatchQuestion)


@pytest.fixture
def floor(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        yield Floor(desk)


def numbers(floor, done_on):
    """Record an action as done on a day and give the numbers that are offered."""
    place, facts = floor.desk.place, floor.facts
    place.add(
        ActionDone, concern=facts.concern.concern, action=_opened(floor), done_on=done_on, evidence="fitted"
    )
    (now,) = actions_of(floor.facts, date(2026, 3, 20))
    return numbers_on_record(floor.facts, now)


def _opened(floor):
    return open_action(floor.desk.place, floor.facts, **{**SAID, "due_on": "2026-03-20"}).action


def test_numbers_are_offered_from_the_first_bad_station_and_say_where_they_come_from(floor):
    floor.walk()
    floor.lots()
    floor.desk.place.now.time += timedelta(days=9)
    floor.lot("28", checked=30, nok=1)

    found = numbers(floor, "2026-02-27")

    # 9 of 20 were made between the onset and the day it was done; 12 of 20 were checked on 3 March.
    assert found.before == PartsJudged(checked=20, nok=9)
    assert found.after == PartsJudged(checked=50, nok=13)
    assert found.source == "counted at Leak test; parts of 2026-02-26 against 2026-02-28 to 2026-03-03"
    assert found.notes == (
        "Parts made up to 2026-02-24, before it started, are left out.",
        "20 parts after: production day not recorded; counted by the day they were checked.",
    )


def test_good_parts_from_after_the_action_do_not_blur_when_the_defect_started(floor):
    floor.walk()
    floor.lots()
    floor.lot("28", checked=200, nok=0)

    found = numbers(floor, "2026-02-27")

    assert (found.before, found.after.checked) == (PartsJudged(checked=20, nok=9), 220)
    assert found.notes[0] == "Parts made up to 2026-02-24, before it started, are left out."


def test_with_parts_of_one_side_alone_only_that_side_is_offered(floor):
    floor.walk()

    found = numbers(floor, "2026-03-10")

    assert (found.before, found.after) == (PartsJudged(checked=20, nok=12), None)


def test_nothing_is_offered_where_no_part_or_no_first_bad_station_is_known(floor):
    assert numbers(floor, "2026-03-01") is None


def test_nothing_is_offered_before_the_action_is_done(floor):
    floor.walk()
    floor.lots()
    _opened(floor)

    (now,) = actions_of(floor.facts, date(2026, 3, 20))

    assert numbers_on_record(floor.facts, now) is None
