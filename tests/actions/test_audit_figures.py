"""What audits say: a small plan counted by hand, from the records on disk to words and JSON."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.auditors import Auditor, checklists_of_2020, merged
from tests.fakes import Desk
from walkapp.actions.audits.figures import (
    Span,
    audit_figures,
    choose_span,
    choose_streams,
    last_weeks,
)
from walkapp.actions.audits.figures_json import figures_to_json
from walkapp.actions.audits.summary import audit_summary_lines, recorded_streams
from walkapp.actions.audits.telling import GO_AND_SEE, completion_notes, figures_lines, headline
from walkapp.errors import InputError
from walkapp.model.ids import book_id
from walkapp.model.records import AuditAnswer, AuditSigned, AuditStart, Withdrawal

NOON = datetime(2026, 3, 11, 12, 0, tzinfo=timezone(timedelta(hours=1)))
"""A Wednesday."""

DAYS = Span(first=date(2026, 3, 9), last=date(2026, 3, 10))
HELD = {"reaction": "contained", "what": "parts held", "owner": "SL", "due_on": "2026-03-10"}
ASKED = {"reaction": "escalated", "what": "told maintenance", "owner": "MT", "due_on": "2026-03-20"}


@pytest.fixture
def wednesday(tmp_path):
    made = Desk(tmp_path, starts=NOON)
    with made.store:
        yield made


def two_days(auditor):
    """Monday and Tuesday: ten audits are due, each ends otherwise."""
    slot = auditor.slot
    hours = timedelta(hours=1)
    monday_late, monday_night = (
        slot("shift-lead", "2026-03-09", "late"),
        slot("shift-lead", "2026-03-09", "night"),
    )
    auditor.audit(slot("shift-lead", "2026-03-09", "early"))
    auditor.audit(monday_late, begun=auditor.plan.calendar.due_at(monday_late, auditor.zone) - hours / 30)
    auditor.audit(monday_night, begun=auditor.plan.calendar.due_at(monday_night, auditor.zone) + 4 * hours)
    auditor.miss(slot("shift-lead", "2026-03-10", "early"))
    # Nothing is said of Tuesday's late shift.
    auditor.audit(slot("shift-lead", "2026-03-10", "night"), answers=3, is_signed=False)
    auditor.audit(slot("supervisor", "2026-03-09"), on_paper=True)
    auditor.audit(slot("supervisor", "2026-03-10"), is_signed=True)
    auditor.audit(slot("department-manager", "2026-03-09"))


def told_of(desk, span=DAYS):
    return audit_figures(desk.place, desk.place.stream("washer-reservoir"), span)


# completion


def test_two_days_are_counted_as_by_hand(wednesday):
    two_days(Auditor(wednesday))

    found = told_of(wednesday)

    counted = found.completion.all
    # Due: six of the shift leads, two of the supervisor, the week and the month.
    assert counted.due == 10
    # The first shift, both of the supervisor, and the week, which is not over yet.
    assert (counted.in_time, counted.over_in_time) == (4, 3)
    assert (counted.late, counted.made_up) == (1, 1)
    assert (counted.missed, counted.missed_with_reason, counted.not_finished) == (2, 1, 0)
    # Tuesday's night was begun and may still be signed; the month may still be begun.
    assert counted.open == 2
    assert counted.over == 8
    assert counted.on_paper == 1
    assert found.without_signature == 1
    assert headline(counted, found.span) == (
        "3 of 8 audits of these days done in time, 1 late, 1 made up later, 2 missed, 1 still to be signed"
    )
    assert list(completion_notes(found))[:2] == [
        "Time not over yet: 2 more audits, 1 of them done.",
        "A reason is recorded for 1 of 2 missed.",
    ]


def test_layers_shifts_and_weeks_are_counted_as_by_hand(wednesday):
    two_days(Auditor(wednesday))

    found = told_of(wednesday).completion

    assert {layer: (one.due, one.done) for layer, one in found.by_layer.items()} == {
        "shift-lead": (6, 3),
        "supervisor": (2, 2),
        "department-manager": (1, 1),
        "plant-manager": (1, 0),
    }
    assert {shift: (one.due, one.done) for shift, one in found.by_shift.items()} == {
        "": (4, 3),
        "early": (2, 1),
        "late": (2, 1),
        "night": (2, 1),
    }
    # The month is counted in the week in which it ends.
    assert {week: one.due for week, one in found.by_week.items()} == {"2026-W11": 9, "2026-W14": 1}


def test_stations_are_counted_as_by_hand(wednesday):
    two_days(Auditor(wednesday))

    found = {one.station: one for one in told_of(wednesday).completion.by_station}

    # The plan visits the leak test in six of the ten, the week and the month among them.
    leak_test = found["leak-test"]
    assert (leak_test.planned.due, leak_test.planned.done, leak_test.planned.open) == (6, 4, 2)
    assert leak_test.visits == 4
    moulding = found["moulding"]
    assert (moulding.planned.due, moulding.planned.late, moulding.planned.missed) == (3, 1, 1)
    assert moulding.last_on == date(2026, 3, 10)
    assert found["pump-assembly"].planned.done == found["pump-assembly"].visits == 0
    assert found["pump-assembly"].last_on is None


def test_without_any_record_everything_whose_time_is_over_is_missed(wednesday):
    found = told_of(wednesday)

    assert (found.completion.all.over, found.completion.all.missed) == (8, 8)
    assert found.conformity.all.answers == found.findings.found == 0
    assert found.findings.share_corrected is found.repeats.share is found.conformity.all.share is None


def test_what_is_to_come_is_not_due(wednesday):
    found = told_of(wednesday, Span(first=date(2026, 3, 12), last=date(2026, 3, 13)))

    # Of these days only the week and the month have begun.
    assert (found.completion.all.due, found.completion.all.open, found.completion.all.over) == (2, 2, 0)
    assert headline(found.completion.all, found.span) == (
        "No audit of these days is over yet; 2 due, 0 of them done"
    )


def test_before_the_calendar_begins_nothing_is_due(wednesday):
    found = told_of(wednesday, Span(first=date(2026, 1, 5), last=date(2026, 1, 9)))

    assert headline(found.completion.all, found.span) == "No audit of these days was due yet"
    assert [line for line in figures_lines(found) if "Completion" in line] == []


def test_an_audit_that_two_tablets_did_counts_once_by_the_better_one(wednesday):
    auditor = Auditor(wednesday)
    slot = auditor.slot("shift-lead", "2026-03-09", "early")
    due = auditor.plan.calendar.due_at(slot, auditor.zone)
    auditor.audit(slot, begun=due + timedelta(hours=2))
    auditor.audit(slot)

    found = told_of(wednesday)

    assert (found.completion.all.in_time, found.completion.all.made_up, found.done_twice) == (1, 0, 1)
    # Both looked, and both looks count.
    assert found.conformity.all.ok == 12


def test_an_audit_that_the_plan_does_not_have_is_told_and_not_counted_as_done(wednesday):
    auditor = Auditor(wednesday)
    # A week begins on Monday, this one on Tuesday.
    auditor.audit(replace(auditor.slot("department-manager", "2026-03-09"), day=date(2026, 3, 10)))

    found = told_of(wednesday)

    assert (found.completion.by_layer["department-manager"].done, found.beyond_plan) == (0, 1)
    assert found.conformity.by_layer["department-manager"].ok == 7
    assert "Outside the plan as it is now, so not counted as done: 1 audit." in figures_lines(found)


def test_an_audit_begun_before_the_days_whose_period_reaches_into_them_counts(wednesday):
    auditor = Auditor(wednesday)
    auditor.audit(auditor.slot("plant-manager", "2026-03-01"), begun=NOON - timedelta(days=7))

    found = told_of(wednesday)

    assert found.completion.by_layer["plant-manager"].in_time == 1
    assert found.conformity.by_layer["plant-manager"].ok == 9


THREE_DAYS = 3 * 24 * 60
"""Minutes in which a shift lead's audit can be made up; begun later it stays missed."""


