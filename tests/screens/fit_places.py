"""Every place of the app, with records that show it, and what else its page may have to show.

Three tablets: the demo's desk with all its records, one on which nothing was ever recorded, and one whose
texts are as long as they get. A new place of the demo's routes is walked without another word here.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.fakes import CHECKLISTS, Desk
from tests.screens.hard_records import hard_routes, open_hard_place
from walkapp.actions.workplace import Workplace
from walkapp.demo.audit_routes import audit_routes
from walkapp.demo.desk_routes import desk_routes
from walkapp.demo.fix_routes import fix_routes
from walkapp.demo.scenario import play
from walkapp.demo.tablets import SCENARIO, open_tablet, read_scenario
from walkapp.demo.tour import walked_by
from walkapp.demo.walk_routes import tour_routes
from walkapp.presenters.route import Route


@dataclass(frozen=True)
class Place:
    """A page as it is walked.

    Parameters
    ----------
    route
        Where it is.
    then
        What is done on it before it is looked at; gets the page's presenter.
    """

    route: Route
    then: Callable[[Any], None] | None = None


@dataclass(frozen=True)
class Tablet:
    """A tablet whose pages are walked.

    Parameters
    ----------
    place
        Its store is open.
    folder
        Where its camera and its bundles are.
    places
        Its places by name.
    """

    place: Workplace
    folder: Path
    places: dict[str, Place]


def _press(*keys: str) -> Callable[[Any], None]:
    def press(page: Any) -> None:
        for key in keys:
            page.press(key)

    return press


def _open_pad(which: str) -> Callable[[Any], None]:
    return lambda page: page.open_pad(which)


def _enlarge(page: Any) -> None:
    side = page.state.ok
    page.enlarge("ok", side.tiles[0].key)


AFTER = {
    "count": {"typing": _open_pad("nok")},
    "measure": {"ask-again": _press(*"999", "enter"), "choosing-a-unit": _press("unit")},
    "setting": {"out-of-limits": _press(*"64.5")},
    "confirmation-turn": {"typing": _open_pad("nok")},
    "trial-run": {"typing": _open_pad("nok")},
    "audit-cautions": {"question": lambda page: page.confirm_cautions()},
    "search": {"found": lambda page: page.type("pads"), "nothing-found": lambda page: page.type("qqq")},
}
"""What else a page shows after something was tapped or typed, by its place and a name for it."""


def _with_states(routes: dict[str, Route]) -> dict[str, Place]:
    places = {name: Place(route) for name, route in routes.items()}
    for name, states in AFTER.items():
        if name in routes:
            places |= {f"{name}: {state}": Place(routes[name], then) for state, then in states.items()}
    return places


@contextmanager
def demo_tablet(folder: Path, played: Path | None = None) -> Iterator[Tablet]:
    """Open the desk of the demo with the records of all its tablets; it is played first, unless it was.

    Parameters
    ----------
    folder
        Where it is played, or where `played` is copied to.
    played
        Folder of a demo that was played before.
    """
    if played is None:
        folder.mkdir(parents=True, exist_ok=True)
        play(folder, CHECKLISTS)
    else:
        shutil.copytree(played, folder)
    desk = open_tablet(read_scenario()["desk"], folder / "desk", CHECKLISTS)
    desk.clock.time = read_scenario("-fix")["until"]
    with desk.place.store:
        walked = walked_by(desk, folder / f"{SCENARIO}.zip")
        concern = walked.concern
        routes = tour_routes(walked) | fix_routes(desk.place, concern)
        routes |= audit_routes(desk.place) | desk_routes(desk.place, concern)
        yield Tablet(desk.place, folder, _with_states(routes))


EMPTY = (
    "home", "new_concern", "search", "audits", "audit_results", "findings", "desk", "merge", "merge_report",
    "reviews", "indicators", "choose_indicator", "ppm", "deliveries", "deliveries_file", "all_figures",
)  # fmt: skip
"""Places to which somebody comes before anything was recorded."""


@contextmanager
def empty_tablet(folder: Path) -> Iterator[Tablet]:
    """Open a tablet on which nothing was ever recorded."""
    folder.mkdir(parents=True, exist_ok=True)
    desk = Desk(folder)
    with desk.store:
        routes = {name: Route(screen=name, stream=SCENARIO) for name in EMPTY}
        yield Tablet(desk.place, folder, _with_states(routes))


@contextmanager
def hard_tablet(folder: Path) -> Iterator[Tablet]:
    """Open a tablet with very long names and texts, many stations and many checks."""
    folder.mkdir(parents=True, exist_ok=True)
    place = open_hard_place(folder)
    with place.store:
        yield Tablet(place, folder, _with_states(hard_routes(place)))


TABLETS = {"demo": demo_tablet, "empty": empty_tablet, "hard": hard_tablet}
"""How each of the three is opened."""
