"""The forms: what they ask, keep half-filled, refuse and record."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk
from walkapp.actions.reading import concern_facts
from walkapp.actions.workplace import NOBODY
from walkapp.model.records import (
    Answer,
    Concern,
    Escalation,
    Note,
    Sample,
    StationWeight,
    WalkStart,
)
from walkapp.presenters.concern_forms import (
    NewConcernForm,
    StartWalkForm,
    StationWeightForm,
)
from walkapp.presenters.escalation import EscalationForm
from walkapp.presenters.route import Route
from walkapp.presenters.walk_forms import NoteForm, ReasonForm, SampleForm

NEW = Route(screen="new_concern")
STREAM = "washer-reservoir"
LEAK = {"stream": STREAM, "defect": "leak", "severity": "function"}


def opened(form, desk, route, **filled):
    page = form(desk.session, route)
    page.open()
    for name, value in filled.items():
        page.fill(name, value)
    return page


def value_of(page, name):
    return next(field.value for field in page.state.fields if field.name == name)


def of_kind(desk, kind):
    return [r for r in desk.records if isinstance(r, kind)]


def test_a_half_filled_form_survives_a_new_presenter(desk):
    opened(NewConcernForm, desk, NEW, stream=STREAM, defect="leak", lots="0225-1")
    again = opened(NewConcernForm, desk, NEW)
    assert (value_of(again, "defect"), value_of(again, "lots")) == ("leak", "0225-1")


def test_a_half_filled_form_survives_a_restart(tmp_path):
    first = Desk(tmp_path)
    with first.store:
        opened(NewConcernForm, first, NEW, lots="0225-1")
        first.session.kept.keep_route(NEW)
    again = Desk(tmp_path, seed=1)
    with again.store:
        assert again.session.kept.route() == NEW
        assert value_of(opened(NewConcernForm, again, NEW), "lots") == "0225-1"


def test_a_recorded_form_starts_empty_the_next_time(desk):
    page = opened(NewConcernForm, desk, NEW, lots="0225-1", **LEAK)
    page.record()
    assert value_of(opened(NewConcernForm, desk, NEW), "lots") == ""


def test_missing_fields_are_named_and_nothing_is_written(desk):
    page = opened(NewConcernForm, desk, NEW, stream=STREAM)
    page.record()
    assert page.state.problem == ("Still needed: Defect, Severity class, What is wrong, in one sentence.")
    assert desk.records == []
    assert desk.routes == []


def test_choosing_the_defect_fills_in_its_words(desk):
    page = opened(NewConcernForm, desk, NEW, stream=STREAM, defect="leak")
    assert value_of(page, "what") == "Reservoir leaks"
    assert value_of(page, "how_to_judge").startswith("OK: no drop")


def test_a_defect_of_another_stream_does_not_stay_chosen(desk):
    page = opened(NewConcernForm, desk, NEW, **LEAK, what="Reservoir leaks")
    page.fill("stream", "pump-bracket")
    page.record()
    assert value_of(page, "defect") == ""
    assert page.state.problem == "Still needed: Defect."
    assert desk.records == []


def test_a_new_concern_leads_to_its_page(desk):
    page = opened(NewConcernForm, desk, NEW, quantity="35", **LEAK)
    page.record()
    (concern,) = of_kind(desk, Concern)
    assert (concern.defect, concern.quantity) == ("leak", 35)
    assert desk.routes == [Route(screen="concern", concern=concern.concern)]


@pytest.mark.parametrize(
    "low, high, shares", [("", "", ("", "")), ("20", "60", ("0.2", "0.6")), ("5", "", ("0.05", ""))]
)
def test_the_affected_share_is_asked_in_percent_and_narrows_the_computation(desk, low, high, shares):
    page = opened(NewConcernForm, desk, NEW, share_low=low, share_high=high, **LEAK)
    page.record()

    (concern,) = of_kind(desk, Concern)
    assert (concern.share_low, concern.share_high) == shares
    taken = concern_facts(desk.place, concern.concern).locate().assumptions
    assert (taken.share_low, taken.share_high) == (float(shares[0] or 0), float(shares[1] or 1))


@pytest.mark.parametrize("low, high", [("60", "20"), ("", "101"), ("101", "")])
def test_a_share_out_of_order_or_range_is_refused(desk, low, high):
    page = opened(NewConcernForm, desk, NEW, share_low=low, share_high=high, **LEAK)
    page.record()

    assert page.state.problem.startswith("Affected parts expected: ")
    assert desk.records == []


@pytest.mark.parametrize(
    "name, value, label",
    [
        ("share_low", "a fifth", "Affected parts expected (%): "),
        ("reported_on", "3.3.2026", "Reported on: "),
        ("quantity", "-2", "Parts reported by the customer: "),
        ("quantity", "many", "Parts reported by the customer: "),
        ("what", "x" * 201, "What is wrong, in one sentence: "),
    ],
)
def test_a_value_that_is_not_allowed_is_named_by_its_label(desk, name, value, label):
    page = opened(NewConcernForm, desk, NEW, **LEAK, **{name: value})
    page.record()
    assert page.state.problem.startswith(label)
    assert page.state.problem.endswith(".")
    assert value_of(page, name) == value
    assert desk.records == []


def test_a_walk_needs_role_and_initials_and_remembers_them(tmp_path):
    desk = Desk(tmp_path, by=NOBODY)
    with desk.store:
        route = Route(screen="start_walk", concern=desk.concern())
        page = opened(StartWalkForm, desk, route)
        assert page.state.cautions
        page.record()
        assert page.state.problem == "Still needed: Your role and initials."
        assert of_kind(desk, WalkStart) == []

        page.fill("by", "QE-AB")
        page.record()

        (walk,) = of_kind(desk, WalkStart)
        assert (walk.by, walk.direction) == ("QE-AB", "guided")
        assert desk.store.place()["by"] == "QE-AB"
        assert value_of(opened(StartWalkForm, desk, route), "by") == "QE-AB"


@pytest.mark.parametrize(
    "direction, first", [("guided", "leak-test"), ("down", "moulding"), ("up", "dock")]
)
def test_a_walk_begins_at_the_end_that_its_direction_says(desk, direction, first):
    concern = desk.concern()
    page = opened(StartWalkForm, desk, Route(screen="start_walk", concern=concern), direction=direction)
    page.record()
    (walk,) = of_kind(desk, WalkStart)
    assert desk.routes == [Route(screen="station", concern=concern, walk=walk.id, station=first)]


def test_who_was_told_is_recorded_with_the_time(desk):
    concern = desk.concern(severity="safety")
    page = opened(EscalationForm, desk, Route(screen="escalation", concern=concern), told="quality lead")
    page.record()
    (escalation,) = of_kind(desk, Escalation)
    assert (escalation.told, escalation.told_at[:10]) == ("quality lead", "2026-03-03")
    assert desk.routes == [Route(screen="concern", concern=concern)]


def test_not_applicable_needs_a_reason(desk):
    route = replace(desk.walk(), screen="reason", check="ear-look")
    page = opened(ReasonForm, desk, route)
    page.record()
    assert page.state.problem.startswith("Still needed: ")
    assert of_kind(desk, Answer) == []


@pytest.mark.parametrize(
    "filled, reason",
    [
        ({"common": "no parts here"}, "no parts here"),
        ({"reason": "rack is blocked"}, "rack is blocked"),
        ({"common": "no parts here", "reason": "rack is blocked"}, "rack is blocked"),
    ],
)
def test_the_reason_is_recorded_and_leads_back_to_the_station(desk, filled, reason):
    station = desk.walk()
    page = opened(ReasonForm, desk, replace(station, screen="reason", check="ear-look"), **filled)
    page.record()
    (answer,) = of_kind(desk, Answer)
    assert (answer.answer, answer.reason, answer.check) == ("not_applicable", reason, "ear-look")
    assert desk.routes == [station]


def test_a_note_is_recorded_at_its_station(desk):
    station = desk.walk()
    opened(NoteForm, desk, replace(station, screen="note"), words="  Rack is gone ").record()
    assert [(r.station, r.words) for r in of_kind(desk, Note)] == [("moulding", "Rack is gone")]
    assert desk.routes == [station]


def test_undo_on_a_form_takes_back_the_newest_entry_and_keeps_what_was_filled_in(desk):
    station = desk.walk()
    opened(NoteForm, desk, replace(station, screen="note"), words="Rack is gone").record()
    page = opened(NoteForm, desk, replace(station, screen="note"), words="Rack is b")
    assert page.state.frame.undo == "note at Moulding"

    page.undo()

    assert (page.state.frame.undo, value_of(page, "words")) == ("", "Rack is b")
    assert [r.kind for r in desk.records][-1] == "withdrawal"
    page.undo()
    assert page.state.problem == "There is nothing to undo in this walk."


def test_drafts_of_two_stations_do_not_mix(desk):
    here = replace(desk.walk(), screen="note")
    opened(NoteForm, desk, here, words="here")
    assert value_of(opened(NoteForm, desk, replace(here, station="dock")), "words") == ""
    assert value_of(opened(NoteForm, desk, here), "words") == "here"


def test_the_lot_form_shows_the_lot_and_refuses_an_empty_one(desk):
    route = replace(desk.walk(), screen="sample")
    page = opened(SampleForm, desk, route)
    page.record()
    assert "missing" in page.state.problem
    page.fill("lot", "0303-1")
    page.record()
    assert [r.lot for r in of_kind(desk, Sample)] == ["0303-1"]
    assert value_of(opened(SampleForm, desk, route), "lot") == "0303-1"


def test_today_and_yesterday_are_offered_as_dates(desk):
    page = opened(SampleForm, desk, replace(desk.walk(), screen="sample"))
    made_on = next(f for f in page.state.fields if f.name == "made_on")
    assert made_on.options == (("2026-03-03", "today"), ("2026-03-02", "yesterday"))


def test_a_suspicion_is_recorded_with_its_reason(desk):
    concern = desk.concern()
    route = Route(screen="weight", concern=concern)
    page = opened(StationWeightForm, desk, route, station="welding", weight="3", reason="new hot plate")
    page.record()

    (said,) = of_kind(desk, StationWeight)
    assert (said.station, said.weight, said.reason) == ("welding", "3", "new hot plate")
    assert desk.routes == [Route(screen="answer", concern=concern)]
