"""Pictures of every screen, with the records of the demo, at the sizes of several tablets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from walkapp.actions.disputes import settle
from walkapp.app import window_app
from walkapp.demo.audit_routes import audit_routes
from walkapp.demo.desk_routes import DRAWN, desk_routes
from walkapp.demo.fix_routes import fix_routes
from walkapp.demo.hand import Hand
from walkapp.demo.scenario import disagree
from walkapp.demo.tablets import Tablet
from walkapp.demo.walk_routes import Walked, dispute_routes, tour_routes
from walkapp.presenters.route import Route


@dataclass(frozen=True, slots=True)
class Device:
    """A tablet to take pictures for.

    Parameters
    ----------
    width_px, height_px
        Its window in pixels.
    density
        Pixels per dp.
    """

    width_px: int
    height_px: int
    density: float

    @property
    def name(self) -> str:
        """Its size in words."""
        return f"{self.width_px}x{self.height_px}"


DEVICES = (Device(1280, 800, 1.0), Device(800, 1280, 1.33), Device(1024, 600, 1.0))
"""A ten-inch tablet lying, an eight-inch one standing, and a low seven-inch one."""


def photograph_screens(tablet: Tablet, walked: Walked, device: Device, out: Path) -> list[Path]:
    """Take a picture of every screen on a device, with the records of both tablets.

    Parameters
    ----------
    tablet
        The tablet that was walked, with the records of the others merged; its store is open.
    walked
        Its walk.
    device
        The device.
    out
        The demo's folder; the pictures go into a folder of it named after the device.
    """
    folder = out / "pictures" / device.name
    folder.mkdir(parents=True, exist_ok=True)
    hand = Hand(
        window_app(tablet.place, out / "camera", bundles=out / "tablet-1" / "bundles"),
        size=(device.width_px, device.height_px),
        density=device.density,
        folder=folder,
    )
    try:
        routes = tour_routes(walked) | fix_routes(tablet.place, walked.concern) | audit_routes(tablet.place)
        taken = take_pictures(hand, routes | desk_routes(tablet.place, walked.concern))
        taken.append(photograph_question(hand, routes["audit-cautions"]))
        taken.append(photograph_search(hand, "pads"))
        dispute = disagree(tablet, walked.concern)
        taken += take_pictures(hand, dispute_routes(walked, dispute))
        settle(tablet.place, walked.concern, dispute, 0, "counted again")
        return taken
    finally:
        hand.close()


def photograph_question(hand: Hand, route: Route) -> Path:
    """Take a picture of a question of an audit, behind the cautions of its station."""
    hand.app.go(route)
    hand.until(lambda: hand.has("cautions-read"))
    hand.wait(0.5)  # a tap that follows a change of the page at once is taken for a bounce
    hand.tap("cautions-read")
    hand.until(lambda: hand.has("answer-ok"))
    hand.wait(0.2)
    return hand.shot("audit-question")


def photograph_search(hand: Hand, word: str) -> Path:
    """Take a picture of the search with what it finds for a word."""
    hand.app.go(Route(screen="search"))
    hand.until(lambda: hand.has("field-words-words"))
    hand.app.worker.finish()  # what was looked for before comes back, and would stand before the word
    hand.wait(0.5)
    hand.tap("field-words-words")
    hand.wait(0.2)
    field = hand.find("field-words-words")
    field.select_all()
    field.delete_selection()
    hand.type(word)
    hand.until(lambda: "found" in hand.find("told").text and hand.find("results").rows)
    hand.wait(0.2)
    return hand.shot("search-found")


def take_pictures(hand: Hand, routes: Mapping[str, Route]) -> list[Path]:
    """Show every place in the hand's window and take its picture."""
    taken = []
    for name, route in routes.items():
        hand.app.go(route)
        for _ in range(3):
            hand.app.worker.finish()
            hand.app.pictures.finish()
            hand.wait(0.1)
        if widget := DRAWN.get(name):
            hand.until(lambda widget=widget: hand.find(widget).texture is not None)
        taken.append(hand.shot(name))
    return taken
