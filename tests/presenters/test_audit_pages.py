"""Doing an audit: what is due, one question after the other, what was done about a NOK, the signature."""

from __future__ import annotations

import shutil
from datetime import date, datetime, timedelta, timezone

import pytest

from tests.fakes import CHECKLISTS, Desk, Queue
from tests.photos.camera import phone_jpeg, scene
from walkapp.actions.audits.reading import audit_facts
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.merging import merge_bundles
from walkapp.model.ids import book_id
from walkapp.model.records import (
    AuditAnswer,
    AuditMissed,
    AuditReaction,
    AuditSigned,
    AuditStart,
    Withdrawal,
)
from walkapp.presenters.audits.answers import AuditListPage
from walkapp.presenters.audits.begin import BeginAuditForm, MissedAuditForm
from walkapp.presenters.audits.forms import NotApplicableForm, ReactionForm, SignAuditForm
from walkapp.presenters.audits.question import AuditPage
from walkapp.presenters.audits.todays import AuditsPage
from walkapp.presenters.home import HomePage
from walkapp.presenters.intake import EvidencePage
from walkapp.presenters.pages import PAGES
from walkapp.presenters.route import Route

STREAM = "washer-reservoir"
MONDAY = datetime(2026, 3, 9, 6, 30, tzinfo=timezone(timedelta(hours=1)))
EARLY = {"stream": STREAM, "layer": "shift-lead", "day": "2026-03-09", "shift": "early"}
"""The early shift of Monday 9 March 2026: degating and leak test, with three questions each."""

PAGE_OF = {
    "audits": AuditsPage,
    "audit_begin": BeginAuditForm,
    "audit_missed": MissedAuditForm,
    "audit": AuditPage,
    "audit_list": AuditListPage,
    "reaction": ReactionForm,
    "audit_na": NotApplicableForm,
    "audit_sign": SignAuditForm,
    "evidence": EvidencePage,
}


class Floor:
    """A tablet on the floor: its desk, and the page that is open on it."""

    def __init__(self, folder, *, checklists=CHECKLISTS, seed=0, starts=MONDAY, run_later=None):
        more = {} if run_later is None else {"run_later": run_later}
        self.desk = Desk(folder, by="SL-AB", seed=seed, starts=starts, **more)
        self.desk.place.checklists = checklists
        self.place = self.desk.place
        self.folder, self.page = folder, None

    def open(self, screen, **route):
        return self.show(Route(screen=screen, **route))

    def show(self, route):
        self.page = PAGE_OF[route.screen](self.desk.session, route)
        self.page.open()
        return self.page

    def follow(self):
        """Open the page that was asked for last, as the window does."""
        return self.show(self.desk.routes[-1])

    def begin(self, **which):
        self.open("audit_begin", **{**EARLY, **which})
        self.page.record()
        return self.follow()

    def ready(self, **which):
        """Begin an audit and confirm the cautions of its first station."""
        self.begin(**which)
        self.page.confirm_cautions()
        return self.page

    def answer_all(self, word="ok"):
        """Answer whatever is left, station after station; ends on the list."""
        while isinstance(self.page, AuditPage) and self.page.state.can_answer:
            self.page.confirm_cautions()
            before = len(self.desk.routes)
            self.page.answer(word)
            if len(self.desk.routes) > before:
                self.follow()
        return self.page

    def of(self, kind):
        return [r for r in self.desk.records if isinstance(r, kind)]

    def facts(self):
        (start,) = self.of(AuditStart)
        return audit_facts(self.place, start.concern, start.id)

    def sign(self, **said):
        """Sign from the list."""
        self.page.press("audit_sign")
        fill(self.follow(), **{"by": "SL-AB", **said}).record()
        return self.follow()

    def merge_from(self, other):
        """Take in what another tablet has recorded."""
        path = other.folder / "sent.zip"
        bundle_concerns(other.place, path)
        merge_bundles(self.place, [path])

    def later(self, **span):
        self.place.now.time += timedelta(**span)


@pytest.fixture
def floor(tmp_path):
    made = Floor(tmp_path)
    with made.desk.store:
        yield made


@pytest.fixture
def other(tmp_path):
    """Another tablet on the same floor."""
    made = Floor(tmp_path / "other", seed=1)
    with made.desk.store:
        yield made


def sections_of(page):
    """The sections with audits or questions; not those that lead to pages on all audits."""
    return [section for section in page.state.sections if not section.name.startswith("more ")]


def rows_of(page):
    return {row.id: row for section in sections_of(page) for row in section.rows}


def titles(page):
    return [(section.title, [row.id for row in section.rows]) for section in sections_of(page)]


def field(page, name):
    return next(one for one in page.state.fields if one.name == name)


def names(page):
    return [one.name for one in page.state.fields]


def fill(page, **values):
    for name, value in values.items():
        page.fill(name, value)
    return page


def only_washer(tmp_path, **changes):
    """Give a checklists folder with one audited stream, whose audits.toml has texts replaced."""
    folder = tmp_path / "checklists"
    shutil.copytree(CHECKLISTS / STREAM, folder / STREAM)
    path = folder / STREAM / "audits.toml"
    text = path.read_text(encoding="utf-8")
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")
    return folder


# home and today's audits


def test_home_leads_to_the_audits_and_reads_no_audit_book_for_it(floor):
    floor.begin()
    floor.place._books.clear()

    page = HomePage(floor.desk.session, Route())
    page.open()
    page.to_audits()

    assert floor.desk.routes[-1] == Route(screen="audits")
    assert floor.place._books == {}
    assert page.state.problem == ""


