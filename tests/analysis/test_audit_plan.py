"""The plan follows from checklist and date alone, leaves nothing out, and keeps its past."""

from __future__ import annotations

import os
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.plans import (
    BEGINS,
    calendar,
    days_of_change,
    layer,
    question,
    slots_of,
    some_streams,
    stream_of,
    told,
    with_scheme,
)
from walkapp.analysis.audits.plan import AuditPlan, Promise
from walkapp.checklists import load_streams

READY_MADE = Path(__file__).parents[2] / "checklists"
NUMBERS = [f"q{number}" for number in range(6)]


def all_told(plan, days=120):
    return {slot: told(plan, slot) for one in plan.scheme.layers for slot in slots_of(plan, one, days)}


def lines_of(plan, days):
    """What follows each other: the audits of each layer, or of each shift of it."""
    for one in plan.scheme.layers:
        slots = slots_of(plan, one, days)
        for shift in plan.calendar.shifts_of(one):
            yield one, [slot for slot in slots if slot.shift == shift]


def come_in(plan, slot):
    """Stations and questions of an audit, as promises name them."""
    for visit in plan.visits(slot):
        yield visit.station.id, ""
        for asked in visit.questions:
            yield visit.station.id, asked.id


# What is promised


@settings(max_examples=25)
@given(some_streams(dated=False))
def test_every_station_and_question_comes_within_what_is_promised(stream):
    plan = AuditPlan(stream)

    for one, slots in lines_of(plan, 1500 if stream.audits.layers[0].every == "month" else 400):
        asked = {(q.station, q.id) for q in stream.audits.questions if q.is_for(one.id)}
        if not slots:
            continue
        promises = {(p.station, p.question): p.audits for p in plan.promises(slots[0])}
        assert set(promises) == asked | {(station, "") for station, _ in asked}
        waited = dict.fromkeys(promises, 0)
        for slot in slots:
            came = set(come_in(plan, slot))
            waited = {what: 0 if what in came else many + 1 for what, many in waited.items()}
            assert all(waited[what] < promises[what] for what in promises)


@settings(max_examples=25)
@given(some_streams(dated=True))
def test_an_audit_visits_as_many_stations_and_asks_as_much_as_its_layer_says(stream):
    plan = AuditPlan(stream)

    for one, slots in lines_of(plan, 120):
        for slot in slots:
            listed = [q for q in stream.audits.questions if q.is_asked_by(one.id, slot.first_on)]
            at = Counter(q.station for q in listed)
            visits = plan.visits(slot)
            assert len(visits) == min(one.stations, len(at))
            assert len({visit.station.id for visit in visits}) == len(visits)
            for visit in visits:
                assert len(visit.questions) == min(one.questions, at[visit.station.id])
                assert set(visit.questions) <= set(listed)


