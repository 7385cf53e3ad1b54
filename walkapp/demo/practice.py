"""What practice is about: the demo's concern, and the parts that its two tablets met at each station."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from walkapp.actions.practice import InventedParts, InventedPicture, PracticeFacts
from walkapp.demo.pictures import draw
from walkapp.demo.tablets import read_scenario
from walkapp.language import msg

TAKEN = (
    "stream",
    "defect",
    "what",
    "part_name",
    "part_number",
    "customer_reference",
    "quantity",
    "severity",
)
"""What is taken over of the concern: no days, since the tablet's clock may stand before them."""

LOOKS = {
    "ok": (
        msg("The ear has an even colour all round."),
        msg("No line, no spot; the edge of the ear is smooth."),
    ),
    "not_ok": (
        msg("A white line at the root of the ear."),
        msg("An edge of the ear catches the fingernail."),
    ),
}
"""How the parts of this concern look."""

PICTURE = "ear-cracked"
"""The picture that is there to be taken in."""


def practice_facts(checklists: Path) -> PracticeFacts:
    """Say what is practised.

    Parameters
    ----------
    checklists
        Folder of the ready-made value streams.
    """
    scenario = read_scenario()
    concern = {name: scenario["concern"][name] for name in TAKEN}
    return PracticeFacts(
        checklists=checklists,
        concern={**concern, "what": f"{concern['what']} (invented)"},
        pictures=cache(lambda: tuple(_pictures(scenario))),
        parts=_parts(scenario),
        looks=LOOKS,
    )


def _pictures(scenario: Mapping[str, Any]) -> Iterator[InventedPicture]:
    for said in scenario["limit"]:
        name = said["picture"]
        yield InventedPicture(name=name, data=draw(name), limit=said["limit"], caption=said["caption"])
    yield InventedPicture(name=f"{PICTURE}.jpg", data=draw(PICTURE))


def _parts(scenario: Mapping[str, Any]) -> dict[tuple[str, str, str], InventedParts]:
    """Add up what both tablets saw, by station, check and unit, and over all units."""
    seen: dict[tuple[str, str, str], tuple[int, int]] = {}
    for tablet in scenario["tablet"]:
        for stop in tablet["stop"]:
            for said in (*stop.get("judge", ()), *stop.get("count", ())):
                for unit in {said.get("unit", ""), ""}:
                    where = stop["station"], said["check"], unit
                    checked, nok = seen.get(where, (0, 0))
                    seen[where] = checked + said["checked"], nok + said["nok"]
    return {where: InventedParts(checked=checked, nok=nok) for where, (checked, nok) in seen.items()}
