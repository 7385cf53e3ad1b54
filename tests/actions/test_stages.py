"""The stages of a concern follow from its records alone, and go when what showed them no longer holds."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.floors import Floor
from walkapp.actions.acting import action_facts
from walkapp.actions.action_records import check_effect, open_action, say_done
from walkapp.actions.confirmations import confirmation_called
from walkapp.actions.containing import (
    record_clean_point,
    record_escape,
    record_range,
    record_sorting,
    record_stock,
)
from walkapp.actions.read_across import read_across_of, record_read_across
from walkapp.actions.stages import stage_lines, stages_of, stages_to_json
from walkapp.actions.switching import count_turn, open_confirmation
from walkapp.actions.undoing import take_back
from walkapp.analysis.stages import CONTAINED, FIXED, FOUND, PROVED, READ_ACROSS, STAGES, VERIFIED
from walkapp.model.records import EffectCheck, Escape


@pytest.fixture
def floor(desk):
    return Floor(desk)


def reached(floor):
    """Names of the stages that the records show."""
    facts = floor.facts
    return [s.name for s in stages_of(floor.desk.place, facts) if s.is_reached]


def later(floor, days):
    floor.desk.place.now.time += timedelta(days=days)


def contain(floor):
    place = floor.desk.place
    record_range(place, floor.facts, quantity=100, made_from="2026-02-20", made_to="2026-03-03")
    stock = record_stock(place, floor.facts, kind="stores", quantity=100).stock
    said = {"checked": 100, "nok": 30, "released": 70, "scrapped": 30}
    record_sorting(place, floor.facts, stock, sorted_on="2026-03-03", **said)
    record_clean_point(place, floor.facts, lot="0304-1", checked=300, approved_by="quality manager")


def prove(floor):
    said = {"what": "Clamp pads", "on": "hard", "off": "soft", "response": "nok", "station": "leak-test"}
    one = open_confirmation(floor.desk.place, floor.facts, **said).id
    for number, nok in enumerate((9, 0, 8, 0, 9, 0), start=1):
        count_turn(floor.desk.place, confirmation_called(floor.facts, one), number, 10, nok)


def open_fix(floor):
    said = {"aim": "corrective", "what": "Soft pads", "owner": "PE-KL", "due_on": "2026-03-06"}
    return open_action(floor.desk.place, floor.facts, **said).action


def now(floor, action):
    return action_facts(floor.desk.place, floor.route.concern, action)


def say_fixed(floor, action):
    place = floor.desk.place
    say_done(place, floor.facts, now(floor, action), done_on="2026-03-03", evidence="Pads measured")


def verify(floor, action, after_nok=0):
    counts = {"before_checked": 40, "before_nok": 20, "after_checked": 400, "after_nok": after_nok}
    day = floor.desk.place.now.time.date().isoformat()
    check_effect(floor.desk.place, floor.facts, now(floor, action), checked_on=day, **counts)


def spread(floor, status):
    for one in read_across_of(floor.desk.place, floor.facts).candidates:
        said = {"status": status, "words": "Looked at it"}
        record_read_across(floor.desk.place, floor.facts, one.stream, one.station, **said)


def test_a_new_concern_has_reached_nothing_and_says_what_is_missing(floor):
    stages = stages_of(floor.desk.place, floor.facts)

    assert [stage.name for stage in stages] == list(STAGES)
    assert not any(stage.is_reached or stage.is_begun for stage in stages)
    assert all(stage.why.endswith(".") for stage in stages)
    assert stage_lines(stages)[0] == (
        "How far it is: Nothing is shown yet. Next: contain the suspect parts."
    )


def test_each_stage_is_reached_by_its_own_records_in_any_order(floor):
    floor.walk()
    assert reached(floor) == [FOUND]
    later(floor, 1)
    prove(floor)
    assert reached(floor) == [FOUND, PROVED]
    fix = open_fix(floor)
    assert reached(floor) == [FOUND, PROVED]
    say_fixed(floor, fix)
    assert reached(floor) == [FOUND, PROVED, FIXED]
    verify(floor, fix)
    assert reached(floor) == [FOUND, PROVED, FIXED, VERIFIED]
    spread(floor, "affected")
    assert READ_ACROSS not in reached(floor)
    spread(floor, "fixed")
    contain(floor)
    assert reached(floor) == [CONTAINED, FOUND, PROVED, FIXED, VERIFIED, READ_ACROSS]


def test_a_stage_goes_again_when_what_showed_it_no_longer_holds(floor):
    later(floor, 1)
    fix = open_fix(floor)
    say_fixed(floor, fix)
    verify(floor, fix)
    assert reached(floor) == [FIXED, VERIFIED]

    take_back(floor.desk.place, floor.route.concern, (EffectCheck,))
    assert reached(floor) == [FIXED]

    verify(floor, fix)
    other = open_fix(floor)
    assert reached(floor) == []
    say_fixed(floor, other)
    assert reached(floor) == [FIXED]


def test_bad_parts_made_after_the_fix_take_verified_away(floor):
    later(floor, 3)
    fix = open_fix(floor)
    say_fixed(floor, fix)
    verify(floor, fix)
    before = {"found_on": "2026-03-05", "where": "dock", "quantity": 1}

    record_escape(floor.desk.place, floor.facts, made_on="2026-03-03", **before)
    assert VERIFIED in reached(floor)
    record_escape(floor.desk.place, floor.facts, made_on="2026-03-04", **before)
    assert VERIFIED not in reached(floor)
    facts = floor.facts
    said = stages_to_json(stages_of(floor.desk.place, facts))
    assert said[VERIFIED] == {
        "reached": False,
        "why": "Bad parts made on 2026-03-04, after the fix, were found on 2026-03-05: dock.",
    }

    take_back(floor.desk.place, floor.route.concern, (Escape,))
    assert VERIFIED in reached(floor)


def test_without_a_checklist_the_origin_is_not_found_and_nothing_breaks(floor):
    floor.walk()
    stages = stages_of(floor.desk.place, replace(floor.facts, stream=None))

    (found,) = [stage for stage in stages if stage.name == FOUND]
    assert not found.is_reached and "checklist" in found.why