def test_what_is_due_stands_first_with_shape_word_and_the_time_that_is_left(floor):
    page = floor.open("audits")

    assert page.state.subtitle == "As of Mon 9 Mar, 06:30: 5 to do now"
    assert [title for title, _ in titles(page)] == [
        "To do now: Pump bracket",
        "To do now: Washer-fluid reservoir",
        "Can be made up: Pump bracket",
        "Can be made up: Washer-fluid reservoir",
        "Later: Washer-fluid reservoir",
    ]
    (section,) = [s for s in page.state.sections if s.title == "To do now: Washer-fluid reservoir"]
    assert [(row.title, row.subtitle, row.mark) for row in section.rows] == [
        ("Shift lead: early shift, Mon 9 Mar", "Due now, 7 h 29 min left", "next"),
        ("Supervisor: Mon 9 Mar", "Due now, 23 h 29 min left", "next"),
        ("Department manager: week 11, Mon 9 Mar to Fri 13 Mar", "Open, due Saturday 06:00", "next"),
        ("Plant manager: March 2026", "Open, due Wed 1 Apr 2026 06:00", "next"),
    ]
    late = rows_of(page)["department-manager 2026-03-02 "]
    assert (late.subtitle, late.mark) == ("Missed, can be made up until Thursday 06:00", "bad")
    later = rows_of(page)["shift-lead 2026-03-09 late"]
    assert (later.subtitle, later.mark) == ("To come, from 14:00", "not_visited")


def test_one_tap_shows_one_layer_and_the_tablet_keeps_to_it_until_all_are_wanted(floor):
    page = floor.open("audits")
    assert page.state.choices == (
        ("", "All layers"),
        ("shift-lead", "Shift lead"),
        ("supervisor", "Supervisor"),
        ("department-manager", "Department manager"),
        ("plant-manager", "Plant manager"),
    )

    page.choose("supervisor")
    again = floor.open("audits")

    assert again.state.chosen == page.state.chosen == "supervisor"
    assert {row.partition(" ")[0] for row in rows_of(again)} == {"supervisor"}
    assert floor.desk.records == []
    again.choose("")
    assert "shift-lead 2026-03-09 early" in rows_of(floor.open("audits"))


def test_a_remembered_layer_that_no_checklist_has_shows_all_layers(floor):
    floor.desk.session.kept.keep_layer("gone")
    page = floor.open("audits")
    assert (page.state.chosen, "shift-lead 2026-03-09 early" in rows_of(page)) == ("", True)


def test_without_audits_in_any_checklist_the_page_says_how_they_come_about(tmp_path):
    folder = only_washer(tmp_path)
    (folder / STREAM / "audits.toml").unlink()
    floor = Floor(tmp_path, checklists=folder)
    with floor.desk.store:
        state = floor.open("audits").state
        assert (state.sentence, state.sections) == ("No value stream has layered audits yet.", ())
        assert "audits.toml" in state.lines[0]


def test_mistakes_in_the_checklists_are_told_in_one_sentence_and_the_audit_goes_on(tmp_path):
    folder = only_washer(tmp_path)
    floor = Floor(tmp_path, checklists=folder)
    with floor.desk.store:
        floor.begin()
        route = floor.desk.routes[-1]
        (folder / STREAM / "audits.toml").write_text("repeat_days = 0\nfoo = 1\n", encoding="utf-8")
        floor.place._streams = {}
        floor.place._kept.clear()

        problem = floor.open("audits").state.problem
        assert problem.startswith("The checklists have ") and "audits.toml" in problem
        assert problem.endswith("'walkapp validate' lists every mistake.") and "\n" not in problem

        page = floor.show(route)
        page.confirm_cautions()
        page.answer("ok")
        assert len(floor.of(AuditAnswer)) == 1


def test_pages_on_all_audits_are_led_to_once_they_are_there(floor, tmp_path, monkeypatch):
    for page in ("findings", "audit_results"):
        monkeypatch.delitem(PAGES, page, raising=False)
    assert not any(s.name.startswith("more") for s in floor.open("audits").state.sections)
    monkeypatch.setitem(PAGES, "findings", "walkapp.presenters.home:HomePage")

    page = floor.open("audits")
    page.row(f"more {STREAM}", "findings")
    assert floor.desk.routes[-1] == Route(screen="findings", stream=STREAM, through="audits")

    floor.place.checklists, floor.place._streams = only_washer(tmp_path), {}
    page = floor.open("audits")
    page.press(next(b.name for b in page.state.buttons if b.name.startswith("findings")))
    assert floor.desk.routes[-1] == Route(screen="findings", stream=STREAM, through="audits")


@pytest.mark.parametrize(
    "row, screen",
    [
        ("shift-lead 2026-03-09 early", "audit_begin"),
        ("shift-lead 2026-03-09 late", "audit_print"),
        ("shift-lead 2026-03-06 night", "audit_begin"),
    ],
)
def test_an_audit_that_is_not_begun_opens_where_it_is_begun_and_one_to_come_on_paper(floor, row, screen):
    floor.open("audits").row(f"0 {STREAM}", row)
    layer, day, shift = row.split(" ")
    assert floor.desk.routes[-1] == Route(screen=screen, stream=STREAM, layer=layer, day=day, shift=shift)


