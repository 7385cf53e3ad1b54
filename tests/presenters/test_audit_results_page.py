"""The page of what audits say, without a window: what it shows, and where it leads."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone

import pytest

from tests.auditors import Auditor
from tests.fakes import Desk
from walkapp.actions.audits.telling import GO_AND_SEE
from walkapp.analysis.audits.completion import CENSUS
from walkapp.analysis.audits.conformity import INTERVAL_NOTE
from walkapp.presenters.audits.results import MOST_QUESTIONS, AuditPromptPage, AuditResultsPage
from walkapp.presenters.route import Route

NOW = datetime(2026, 3, 11, 12, 0, tzinfo=timezone(timedelta(hours=1)))
ROUTE = Route(screen="audit_results", stream="washer-reservoir")
PADS = "leak-test/pads"
HELD = {"reaction": "contained", "what": "parts held", "owner": "SL", "due_on": "2026-03-01"}


@pytest.fixture
def wednesday(tmp_path):
    made = Desk(tmp_path, starts=NOW)
    with made.store:
        yield made


def opened(desk, route=ROUTE):
    page = AuditResultsPage(desk.session, route)
    page.open()
    return page


def section(page, name):
    return next((one for one in page.state.sections if one.name == name), None)


def every_shift(auditor, first="2026-02-16", **more):
    """Let the shift leads do all their audits from a day on, in time; the pads are never as they should."""
    layer = auditor.plan.scheme.layer("shift-lead")
    slots = auditor.plan.calendar.slots(layer, datetime.fromisoformat(first).date(), NOW.date())
    slots = [one for one in slots if auditor.plan.calendar.opens_at(one, auditor.zone) < NOW]
    for slot in slots:
        auditor.audit(slot, nok=[PADS], **more)
    return slots


def test_the_sentence_that_matters_most_comes_first(wednesday):
    every_shift(Auditor(wednesday), "2026-03-09")

    state = opened(wednesday, Route(screen="audit_results", stream="washer-reservoir", number="4")).state

    assert (state.title, state.mark) == ("Audit results", "bad")
    assert state.subtitle == "Washer-fluid reservoir, 2026-02-12 to 2026-03-11"
    # By hand: 19 days with three shifts and the supervisor, four weeks and February were over.
    assert state.sentence == "6 of 81 audits of the last four weeks done in time, 75 missed."
    assert state.notes == (CENSUS, INTERVAL_NOTE)
    assert any(line.startswith("By the records here: ") for line in state.lines)


def test_before_any_audit_everything_is_missed_and_nothing_else_is_claimed(wednesday):
    state = opened(wednesday).state

    assert state.sentence.startswith("0 of ")
    assert [one.name for one in state.sections] == ["completion", "stations", "open"]
    assert state.sections[2].rows[0].title == "No finding is open"


def test_completion_and_stations_are_told_line_by_line(wednesday):
    slots = every_shift(Auditor(wednesday))

    page = opened(wednesday)

    lead = next(line for line in section(page, "completion").words.split("\n") if "Shift lead" in line)
    over = len(slots) - 1  # the shift of now is done and not over yet
    assert lead.startswith(f"• Shift lead: {over} of ")
    assert lead.endswith("; 1 not over yet")
    stations = section(page, "stations").words.split("\n")
    assert len(stations) == 6
    assert stations[-1] == "The first 5 of 7; 'walkapp audits' tells all."


def test_conformity_is_told_lowest_first_with_its_interval(wednesday):
    every_shift(Auditor(wednesday))

    lines = section(opened(wednesday), "conformity").words.split("\n")

    assert lines[0].startswith("OK of OK and NOK (share; 95 % interval). All: ")
    assert lines[1].startswith("• 0 of ")
    assert lines[1].endswith(": Leak test: Clamp pads undamaged, and the ones on the drawing?")
    assert "(0 %; 0 % to " in lines[1]
    assert len(lines) <= MOST_QUESTIONS + 2


def test_what_came_back_and_what_is_open_lead_to_the_findings_and_back(wednesday):
    every_shift(Auditor(wednesday), reactions={PADS: HELD})
    page = opened(wednesday)

    (row,) = section(page, "repeats").rows
    assert row.title == "Leak test: Clamp pads undamaged, and the ones on the drawing?"
    assert row.subtitle.startswith("NOK ") and "contained, overdue" in row.subtitle
    assert row.mark == "bad"

    page.row("repeats", row.id)
    went = wednesday.routes[-1]
    assert (went.screen, went.stream, went.number) == ("findings", "washer-reservoir", "")
    assert went.up().screen == "audit_results"

    (still,) = section(page, "open").rows
    assert still.mark == "bad" and "overdue" in still.title
    page.row("open", still.id)
    assert wednesday.routes[-1].screen == "findings"


def test_findings_that_were_put_right_are_no_alarm(wednesday):
    every_shift(Auditor(wednesday))

    page = opened(wednesday)

    assert section(page, "open").rows[0].mark == "clean"
    assert section(page, "repeats").rows[0].mark == "caution"


def test_other_weeks_can_be_chosen_and_are_kept_in_the_route(wednesday):
    page = opened(wednesday)
    assert [(one.name, one.tone) for one in page.state.buttons] == [
        ("4", "plain"),
        ("8", "strong"),
        ("26", "plain"),
    ]

    page.press("26")

    went = wednesday.routes[-1]
    assert (went.screen, went.stream, went.number) == ("audit_results", "washer-reservoir", "26")
    state = opened(wednesday, went).state
    assert "of the last half year done in time" in state.sentence
    assert [one.name for one in state.buttons if one.tone == "strong"] == ["26"]


def test_weeks_that_are_not_offered_count_as_none_chosen(wednesday):
    odd = Route(screen="audit_results", stream="washer-reservoir", number="-3")

    assert opened(wednesday, odd).state.subtitle == opened(wednesday).state.subtitle


def test_a_question_that_often_does_not_apply_is_told(wednesday):
    auditor = Auditor(wednesday)
    every_shift(auditor, not_applicable=["moulding/resin"])

    words = section(opened(wednesday), "not_applicable").words

    assert "Resin lot at the dryer" in words and words.count("N/A in ") == 1


def test_what_is_worth_going_to_see_is_told_as_a_prompt_and_by_shift_alone(wednesday):
    Auditor(wednesday).nights_without_looking(date(2026, 2, 2), date(2026, 3, 10))

    page = opened(wednesday)

    told = section(page, "prompts")
    assert told.words == GO_AND_SEE
    assert {row.title for row in told.rows} == {
        "Shift lead, night: Pace of the answers",
        "Shift lead, night: Never NOK where others find NOK",
    }
    assert "SL-NN" not in str(page.state)
    assert any(line.startswith("Worth going to see: ") for line in page.state.lines)

    row = told.rows[0]
    page.row("prompts", row.id)
    went = wednesday.routes[-1]
    assert (went.screen, went.up().screen) == ("audit_prompt", "audit_results")
    detail = AuditPromptPage(wednesday.session, went)
    detail.open()
    assert row.title == f"Shift lead, night: {detail.state.title}"
    assert detail.state.sentence == row.subtitle
    assert detail.state.lines == ("Where: Shift lead, night",)
    assert detail.state.notes == (GO_AND_SEE,)
    assert "What else may explain it: " in detail.state.sections[0].words


def test_layers_that_disagree_are_told_with_the_name_of_the_station(wednesday):
    auditor = Auditor(wednesday)
    every_shift(auditor, "2026-02-02")
    supervisor = auditor.plan.scheme.layer("supervisor")
    for slot in auditor.plan.calendar.slots(supervisor, date(2026, 2, 2), date(2026, 3, 10)):
        auditor.audit(slot)

    (row,) = section(opened(wednesday), "disagreements").rows

    assert row.title == "Leak test: Clamp pads undamaged, and the ones on the drawing?"


def test_a_prompt_that_stands_out_no_longer_is_said_so(wednesday):
    route = Route(screen="audit_prompt", stream="washer-reservoir", entry="pace: Shift lead, night")
    page = AuditPromptPage(wednesday.session, route)

    page.open()

    assert page.state.problem == "This stands out no longer; go back to the results."


def test_a_stream_that_is_not_here_is_said_in_a_sentence(wednesday):
    page = opened(wednesday, Route(screen="audit_results", stream="nowhere"))

    assert "'nowhere' is not in the checklists folder" in page.state.problem


def test_back_leads_to_todays_audits(wednesday):
    page = opened(wednesday)

    page.back()

    assert wednesday.routes[-1].screen == "audits"
