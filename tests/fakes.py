"""Stand-ins for the window: a worker that runs at once or on demand, and a route recorder."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from tests.builders import START, SteppingClock, id_maker
from walkapp.actions.reading import WalkFacts, concern_facts, walk_facts
from walkapp.actions.walking import open_concern, start_walk
from walkapp.actions.workplace import Workplace
from walkapp.errors import WalkappError
from walkapp.model.records import Record
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session
from walkapp.store import Store

CHECKLISTS = Path(__file__).parents[1] / "checklists"

SAID = {
    "stream": "washer-reservoir",
    "defect": "cracked-ear",
    "what": "Cracked mounting ears (invented)",
    "severity": "function",
}


def run_now(work, done, failed) -> None:
    """Run the work at once, as a worker that is never busy."""
    try:
        made = work()
    except WalkappError as error:
        failed(error)
    else:
        done(made)


def take_signing_library_away(monkeypatch) -> None:
    """Make the library for signatures fail to import, as on a machine that does not have it."""
    loaded = [name for name in sys.modules if name.partition(".")[0] == "cryptography"]
    for name in {"cryptography", *loaded}:
        monkeypatch.setitem(sys.modules, name, None)


class Queue:
    """A worker that runs nothing until it is told to."""

    def __init__(self) -> None:
        self.waiting: list[Any] = []

    def __call__(self, work, done, failed) -> None:
        self.waiting.append((work, done, failed))

    def run(self) -> None:
        while self.waiting:
            run_now(*self.waiting.pop(0))


class Desk:
    """A real store in a folder, a session on it, and the routes that the pages asked for."""

    def __init__(
        self, folder: Path, *, run_later=run_now, seed: int = 0, by: str = "QE-RT", starts=START
    ) -> None:
        clock, new_id = SteppingClock(starts), id_maker(seed)
        self.store = Store(folder / "store", now=clock, new_id=new_id, app="walkapp test")
        self.place = Workplace(store=self.store, checklists=CHECKLISTS, now=clock, new_id=new_id, by=by)
        self.pictures = folder / "camera"
        self.routes: list[Route] = []
        self.session = Session(
            self.place,
            run_later=run_later,
            go=self.routes.append,
            picture_folders=(self.pictures,),
            bundles=folder / "bundles",
        )

    @property
    def records(self) -> list[Record]:
        return list(self.store.all_records())

    def concern(self, **more: Any) -> str:
        return open_concern(self.place, **{**SAID, **more}).concern

    def walk(self, direction: str = "down", **more: Any) -> Route:
        """Open a concern and start a walk; give the route of its first station."""
        concern = self.concern(**more)
        walk = start_walk(self.place, concern_facts(self.place, concern), direction).id
        return Route(screen="station", concern=concern, walk=walk, station="moulding")

    def facts(self, route: Route) -> WalkFacts:
        return walk_facts(self.place, route.concern, route.walk)