def test_an_audit_begun_here_goes_on_where_one_stopped_and_a_signed_one_is_shown(floor):
    row = (f"0 {STREAM}", "shift-lead 2026-03-09 early")
    floor.ready().answer("ok")
    (start,) = floor.of(AuditStart)

    listed = floor.open("audits")
    shown = rows_of(listed)[row[1]]
    assert (shown.mark, shown.subtitle) == ("undecided", "Begun here, 1 of 6 answered, 7 h 29 min left")
    listed.row(*row)
    assert (floor.desk.routes[-1].screen, floor.desk.routes[-1].entry) == ("audit", start.id)
    assert floor.follow().state.progress == "2 of 6, 1 answered"

    floor.answer_all()
    floor.sign()
    listed = floor.open("audits")
    done = rows_of(listed)[row[1]]
    assert (done.mark, done.subtitle) == ("clean", "Done in time, signed 06:30")
    listed.row(*row)
    assert (floor.desk.routes[-1].screen, floor.desk.routes[-1].entry) == ("audit_list", start.id)


def test_an_audit_begun_on_another_tablet_is_only_shown(floor, other):
    other.ready().answer("ok")
    floor.merge_from(other)

    listed = floor.open("audits")
    assert rows_of(listed)["shift-lead 2026-03-09 early"].subtitle.startswith("Begun on another tablet, ")
    listed.row(f"0 {STREAM}", "shift-lead 2026-03-09 early")
    page = floor.follow()

    assert page.route.screen == "audit_list"
    assert page.state.sentence == "This audit was begun on another tablet; it goes on there."
    assert not page.state.can_undo
    page.row("1 degating", next(iter(rows_of(page))))
    shown = floor.follow()
    assert (shown.state.can_answer, shown.state.given, shown.state.cautions) == (False, "ok", ())
    shown.answer("not_ok")
    assert [answer.answer for answer in floor.of(AuditAnswer)] == ["ok"]


def test_an_audit_that_a_broken_tablet_began_is_begun_anew_and_both_stay_on_record(floor, other):
    other.ready().answer("ok")
    floor.merge_from(other)
    listed = floor.open("audits")
    listed.row(f"0 {STREAM}", "shift-lead 2026-03-09 early")
    theirs = floor.follow()

    theirs.press("audit_begin")
    page = floor.follow()
    assert page.route.screen == "audit_begin"
    page.record()

    assert {start.device for start in floor.of(AuditStart)} == {
        floor.place.store.device,
        other.place.store.device,
    }
    listed = floor.open("audits")
    listed.row(f"0 {STREAM}", "shift-lead 2026-03-09 early")
    assert floor.follow().route.screen == "audit"


def test_when_two_tablets_did_the_same_audit_both_stay_and_each_leads_to_the_other(floor, other):
    for tablet in (floor, other):
        tablet.begin()
        tablet.answer_all()
    floor.sign()
    floor.merge_from(other)
    own, theirs = sorted(floor.of(AuditStart), key=lambda start: start.device != floor.place.store.device)

    listed = floor.open("audits")
    assert rows_of(listed)["shift-lead 2026-03-09 early"].subtitle.endswith(", also on another tablet")
    listed.row(f"3 {STREAM}", "shift-lead 2026-03-09 early")
    page = floor.follow()
    assert (page.route.entry, page.state.sentence) == (own.id, "Done in time")
    (section,) = [s for s in page.state.sections if s.name == "others"]
    assert [row.id for row in section.rows] == [theirs.id]

    page.row("others", theirs.id)
    assert floor.follow().state.sentence == "This audit was begun on another tablet; it goes on there."


def test_an_audit_that_can_not_be_made_up_any_more_opens_why_it_was_missed(tmp_path):
    folder = only_washer(
        tmp_path, **{'minutes = 10\n\n[[layer]]\nid = "sup': 'make_up_days = 0\n\n[[layer]]\nid = "sup'}
    )
    floor = Floor(tmp_path, checklists=folder, starts=MONDAY.replace(hour=15))
    with floor.desk.store:
        listed = floor.open("audits")
        missed = rows_of(listed)["shift-lead 2026-03-09 early"]
        assert (missed.mark, missed.subtitle) == ("bad", "Missed, nobody said why")
        listed.row(f"4 {STREAM}", "shift-lead 2026-03-09 early")
        page = floor.follow()
        assert page.route.screen == "audit_missed"
        assert page.state.words[1] == "It stays missed and counts as missed; the reason is kept beside it."
        fill(page, reason="line did not run").record()

        (said,) = floor.of(AuditMissed)
        assert (said.layer, said.day, said.shift, said.reason) == (
            "shift-lead", "2026-03-09", "early", "line did not run",
        )  # fmt: skip
        missed = rows_of(floor.follow())["shift-lead 2026-03-09 early"]
        assert (missed.mark, missed.subtitle) == ("bad", "Missed: line did not run")

        again = floor.open("audit_missed", **EARLY)
        assert field(again, "reason").value == "line did not run"
        fill(again, reason="called to something urgent").record()
        assert floor.of(AuditMissed)[-1].replaces == (said.id,)


def test_a_begun_audit_that_the_checklist_no_longer_plans_is_still_found_and_finished(tmp_path):
    folder = only_washer(tmp_path)
    floor = Floor(tmp_path, checklists=folder)
    with floor.desk.store:
        floor.ready().answer("ok")
        path = folder / STREAM / "audits.toml"
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace('"shift-lead"', '"team-lead"'), encoding="utf-8")
        floor.place._streams = {}

        listed = floor.open("audits")
        (section,) = [s for s in listed.state.sections if s.name == f"left {STREAM}"]
        (row,) = section.rows
        assert (section.title, row.title, row.subtitle) == (
            "Begun with an older checklist: Washer-fluid reservoir",
            "Shift lead: early shift, Mon 9 Mar 2026",
            "Begun here, 1 of 6 answered",
        )
        listed.row(section.name, row.id)
        floor.follow()
        floor.answer_all()
        assert floor.sign().state.sentence == "Done in time"


# beginning


