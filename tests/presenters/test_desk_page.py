"""The first page of the desk."""

from __future__ import annotations

import pytest

from tests.fakes import Desk
from walkapp.presenters.desk.start import DeskPage
from walkapp.presenters.route import Route


@pytest.fixture
def desk(tmp_path):
    desk = Desk(tmp_path)
    yield desk
    desk.store.close()


def opened(desk):
    page = DeskPage(desk.session, Route(screen="desk"))
    page.open()
    return page


def test_the_desk_leads_to_what_is_done_there_and_says_how_the_findings_stand(desk):
    (section,) = opened(desk).state.sections

    assert [row.id for row in section.rows] == [
        "merge", "reviews", "indicators", "ppm", "all_figures", "labels", "findings",
    ]  # fmt: skip
    assert section.rows[-1].mark == "not_visited"


@pytest.mark.parametrize("row", ["merge", "reviews", "indicators", "ppm", "all_figures", "findings"])
def test_back_leads_from_every_page_of_the_desk_to_the_desk(desk, row):
    opened(desk).row("desk", row)

    assert desk.routes[-1].screen == row
    assert desk.routes[-1].up() == Route(screen="desk")