@settings(max_examples=8)
@given(st.lists(st.integers(-12 * 60, 4 * 24 * 60), min_size=1, max_size=6))
def test_an_audit_that_was_made_up_never_counts_as_in_time(tmp_path_factory, minutes):
    desk = Desk(tmp_path_factory.mktemp("desk"), starts=NOON + timedelta(days=9))
    with desk.store:
        auditor = Auditor(desk)
        shifts = [
            (day, shift) for day in ("2026-03-09", "2026-03-10") for shift in ("early", "late", "night")
        ]
        in_time = 0
        for after, (day, shift) in zip(minutes, shifts, strict=False):
            slot = auditor.slot("shift-lead", day, shift)
            due = auditor.plan.calendar.due_at(slot, auditor.zone)
            auditor.audit(slot, begun=due + timedelta(minutes=after))
            in_time += after + 7 < 0

        counted = told_of(desk).completion.by_layer["shift-lead"]

        made_up = sum(0 <= after < THREE_DAYS for after in minutes)
        assert (counted.made_up, counted.in_time) == (made_up, in_time)
        too_late = sum(after >= THREE_DAYS for after in minutes)
        assert counted.late == len(minutes) - made_up - in_time - too_late
        assert counted.over == 6 and counted.over_in_time == in_time


# findings