def test_before_it_begins_an_audit_says_where_it_leads_and_what_it_may_take(floor):
    page = floor.open("audit_begin", **EARLY)

    assert page.state.title == "Shift lead: early shift, Mon 9 Mar"
    assert page.state.cautions == floor.place.stream(STREAM).cautions
    assert page.state.words == (
        "Washer-fluid reservoir. 7 h 29 min left.",
        "6 questions; it may take 10 min.",
        "1. Degating: 3 questions",
        "2. Leak test: 3 questions",
    )
    assert (names(page), field(page, "by").value) == (["by"], "SL-AB")
    assert (page.state.do, page.state.other) == ("Begin", "On paper")


def test_beginning_remembers_role_and_initials_and_opens_the_first_question(floor):
    fill(floor.open("audit_begin", **EARLY), by="SL-CD").record()

    (start,) = floor.of(AuditStart)
    assert (start.layer, start.day, start.shift, start.by) == (
        "shift-lead", "2026-03-09", "early", "SL-CD",
    )  # fmt: skip
    assert floor.place.by == "SL-CD"
    assert floor.follow().state.title == "Degating"


def test_what_was_nok_lately_is_asked_beyond_the_plan_and_the_page_says_why(floor):
    floor.ready().answer("not_ok")
    route = {"stream": STREAM, "layer": "supervisor", "day": "2026-03-09", "shift": ""}

    page = floor.open("audit_begin", **route)

    (beyond,) = [words for words in page.state.words if "Beyond the plan" in words]
    assert beyond == "    Beyond the plan (NOK on 2026-03-09): Blade changed within its stroke limit?"
    page.record()
    asked = [one for one in audit_facts(floor.place, *_newest_audit(floor)).asked if one.why]
    assert [(one.ref, one.why) for one in asked] == [("degating/blade", "was NOK lately")]


def _newest_audit(floor):
    start = floor.of(AuditStart)[-1]
    return start.concern, start.id


def test_who_begins_too_late_is_told_beforehand_that_it_counts_as_made_up(floor):
    floor.later(hours=8)

    page = floor.open("audit_begin", **EARLY)

    assert page.state.words[0] == (
        "Washer-fluid reservoir. Its time was over at 14:00. Begun now it counts as made up, until "
        "Thursday 14:00."
    )
    assert (page.state.do, page.state.other) == ("Begin: it is made up", "Say why it was missed")
    page.other()
    assert floor.desk.routes[-1].screen == "audit_missed"
    assert floor.desk.routes[-1].up() == page.route
    page.record()
    floor.follow()
    floor.answer_all()
    floor.page.press("audit_sign")
    page = floor.follow()
    assert page.state.words[-1] == "It was begun after its time was over: it counts as made up."
    fill(page, by="SL-AB").record()
    assert (floor.follow().state.mark, floor.page.state.sentence) == ("caution", "Made up")


@pytest.mark.parametrize(
    "which, words",
    [
        ({"shift": "late"}, "This audit may be begun from 2026-03-09 14:00 on."),
        ({"day": "2026-03-03"}, "it stays missed."),
        ({"day": "soon"}, "This page has lost its audit; go back and choose it once more."),
        ({"day": "2026-03-08"}, "has no such audit on 2026-03-08"),
        ({"layer": "gone"}, "has no such audit"),
        ({"stream": "gone"}, "is not in the checklists folder"),
        ({"day": "9999-12-31"}, "has no such audit"),
        ({"day": "0001-01-01"}, "has no such audit"),
    ],
)
def test_what_can_not_be_begun_says_so_and_nothing_is_recorded(floor, which, words):
    page = floor.open("audit_begin", **{**EARLY, **which})
    assert words in page.state.problem
    page.record()
    assert words in page.state.problem
    assert floor.desk.records == []


def test_an_audit_is_begun_once_however_often_the_button_is_tapped(floor):
    page = floor.open("audit_begin", **EARLY)
    page.record()
    page.record()
    assert len(floor.of(AuditStart)) == 1
    assert page.state.problem.startswith("This audit is begun on this tablet already")


# one question after the other


def test_the_cautions_of_a_station_come_before_its_questions_and_once_for_each_opening(floor):
    page = floor.begin()

    assert page.state.cautions == ("Blades: keep hands out of the fixture; take parts from the rack.",)
    page.answer("ok")
    assert floor.of(AuditAnswer) == []

    page.confirm_cautions()
    assert page.state.cautions == ()
    for _ in range(3):
        page.answer("ok")
    assert (page.state.title, page.state.progress) == ("Leak test", "4 of 6, 3 answered")
    assert page.state.cautions and page.state.special == "Special characteristic"
    page.step(-1)
    assert (page.state.title, bool(page.state.cautions)) == ("Degating", False)
    page.step(1)
    page.confirm_cautions()
    page.step(-1)
    assert page.state.cautions, "the station was left and is opened anew"


def test_coming_back_from_what_was_done_does_not_ask_for_the_cautions_again_a_new_opening_does(floor):
    floor.ready().answer("not_ok")
    fill(floor.follow(), reaction="corrected", what="Replaced").record()
    assert floor.follow().state.cautions == ()

    floor.open("audits").row(f"0 {STREAM}", "shift-lead 2026-03-09 early")
    assert floor.follow().state.cautions != ()


def test_one_tap_records_and_shows_the_next_question(floor):
    page = floor.ready()
    assert (page.state.ask, page.state.how) == (
        "Blade changed within its stroke limit?", "Counter on the panel against the limit on its plate.",
    )  # fmt: skip

    page.answer("ok")

    (answer,) = floor.of(AuditAnswer)
    assert (answer.ref, answer.answer, answer.asked) == (
        "degating/blade", "ok", "Blade changed within its stroke limit?",
    )  # fmt: skip
    assert (page.state.saved, page.state.progress) == ("On disk: OK at Degating", "2 of 6, 1 answered")
    assert (page.state.ask, page.state.given) == (
        "Are NOK parts in the red locked box, none beside it?",
        "",
    )


