"""The pages of actions: what is overdue rises, each page leads on, and undo takes the newest entry back."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.fakes import Desk
from tests.floors import Floor
from walkapp.actions.acting import action_facts
from walkapp.actions.action_records import ask_for_a_while, check_effect, open_action, say_done
from walkapp.actions.reading import concern_facts
from walkapp.model.records import Action, ActionDone, DatedCount, EffectCheck, Photo, WatchQuestion
from walkapp.presenters.action import ActionPage
from walkapp.presenters.action_forms import (
    ActionDoneForm,
    CorrectActionForm,
    NewActionForm,
    WatchQuestionForm,
    proposed_question,
)
from walkapp.presenters.actions import MOST_ROWS, ActionsPage
from walkapp.presenters.concern import ConcernPage
from walkapp.presenters.effect_form import EffectCheckForm
from walkapp.presenters.home import HomePage
from walkapp.presenters.route import Route

SAID = {"aim": "corrective", "what": "Fit the soft clamp pads", "owner": "ME-KL", "due_on": "2026-03-06"}
COUNTS = {"before_checked": 60, "before_nok": 12, "after_checked": 60, "after_nok": 0}
WATCH = {
    "station": "leak-test",
    "question": "Soft pads?",
    "from_on": "2026-03-03",
    "until_on": "2026-04-28",
}


class Office:
    """A desk with one concern; today is 3 March."""

    def __init__(self, desk, concern):
        self.desk, self.concern = desk, concern

    @property
    def facts(self):
        return concern_facts(self.desk.place, self.concern)

    def open(self, **more):
        return open_action(self.desk.place, self.facts, **{**SAID, **more}).action

    def now(self, action):
        return action_facts(self.desk.place, self.concern, action)

    def done(self, action, day="2026-03-03"):
        return say_done(self.desk.place, self.facts, self.now(action), done_on=day, evidence="Pads fitted")

    def page(self, page_class, screen="actions", entry="", **filled):
        page = page_class(self.desk.session, Route(screen=screen, concern=self.concern, entry=entry))
        page.open()
        for name, value in filled.items():
            page.fill(name, value)
        return page

    def of(self, kind):
        return [r for r in self.facts.standing.current if isinstance(r, kind)]

    def later(self, days):
        self.desk.place.now.time += timedelta(days=days)


@pytest.fixture
def office(desk):
    return Office(desk, desk.concern(reported_on="2026-02-26"))


def field(page, name):
    return next(one for one in page.state.fields if one.name == name)


def home(office):
    page = HomePage(office.desk.session, Route())
    page.open()
    return page


# the list, the concern and home


def test_without_actions_the_list_says_what_an_action_needs(office):
    state = office.page(ActionsPage).state

    assert state.sentence == "No action yet. Say what is to be done, by whom and until when."
    assert (state.sections, [button.name for button in state.buttons]) == ((), ["new_action"])


def test_what_is_overdue_stands_on_top_with_shape_and_word(office):
    to_come, late = office.open(due_on="2026-03-05"), office.open(due_on="2026-03-01")
    closed = office.open(aim="containment", what="Stop the dock")
    office.done(closed)

    state = office.page(ActionsPage).state

    assert (state.mark, state.sentence) == ("bad", "1 of 3 actions overdue.")
    assert [(s.title, [(r.id, r.mark, r.subtitle) for r in s.rows]) for s in state.sections] == [
        ("Overdue", [(late, "bad", "Overdue by 2 days, corrective, ME-KL")]),
        ("To do", [(to_come, "not_visited", "Open, due in 2 days, corrective, ME-KL")]),
        ("Closed", [(closed, "clean", "Done on 2026-03-03, containment, ME-KL")]),
    ]


def test_as_days_pass_the_action_rises_on_every_page_without_a_record(office):
    action = office.open()
    assert home(office).state.overdue == ()

    office.later(days=10)

    assert office.page(ActionsPage).state.sections[0].title == "Overdue"
    assert office.page(ActionPage, "action", action).state.sentence == "Overdue by 7 days"
    (row,) = [row for row in office.page(ConcernPage, "concern").state.parts if row.id == "actions"]
    assert (row.mark, row.subtitle) == (
        "bad", "1 of 1 action overdue: Fit the soft clamp pads, overdue by 7 days",
    )  # fmt: skip
    page = home(office)
    (row,) = page.state.overdue
    assert (row.title, row.mark) == ("1 action overdue, longest: Fit the soft clamp pads", "bad")
    assert row.subtitle == "ME-KL, overdue by 7 days. Cracked mounting ears (invented)"
    page.to_overdue(row.id)
    assert office.desk.routes == [Route(screen="actions", concern=office.concern)]


def test_home_counts_over_all_concerns_and_leads_to_the_worst(office):
    other = Office(office.desk, office.desk.concern(what="Leaks"))
    office.open(due_on="2026-03-02")
    other.open(due_on="2026-03-02")
    other.open(due_on="2026-02-01", what="Sort the dock")

    (row,) = home(office).state.overdue

    assert (row.id, row.title) == (other.concern, "3 actions overdue, longest: Sort the dock")
    assert row.subtitle == "ME-KL, overdue by 30 days. Leaks; 1 other concern too"


def test_very_many_actions_are_cut_and_the_cut_is_said(office):
    for _ in range(MOST_ROWS + 3):
        office.open()

    state = office.page(ActionsPage).state

    assert sum(len(section.rows) for section in state.sections) == MOST_ROWS
    assert state.notes == ("3 more actions: 'walkapp summary' tells all of them.",)


def test_the_list_leads_to_an_action_and_its_undo_takes_the_newest_entry_back(office):
    action = office.open()
    page = office.page(ActionsPage)
    assert (page.state.can_undo, page.state.undo) == (True, "an action")

    page.row("to-do", action)
    page.press("new_action")
    page.undo()

    here = Route(screen="actions", concern=office.concern)
    assert office.desk.routes == [
        replace(here, screen="action", entry=action), replace(here, screen="new_action"),
    ]  # fmt: skip
    assert (page.state.saved, page.state.sections, office.of(Action)) == ("Taken back", (), [])


# one action


def test_the_page_of_an_action_says_everything_of_it_and_offers_what_comes_next(office):
    action = office.open(
        station="leak-test", at_most="0.05", criterion="no white ear", check_on="2026-03-09"
    )
    state = office.page(ActionPage, "action", action).state
    assert (state.title, state.subtitle) == ("Fit the soft clamp pads", "Corrective action, ME-KL")
    assert (state.sentence, state.mark) == ("Open, due in 3 days", "not_visited")
    assert state.lines == (
        "Due 2026-03-06",
        "At Leak test",
        "Effective when: no white ear; at most 5 % NOK; to be checked on 2026-03-09",
    )
    assert [section.words for section in state.sections] == [
        "Check at least 59 parts made after it: none NOK shows at most 5 % (95 % confidence)."
    ]
    assert [(b.name, b.tone) for b in state.buttons] == [
        ("evidence", "plain"), ("correct_action", "plain"), ("action_done", "strong"),
    ]  # fmt: skip

    office.done(action)
    state = office.page(ActionPage, "action", action).state

    assert (state.sentence, state.undo) == ("Done, effect check due in 6 days", "done")
    assert [b.name for b in state.buttons] == [
        "evidence", "correct_action", "watch_question", "effect_check",
    ]  # fmt: skip
    shows = state.sections[1].rows[0]
    assert (shows.title, shows.subtitle) == ("Done on 2026-03-03, QE-RT", "Pads fitted")


def test_an_effective_action_says_so_and_leads_to_the_question_for_the_audits(office):
    action = office.open(at_most="0.05")
    office.done(action)
    said = {"checked_on": "2026-03-03", "source": "lot 7", **COUNTS}
    check_effect(office.desk.place, office.facts, office.now(action), **said)

    state = office.page(ActionPage, "action", action).state

    assert (state.sentence, state.mark) == ("Effective", "clean")
    (row,) = state.sections[0].rows
    assert row.title == ("2026-03-03: Effective: fewer NOK than before, and at most 5 % is shown.")
    assert row.subtitle.splitlines()[0] == "Before 12 of 60 NOK (20.0 %); after 0 of 60 NOK (0.0 %)."
    assert row.subtitle.splitlines()[-1] == "Lot 7."
    assert [b.name for b in state.buttons if b.tone == "strong"] == ["watch_question"]

    ask_for_a_while(office.desk.place, office.facts, office.now(action), **WATCH)
    state = office.page(ActionPage, "action", action).state

    assert state.sections[-1].title == "Asked by layered audits"
    assert state.sections[-1].rows[0].subtitle == "Leak test, 2026-03-03 to 2026-04-28"
    assert [b.name for b in state.buttons if b.tone == "strong"] == []


def test_a_moved_due_date_pictures_and_doubts_are_said(office):
    change = Floor(office.desk).change("Harder pads", day=24)
    other = Office(office.desk, change.concern)
    action = other.open(change=change.id)
    form = other.page(CorrectActionForm, "correct_action", action, due_on="2026-03-20", why="pads are late")
    form.record()
    other.desk.place.add(
        Photo,
        concern=other.concern,
        about=action,
        sha256="a" * 64,
        media="image/png",
        size_bytes=1,
        width_px=1,
        height_px=1,
    )
    for number in ("2026-03-03", "2026-03-30"):
        other.desk.place.add(
            ActionDone, concern=other.concern, action=action, done_on=number, evidence="fitted"
        )

    state = other.page(ActionPage, "action", action).state

    assert state.lines == (
        "Due 2026-03-20: due date moved once, first 2026-03-06", "Mends the change: Harder pads",
    )  # fmt: skip
    assert state.cautions == (
        "Recorded as done on 2026-03-03 and 2026-03-30; the last day counts.",
        "The day on which it was done, 2026-03-30, is still to come; correct it.",
    )
    assert [row.title for row in state.sections[0].rows][-1] == "1 picture"
    assert state.sections[0].rows[-1].id == "evidence"


def test_after_undo_of_the_action_itself_the_page_says_that_it_is_gone(office):
    page = office.page(ActionPage, "action", office.open())

    page.undo()

    assert (page.state.sentence, page.state.saved) == (
        "This action is not here: it was taken back, or its bundle is still to be merged.", "Taken back",
    )  # fmt: skip
    assert page.state.buttons == ()


def test_undo_on_the_page_of_an_action_leaves_the_others_alone(office):
    first = office.open()
    office.done(first)
    other = office.open(what="Cooling rack back")
    page = office.page(ActionPage, "action", first)

    page.undo()

    assert [one.action for one in office.of(Action)] == [first, other]
    assert (office.of(ActionDone), page.state.undo) == ([], "an action")


def test_a_long_text_is_cut_in_the_title_and_whole_below(office):
    words = "Fit soft pads " * 20
    state = office.page(ActionPage, "action", office.open(what=words)).state

    assert state.title.endswith(" …") and len(state.title) <= 90
    assert state.lines[0] == words.strip()


# forms


NEW = {"aim": "corrective", "what": "Soft pads", "owner": "ME-KL", "due_on": "2026-03-06"}


def test_a_new_action_is_recorded_and_its_page_opens(office):
    page = office.page(
        NewActionForm, "new_action", **NEW, station="leak-test", at_most="0,5", check_on="2026-03-13"
    )
    page.record()

    (action,) = office.of(Action)
    assert (action.aim, action.what, action.owner, action.due_on) == tuple(NEW.values())
    assert (action.station, action.at_most, action.check_on) == ("leak-test", "0.005", "2026-03-13")
    assert office.desk.routes == [Route(screen="action", concern=office.concern, entry=action.action)]


def test_days_and_roles_used_before_are_offered(office):
    office.open(owner="PE-NB")
    office.open(owner="SL-MB")
    office.open(owner="PE-NB")
    page = office.page(NewActionForm, "new_action", due_on="2026-03-06")

    assert [word for word, _ in field(page, "owner").options] == ["PE-NB", "SL-MB", "QE-RT"]
    assert field(page, "due_on").options == (
        ("2026-03-03", "today"),
        ("2026-03-04", "tomorrow"),
        ("2026-03-06", "+3 days"),
        ("2026-03-10", "+1 week"),
        ("2026-03-17", "+2 weeks"),
    )
    offered = [word for word, _ in field(page, "check_on").options]
    assert offered == ["2026-03-13", "2026-03-20", "2026-04-03"]


def test_the_form_says_how_many_parts_the_criterion_needs_before_anybody_checks(office):
    page = office.page(NewActionForm, "new_action", at_most="1")
    assert field(page, "at_most").hint.startswith("Check at least 299 parts made after it")

    page.fill("at_most", "none")
    assert field(page, "at_most").hint == ""


@pytest.mark.parametrize(
    ("filled", "problem"),
    [
        ({"owner": ""}, "Still needed: Who sees to it."),
        ({"due_on": "6.3."}, "Until when: must be a date such as"),
        ({"due_on": "9999-12-31", "check_on": "soon"}, "Effect check on: must be a date such as"),
        ({"at_most": "100"}, "Effective when at most so many % are NOK: must be a number below 100"),
        ({"at_most": "one"}, "Effective when at most so many % are NOK: must be a number below 100"),
        ({"at_most": "0"}, "Greatest share NOK afterwards: no number of parts can show 0 %"),
        ({"what": "x" * 401}, "What is to be done: has 401 characters"),
        ({"check_on": "2026-03-05"}, "Effect check on: 2026-03-05 is before the day it is due"),
    ],
)
def test_a_new_action_that_cannot_be_is_refused_and_nothing_typed_is_lost(office, filled, problem):
    page = office.page(NewActionForm, "new_action", **{**NEW, **filled})
    page.record()

    assert page.state.problem.startswith(problem)
    assert office.of(Action) == []
    again = office.page(NewActionForm, "new_action")
    assert field(again, "aim").value == "corrective"


def test_a_correction_begins_with_what_is_said_and_asks_why(office):
    action = office.open(at_most="0.005", station="leak-test")
    page = office.page(CorrectActionForm, "correct_action", action, due_on="2026-03-20")
    assert (field(page, "at_most").value, field(page, "owner").value) == ("0.5", "ME-KL")
    page.record()
    assert page.state.problem == "Still needed: Why it is corrected."

    page.fill("why", "pads are late")
    page.record()

    (now,) = office.of(Action)
    assert (now.due_on, now.at_most, now.station, now.why) == (
        "2026-03-20", "0.005", "leak-test", "pads are late",
    )  # fmt: skip
    assert office.desk.routes[-1].entry == action


def test_done_is_recorded_with_what_shows_it_and_later_corrected(office):
    action = office.open()
    page = office.page(ActionDoneForm, "action_done", action, evidence="Pads fitted, shore 40")
    assert field(page, "done_on").value == "2026-03-03"
    page.record()
    page = office.page(ActionDoneForm, "action_done", action, done_on="2026-03-02")
    page.record()
    assert page.state.problem == "Still needed: Why it is corrected."
    page.fill("why", "the day before")
    page.record()

    (finished,) = office.of(ActionDone)
    assert (finished.done_on, finished.evidence) == ("2026-03-02", "Pads fitted, shore 40")


@pytest.mark.parametrize("form", [EffectCheckForm, WatchQuestionForm])
def test_what_comes_after_done_is_not_asked_before(office, form):
    page = office.page(form, "effect_check", office.open())
    assert page.state.problem == "This action is not recorded as done; record that first."
    page.record()
    assert page.state.problem == "This action is not recorded as done; record that first."


@pytest.mark.parametrize("form", [CorrectActionForm, ActionDoneForm, EffectCheckForm, WatchQuestionForm])
def test_a_form_about_an_action_that_is_gone_says_so(office, form):
    for entry in ("", "019c7e3b-1c00-7000-8000-000000000001"):
        page = office.page(form, "action_done", entry)
        assert page.state.problem.startswith("This action is not here")
        page.record()
        assert page.state.problem.startswith("This action is not here")


def test_the_verdict_shows_while_the_numbers_are_typed(office):
    action = office.open(at_most="0.05")
    office.done(action)
    page = office.page(EffectCheckForm, "effect_check", action)
    assert field(page, "after_checked").hint.startswith("Check at least 59 parts made after it")
    assert (field(page, "after_nok").hint, page.state.advice) == ("", ())

    told = []
    for name, value in (
        ("before_checked", "20"), ("before_nok", "1"), ("after_checked", "60"), ("after_nok", "0"),
        ("before_nok", "12"), ("after_nok", "61"), ("after_nok", "6"), ("after_nok", "many"),
    ):  # fmt: skip
        page.fill(name, value)
        told.append((field(page, "after_checked").hint[:24], field(page, "after_nok").hint[:25]))

    assert told == [
        ("Check at least 59 parts ", ""),
        ("Check at least 381 parts", ""),
        ("Check at least 381 parts", ""),
        ("Check at least 381 parts", "Not shown: the difference"),
        ("Check at least 59 parts ", "Effective: fewer NOK than"),
        ("Check at least 59 parts ", ""),
        ("Check at least 59 parts ", "Better, criterion not sho"),
        ("Check at least 59 parts ", ""),
    ]


def test_a_check_is_recorded_with_its_numbers(office):
    action = office.open()
    office.done(action)
    typed = {name: str(value) for name, value in COUNTS.items()}
    page = office.page(EffectCheckForm, "effect_check", action, **typed, source="lot 7")
    page.record()

    (check,) = office.of(EffectCheck)
    assert {name: getattr(check, name) for name in COUNTS} == COUNTS
    assert (check.checked_on, check.source) == ("2026-03-03", "lot 7")


@pytest.mark.parametrize(
    ("filled", "problem"),
    [
        ({"before_checked": "a box"}, "Before: parts checked: must be a whole number such as 60."),
        ({"after_checked": "0"}, "After: parts checked: must be from 1"),
        ({"after_checked": "2000000"}, "After: parts checked: must be from 1 to 1000000"),
        ({"after_nok": "61"}, "NOK after: 61 of 60 parts cannot be"),
        ({"checked_on": "2026-03-02"}, "Checked on: 2026-03-02 is before the day it was done"),
        ({"checked_on": "2026-03-04"}, "Checked on: 2026-03-04 is still to come"),
    ],
)
def test_a_check_that_cannot_be_is_refused_with_the_label_of_its_field(office, filled, problem):
    action = office.open()
    office.done(action)
    typed = {name: str(value) for name, value in COUNTS.items()}
    page = office.page(EffectCheckForm, "effect_check", action, **{**typed, **filled})
    page.record()

    assert page.state.problem.startswith(problem)
    assert office.of(EffectCheck) == []


@pytest.fixture
def floor(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        yield Floor(desk)


def test_numbers_on_record_are_offered_taken_by_one_tap_and_can_be_changed(floor):
    floor.walk()
    floor.lots()
    office = Office(floor.desk, floor.route.concern)
    action = office.open()
    office.done(action)
    office.later(days=2)
    floor.desk.place.add(
        DatedCount,
        concern=office.concern,
        station="leak-test",
        check="ear-look",
        made_on="2026-03-04",
        checked=80,
        nok=0,
    )
    page = office.page(EffectCheckForm, "effect_check", action)
    offered = field(page, "numbers")
    assert offered.options == (("on-record", "Take over: before 19 of 40 NOK, after 0 of 80 NOK"),)
    assert "Parts made up to 2026-02-24, before it started, are left out." in offered.hint
    assert (field(page, "before_checked").value, page.state.advice) == ("", ())

    page.fill("numbers", "on-record")
    assert [field(page, name).value for name in COUNTS] == ["40", "19", "80", "0"]
    assert page.state.advice[0].startswith("Effective by the test alone")
    page.fill("after_nok", "1")
    assert (field(page, "numbers").value, field(page, "before_nok").value) == ("", "19")
    page.record()

    (check,) = office.of(EffectCheck)
    assert (check.before_nok, check.after_nok) == (19, 1)
    assert check.source == "counted at Leak test; parts of 2026-02-26 to 2026-02-27 against 2026-03-04"


def test_the_question_is_worded_from_the_action_and_asked_for_eight_weeks(office):
    action = office.open(station="leak-test")
    office.done(action)
    page = office.page(WatchQuestionForm, "watch_question", action)
    assert field(page, "question").value == "Still in place: Fit the soft clamp pads?"
    assert [day for day, _ in field(page, "until_on").options] == ["2026-03-31", "2026-04-28", "2026-05-26"]

    page.fill("question", "Are the soft pads on?")
    page.record()

    (asked,) = office.of(WatchQuestion)
    assert (asked.station, asked.question, asked.from_on, asked.until_on) == (
        "leak-test", "Are the soft pads on?", "2026-03-03", "2026-04-28",
    )  # fmt: skip


def test_a_question_from_a_long_text_still_fits(office):
    action = office.open(what="Fit soft pads. " * 25)

    words = proposed_question(office.now(action))

    assert len(words) <= 200
    assert words.endswith(" …?")