def test_findings_and_what_was_done_about_them_are_those_on_disk(wednesday):
    auditor = Auditor(wednesday)
    slot = auditor.slot("shift-lead", "2026-03-09", "early")
    refs = [f"{station}/{question}" for station, question, _ in auditor.asked(slot)]
    reactions = {refs[1]: HELD, refs[2]: ASKED, refs[3]: ASKED, refs[4]: {}}
    start = auditor.audit(slot, nok=refs[:5], reactions=reactions, not_applicable=refs[5:])
    answers = {r.ref: r for r in wednesday.records if r.kind == "audit_answer"}
    auditor.close(start, answers[refs[3]].id, "2026-03-10")

    found = told_of(wednesday)

    assert (found.findings.found, found.conformity.all.nok) == (5, 5)
    assert (found.findings.corrected, found.findings.contained, found.findings.escalated) == (1, 1, 2)
    assert (found.findings.no_reaction, found.findings.closed_later, found.findings.open) == (1, 1, 3)
    assert (found.ageing.open, found.ageing.overdue, found.ageing.no_reaction) == (3, 1, 1)
    assert (found.ageing.by_age, found.ageing.longest_days) == ((3, 0, 0), 2)


def test_open_findings_are_told_however_old_they_are(tmp_path):
    desk = Desk(tmp_path, starts=NOON + timedelta(days=100))
    with desk.store:
        auditor = Auditor(desk)
        slot = auditor.slot("shift-lead", "2026-03-09", "early")
        ref = "/".join(auditor.asked(slot)[0][:2])
        auditor.audit(slot, nok=[ref], reactions={ref: HELD})

        found = told_of(desk, last_weeks(desk.place, auditor.stream, 4))

        assert found.findings.found == 0
        assert (found.ageing.open, found.ageing.by_age, found.ageing.longest_days) == (1, (0, 0, 1), 102)
        assert "Whenever found: 1 finding open: 1 for over 30 days; 1 overdue." in figures_lines(found)


def test_what_came_back_is_told_with_days_and_reactions(wednesday):
    auditor = Auditor(wednesday)
    pads = "leak-test/pads"
    first, second, *_ = (slot for slot in _slots(auditor) if pads in _refs(auditor, slot))
    auditor.audit(first, nok=[pads], reactions={pads: ASKED})
    auditor.audit(second, nok=[pads])

    found = told_of(wednesday, Span(first=date(2026, 1, 26), last=date(2026, 3, 10)))

    assert (found.repeats.findings, found.repeats.repeats, found.repeats.share) == (2, 1, 0.5)
    lines = [line.strip() for line in figures_lines(found)]
    at = lines.index("Leak test: Clamp pads undamaged, and the ones on the drawing?")
    assert lines[at + 1 : at + 3] == [
        f"{first.day}, Shift lead, {first.shift}: escalated, open",
        f"{second.day}, Shift lead, {second.shift}: corrected on the spot",
    ]


def _slots(auditor):
    layer = auditor.plan.scheme.layer("shift-lead")
    return auditor.plan.calendar.slots(layer, date(2026, 2, 2), date(2026, 3, 10))


def _refs(auditor, slot):
    return [f"{station}/{question}" for station, question, _ in auditor.asked(slot)]


# tablets