def test_the_screen_says_nothing_before_it_is_on_disk_and_a_second_tap_answers_no_other_question(tmp_path):
    queue = Queue()
    floor = Floor(tmp_path, run_later=queue)
    with floor.desk.store:
        floor.open("audit_begin", **EARLY)
        queue.run()
        floor.page.record()
        queue.run()
        page = floor.follow()
        queue.run()
        page.confirm_cautions()
        before = page.state

        page.answer("ok")
        page.answer("ok")
        page.answer("not_ok")
        assert (page.state, floor.of(AuditAnswer)) == (before, [])
        page.step(1)
        page.undo()
        queue.run()

        assert [answer.ref for answer in floor.of(AuditAnswer)] == ["degating/blade"]
        assert page.state.progress == "2 of 6, 1 answered"
        page.answer("ok")
        queue.run()
        assert len(floor.of(AuditAnswer)) == 2


def test_an_answer_that_is_changed_corrects_the_one_before(floor):
    page = floor.ready()
    page.answer("ok")
    page.step(-1)
    assert page.state.given == "ok"

    page.answer("not_ok")

    first, second = floor.of(AuditAnswer)
    assert (second.answer, second.replaces) == ("not_ok", (first.id,))
    assert floor.desk.routes[-1].screen == "reaction"


def test_the_same_answer_once_more_goes_on_and_records_nothing(floor):
    page = floor.ready()
    page.answer("ok")
    page.step(-1)
    page.answer("ok")
    assert (len(floor.of(AuditAnswer)), page.state.progress) == (1, "2 of 6, 1 answered")


def test_previous_and_next_go_through_all_questions_and_end_at_the_ends(floor):
    page = floor.ready()
    seen = [page.state.ref]
    assert not page.state.has_previous
    page.step(-1)
    while page.state.has_next:
        page.step(1)
        seen.append(page.state.ref)
    page.step(1)
    assert seen == [asked.ref for asked in floor.facts().asked]
    assert page.state.ref == seen[-1]


def test_the_next_question_is_the_first_one_behind_that_has_no_answer_and_then_those_left_out(floor):
    page = floor.ready()
    page.step(1)
    page.answer("ok")
    assert page.state.progress.startswith("3 of 6")
    page.answer("ok")
    page.confirm_cautions()
    for _ in range(3):
        page.answer("ok")
    assert page.state.progress == "1 of 6, 5 answered"


def test_once_all_is_answered_the_list_offers_the_signature(floor):
    floor.begin()
    page = floor.answer_all()
    assert page.route.screen == "audit_list"
    assert page.state.sentence == "All is answered; it is still to be signed."
    assert [(b.name, b.tone) for b in page.state.buttons] == [("audit_sign", "strong")]


def test_an_interrupted_audit_opens_at_the_first_question_without_an_answer_after_a_restart(tmp_path):
    first = Floor(tmp_path)
    with first.desk.store:
        page = first.ready()
        page.answer("ok")
        page.step(1)
        first.desk.session.kept.keep_route(page.route)
    again = Floor(tmp_path, seed=2)
    with again.desk.store:
        page = again.show(again.desk.session.kept.route())
        assert (page.state.progress, bool(page.state.cautions)) == ("2 of 6, 1 answered", True)


def test_a_question_that_was_chosen_is_let_go_once_another_one_is_shown(floor):
    floor.ready().answer("ok")
    floor.page.to_list()
    floor.follow().row("1 degating", "degating/instruction")
    page = floor.follow()
    assert (page.state.ref, page.route.check) == ("degating/instruction", "instruction")

    page.answer("ok")

    assert (page.route.check, floor.desk.session.kept.route().check) == ("", "")


@pytest.mark.parametrize("check", ["gone", "blade/x"])
def test_a_question_that_the_audit_does_not_ask_leads_back_to_the_list(floor, check):
    route = floor.begin().route
    page = floor.open("audit", concern=route.concern, entry=route.entry, station="degating", check=check)
    assert page.state.problem == "This audit does not ask that question; go back to its list."
    page.to_list()
    assert floor.desk.routes[-1].screen == "audit_list"


@pytest.mark.parametrize("screen", ["audit", "audit_list", "reaction", "audit_na", "audit_sign"])
def test_an_audit_that_is_not_here_is_told_in_one_sentence_on_every_page(floor, screen):
    page = floor.open(screen, concern="c", entry="e", station="s", check="k")
    assert page.state.problem.startswith("This audit is not here")


# what was done about a NOK


def nok(floor):
    floor.ready().answer("not_ok")
    return floor.follow()


def test_nok_is_on_disk_and_leads_to_what_was_done_about_it(floor):
    page = nok(floor)
    assert [answer.answer for answer in floor.of(AuditAnswer)] == ["not_ok"]
    assert page.state.words == ("On disk: NOK at Degating.", "Blade changed within its stroke limit?")
    assert page.state.cautions[0] == "Stop and hold suspect parts first; then the rest."
    assert names(page) == ["reaction", "what"]


def test_corrected_on_the_spot_needs_no_owner_and_goes_on_to_the_next_question(floor):
    page = fill(nok(floor), reaction="corrected")
    assert field(page, "what").options[0] == ("Put right and looked at again",) * 2
    fill(page, what="Put right and looked at again").record()

    (said,) = floor.of(AuditReaction)
    assert (said.reaction, said.what, said.owner, said.due_on) == (
        "corrected", "Put right and looked at again", "", "",
    )  # fmt: skip
    assert floor.follow().state.progress == "2 of 6, 1 answered"


