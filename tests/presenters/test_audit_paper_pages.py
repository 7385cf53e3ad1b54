"""The pages of the way over paper: write the page, type in what stands on it. All invented."""

from __future__ import annotations

import pytest

from tests.clipboards import Clipboard
from tests.fakes import Queue
from tests.paper.printed import pages_of
from walkapp.actions.audits.doing import answer_question, begin_audit, sign_audit
from walkapp.actions.audits.page import added_number, check_number
from walkapp.actions.audits.reading import audit_facts
from walkapp.model.records import AuditStart
from walkapp.presenters.audits.answers import AuditListPage
from walkapp.presenters.audits.begin import BeginAuditForm, MissedAuditForm
from walkapp.presenters.audits.paper import AuditPaperForm, AuditPrintPage
from walkapp.presenters.audits.todays import AuditsPage
from walkapp.presenters.route import Route

IN_PLAN = {"stream": "washer-reservoir", "layer": "supervisor", "day": "2026-03-09", "shift": ""}
PRINT = Route(screen="audit_print", **IN_PLAN)
TYPE_IN = Route(screen="audit_paper", through="audit_print", **IN_PLAN)


@pytest.fixture
def board(tmp_path):
    made = Clipboard(tmp_path)
    with made.desk.store:
        yield made


def opened(board, page_class, route, **filled):
    page = page_class(board.desk.session, route)
    page.open()
    for name, value in filled.items():
        page.fill(name, value)
    return page


def filled_in(board, **more):
    """Give what stands on the page of the supervisor's audit, as this tablet would print it now."""
    check = check_number(board.planned().slot, [one.ref for one in board.asked()])
    said = {"check": check, "paper_by": "SV-KL", "begun_at": "07:10", "signed_at": "07:25"}
    return {**said, **more}


# writing the page


def test_the_page_is_written_and_where_it_is_comes_with_its_pages_and_questions(board, tmp_path):
    page = opened(board, AuditPrintPage, PRINT)
    assert page.state.subtitle == "Supervisor: Monday 2026-03-09"

    page.press("write")

    path = tmp_path / "bundles" / "audit-washer-reservoir-supervisor-2026-03-09.pdf"
    assert page.state.saved == f"On disk: {path.name}, 2 pages, 6 questions."
    assert f"The PDF is written into {path.parent}." in page.state.lines
    assert len(pages_of(path.read_bytes())) == 2


def test_while_the_page_is_drawn_no_tap_waits_and_nothing_is_called_written(board):
    page = opened(board, AuditPrintPage, PRINT)
    board.desk.session.aside = waiting = Queue()

    page.press("write")

    assert page.state.saved == ""
    assert page.state.sentence == "Writing the page; the first time this takes some seconds."
    waiting.run()
    assert page.state.saved.startswith("On disk: ")
    assert page.state.sentence.startswith("Print the page")


def test_a_folder_that_cannot_be_made_is_told_and_nothing_is_called_written(board, tmp_path):
    (tmp_path / "bundles").write_text("in the way", encoding="utf-8")
    page = opened(board, AuditPrintPage, PRINT)

    page.press("write")

    assert "bundles: cannot be made" in page.state.problem
    assert page.state.saved == ""


def test_the_page_leads_to_typing_in_and_that_leads_back(board):
    opened(board, AuditPrintPage, PRINT).press("audit_paper")

    assert board.desk.routes == [TYPE_IN]
    assert TYPE_IN.up() == PRINT


def test_an_audit_that_is_begun_cannot_be_typed_in_any_more(board):
    begin_audit(board.place, board.stream, board.planned())

    page = opened(board, AuditPrintPage, PRINT)
    assert [button.is_off for button in page.state.buttons] == [False, True]
    assert "a page of it cannot be typed in any more" in page.state.notes[-1]

    form = opened(board, AuditPaperForm, TYPE_IN)
    assert form.state.problem == "This audit is begun or done already; open it from the list."


def test_an_audit_to_come_can_be_printed_and_not_typed_in_yet(board):
    page = opened(board, AuditPrintPage, Route(screen="audit_print", **{**IN_PLAN, "day": "2026-03-10"}))

    assert [button.is_off for button in page.state.buttons] == [False, True]


def test_the_way_over_paper_is_reached_from_audits_to_come_due_and_missed(board):
    opened(board, AuditsPage, Route(screen="audits")).row(
        "2 washer-reservoir", "shift-lead 2026-03-09 late"
    )
    opened(board, BeginAuditForm, Route(screen="audit_begin", **IN_PLAN)).other()
    board.at("2026-03-11T10:00:00+01:00")
    opened(board, MissedAuditForm, Route(screen="audit_missed", **IN_PLAN)).other()

    assert [route.screen for route in board.desk.routes] == ["audit_print"] * 3
    assert board.desk.routes[0].shift == "late"