@settings(max_examples=5)
@given(st.randoms(use_true_random=False))
def test_merging_two_tablets_in_any_order_gives_the_same_figures(tmp_path_factory, chance):
    folder = tmp_path_factory.mktemp("desks")
    desks = [Desk(folder / name, starts=NOON, seed=seed) for seed, name in enumerate("abcd")]
    first, second, one_way, other_way = desks
    for desk in (first, second):
        auditor = Auditor(desk)
        for slot in auditor.plan.calendar.slots(
            auditor.plan.scheme.layer("shift-lead"), DAYS.first, DAYS.last
        ):
            if chance.random() < 0.7:
                refs = _refs(auditor, slot)
                nok = [ref for ref in refs if chance.random() < 0.3]
                auditor.audit(
                    slot, nok=nok, is_signed=chance.random() < 0.7, reactions=dict.fromkeys(nok, HELD)
                )
            elif chance.random() < 0.5:
                auditor.miss(slot)

    merged(one_way, first, second)
    merged(other_way, second, first)

    told = [json.dumps(figures_to_json(told_of(desk))) for desk in (one_way, other_way)]
    assert told[0] == told[1]
    assert list(figures_lines(told_of(one_way))) == list(figures_lines(told_of(other_way)))
    for desk in desks:
        desk.store.close()


# prompts


@pytest.mark.parametrize("tells_persons", [False, True])
def test_who_answers_without_looking_is_told_by_shift_and_by_person_only_where_agreed(
    tmp_path, tells_persons
):
    folder = checklists_of_2020(tmp_path / "checklists", tells_persons=tells_persons)
    desk = Desk(tmp_path, starts=NOON.replace(year=2020))
    desk.place.checklists = folder
    with desk.store:
        auditor = Auditor(desk)
        days = date(2020, 1, 27), date(2020, 3, 10)
        auditor.nights_without_looking(*days)

        found = told_of(desk, Span(first=days[0], last=days[1]))

    groups = {prompt.where for prompt in found.prompts}
    said = json.dumps(figures_to_json(found))
    assert any("night" in where for where in groups) is not tells_persons
    assert ("SL-NN" in said) is tells_persons
    assert any(GO_AND_SEE in line for line in figures_lines(found))


# records from elsewhere


def hostile(desk, day, at, **more):
    """An audit as no tablet of ours would record it, with one NOK."""
    auditor = Auditor(desk)
    book = {"concern": book_id("washer-reservoir", date(2026, 3, 9)), "at": at, "by": "SL-AB"}
    said = {"stream": "washer-reservoir", "checklist": auditor.digest, "layer": "gone", "day": day, **more}
    start = desk.place.add(AuditStart, **book, **said)
    asked = {"audit": start.id, "station": "nowhere", "question": "q", "asked": "Sharp?\n0 of 9 OK"}
    desk.place.add(AuditAnswer, **book, **asked, answer="not_ok")
    desk.place.add(AuditSigned, **book, audit=start.id, ok=0, nok=9, not_applicable=0)
    return start


@pytest.mark.parametrize("at", ["0001-01-01T00:00:00.000+14:00", "9999-12-31T23:59:59.999-12:00"])
@pytest.mark.parametrize("day", ["0001-01-01", "2026-03-09", "9999-12-31"])
def test_an_audit_of_any_day_and_of_a_layer_that_is_gone_does_no_harm(wednesday, day, at):
    hostile(wednesday, day, at)

    found = told_of(wednesday)

    is_here = int(day == "2026-03-09")
    assert (found.beyond_plan, found.findings.found, found.conformity.all.nok) == (is_here,) * 3
    assert found.completion.all.done == 0
    assert found.ageing.open == found.ageing.no_reaction == 1
    assert set(found.completion.by_layer) == {
        "shift-lead",
        "supervisor",
        "department-manager",
        "plant-manager",
    }
    json.dumps(figures_to_json(found))
    # A text from elsewhere cannot pass for a line of its own.
    assert [line for line in figures_lines(found) if line.startswith("0 of 9")] == []
    assert any("nowhere: Sharp? 0 of 9 OK" in line for line in figures_lines(found)) == bool(is_here)


def test_answers_whose_audit_is_not_here_count_nowhere(wednesday):
    start = hostile(wednesday, "2026-03-09", NOON.isoformat())
    wednesday.place.add(Withdrawal, concern=start.concern, replaces=(start.id,), why="undone")

    found = told_of(wednesday)

    assert found.conformity.all.answers == found.findings.found == found.ageing.open == 0


# days and streams


def test_eight_weeks_up_to_today_are_told_when_nothing_else_is_said(wednesday):
    stream = wednesday.place.stream("washer-reservoir")

    span = choose_span(wednesday.place, stream)

    assert (span.first, span.last, span.weeks) == (date(2026, 1, 15), date(2026, 3, 11), 8)
    assert span == last_weeks(wednesday.place, stream, 8)
    assert choose_span(wednesday.place, stream, last=date(2026, 3, 10)).weeks is None
    assert choose_span(wednesday.place, stream, first=date(2026, 2, 12)).weeks == 4