@pytest.mark.parametrize("reaction", ["contained", "escalated"])
def test_what_is_left_to_do_needs_an_owner_and_a_day(floor, reaction):
    page = fill(nok(floor), reaction=reaction, what="Parts held")
    assert names(page) == ["reaction", "what", "owner", "due_on"]
    page.record()
    assert page.state.problem == "Still needed: Who sees to the rest, Until when."
    assert [role for role, _ in field(page, "owner").options][:2] == ["SL-AB", "shift lead"]
    assert field(page, "due_on").options[1] == ("2026-03-10", "tomorrow")

    fill(page, owner="maintenance lead", due_on="2026-03-10").record()

    (said,) = floor.of(AuditReaction)
    assert (said.reaction, said.owner, said.due_on) == (reaction, "maintenance lead", "2026-03-10")
    finding = floor.facts().findings[0]
    assert finding.reaction == said


def test_a_day_before_it_was_found_is_refused_and_nothing_typed_is_lost(floor):
    page = fill(nok(floor), reaction="contained", what="Held", owner="SL", due_on="2026-03-08")
    page.record()
    assert page.state.problem.startswith("Until when: 2026-03-08 is before the day it was found")
    assert (field(page, "what").value, floor.of(AuditReaction)) == ("Held", [])


def test_owner_and_day_typed_before_are_dropped_when_it_was_corrected_after_all(floor):
    page = fill(nok(floor), reaction="contained", what="Held", owner="SL", due_on="2026-03-10")
    fill(page, reaction="corrected").record()
    (said,) = floor.of(AuditReaction)
    assert (said.reaction, said.owner, said.due_on) == ("corrected", "", "")


def test_the_way_to_a_picture_comes_back_with_all_that_was_filled_in_and_goes_on_afterwards(floor):
    page = fill(nok(floor), reaction="contained", what="Held")
    (answer,) = floor.of(AuditAnswer)
    assert page.state.other == "Picture"

    page.other()
    away = floor.desk.routes[-1]
    assert (away.screen, away.entry) == ("evidence", answer.id)
    floor.desk.pictures.mkdir()
    (floor.desk.pictures / "ear.jpg").write_bytes(phone_jpeg(scene((80, 48))))
    evidence = floor.show(away)
    evidence.choose(str(floor.desk.pictures / "ear.jpg"))
    assert evidence.state.saved == "On disk: picture"
    evidence.back()
    page = floor.follow()

    assert page.state.other == "Picture (1 so far)"
    assert [field(page, name).value for name in ("reaction", "what")] == ["contained", "Held"]
    fill(page, owner="SL", due_on="2026-03-10").record()
    onward = floor.follow()
    assert (onward.route.screen, onward.state.progress) == ("audit", "2 of 6, 1 answered")


def test_who_leaves_without_a_word_sees_it_missing_on_the_question_and_on_the_list(floor):
    nok(floor).back()
    page = floor.follow()
    assert (page.state.given, page.state.missing) == ("not_ok", "NOK: what was done is still to be said.")
    assert page.state.can_react
    page.step(1)
    while page.state.can_answer:
        page.confirm_cautions()
        page.answer("ok")
        if floor.desk.routes[-1].screen == "audit_list":
            break
    page = floor.follow()
    assert page.state.sentence == "Still missing: what was done about 1 NOK."
    assert rows_of(page)["degating/blade"].subtitle == "NOK, what was done is still to be said"
    assert [b.name for b in page.state.buttons] == ["reaction"]

    page.press("reaction")
    fill(floor.follow(), reaction="corrected", what="Replaced").record()

    page = floor.follow()
    assert page.route.screen == "audit_list"
    assert page.state.sentence == "All is answered; it is still to be signed."
    assert rows_of(page)["degating/blade"].subtitle == "NOK, corrected on the spot: Replaced"


def test_what_was_done_is_corrected_by_saying_it_once_more(floor):
    fill(nok(floor), reaction="contained", what="Held", owner="SL", due_on="2026-03-10").record()
    page = floor.follow()
    page.step(-1)
    assert page.state.told == "Contained: Held; SL until 2026-03-10"
    page.answer("not_ok")
    page = floor.follow()
    assert [field(page, name).value for name in names(page)] == ["contained", "Held", "SL", "2026-03-10"]

    fill(page, what="Held and marked").record()

    first, second = floor.of(AuditReaction)
    assert (second.what, second.replaces) == ("Held and marked", (first.id,))


def test_a_question_that_is_no_longer_nok_has_nothing_to_react_to(floor):
    route = nok(floor).route
    floor.page.back()
    floor.follow().answer("ok")
    page = floor.show(route)
    assert page.state.problem == "This question is not answered NOK any more; go back to the audit."


def test_the_page_of_a_finding_leads_to_its_reaction_by_the_finding_alone(floor):
    answer_page = nok(floor)
    (answer,) = floor.of(AuditAnswer)
    page = floor.open("reaction", concern=answer.concern, entry=answer.id, through="home")
    assert page.state.words == answer_page.state.words
    fill(page, reaction="corrected", what="Replaced").record()
    assert floor.desk.routes[-1].screen == "home"


# not applicable


