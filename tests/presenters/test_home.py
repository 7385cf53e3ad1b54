"""Home and the page of a concern."""

from __future__ import annotations

import shutil
from dataclasses import replace

import pytest

from tests.builders import record_id
from tests.fakes import CHECKLISTS
from walkapp.actions.keys import make_key
from walkapp.actions.reading import concern_facts
from walkapp.actions.walking import Walking, record_escalation, start_walk
from walkapp.files import fingerprint_of
from walkapp.presenters.concern import ConcernPage
from walkapp.presenters.home import HomePage
from walkapp.presenters.route import Route
from walkapp.presenters.station import StationPage


def home(desk):
    page = HomePage(desk.session, Route())
    page.open()
    return page


def concern_page(desk, concern):
    page = ConcernPage(desk.session, Route(screen="concern", concern=concern))
    page.open()
    return page


def test_an_empty_store_says_so(desk):
    assert home(desk).state.is_empty
    assert home(desk).state.rows == ()


def test_concerns_are_listed_newest_first_with_what_is_known(desk):
    older, newer = desk.concern(), desk.concern(what="Leaks", defect="leak", part_name="Reservoir")
    rows = home(desk).state.rows
    assert [row.id for row in rows] == [newer, older]
    assert rows[0].title == "Leaks"
    assert rows[0].subtitle == "Reservoir, first bad station not known"
    assert rows[0].mark == "not_visited"


@pytest.mark.parametrize(
    "replaced, words",
    [
        ({"sample = 5": 'sample = "five"'}, ("have 1 mistake,", "It is in ", 'sample is "five"')),
        (
            {"sample = 5": "sample = 0", '\nkind = "attribute"': '\nkind = "guess"'},
            ("2 mistakes,", "The first is in ", "guess"),
        ),
    ],
)
def test_mistakes_in_the_checklists_are_told_and_the_records_are_shown(desk, tmp_path, replaced, words):
    walked = desk.walk()
    unwalked = desk.concern(what="Nobody walked this one")
    folder = shutil.copytree(CHECKLISTS, tmp_path / "mistaken")
    path = folder / "washer-reservoir" / "checks.toml"
    text = path.read_text(encoding="utf-8")
    for before, after in replaced.items():
        text = text.replace(before, after, 1)
    path.write_text(text, encoding="utf-8")
    desk.session.place = replace(desk.place, checklists=folder)

    state = home(desk).state

    assert not [word for word in words if word not in state.problem], state.problem
    assert "checks.toml, line " in state.problem
    assert [row.id for row in state.rows] == [unwalked, walked.concern]
    assert state.rows[0].subtitle.endswith("checklist not here")
    assert state.rows[1].subtitle.endswith("first bad station not known")
    page = StationPage(desk.session, walked)
    page.open()
    assert page.state.cautions


def test_choosing_leads_to_the_concern_and_new_to_its_form(desk):
    page = home(desk)
    page.choose("c")
    page.new_concern()
    assert desk.routes == [Route(screen="concern", concern="c"), Route(screen="new_concern")]


def test_a_safety_concern_shows_its_caution_until_somebody_was_told(desk):
    concern = desk.concern(severity="safety")
    page = concern_page(desk, concern)
    assert page.state.must_escalate
    assert [row.title for row in page.state.to_escalation] == ["Record who was told"]
    assert page.state.escalation.startswith("Safety or regulatory class: stop the flow")

    record_escalation(desk.place, concern, "quality lead")
    page.open()

    assert not page.state.must_escalate
    assert [row.id for row in page.state.to_escalation] == ["told"]
    assert page.state.escalation.startswith("Told: quality lead, 2026-03-03")


def test_other_classes_show_no_caution(desk):
    page = concern_page(desk, desk.concern())
    assert (page.state.must_escalate, page.state.to_escalation, page.state.escalation) == (False, (), "")


def test_the_facts_that_were_said_are_shown_and_no_others(desk):
    page = concern_page(desk, desk.concern(quantity=35, lots="0225-1"))
    assert page.state.facts == (
        "Severity class: Fit or function",
        "Parts reported: 35",
        "Lots: 0225-1",
        "Value stream: Washer-fluid reservoir",
    )


def test_a_walk_goes_on_where_its_last_entry_was_made(desk):
    route = desk.walk()
    page = concern_page(desk, route.concern)
    assert [row.id for row in page.state.walks] == [route.walk]
    page.continue_walk(route.walk)
    Walking(desk.place, route.concern, route.walk).note("welding", "warm")
    page.continue_walk(route.walk)
    assert [r.station for r in desk.routes] == ["moulding", "welding"]
    page.open()
    assert page.state.walks[0].subtitle == "this tablet, 1 entry"


def test_walks_of_other_tablets_and_old_ones_are_told_in_words(desk):
    route = desk.walk()
    facts = concern_facts(desk.place, route.concern)
    own = [route.walk, *(start_walk(desk.place, facts, "down").id for _ in range(4))]
    others = [
        replace(facts.walks[0], id=record_id(n), walk=record_id(n), device=record_id(9), number=n)
        for n in range(20, 40)
    ]
    desk.store.merge(others, name="other", photos={}, checklists={})

    state = concern_page(desk, route.concern).state

    assert [row.id for row in state.walks] == own[:1:-1]
    assert (len(state.other_walks), state.other_walks[-1]) == (13, "and 10 more walks")
    assert all(", 0 entries" in line for line in state.other_walks[:-1])


@pytest.mark.parametrize(
    "direction, first", [("guided", "leak-test"), ("down", "moulding"), ("up", "dock")]
)
def test_a_walk_without_entries_begins_as_its_direction_says(desk, direction, first):
    route = desk.walk(direction)
    page = concern_page(desk, route.concern)
    page.continue_walk(route.walk)
    assert [r.station for r in desk.routes] == [first]


def test_the_concern_page_writes_a_bundle(desk):
    page = concern_page(desk, desk.concern())
    page.write_bundle()
    (path,) = desk.session.bundles.iterdir()
    assert str(path) in page.state.written
    assert not page.state.busy
    assert "igned" not in page.state.written


def test_a_tablet_with_a_key_shows_its_digits_at_home_and_where_a_bundle_was_written(desk):
    assert home(desk).state.key == ""
    digits = fingerprint_of(make_key(desk.place, b"k" * 32).public_key)
    page = concern_page(desk, desk.concern())
    page.write_bundle()

    assert home(desk).state.key == f"Key of this tablet: {digits}"
    assert page.state.written.endswith(f". Signed with the key of this tablet: {digits}.")


def test_a_damaged_key_is_told_at_home_and_where_a_bundle_was_written(desk, tmp_path):
    make_key(desk.place, b"k" * 32)
    (tmp_path / "store" / "key.json").write_bytes(b"")
    page = concern_page(desk, desk.concern())
    page.write_bundle()

    (damaged,) = home(desk).state.notices
    assert home(desk).state.key == ""
    assert damaged.startswith(f"{tmp_path / 'store' / 'key.json'} is damaged, so bundles are not signed: ")
    assert page.state.written.endswith(f". {damaged}")
    assert page.state.problem == ""


def test_a_concern_that_is_not_there_is_said_in_a_sentence(desk):
    page = concern_page(desk, "not-there")
    assert page.state.problem.startswith("There is no concern 'not-there' in this store")