def test_before_the_first_shift_begins_the_day_is_still_the_one_before(tmp_path):
    desk = Desk(tmp_path, starts=NOON.replace(hour=4))
    with desk.store:
        span = choose_span(desk.place, desk.place.stream("washer-reservoir"))

    assert span.last == date(2026, 3, 10)


def test_days_out_of_order_or_too_many_are_refused(wednesday):
    stream = wednesday.place.stream("washer-reservoir")

    with pytest.raises(InputError, match="The days end on 2026-03-11, before they begin on 2026-03-12"):
        choose_span(wednesday.place, stream, first=date(2026, 3, 12))
    with pytest.raises(InputError, match="ten years at most"):
        choose_span(wednesday.place, stream, first=date.min, last=date.max)


@pytest.mark.parametrize("day", [date.min, date.max])
def test_days_at_the_ends_of_time_are_told_without_a_stumble(wednesday, day):
    stream = wednesday.place.stream("washer-reservoir")

    found = audit_figures(wednesday.place, stream, choose_span(wednesday.place, stream, last=day))

    assert found.completion.all.due == 0


def test_streams_with_audits_are_chosen_and_others_refused(wednesday, tmp_path):
    assert {one.id for one in choose_streams(wednesday.place)} >= {"washer-reservoir"}
    assert [one.id for one in choose_streams(wednesday.place, "washer-reservoir")] == ["washer-reservoir"]
    with pytest.raises(InputError, match="'nowhere' is not in the checklists folder"):
        choose_streams(wednesday.place, "nowhere")

    without = checklists_of_2020(tmp_path / "without", has_audits=False)
    bare = replace(wednesday.place, checklists=without)
    with pytest.raises(InputError, match="No value stream of the checklists folder has audits"):
        choose_streams(bare)
    with pytest.raises(InputError, match="has no audits; add audits"):
        choose_streams(bare, "washer-reservoir")


# the summary


def test_the_summary_has_a_line_for_each_stream_with_an_audit(wednesday):
    assert list(audit_summary_lines(wednesday.place)) == []

    two_days(Auditor(wednesday))

    (line,) = audit_summary_lines(wednesday.place)
    assert line.startswith("Audits of Washer-fluid reservoir, by the records here: 3 of ")
    assert line.endswith("1 still to be signed. No finding is open.")
    assert "audits of the last four weeks done in time" in line


def test_without_a_folder_the_summary_takes_the_checklist_of_the_newest_audit(wednesday):
    two_days(Auditor(wednesday))
    bare = replace(wednesday.place, checklists=None)

    assert list(audit_summary_lines(bare)) == list(audit_summary_lines(wednesday.place))
    assert [one.id for one in recorded_streams(bare)] == ["washer-reservoir"]


# JSON


def shape(value):
    """Give the names of JSON values, lists by their first entry."""
    if isinstance(value, dict):
        return {name: shape(one) for name, one in value.items()}
    if isinstance(value, list):
        return [shape(value[0])] if value else []
    return None


def test_json_has_the_same_names_with_and_without_records(wednesday):
    empty = figures_to_json(told_of(wednesday))
    auditor = Auditor(wednesday)
    two_days(auditor)
    full = figures_to_json(told_of(wednesday))

    assert set(empty) == set(full)
    for name in ("completion", "findings", "open_findings", "repeats"):
        assert set(empty[name]) == set(full[name])
    assert shape(empty["completion"]) == shape(full["completion"])
    assert set(empty["conformity"]["all"]) == set(full["conformity"]["all"])
    assert json.loads(json.dumps(full)) == full


def test_json_says_what_the_figures_say(wednesday):
    two_days(Auditor(wednesday))

    said = figures_to_json(told_of(wednesday))

    assert (said["stream"], said["from"], said["to"]) == ("washer-reservoir", "2026-03-09", "2026-03-10")
    assert said["completion"]["all"]["share_in_time"] == 3 / 8
    assert [one["layer_name"] for one in said["completion"]["by_layer"]] == [
        "Shift lead",
        "Supervisor",
        "Department manager",
        "Plant manager",
    ]
    questions = said["conformity"]["by_question"]
    assert all(one["share"] == 1.0 and 0 < one["low95"] < one["high95"] == 1.0 for one in questions)
    assert sum(one["ok"] for one in questions) == said["conformity"]["all"]["ok"] == 40
