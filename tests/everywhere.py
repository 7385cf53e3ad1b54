"""Every place of the app on the records of the demo: for tests that go through all pages."""

from __future__ import annotations

from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from pathlib import Path

from tests.fakes import CHECKLISTS
from walkapp.demo.audit_routes import audit_routes
from walkapp.demo.desk_routes import desk_routes
from walkapp.demo.fix_routes import fix_routes
from walkapp.demo.tablets import SCENARIO, Tablet, open_tablet, read_scenario
from walkapp.demo.tour import walked_by
from walkapp.demo.walk_routes import tour_routes
from walkapp.presenters.pages import PAGES
from walkapp.presenters.route import Route


@dataclass(frozen=True)
class Everywhere:
    """The demo's desk, open, and where its pages are.

    Parameters
    ----------
    tablet
        The desk.
    folder
        Folder of the demo.
    routes
        A place for every page, by a name; the pages of the tour show what the demo recorded, the others at
        least open.
    """

    tablet: Tablet
    folder: Path
    routes: dict[str, Route]

    def one_for_each_page(self) -> dict[str, Route]:
        """Give one place for each page, by the page's name."""
        found: dict[str, Route] = {}
        for route in self.routes.values():
            found.setdefault(route.screen, route)
        return found


def open_desk(folder: Path) -> Tablet:
    """Open the store of the demo's desk, on the last day of its fix."""
    facts = {**read_scenario()["desk"], "starts": read_scenario("-fix")["until"]}
    return open_tablet(facts, folder / "desk", CHECKLISTS)


def routes_on(tablet: Tablet, folder: Path) -> dict[str, Route]:
    """Name every place; an audit or two are begun for it."""
    place, concern = tablet.place, tablet.concern
    routes = {
        **tour_routes(walked_by(tablet, folder / f"{SCENARIO}.zip")),
        **fix_routes(place, concern),
        **audit_routes(place),
        **desk_routes(place, concern),
    }
    shown = {route.screen for route in routes.values()}
    said = {
        "correct_turn": routes["confirmation-turn"],
        "settle_turn": routes["confirmation-turn"],
        "correct_factor": routes["factor"],
        "drop_factor": routes["factor"],
        "take_out_deliveries": routes["deliveries"],
        "deliveries_read": routes["deliveries-file"],
    }
    for screen in PAGES:
        if screen not in shown:
            routes[screen] = replace(said.get(screen, Route(concern=concern)), screen=screen)
    return routes


class OpenedEverywhere(AbstractContextManager[Everywhere]):
    """Opens the desk of a demo that was played with its audits; closes it at the end."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def __enter__(self) -> Everywhere:
        self._tablet = open_desk(self._folder)
        return Everywhere(self._tablet, self._folder, routes_on(self._tablet, self._folder))

    def __exit__(self, *_: object) -> None:
        self._tablet.place.store.close()