def test_not_applicable_needs_a_reason_and_goes_on(floor):
    page = floor.ready()
    page.answer("not_applicable")
    assert floor.of(AuditAnswer) == []
    page = floor.follow()
    assert page.state.words == ("Degating: Blade changed within its stroke limit?",)
    page.record()
    assert page.state.problem == "Still needed: Reason."

    fill(page, reason="equipment not running").record()

    (answer,) = floor.of(AuditAnswer)
    assert (answer.answer, answer.reason) == ("not_applicable", "equipment not running")
    page = floor.follow()
    assert page.state.progress == "2 of 6, 1 answered"
    page.step(-1)
    assert (page.state.given, page.state.told) == ("not_applicable", "equipment not running")


# undo


def test_undo_takes_back_one_entry_after_the_other_the_signature_first_and_says_which(floor):
    page = nok(floor)
    fill(page, reaction="corrected", what="Replaced").record()
    floor.follow()
    floor.answer_all()
    page = floor.sign()
    assert (page.state.sentence, page.state.undo) == ("Done in time", "signature")

    page.undo()
    assert (page.state.saved, page.state.undo) == ("Taken back", "OK at Leak test")
    assert page.state.sentence == "All is answered; it is still to be signed."
    assert floor.facts().signed is None

    page.row("1 degating", "degating/blade")
    page = floor.follow()
    page.confirm_cautions()
    for _ in range(5):
        page.undo()
    assert (page.state.saved, page.state.undo) == (
        "Taken back: OK at Degating", "reaction: corrected on the spot",
    )  # fmt: skip
    page.undo()
    assert (page.state.ref, page.state.missing) == (
        "degating/blade",
        "NOK: what was done is still to be said.",
    )
    page.undo()
    assert (page.state.given, page.state.undo, floor.facts().answers) == ("", "that it was begun", {})
    assert len(floor.of(Withdrawal)) == 8


@pytest.mark.parametrize("from_list", [False, True])
def test_an_audit_begun_by_mistake_is_taken_back_and_stands_in_the_list_as_before(floor, from_list):
    page = floor.begin()
    if from_list:
        page.to_list()
        page = floor.follow()
    assert page.state.undo == "that it was begun"

    page.undo()

    listed = floor.follow()
    assert listed.route.screen == "audits"
    assert rows_of(listed)["shift-lead 2026-03-09 early"].subtitle.startswith("Due now")


def test_undo_of_a_corrected_answer_brings_back_the_one_before(floor):
    page = floor.ready()
    page.answer("ok")
    page.step(-1)
    page.answer("not_ok")
    page = floor.show(floor.desk.routes[-1].up())

    page.undo()

    assert (page.state.given, page.state.saved) == ("ok", "Taken back: NOK at Degating")


# signing


def test_before_signing_all_is_summed_up_and_role_and_initials_are_said_once_more(floor):
    fill(nok(floor), reaction="contained", what="Held", owner="SL", due_on="2026-03-10").record()
    floor.follow()
    floor.answer_all()
    floor.later(minutes=12)
    floor.page.press("audit_sign")
    page = floor.follow()

    assert page.state.words == (
        "Shift lead: early shift, Mon 9 Mar 2026. 6 questions: 5 OK, 1 NOK, 0 N/A.",
        "NOK: Blade changed within its stroke limit? Contained: Held; SL until 2026-03-10.",
        "Begun 2026-03-09 06:30, 12 min ago.",
        "It counts as done in time.",
    )
    assert (field(page, "by").value, field(page, "by").options) == ("", (("SL-AB", "SL-AB"),))
    page.record()
    assert page.state.problem == "Still needed: Your role and initials."

    fill(page, by="SL-AB", note="Lamp at the tester flickers").record()

    (signed,) = floor.of(AuditSigned)
    assert (signed.ok, signed.nok, signed.not_applicable, signed.by, signed.note) == (
        5, 1, 0, "SL-AB", "Lamp at the tester flickers",
    )  # fmt: skip
    state = floor.follow().state
    assert (state.mark, state.sentence) == ("clean", "Done in time")
    assert state.lines[1:] == (
        "Signed 2026-03-09 06:42 by SL-AB, 12 min after it was begun.",
        "Also seen: Lamp at the tester flickers",
    )
    assert rows_of(floor.open("audits"))["shift-lead 2026-03-09 early"].subtitle == (
        "Done in time, signed 06:42, 1 NOK"
    )


def test_an_audit_begun_in_its_time_and_signed_after_it_is_late(floor):
    floor.begin()
    floor.answer_all()
    floor.later(hours=8)
    assert rows_of(floor.open("audits"))["shift-lead 2026-03-09 early"].subtitle == (
        "Begun here, 6 of 6 answered, its time is over, finish it by Thursday 14:00"
    )
    floor.open("audit_list", concern=floor.facts().book, entry=floor.facts().start.id)
    floor.page.press("audit_sign")
    assert floor.follow().state.words[-1] == "Its time was over at 14:00: it counts as done late."
    fill(floor.page, by="SL-AB").record()
    assert (floor.follow().state.mark, floor.page.state.sentence) == ("caution", "Done late")


def test_an_audit_that_was_not_finished_in_time_stays_so_and_asks_why(floor):
    floor.ready().answer("ok")
    floor.later(days=5)
    start = floor.facts().start
    page = floor.open("audit_list", concern=start.concern, entry=start.id)

    assert (page.state.mark, page.state.sentence) == (
        "bad", "This audit was not finished in time; it stays so.",
    )  # fmt: skip
    assert [b.name for b in page.state.buttons] == ["audit_missed"]
    question = floor.open("audit", concern=start.concern, entry=start.id)
    assert not question.state.can_answer
    question.answer("ok")
    page.press("audit_missed")
    fill(floor.follow(), reason="called to something urgent").record()

    assert len(floor.of(AuditAnswer)) == 1
    assert floor.of(AuditMissed)[0].reason == "called to something urgent"
    assert floor.desk.routes[-1].screen == "audit_list"


