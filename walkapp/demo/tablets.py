"""The tablets of the demo: stores with a clock and a chance of their own, and the facts they record."""

from __future__ import annotations

import random
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from walkapp import __version__
from walkapp.actions.reading import concern_ids
from walkapp.actions.workplace import Workplace
from walkapp.model.ids import IdMaker
from walkapp.store import Store

SCENARIO = "washer-reservoir"
SECONDS_PER_ENTRY = 4


def read_scenario(part: str = "") -> dict[str, Any]:
    """Read the facts of the demo: beside a checkout's code, or inside an installed package.

    Parameters
    ----------
    part
        Empty for what is walked; ``-fix`` for what is done about it, ``-audits`` for the audits,
        ``-desk`` for what the desk keeps of the stream.
    """
    package = Path(__file__).resolve().parent.parent
    inside = package / "data" / "demo"
    folder = inside if inside.is_dir() else package.parent / "demo"
    return tomllib.loads((folder / f"{SCENARIO}{part}.toml").read_text(encoding="utf-8"))


class DemoClock:
    """The time in the demo: stands still until it is set or moved on.

    Parameters
    ----------
    start
        The first time.
    """

    def __init__(self, start: datetime) -> None:
        self.time = start

    def __call__(self) -> datetime:
        """Give the time, and let an entry take its few seconds."""
        self.time += timedelta(seconds=SECONDS_PER_ENTRY)
        return self.time


def repeatable_ids(clock: DemoClock, seed: int) -> Callable[[], str]:
    """Make ids that are the same each time the demo runs."""
    chance = random.Random(seed)
    return IdMaker(lambda: int(clock.time.timestamp() * 1000), chance.getrandbits)


@dataclass(frozen=True, slots=True)
class Tablet:
    """One tablet of the demo.

    Parameters
    ----------
    facts
        Its table in the scenario: name, by, starts, seed, stops, studies, older lots.
    place
        What its actions work with.
    clock
        Its time.
    """

    facts: Mapping[str, Any]
    place: Workplace
    clock: DemoClock

    @property
    def stops(self) -> list[dict[str, Any]]:
        """What is recorded, station by station."""
        return list(self.facts["stop"])

    @property
    def concern(self) -> str:
        """Id of the concern that is walked; audit books, which lie beside it, are none."""
        return concern_ids(self.place)[0]

    @property
    def studies(self) -> list[dict[str, Any]]:
        """The inspection studies that are done after the walk."""
        return list(self.facts.get("study", ()))


def open_tablet(facts: Mapping[str, Any], folder: Path, checklists: Path) -> Tablet:
    """Open the store of a demo tablet; the caller closes ``place.store``."""
    clock = DemoClock(facts["starts"])
    new_id = repeatable_ids(clock, facts["seed"])
    store = Store(folder, now=clock, new_id=new_id, app=f"walkapp {__version__}")
    place = Workplace(store=store, checklists=checklists, now=clock, new_id=new_id, by=facts["by"])
    return Tablet(facts, place, clock)
