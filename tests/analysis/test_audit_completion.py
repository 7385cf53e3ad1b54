"""Completion is plain counting of the plan: every audit once, shares only of what is over."""

from __future__ import annotations

from dataclasses import fields
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.analysis.audits import DAY, LAYERS, STATIONS, done, done_audits, due, due_audits, given_to
from walkapp.analysis.audits.completion import OUTCOMES, Completion, completion_results, iso_week


def counted(audits, done_ones=()):
    return completion_results(audits, done_ones, LAYERS, STATIONS)


def test_every_outcome_is_counted_once_and_shares_are_of_what_is_over():
    plan = [
        due("in_time"),
        due("in_time", is_over=False),
        due("late"),
        due("made_up"),
        due("missed", has_reason=True),
        due("missed"),
        due("not_finished"),
        due("open"),
        due("open", is_over=True),  # begun, and its time ran out before it was signed
    ]

    found = counted(plan).all

    assert (found.due, found.in_time, found.late, found.made_up) == (9, 2, 1, 1)
    assert (found.missed, found.missed_with_reason, found.not_finished, found.open) == (2, 1, 1, 2)
    assert (found.over, found.over_in_time, found.done, found.over_done) == (7, 1, 4, 3)
    assert found.share_in_time == pytest.approx(1 / 7)


def test_a_share_of_nothing_is_not_known():
    assert counted([]).all.share_in_time is None
    assert counted([due("open"), due("in_time", is_over=False)]).all.share_in_time is None


def test_paper_is_told_of_what_was_done_alone():
    plan = [due("late", is_paper=True), due("in_time"), due("not_finished", is_paper=True)]

    assert counted(plan).all.on_paper == 1


def test_layers_come_from_the_floor_upwards_and_those_that_are_gone_last():
    plan = [due(layer=layer) for layer in ("gone", "supervisor", "shift-lead")]

    assert list(counted(plan).by_layer) == ["shift-lead", "supervisor", "gone"]


@pytest.mark.parametrize(
    ("day", "week"),
    [
        # Examples of ISO week dates as encyclopaedias print them (from memory); Python agrees.
        (date(2005, 1, 1), "2004-W53"),
        (date(2006, 1, 1), "2005-W52"),
        (date(2007, 12, 31), "2008-W01"),
        (date(2010, 1, 3), "2009-W53"),
        # Python documentation, datetime.date.isocalendar.
        (date(2003, 12, 29), "2004-W01"),
        (date(2004, 1, 4), "2004-W01"),
        (date.min, "0001-W01"),
        (date.max, "9999-W52"),
    ],
)
def test_weeks_are_those_of_the_standard_at_the_turn_of_the_year(day, week):
    assert iso_week(day) == week


def test_an_audit_is_counted_in_the_week_in_which_its_period_ends():
    month = due(layer="plant-manager", shift="", last_on=date(2026, 3, 31))

    assert list(counted([month, due(last_on=DAY)]).by_week) == ["2026-W11", "2026-W14"]


def test_a_station_is_visited_when_a_signed_audit_has_an_answer_there():
    plan = [
        due(stations=("moulding", "packing"), visited=("moulding",)),
        due("missed", stations=("moulding",)),
        due("open", stations=("packing",)),
    ]
    answered = [
        done(given_to("moulding/blade"), given_to("moulding/guard"), day=DAY),
        done(given_to("packing/label"), is_signed=False),
    ]

    moulding, packing = counted(plan, answered).by_station

    assert (moulding.station, moulding.planned.due, moulding.planned.done) == ("moulding", 2, 1)
    assert (moulding.planned.missed, moulding.visits, moulding.last_on) == (1, 1, DAY)
    assert (packing.planned.not_finished, packing.planned.open) == (1, 1)
    assert (packing.visits, packing.last_on) == (0, None)


def test_a_station_that_only_an_audit_outside_the_plan_visited_is_told():
    (found,) = counted([], [done(given_to("packing/label"), day=DAY)]).by_station

    assert (found.station, found.planned.due, found.visits) == ("packing", 0, 1)


@given(due_audits(), done_audits())
def test_the_parts_add_up_to_the_whole(plan, answered):
    found = counted(plan, answered)

    assert found.all.due == len(plan) == sum(getattr(found.all, outcome) for outcome in OUTCOMES)
    for parts in (found.by_layer, found.by_shift, found.by_week):
        for field in fields(Completion):
            whole = sum(getattr(part, field.name) for part in parts.values())
            assert whole == getattr(found.all, field.name)
    assert sum(one.planned.due for one in found.by_station) == sum(len(one.stations) for one in plan)


@given(due_audits(), done_audits(), st.randoms(use_true_random=False))
def test_the_order_of_the_audits_changes_nothing(plan, answered, chance):
    shuffled = chance.sample(plan, len(plan)), chance.sample(answered, len(answered))

    assert counted(*shuffled) == counted(plan, answered)
    assert list(counted(*shuffled).by_week) == sorted(counted(plan).by_week)


@given(due_audits())
def test_what_was_not_done_in_time_never_counts_as_in_time(plan):
    found = counted(plan).all

    assert found.over_in_time <= sum(one.outcome == "in_time" for one in plan)
    assert found.in_time == sum(one.outcome == "in_time" for one in plan)
    assert found.late + found.made_up + found.missed + found.not_finished <= found.over