# typing it in


def test_what_stands_on_the_page_begins_an_audit_that_is_marked_as_done_on_paper(board):
    filled = filled_in(board)
    board.at("2026-03-10T15:00:00+01:00")

    opened(board, AuditPaperForm, TYPE_IN, **filled).record()

    (start,) = [r for r in board.desk.records if isinstance(r, AuditStart)]
    assert (start.paper_by, start.by) == ("SV-KL", "QE-RT")
    assert (start.paper_from, start.paper_until) == (
        "2026-03-09T07:10:00+01:00",
        "2026-03-09T07:25:00+01:00",
    )
    (route,) = board.desk.routes
    assert route == Route(screen="audit", concern=start.concern, entry=start.id, **IN_PLAN)
    assert route.up().screen == "audits"


def test_the_days_of_an_audit_of_one_day_need_not_be_filled_in(board):
    page = opened(board, AuditPaperForm, TYPE_IN)

    values = {field.name: field.value for field in page.state.fields}
    assert (values["begun_on"], values["signed_on"], values["by"]) == ("2026-03-09", "2026-03-09", "QE-RT")


def test_the_days_of_an_audit_of_a_week_are_asked(board):
    week = {**IN_PLAN, "layer": "department-manager"}

    page = opened(board, AuditPaperForm, Route(screen="audit_paper", **week))

    values = {field.name: field.value for field in page.state.fields}
    assert (values["begun_on"], values["signed_on"]) == ("", "")


def test_the_form_says_at_once_whether_the_page_is_known(board):
    found = board.find_nok()
    filled = filled_in(board)

    page = opened(board, AuditPaperForm, TYPE_IN)
    page.fill("check", "12")
    assert hint_of(page) == "Six digits such as 614 926"
    page.fill("check", "000000")
    assert "it does not belong to these questions" in hint_of(page)
    page.fill("check", filled["check"])
    assert hint_of(page) == "The page is known: 7 questions, 1 of them beyond the plan."
    page.fill("numbers", added_number(found))
    assert hint_of(page) == "The page is known: 7 questions, 1 of them beyond the plan."


def hint_of(page) -> str:
    return next(field.hint for field in page.state.fields if field.name == "check")


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"check": ""}, "Still needed: Check number, at the top of the page."),
        ({"paper_by": ""}, "Still needed: Role and initials on the page."),
        ({"check": "000000"}, "Check number: it does not belong to these questions"),
        ({"begun_on": "Monday"}, "Begun on: 'Monday' is no date; write it such as 2026-03-09."),
        ({"signed_at": "06:59"}, "Signed: that is before it was begun"),
        ({"begun_at": "seven"}, "'seven' is no time of day"),
        ({"paper_by": "x" * 41}, "Role and initials on the page: "),
    ],
)
def test_what_is_missing_or_wrong_is_told_and_nothing_is_recorded(board, more, words):
    filled = filled_in(board, **more)
    board.at("2026-03-10T15:00:00+01:00")

    page = opened(board, AuditPaperForm, TYPE_IN, **filled)
    page.record()

    assert words in page.state.problem
    assert not [r for r in board.desk.records if isinstance(r, AuditStart)]
    assert board.desk.routes == []


def test_what_was_filled_in_is_kept_when_the_form_is_left(board):
    opened(board, AuditPaperForm, TYPE_IN, **filled_in(board)).back()

    values = {field.name: field.value for field in opened(board, AuditPaperForm, TYPE_IN).state.fields}

    assert values["paper_by"] == "SV-KL"


def test_the_signed_audit_says_that_it_was_done_on_paper_by_whom_and_who_typed_it_in(board):
    filled = filled_in(board)
    board.at("2026-03-10T15:00:00+01:00")
    opened(board, AuditPaperForm, TYPE_IN, **filled).record()
    (route,) = board.desk.routes
    facts = audit_facts(board.place, route.concern, route.entry)
    for one in facts.asked:
        answer_question(board.place, facts, one.ref, "ok")
    sign_audit(board.place, audit_facts(board.place, route.concern, route.entry))

    state = opened(
        board, AuditListPage, Route(screen="audit_list", concern=route.concern, entry=route.entry)
    ).state

    assert (
        state.subtitle == "Washer-fluid reservoir. Done on paper by SV-KL, typed in on 2026-03-10 by QE-RT."
    )
    assert state.sentence == "Done in time"
    assert any("by SV-KL" in line for line in state.lines)
    assert "Begun and signed as the paper says; nothing on a tablet can show that it was so." in state.lines


def test_a_page_that_has_lost_its_audit_says_so(board):
    page = opened(board, AuditPrintPage, Route(screen="audit_print", stream="washer-reservoir", day="x"))

    assert "go back and choose it once more" in page.state.problem
