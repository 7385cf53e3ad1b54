"""Back leads from every place to the one above, and from there on to home: never round, never out."""

from __future__ import annotations

from tests.fakes import run_now
from walkapp.presenters.pages import PAGES, page_class
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session

MOST_STEPS = 10


def test_back_leads_from_every_place_of_the_app_to_home_without_going_round(everywhere):
    went: list[Route] = []
    session = Session(
        everywhere.tablet.place, run_later=run_now, go=went.append,
        picture_folders=(everywhere.folder / "camera",), bundles=everywhere.folder / "bundles",
    )  # fmt: skip
    wrong = []
    for name, start in everywhere.routes.items():
        path = [start]
        while path[-1].screen != "home" and len(path) <= MOST_STEPS:
            went.clear()
            page_class(path[-1].screen)(session, path[-1]).back()
            if len(went) != 1 or went[0].screen not in PAGES or went[0] in path:
                wrong.append(f"{name}: {[route.screen for route in (*path, *went)]}")
                break
            path.append(went[0])
        else:
            if path[-1].screen != "home":
                wrong.append(f"{name} does not come home: {[route.screen for route in path]}")

    assert wrong == []
    assert {route.screen for route in everywhere.routes.values()} == set(PAGES)


def test_back_at_home_leaves_it_to_the_app(everywhere):
    went: list[Route] = []
    session = Session(
        everywhere.tablet.place, run_later=run_now, go=went.append,
        picture_folders=(everywhere.folder / "camera",), bundles=everywhere.folder / "bundles",
    )  # fmt: skip
    page_class("home")(session, Route()).back()
    assert went == []