@settings(max_examples=25)
@given(some_streams(dated=True))
def test_while_lists_change_no_station_waits_longer_than_the_bound(stream):
    plan = AuditPlan(stream)

    for one, slots in lines_of(plan, 250):
        # The bound of Rota with the greatest promise and all stations that are ever listed.
        bound: Counter[str] = Counter()
        for slot in slots:
            for promise in plan.promises(slot):
                if not promise.question:
                    bound[promise.station] = max(bound[promise.station], promise.audits)
        many = -(-len(bound) // min(one.stations, len(bound))) if bound else 0
        waited: Counter[str] = Counter()
        for slot in slots:
            came = {visit.station.id for visit in plan.visits(slot)}
            for station in bound:
                listed = any(
                    q.station == station and q.is_asked_by(one.id, slot.first_on)
                    for q in stream.audits.questions
                )
                waited[station] = waited[station] + 1 if listed and station not in came else 0
                assert waited[station] < bound[station] + 2 * many - 2 or not waited[station]


def test_every_shift_sees_every_station():
    questions = [question(f"s{n}", "q") for n in range(1, 8)]
    plan = AuditPlan(stream_of(questions, [layer("shift", stations=2)]))

    slots = slots_of(plan, plan.scheme.layers[0], 6)

    assert len(slots) == 15
    for shift in ("early", "late", "night"):
        mine = [slot for slot in slots if slot.shift == shift][:4]
        assert {station for slot in mine for station, _ in told(plan, slot)} == {
            f"s{n}" for n in range(1, 8)
        }


def test_the_shifts_of_one_day_see_different_stations():
    questions = [question(f"s{n}", "q") for n in range(1, 7)]
    plan = AuditPlan(stream_of(questions, [layer("shift", stations=2)]))

    today = plan.calendar.slots(plan.scheme.layers[0], BEGINS, BEGINS)

    assert len({station for slot in today for station, _ in told(plan, slot)}) == 6


def test_a_station_and_a_question_that_are_marked_come_more_often_and_starve_nothing():
    questions = [question("a", n, often=4 if n == "q0" else 1) for n in NUMBERS] + [question("b", "q")]
    one = layer("day", stations=1, questions=1)
    plan = AuditPlan(stream_of(questions, [one], station_often=(("b", 2),)))

    came = Counter(what for slot in slots_of(plan, one, 365) for what in come_in(plan, slot))

    assert abs(came["b", ""] - 2 * came["a", ""]) <= 3
    assert came["a", "q0"] > 3.5 * came["a", "q1"]
    assert {came["a", name] for name in NUMBERS[1:]} <= {
        came["a", "q1"] - 1,
        came["a", "q1"],
        came["a", "q1"] + 1,
    }


def test_a_promise_for_a_question_is_that_of_its_station_times_its_own():
    questions = [question("a", n) for n in NUMBERS] + [question("b", "q"), question("c", "q")]
    one = layer("day", stations=2, questions=4)
    plan = AuditPlan(stream_of(questions, [one]))

    found = plan.promises(slots_of(plan, one)[0])

    assert found[:2] == (
        Promise(station="a", question="", audits=2),
        Promise(station="a", question="q0", audits=4),
    )
    assert found[-1] == Promise(station="c", question="q", audits=2)


# A function of checklist and date alone


@settings(max_examples=25)
@given(some_streams(dated=True), st.randoms(use_true_random=False))
def test_the_plan_is_the_same_whatever_was_asked_before(stream, chance):
    slots = list(all_told(AuditPlan(stream), 100).items())
    expected = dict(slots)
    chance.shuffle(slots)
    asked_in_disorder = AuditPlan(stream)

    for slot, _ in slots:
        one = stream.audits.layer(slot.layer)
        found = asked_in_disorder.calendar.slot(one, slot.day, slot.shift)
        assert found == slot
        assert told(asked_in_disorder, found) == expected[slot]


@settings(max_examples=25)
@given(some_streams(dated=True), st.randoms(use_true_random=False))
def test_the_order_of_the_questions_in_the_file_does_not_matter(stream, chance):
    mixed = list(stream.audits.questions)
    chance.shuffle(mixed)
    other = AuditPlan(with_scheme(stream, questions=tuple(mixed)))

    for slot, asked in all_told(AuditPlan(stream), 60).items():
        expected = [(station, sorted(questions)) for station, questions in asked]
        assert [(station, sorted(questions)) for station, questions in told(other, slot)] == expected


@pytest.mark.parametrize("seed", ["0", "1", "4242"])
def test_another_process_with_another_hash_seed_arrives_at_the_same_plan(seed):
    script = (
        "from pathlib import Path\n"
        "from tests.analysis.test_audit_plan import digest_of_plan\n"
        "print(digest_of_plan())\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(READY_MADE.parent)},
        cwd=READY_MADE.parent,
        capture_output=True,
        text=True,
        check=True,
    )

    assert done.stdout.strip() == digest_of_plan()


def digest_of_plan():
    import hashlib

    stream = next(s for s in load_streams(READY_MADE) if s.id == "washer-reservoir")
    plan = AuditPlan(stream)
    lines = [f"{slot.key} {asked}" for slot, asked in all_told(plan, 150).items()]
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()


# What lies before a change stays


def assert_same_before(day, before, after):
    old, new = all_told(AuditPlan(before)), all_told(AuditPlan(after))
    kept = {slot.key: asked for slot, asked in old.items() if slot.first_on < day}
    assert kept == {slot.key: asked for slot, asked in new.items() if slot.first_on < day}


@settings(max_examples=25)
@given(some_streams(dated=True), days_of_change, st.integers(1, 6), st.sampled_from((1, 2, 4)))
def test_a_new_question_changes_no_audit_whose_period_began_before_it(stream, day, station, often):
    new = question(f"s{station}", "new", since=day, often=often)
    more = stream_of(
        [*stream.audits.questions, new], stream.audits.layers, stations=[f"s{n}" for n in range(1, 7)]
    )
    less = replace(more, audits=stream.audits)

    assert_same_before(day, less, with_scheme(less, questions=more.audits.questions))


@settings(max_examples=25)
@given(some_streams(dated=True), days_of_change, st.data())
def test_the_end_of_a_question_changes_no_audit_whose_period_began_before_it(stream, day, data):
    questions = list(stream.audits.questions)
    place = data.draw(st.integers(0, len(questions) - 1))
    ended = questions[place]
    if (ended.since and ended.since >= day) or (ended.until and ended.until < day):
        return
    questions[place] = replace(ended, until=day - timedelta(days=1))

    assert_same_before(day, stream, with_scheme(stream, questions=tuple(questions)))


@settings(max_examples=20)
@given(some_streams(dated=True), days_of_change)
def test_a_new_layer_changes_no_audit_of_the_others(stream, day):
    new = layer("day", id="new", since=day, stations=3)
    more = with_scheme(stream, layers=(new, *stream.audits.layers))

    old, with_new = all_told(AuditPlan(stream)), all_told(AuditPlan(more))
    assert {slot: asked for slot, asked in with_new.items() if slot.layer != "new"} == old
    assert all(slot.first_on >= day for slot in with_new if slot.layer == "new")


@settings(max_examples=20)
@given(some_streams(dated=True), days_of_change)
def test_a_holiday_that_is_entered_ahead_changes_no_audit_that_is_over_before_it(stream, day):
    on = stream.audits.calendar
    if day in on.extra_days:
        return
    more = with_scheme(stream, calendar=replace(on, holidays=on.holidays | {day}))
    old, new = all_told(AuditPlan(stream)), all_told(AuditPlan(more))

    over = {slot: asked for slot, asked in old.items() if slot.last_on < day}
    assert over.items() <= new.items()
    # The one whose period it cuts keeps its place, stations and questions too.
    assert_same_before(day, stream, more)


def test_a_question_whose_day_lies_within_a_week_is_asked_from_the_next_week_on():
    wednesday = BEGINS + timedelta(days=2)
    one = layer("week", questions=5)
    plan = AuditPlan(stream_of([question("a", "old"), question("a", "new", since=wednesday)], [one]))

    first, second = slots_of(plan, one)[:2]

    assert told(plan, first) == (("a", ("old",)),)
    assert told(plan, second) == (("a", ("old", "new")),)


def test_when_all_else_came_a_new_question_is_asked_at_the_next_visit_and_a_new_station_visited_first():
    day = BEGINS + timedelta(days=28)
    old = [question(f"s{n}", name) for n in range(1, 5) for name in NUMBERS[:3]]
    one = layer("day", stations=1, questions=1)
    new = [question("s2", "new", since=day), question("s9", "first", since=day)]
    plan = AuditPlan(stream_of([*old, *new], [one]))

    after = [told(plan, slot) for slot in slots_of(plan, one) if slot.first_on >= day]

    assert after[0] == (("s9", ("first",)),)
    assert next(asked for asked in after if asked[0][0] == "s2") == (("s2", ("new",)),)
    assert {asked[0][0] for asked in after[:5]} == {"s1", "s2", "s3", "s4", "s9"}


def test_questions_that_change_at_every_visit_leave_none_out_that_is_marked_less():
    # Three special questions fill the visit of a manager, and the list is mended before each visit.
    special = [question("a", f"special-{n}", often=2) for n in range(3)]
    plain = [question("a", f"plain-{n}") for n in range(3)]
    passing = [
        question("a", f"passing-{n}", since=date(2026, 1 + n, 1), until=date(2026, 1 + n, 28))
        for n in range(12)
    ]
    one = layer("month", questions=3)
    plan = AuditPlan(stream_of([*special, *plain, *passing], [one]))

    asked = Counter(
        q.id for slot in slots_of(plan, one, 360) for v in plan.visits(slot) for q in v.questions
    )

    assert min(asked[q.id] for q in plain) >= 2


def test_a_station_whose_last_question_ends_is_visited_no_more_and_comes_back_with_its_next():
    ends, again = BEGINS + timedelta(days=10), BEGINS + timedelta(days=40)
    questions = [
        question("a", "q"),
        question("b", "first", until=ends),
        question("b", "second", since=again),
    ]
    one = layer("day")
    plan = AuditPlan(stream_of(questions, [one]))

    visited = {slot.first_on: told(plan, slot)[0][0] for slot in slots_of(plan, one, 60)}

    assert {station for day, station in visited.items() if ends < day < again} == {"a"}
    assert {station for day, station in visited.items() if day <= ends} == {"a", "b"}
    assert visited[min(day for day in visited if day >= again)] == "b"


def test_a_layer_without_a_question_yet_visits_nothing_and_promises_nothing():
    one = layer("day")
    plan = AuditPlan(stream_of([question("a", "q", since=BEGINS + timedelta(days=30))], [one]))

    slot = slots_of(plan, one)[0]

    assert (plan.visits(slot), plan.promises(slot)) == ((), ())


def test_a_slot_of_a_layer_that_is_gone_is_a_mistake_of_the_caller():
    plan = AuditPlan(stream_of([question("a", "q")], [layer("day")]))
    slot = replace(slots_of(plan, plan.scheme.layers[0])[0], layer="gone")

    with pytest.raises(ValueError, match="no layer 'gone'"):
        plan.visits(slot)


def test_an_early_audit_is_not_slowed_by_what_changes_in_centuries():
    far = [question("a", f"q{n}", since=date(2100, 1, 1) + timedelta(days=n)) for n in range(300)]
    plan = AuditPlan(stream_of([question("a", "q"), *far], [layer("day")], on=calendar()))

    slot = slots_of(plan, plan.scheme.layers[0], 3)[0]

    assert told(plan, slot) == (("a", ("q",)),)
    # The calendar was read as far as this takes, not to the year 2100.
    assert plan.calendar.count_before(plan.scheme.layers[0], "", BEGINS) == 0
    assert len(plan.calendar._line(plan.scheme.layers[0], "")._slots) < 10


def test_the_plan_of_the_last_year_is_whole():
    one = layer("week", stations=2)
    on = calendar(begins=date(2199, 12, 2))
    plan = AuditPlan(stream_of([question(f"s{n}", "q") for n in range(5)], [one], on=on))

    slots = plan.calendar.slots(one, date(1, 1, 1), date(9999, 12, 31))

    assert slots[0].first_on == date(2199, 12, 2)
    assert slots[-1].last_on == date(2260, 1, 13)
    assert len(plan.visits(slots[-1])) == 2