def test_what_is_still_missing_is_said_when_somebody_signs_all_the_same(floor):
    floor.ready().answer("ok")
    start = floor.facts().start
    page = floor.open("audit_sign", concern=start.concern, entry=start.id, through="audit_list")
    fill(page, by="SL-AB").record()
    assert page.state.problem == "5 questions are still to be answered before it can be signed."
    assert floor.of(AuditSigned) == []


# what is not here, and what is long


def test_without_its_checklist_an_audit_shows_what_was_answered_and_can_not_be_signed(floor):
    floor.ready().answer("ok")
    start = floor.facts().start
    shutil.rmtree(floor.place.store.folder / "checklists" / start.checklist)
    floor.place._kept.clear()
    floor.place.checklists, floor.place._streams = None, {}

    page = floor.open("audit_list", concern=start.concern, entry=start.id)
    assert page.state.title == "shift-lead: early shift, 2026-03-09"
    assert page.state.sentence == (
        "The checklist of this audit is not here, so that what is still asked is not known."
    )
    assert [row.title for row in rows_of(page).values()] == ["Blade changed within its stroke limit?"]
    assert page.state.buttons == ()
    question = floor.open("audit", concern=start.concern, entry=start.id)
    assert (question.state.can_answer, question.state.given) == (False, "ok")
    sign = floor.open("audit_sign", concern=start.concern, entry=start.id, through="audit_list")
    fill(sign, by="SL-AB").record()
    assert sign.state.problem.startswith("The checklist that this audit was begun with is not here")
    assert floor.of(AuditSigned) == []
    question.undo()
    assert floor.facts().answers == {}


@pytest.mark.parametrize(
    "begun, signed",
    [
        ("0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-12:00"),
        ("9999-12-31T23:59:59-12:00", "0001-01-01T00:00:00+14:00"),
    ],
)
def test_audits_at_the_ends_of_time_that_a_bundle_brought_are_shown(floor, begun, signed):
    more = {"paper_by": "SL-XY", "paper_from": begun, "paper_until": signed}
    book = book_id(STREAM, date(2026, 3, 9))
    digest = floor.place.keep_checklist(STREAM)
    start = floor.place.add(AuditStart, concern=book, checklist=digest, **EARLY, **more)
    listed = floor.open("audits")
    assert listed.state.problem == "" and "shift-lead 2026-03-09 early" in rows_of(listed)
    floor.place.add(AuditSigned, concern=book, audit=start.id, ok=0, nok=0, not_applicable=0)

    listed = floor.open("audits")
    page = floor.open("audit_list", concern=book, entry=start.id)

    assert (listed.state.problem, page.state.problem) == ("", "")
    assert "shift-lead 2026-03-09 early" in rows_of(listed)
    assert page.state.subtitle == (
        "Washer-fluid reservoir. Done on paper by SL-XY, typed in on 2026-03-09 by SL-AB."
    )
    assert any(line.startswith("Signed ") for line in page.state.lines)


@pytest.mark.parametrize(
    "stream, layer, day", [("gone", "gone", "0001-01-01"), (STREAM, "gone", "9999-12-31")]
)
def test_an_audit_of_a_stream_or_layer_that_nobody_knows_shows_what_was_answered(floor, stream, layer, day):
    book = book_id(stream, date.fromisoformat(day))
    which = {"stream": stream, "layer": layer, "day": day, "checklist": floor.place.keep_checklist(STREAM)}
    start = floor.place.add(AuditStart, concern=book, **which)
    said = {"station": "nowhere", "question": "what", "asked": "Is it?", "answer": "not_ok"}
    floor.place.add(AuditAnswer, concern=book, audit=start.id, **said)

    page = floor.open("audit_list", concern=book, entry=start.id)

    assert (page.state.title, page.state.problem) == (f"gone: {day}", "")
    assert [row.title for row in rows_of(page).values()] == ["Is it?"]
    assert page.state.buttons == ()
    question = floor.open("audit", concern=book, entry=start.id)
    assert (question.state.ask, question.state.can_answer) == ("Is it?", False)


def many_questions(count, ask, how):
    return "".join(
        f'\n[[question]]\nstation = "{station}"\nid = "q{number}"\nask = "{number} {ask}"\nhow = "{how}"\n'
        for station in ("moulding", "degating", "welding", "leak-test", "packing")
        for number in range(count)
    )


@pytest.mark.parametrize("stations, count", [(4, 3), (5, 12)])
def test_audits_of_twelve_and_of_sixty_long_questions_are_done_to_the_signature(tmp_path, stations, count):
    folder = only_washer(
        tmp_path,
        **{"stations = 2\nquestions = 3\nminutes = 10\n\n[[layer]]\nid = \"sup":
           f"stations = {stations}\nquestions = {count}\nminutes = 10\n\n[[layer]]\nid = \"sup"},
    )  # fmt: skip
    path = folder / STREAM / "audits.toml"
    text = path.read_text(encoding="utf-8")
    ask, how = (
        ("Is everything as it was agreed here? " * 6)[:196].strip(),
        ("Look at each of them. " * 30)[:600],
    )
    path.write_text(
        text[: text.index("\n[[station]]\n")] + many_questions(12, ask, how.strip()), encoding="utf-8"
    )
    floor = Floor(tmp_path, checklists=folder)
    with floor.desk.store:
        floor.begin()
        page = floor.answer_all()
        assert len(floor.of(AuditAnswer)) == stations * count
        assert sum(len(s.rows) for s in page.state.sections) == stations * count
        assert floor.sign().state.sentence == "Done in time"
