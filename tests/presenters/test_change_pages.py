"""The forms and the page of a change point: what they offer, keep, refuse and record."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk
from tests.floors import Floor, said_on
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.changes import change_points, correct_change
from walkapp.actions.merging import merge_bundles
from walkapp.model.checklist import STATION_KINDS
from walkapp.model.records import CHANGE_KINDS, ChangePoint, what_is_said
from walkapp.presenters.change_forms import ChangeForm, CorrectChangeForm, NewChangeForm
from walkapp.presenters.change_point import ChangePointPage
from walkapp.presenters.change_words import CHANGE_WORDS, INTENTIONS, REASONS, ROLES, WORDINGS, wordings
from walkapp.presenters.concern_parts import part_rows
from walkapp.presenters.onset import MOST_LISTED, OnsetPage

NEEDED = {"change": "machine", "common": "Setting changed", "changed_on": "2026-03-02"}


@pytest.fixture
def floor(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        yield Floor(desk)


def opened(page_class, floor, screen, *, entry="", station="leak-test", **filled):
    route = replace(floor.route, screen=screen, station=station, entry=entry)
    page = page_class(floor.desk.session, route)
    page.open()
    for name, value in filled.items():
        page.fill(name, value)
    return page


def at_station(floor, **filled):
    return opened(ChangeForm, floor, "change", **filled)


def field(page, name):
    return next(field for field in page.state.fields if field.name == name)


def offered(page, name):
    return [word for word, _ in field(page, name).options]


def points(floor):
    return [r for r in floor.desk.records if isinstance(r, ChangePoint)]


def test_every_kind_of_change_has_its_words_and_no_list_is_longer_than_a_glance():
    assert tuple(kind for kind, _ in CHANGE_WORDS) == tuple(WORDINGS) == CHANGE_KINDS
    for change, by_station in WORDINGS.items():
        assert set(by_station) <= {"", *STATION_KINDS}
        for station in STATION_KINDS:
            words = wordings(change, station)
            assert 4 <= len(words) <= 7
            assert len(set(words)) == len(words)
            assert not any(": " in word for word in words)  # it parts a wording from the own words
    assert all(len(words) <= 6 for words in (REASONS, INTENTIONS, ROLES))


def test_taps_alone_make_a_complete_change_point(floor):
    page = at_station(
        floor,
        customer_told="no",
        meant_to="run faster",
        reason="Planned",
        approved_by="shift lead",
        **NEEDED,
    )
    page.record()

    (point,) = points(floor)
    assert what_is_said(point) == {
        "station": "leak-test",
        "change": "machine",
        "what": "Setting changed",
        "changed_on": "2026-03-02",
        "reason": "Planned",
        "meant_to": "run faster",
        "approved_by": "shift lead",
        "customer_told": "no",
    }
    assert point.walk == floor.route.walk
    assert [route.screen for route in floor.desk.routes] == ["station"]


def test_own_words_follow_the_wording_or_stand_alone(floor):
    at_station(floor, what="clamp force from 2 to 3 kN", **NEEDED).record()
    at_station(floor, change="machine", what="Clamp 1 turned", changed_on="2026-03-02").record()

    assert [p.what for p in points(floor)] == [
        "Setting changed: clamp force from 2 to 3 kN", "Clamp 1 turned",
    ]  # fmt: skip


def test_the_wordings_are_those_of_the_kind_of_change_and_of_the_station(floor):
    page = at_station(floor)
    assert offered(page, "common") == []
    assert field(page, "common").hint.startswith("Choose the kind first")

    page.fill("change", "machine")
    page.fill("common", "Setting changed")
    assert offered(page, "common")[:2] == ["Clamp or test fixture changed", "Tool or wear part replaced"]

    page.fill("change", "material")
    assert (offered(page, "common")[0], field(page, "common").value) == ("New lot", "")


def test_the_days_of_the_week_are_offered_and_not_known_is_an_answer(floor):
    page = at_station(floor, **{**NEEDED, "changed_on": ""})
    assert [label for _, label in field(page, "changed_on").options] == [
        "today", "yesterday", "Sun 1 Mar", "Sat 28 Feb", "Fri 27 Feb", "Thu 26 Feb", "Wed 25 Feb",
        "not known",
    ]  # fmt: skip
    page.record()
    assert page.state.problem == "Still needed: When."

    page.fill("changed_on", "not known")
    page.record()
    assert [p.changed_on for p in points(floor)] == [""]


def test_roles_used_before_come_first_and_no_names_are_made_up(floor):
    floor.change("x", approved_by="setter")
    assert offered(at_station(floor), "approved_by") == ["setter", *ROLES[:5]]


@pytest.mark.parametrize(
    ("filled", "problem"),
    [
        (
            {"changed_on": "2026-03-04"},
            "When: 2026-03-04 is still to come; mend it, or the date of the tablet.",
        ),
        ({"changed_on": "2.3.2026"}, "When: must be a date such as"),
        ({"common": ""}, "Still needed: What changed."),
        ({"what": "x" * 401}, "In your own words: has 418 characters, at most 400"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence_and_nothing_is_lost(floor, filled, problem):
    page = at_station(floor, **{**NEEDED, "reason": "Planned", **filled})
    page.record()

    assert page.state.problem.startswith(problem)
    assert points(floor) == []
    again = at_station(floor)
    assert (field(again, "reason").value, field(again, "change").value) == ("Planned", "machine")


def test_a_tap_leads_to_the_next_question_and_typing_stays_where_it_is(floor):
    page = at_station(floor)
    seen = []
    for name, value in (
        ("change", "machine"), ("common", "Repaired"), ("changed_on", "2026-03-02"),
        ("customer_told", "no"), ("meant_to", "run faster"), ("reason", "Planned"),
        ("approved_by", "nobody"), ("what", "clamp 1"), ("reason", "Pl"),
    ):  # fmt: skip
        page.fill(name, value)
        seen.append(page.state.ahead)

    assert seen == [
        "common",
        "changed_on",
        "customer_told",
        "meant_to",
        "reason",
        "approved_by",
        "",
        "",
        "",
    ]


def test_from_the_time_line_a_change_of_any_station_is_recorded_outside_the_walk(floor):
    floor.walk()
    page = opened(NewChangeForm, floor, "new_change", station="", **NEEDED)
    assert (field(page, "station").value, page.state.frame) == ("leak-test", None)

    page.fill("station", "moulding")
    assert "Mould changed or repaired" in offered(page, "common")
    page.record()

    (point,) = points(floor)
    assert (point.station, point.walk) == ("moulding", "")
    assert floor.desk.routes == [replace(floor.route, screen="onset", station="")]


def test_a_correction_starts_from_what_is_recorded_and_asks_why(floor):
    point = floor.change("Repaired: clamp 1", day=24, approved_by="setter")
    page = opened(CorrectChangeForm, floor, "correct_change", entry=point.id)
    shown = {f.name: f.value for f in page.state.fields}
    assert (shown["common"], shown["what"]) == ("Repaired", "clamp 1")
    assert (shown["changed_on"], shown["approved_by"], shown["why"]) == ("2026-02-24", "setter", "")

    page.fill("what", "clamp 2")
    page.record()
    assert page.state.problem == "Still needed: Why it is corrected."
    page.fill("why", "mistyped")
    page.record()

    now = points(floor)[-1]
    assert (now.what, now.replaces, now.why) == ("Repaired: clamp 2", (point.id,), "mistyped")
    assert floor.desk.routes == [
        replace(floor.route, screen="change_point", station="leak-test", entry=point.id)
    ]


def test_a_day_that_is_not_known_stays_so_in_a_correction(floor):
    point = floor.change("Own words: with a colon")
    page = opened(
        CorrectChangeForm, floor, "correct_change", entry=point.id, why="mistyped", reason="Planned"
    )
    page.record()

    now = points(floor)[-1]
    assert (now.what, now.changed_on, now.reason) == ("Own words: with a colon", "", "Planned")


def test_the_page_of_a_change_shows_everything_that_is_recorded(floor):
    floor.walk()
    floor.lots()
    point = floor.change(
        "Harder clamp pads", day=24, reason="Planned", meant_to="run as before", approved_by="setter",
        customer_told="no",
    )  # fmt: skip
    state = opened(ChangePointPage, floor, "change_point", entry=point.id).state

    assert (state.sentence, state.subtitle) == ("Harder clamp pads", "Machine, Leak test")
    assert state.lines[:5] == (
        "When: 2026-02-24",
        "Why: Planned",
        "Meant to: run as before",
        "Approved by: setter",
        "Customer told: no",
    )
    assert state.lines[5].startswith("Recorded by QE-RT, 2026-03-03")
    assert state.cautions == ("The customer was not told of this change.",)
    assert state.sections[0].title.startswith("Suspect 1 of 1: 9")
    assert "made 0 to 2 days before the onset" in state.sections[0].words


def test_the_page_leads_to_the_correction_and_undo_takes_it_back(floor):
    point = floor.change("Harder clamp pads", day=24)
    page = opened(ChangePointPage, floor, "change_point", entry=point.id)
    page.press("correct")
    assert floor.desk.routes[-1] == replace(page.route, screen="correct_change")
    said = {**what_is_said(point), "what": "Softer clamp pads"}
    correct_change(floor.desk.place, floor.facts, point.id, why="mistyped", **said)
    page.open()
    assert (page.state.sentence, page.state.undo) == ("Softer clamp pads", "correction")
    assert page.state.lines[-1] == "Corrected: mistyped"

    page.undo()
    assert floor.desk.routes[-1] == page.route
    page.open()
    assert (page.state.sentence, page.state.can_undo) == ("Harder clamp pads", False)


def test_taking_a_change_back_leads_to_the_list(floor):
    point = floor.change("Harder clamp pads", day=24)
    page = opened(ChangePointPage, floor, "change_point", entry=point.id)
    page.undo()

    assert change_points(floor.facts) == ()
    assert floor.desk.routes[-1].screen == "onset"
    page.open()
    assert page.state.problem.startswith("This change point is not here, or was taken back")


def test_the_page_shows_the_record_of_the_other_tablet_too(floor, tmp_path):
    point = floor.change("Harder clamp pads", day=24)
    one = bundle_concerns(floor.desk.place, tmp_path / "one.zip", concern=floor.route.concern)
    other = Desk(tmp_path / "other", seed=1, by="QA-NW")
    with other.store:
        merge_bundles(other.place, [one.path])
        theirs = said_on(other, floor.route.concern)
        two = bundle_concerns(other.place, tmp_path / "two.zip", concern=floor.route.concern)
    merge_bundles(floor.desk.place, [two.path])

    page = opened(ChangePointPage, floor, "change_point", entry=point.id)
    (row,) = page.state.sections[-1].rows
    assert (row.id, row.title) == (theirs.id, "harder clamp pads")
    assert row.subtitle.startswith("Recorded by QA-NW")
    page.row("same", row.id)
    assert floor.desk.routes[-1].entry == theirs.id
    there = opened(ChangePointPage, floor, "change_point", entry=theirs.id).state
    assert (there.can_undo, there.sections[-1].rows[0].id) == (False, point.id)


def test_a_change_of_a_station_that_is_gone_is_shown_without_a_rank(floor):
    point = floor.change("Rack moved", "old-station", day=20)
    state = opened(ChangePointPage, floor, "change_point", entry=point.id).state
    assert (state.subtitle, state.sections) == ("Machine, old-station", ())
    assert state.notes == ("The checklist does not have its station, so it is not ranked.",)


def test_the_time_line_says_how_it_is_read_and_what_is_not_on_it(floor):
    floor.walk()
    floor.lots()
    floor.change("Harder clamp pads", day=24)
    floor.change("Spare screwdriver", "pump-assembly")
    state = opened(OnsetPage, floor, "onset").state

    assert state.line_words == (
        "Hatched band: 95 % interval of when it started, after 2026-02-24, at the latest 2026-02-26. "
        "Flag: the most probable first bad day. Numbers: the changes, as in the list below."
    )
    assert state.undated == "Day not known, so not on the line: 2 Spare screwdriver."
    assert [change.number for change in state.time_line.changes] == [1, 2]
    assert [row.number for row in state.suspects] == ["1", "2", ""]


def test_equally_suspect_changes_have_numbers_of_their_own(floor):
    for what in ("one", "two"):
        floor.change(what, day=24)
    state = opened(OnsetPage, floor, "onset").state
    assert [row.number for row in state.suspects] == ["1", "2", ""]
    assert state.suspects[0].probability == state.suspects[1].probability


def test_an_onset_that_may_have_been_long_before_is_said_to_be_open(floor):
    floor.walk()
    floor.lot(26, nok=9)
    words = opened(OnsetPage, floor, "onset").state.line_words
    assert "started, at the latest 2026-02-26; how long before is open." in words


def test_of_many_equally_suspect_changes_a_few_are_named(floor):
    floor.walk()
    for number in range(5):
        floor.change(f"Change {number}")
    said = opened(OnsetPage, floor, "onset").state.most_suspect
    assert "Change 0, Change 1, Change 2 or one of 2 more (" in said


def test_without_any_day_there_is_no_line(floor):
    floor.change("Spare screwdriver")
    state = opened(OnsetPage, floor, "onset").state
    assert (state.time_line, state.line_words) == (None, "")


def test_the_list_leads_to_the_change_and_the_foot_to_the_form(floor):
    point = floor.change("Harder clamp pads", day=24)
    page = opened(OnsetPage, floor, "onset")
    page.open_change(page.state.suspects[0].id)
    page.record_change()

    assert [(r.screen, r.entry) for r in floor.desk.routes] == [
        ("change_point", point.id),
        ("new_change", ""),
    ]
    assert floor.desk.routes[0].up() == replace(floor.route, screen="onset", station="leak-test")


def test_more_suspects_than_a_page_holds_are_summed_up(floor):
    for number in range(MOST_LISTED + 2):
        floor.change(f"Change {number}")
    rows = opened(OnsetPage, floor, "onset").state.suspects

    assert (len(rows), rows[-2].what, rows[-2].id) == (MOST_LISTED + 2, "2 more changes", "")
    assert sum(row.probability_value for row in rows) == pytest.approx(1)


def test_the_concerns_page_leads_to_the_time_line(floor):
    floor.change("Harder clamp pads", day=24)
    floor.lot(20)
    row = next(row for row in part_rows(floor.desk.place, floor.facts) if row.id == "onset")
    assert row.subtitle == "1 change point, 1 count of older lots recorded"
