"""The pages of a sheet: what would be printed, what is missing and where that is recorded."""

from __future__ import annotations

import pytest

from tests.fakes import Desk, Queue
from tests.paper.printed import pages_of
from walkapp.actions.reading import concern_facts
from walkapp.presenters.concern_parts import part_rows
from walkapp.presenters.desk.sheet import PAGE_OF_GAP, TITLE_OF_GAP, SheetLookPage, SheetPage
from walkapp.presenters.pages import PAGES, page_class
from walkapp.presenters.route import Route


@pytest.fixture
def desk(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        yield desk


def test_the_page_of_a_concern_leads_to_its_sheet(desk):
    facts = concern_facts(desk.place, desk.concern())

    assert "sheet" in [row.id for row in part_rows(desk.place, facts)]
    assert page_class("sheet") is SheetPage


def test_every_gap_has_a_name_and_leads_to_a_page_that_there_is():
    assert set(PAGE_OF_GAP) | {"checklist"} == set(TITLE_OF_GAP)
    assert set(PAGE_OF_GAP.values()) <= set(PAGES)


def test_what_is_missing_leads_to_where_it_is_recorded(desk):
    page = SheetPage(desk.session, Route(screen="sheet", concern=desk.concern()))

    page.open()
    rows = {row.title: row for row in page.state.sections[0].rows}
    page.row("gaps", rows["Lessons"].id)

    assert rows["Lessons"].subtitle == "No lesson is written down yet."
    assert desk.routes[-1] == Route(screen="lessons", concern=page.route.concern)


def test_the_page_is_drawn_by_the_worker_that_no_tap_waits_for(desk):
    aside = desk.session.aside = Queue()
    page = SheetPage(desk.session, Route(screen="sheet", concern=desk.concern()))

    page.open()

    assert page.state.picture is None
    assert page.state.waiting
    aside.run()
    assert page.state.picture.size == (1400, 990)
    assert page.state.waiting == ""


def test_a_written_sheet_is_on_disk_before_that_is_said(desk):
    aside = desk.session.aside = Queue()
    page = SheetPage(desk.session, Route(screen="sheet", concern=desk.concern()))
    page.open()
    aside.waiting.clear()

    page.press("pdf")

    assert not desk.session.bundles.exists()
    assert not page.state.saved.startswith("On disk")
    aside.run()
    (path,) = desk.session.bundles.iterdir()
    assert page.state.saved == f"On disk: {path.name} in {path.parent}."
    assert len(pages_of(path.read_bytes())) == 1


def test_a_sheet_that_cannot_be_written_says_why(desk):
    desk.session.bundles.write_text("in the way", encoding="utf-8")
    page = SheetPage(desk.session, Route(screen="sheet", concern=desk.concern()))
    page.open()

    page.press("png")

    assert "cannot be made" in page.state.problem
    assert page.state.saved == ""


def test_a_concern_that_is_not_here_is_said_in_a_sentence(desk):
    page = SheetPage(desk.session, Route(screen="sheet", concern="gone"))

    page.open()
    page.press("pdf")

    assert "There is no concern" in page.state.problem


def test_a_closer_look_is_drawn_once_for_each_width(desk):
    aside = desk.session.aside = Queue()
    page = SheetLookPage(desk.session, Route(screen="sheet_look", concern=desk.concern()))
    page.open()
    page.fit(600, 400, 15)
    page.fit(600, 400, 15)

    assert len(aside.waiting) == 1
    aside.run()
    assert page.state.picture.size[0] == 600
    page.zoom()
    aside.run()
    assert page.state.picture.size[0] == 1200
    assert page.state.is_large


def test_back_leads_from_the_closer_look_to_the_sheet_and_on_to_the_concern(desk):
    page = SheetPage(desk.session, Route(screen="sheet", concern=desk.concern()))
    page.open()

    page.look()
    SheetLookPage(desk.session, desk.routes[-1]).back()
    SheetPage(desk.session, desk.routes[-1]).back()

    assert [route.screen for route in desk.routes] == ["sheet_look", "sheet", "concern"]
