"""The review pages: from the list of concerns down to one entry, and a part of the records on the way."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.builders import record_id
from tests.cameras import Camera
from tests.floors import OTHER, Two
from tests.photos.camera import phone_jpeg, scene
from tests.quarrels import Quarrel
from walkapp.actions.review import review
from walkapp.actions.review_evidence import station_evidence
from walkapp.analysis.filtering import RecordFilter
from walkapp.model.records import Answer
from walkapp.presenters.concern import ConcernPage
from walkapp.presenters.desk.review import (
    DAY_SAID,
    MOST_OFFERED,
    ReviewFilterForm,
    ReviewPage,
    ReviewsPage,
    review_table_row,
)
from walkapp.presenters.desk.review_evidence import (
    PAGE_ROWS,
    ReviewEntriesPage,
    ReviewEntryPage,
    ReviewStationPage,
)
from walkapp.presenters.gallery import GalleryPage
from walkapp.presenters.route import Route


@pytest.fixture
def two(desk):
    return Two(desk)


def opened(desk, kind, route):
    page = kind(desk.session, route)
    page.open()
    assert not page.state.problem
    return page


def at(two, screen="review", **more):
    return Route(screen=screen, concern=two.route.concern, **more)


def rows(page):
    return {row.title: row for section in page.state.sections for row in section.rows}


def test_the_list_says_of_each_concern_what_is_known_and_leads_to_its_review(desk):
    quarrel = Quarrel(desk)
    page = opened(desk, ReviewsPage, Route(screen="reviews"))

    (row,) = rows(page).values()
    assert row.subtitle == (
        "starts at Leak test (>99.9 %), 39 parts judged, 1 walk, 1 tablet, 1 entry disagrees with another"
    )
    page.row("concerns", row.id)
    to = desk.routes[-1]
    assert (to.screen, to.concern, to.up().screen) == ("review", quarrel.concern, "reviews")


def test_without_a_concern_the_list_says_so(desk):
    assert opened(desk, ReviewsPage, Route(screen="reviews")).state.sentence.startswith("No concern")


def test_a_concern_of_the_safety_class_says_on_its_review_that_nobody_was_told(desk):
    concern = desk.concern(severity="safety")

    (row,) = rows(opened(desk, ReviewsPage, Route(screen="reviews"))).values()
    assert row.subtitle.endswith("safety class, nobody was told yet")
    page = opened(desk, ReviewPage, Route(screen="review", concern=concern))
    assert page.state.cautions[0].startswith("Safety or regulatory class")


def test_the_table_has_every_station_with_what_its_figures_stand_on(desk, two):
    page = opened(desk, ReviewPage, at(two))

    table = {row.station: row for row in page.state.table}
    assert list(table) == [station.id for station in two.facts.stream.stations]
    moulding, leak = table["moulding"], table["leak-test"]
    assert (moulding.name, moulding.counts) == ("1  Injection moulding", "15 of 30 NOK")
    assert moulding.share == "NOK share 31 % to 69 %" and moulding.is_named
    assert moulding.verdict == "bad: first bad station"
    assert leak.evidence == "20 entries, 1 tablet" and leak.whole == page.state.part == ""
    assert table["packing"].counts == "none checked" and table["packing"].evidence == "nothing recorded"
    assert page.state.cautions == () and [b.name for b in page.state.buttons] == ["review_filter"]


def test_a_part_of_the_records_says_so_on_top_and_sets_all_records_beside_it(desk, two):
    own = desk.store.device
    page = opened(desk, ReviewPage, at(two, filter=RecordFilter(tablet=own).to_text()))

    state = page.state
    assert state.part == f"40 of 70 parts: tablet {own[-6:]} only"
    assert state.sentence.startswith("The defect starts at Leak test")
    assert state.lines[0].startswith("All 70 parts: The defect")
    assert "by chance" in state.cautions[0] and DAY_SAID in state.notes
    assert {row.station: row.whole for row in state.table}["moulding"] == "all: 15 of 30 NOK"
    page.press("all")
    assert desk.routes[-1] == at(two)


def test_a_part_without_parts_says_so_and_gives_no_advice(desk, two):
    page = opened(desk, ReviewPage, at(two, filter=RecordFilter(since="2030-01-01").to_text()))

    assert page.state.sentence == "No part is left: choose another part of the records."
    assert not any(line.startswith("Next:") for line in page.state.lines)


def test_the_filter_is_kept_in_the_place_and_comes_back_after_a_restart(desk, two):
    page = opened(desk, ReviewPage, at(two))
    page.press("review_filter")
    form = opened(desk, ReviewFilterForm, desk.routes[-1])
    fields = {field.name: field for field in form.state.fields}
    assert list(fields) == ["since", "until", "tablet", "unit", "shift"]
    assert fields["shift"].options == (
        ("", "every shift"), ("early", "early: 40 parts"), ("night", "night: 30 parts"),
    )  # fmt: skip
    assert form.state.advice == ("Looked at: all records.",)

    form.fill("tablet", OTHER)
    form.fill("unit", "cavity 9")
    assert form.state.advice == (f"Looked at: tablet {OTHER[-6:]}, cavity 9 only.",)
    form.record()
    to = desk.routes[-1]
    assert (to.screen, RecordFilter.from_text(to.filter)) == (
        "review", RecordFilter(tablet=OTHER, unit="cavity 9"),
    )  # fmt: skip

    desk.session.kept.keep_route(to)
    again = opened(desk, ReviewPage, desk.session.kept.route())
    assert again.state.part.startswith("10 of 70 parts")
    again.press("review_filter")
    form = opened(desk, ReviewFilterForm, desk.routes[-1])
    assert {f.name: f.value for f in form.state.fields}["unit"] == "cavity 9"


@pytest.mark.parametrize(
    ("since", "until", "words"),
    [
        ("2026-03-05", "2026-03-03", "is before Judged from"),
        ("yesterday", "", "Judged from: must be a day"),
    ],
)
def test_days_that_cannot_be_are_refused(desk, two, since, until, words):
    form = opened(desk, ReviewFilterForm, at(two, "review_filter"))
    form.fill("since", since)
    form.fill("until", until)

    form.record()

    assert words in form.state.problem and desk.routes == []


def test_of_very_many_tablets_those_with_most_parts_and_the_chosen_one_are_offered(desk, two):
    like = next(r for r in desk.records if isinstance(r, Answer))
    came = [
        replace(like, id=record_id(9_800_000 + n), device=record_id(9_900_000 + n), number=1)
        for n in range(30)
    ]
    desk.store.merge(came, name="many", photos={}, checklists={})
    last = came[-1].device
    form = opened(
        desk, ReviewFilterForm, at(two, "review_filter", filter=RecordFilter(tablet=last).to_text())
    )

    tablet = next(field for field in form.state.fields if field.name == "tablet")
    assert len(tablet.options) <= MOST_OFFERED + 2 and last in dict(tablet.options)
    assert tablet.value == last and "more are not offered" in tablet.hint


def test_a_station_leads_to_groups_entries_and_one_entry_and_back_the_same_way(desk, two):
    route = at(two, filter=RecordFilter(shift="night").to_text())
    page = opened(desk, ReviewPage, route)
    page.to_station("moulding")
    station = opened(desk, ReviewStationPage, desk.routes[-1])
    assert station.state.sentence == "15 of 30 NOK, judged on 1 tablet in this part."
    assert station.state.lines == ("A part of the records: shift night only.",)

    (group,) = station.state.sections[0].rows
    station.row("groups", group.id)
    entries = opened(desk, ReviewEntriesPage, desk.routes[-1])
    assert entries.state.lines[1] == "30 entries, the newest first; page 1 of 2."
    shown = entries.state.sections[0].rows
    assert len(shown) == PAGE_ROWS
    assert shown[0].title == "NOK" and shown[0].mark == "bad"
    assert shown[0].subtitle == (
        f"2026-03-04 23:29, SL-KB, tablet {OTHER[-6:]}, number 31, shift night, cavity 9"
    )
    entries.press("older")
    entries = opened(desk, ReviewEntriesPage, desk.routes[-1])
    assert entries.state.lines[1].endswith("page 2 of 2.")

    entries.row("entries", entries.state.sections[0].rows[0].id)
    entry = opened(desk, ReviewEntryPage, desk.routes[-1])
    assert entry.state.title.startswith("Answers, Injection moulding")
    entry.back()
    back = desk.routes[-1]
    assert (back.screen, back.entry, back.number) == ("review_entries", OTHER, "2")
    for screen in ("review_station", "review"):
        back = back.up()
        assert back.screen == screen
    assert back.filter == route.filter


def test_an_entry_that_was_corrected_tells_what_it_replaces_and_why(desk):
    quarrel = Quarrel(desk)
    page = opened(
        desk,
        ReviewEntryPage,
        Route(
            screen="review_entry", concern=quarrel.concern, station="leak-test",
            entry=quarrel.facts.conflicts[0].shown.id,
        ),
    )  # fmt: skip

    before = next(section for section in page.state.sections if section.name == "before")
    assert before.title == "What it replaces" and "NOK" in before.words
    assert "Why it was corrected: test" in page.state.lines


def test_an_entry_that_is_gone_is_said_in_one_sentence(desk, two):
    page = ReviewEntryPage(desk.session, at(two, "review_entry", station="moulding", entry=record_id(1)))
    page.open()

    assert page.state.problem.endswith("go back and choose again.")


def test_other_entries_have_a_list_of_their_own(desk, two):
    two.walking.note("leak-test", "pads look new")
    station = opened(desk, ReviewStationPage, at(two, "review_station", station="leak-test"))
    station.row("others", "others")
    entries = opened(desk, ReviewEntriesPage, desk.routes[-1])

    (row,) = entries.state.sections[0].rows
    assert row.title == "Notes, Leak test" and row.mark == ""


def test_the_pictures_of_a_station_are_a_tap_away_and_lead_back(desk, two):
    camera = Camera(desk.pictures, desk=desk, route=two.route)
    camera.take(phone_jpeg(scene((80, 48))), station="leak-test")
    camera.take(phone_jpeg(scene((90, 48))), station="moulding")
    station = opened(desk, ReviewStationPage, at(two, "review_station", station="leak-test"))
    station.row("more", "gallery")

    page = opened(desk, GalleryPage, desk.routes[-1])
    assert [tile.station for tile in page.state.tiles] == ["4  Leak test"]
    page.look_at(page.state.tiles[0].key, "", 0)
    assert desk.routes[-1].up().up() == replace(station.route, picture=page.state.tiles[0].key)


def test_the_page_of_a_concern_leads_to_its_review(desk, two):
    page = opened(desk, ConcernPage, Route(screen="concern", concern=two.route.concern))
    assert [row.subtitle for row in page.state.parts if row.id == "review"] == [
        "Station by station down to the single entry: 2 tablets."
    ]

    page.to_part("review")
    assert desk.routes[-1].up().screen == "concern"


def test_a_row_of_the_table_says_when_it_is_not_the_first_bad_one(two):
    found = review(two.facts, RecordFilter())
    here = station_evidence(two.facts, "leak-test")
    verdict = found.answer.stations[here.station.order - 1]

    row = review_table_row(verdict, verdict, here, named="Injection moulding", is_part=False)
    assert row.verdict == "bad" and not row.is_named
