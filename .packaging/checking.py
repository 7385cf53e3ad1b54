"""Whether everything that the program reads late was packed with it: run by the packed program itself.

It loads every module, finds every page, screen and call by its name, draws a page and a picture where the
library for that was packed, and opens a concern by touch in a window that needs no display.
"""

from __future__ import annotations

import io
import json
import os
import pkgutil
import sys
from importlib import import_module
from pathlib import Path


def check(folder: Path) -> None:
    """Check, and print what was found as JSON; ends with an error where something is missing.

    Parameters
    ----------
    folder
        Where a store may be made; made when it is missing.
    """
    os.environ.setdefault("SDL_VIDEODRIVER", "offscreen")
    # Late, as all that follows: the environment has to be set before anything imports Kivy.
    from walkapp.demo.hand import Hand, prepare_environment

    prepare_environment(folder / "kivy")
    import walkapp

    names = [found.name for found in pkgutil.walk_packages(walkapp.__path__, "walkapp.")]
    for name in names:
        if not name.endswith("__main__"):
            import_module(name)
    from walkapp.presenters.pages import PAGES, page_class
    from walkapp.screens.window import SCREENS

    for page in PAGES:
        page_class(page)
    for screen in SCREENS.values():
        pkgutil.resolve_name(screen)

    from walkapp.app import window_app
    from walkapp.cli.machine import default_checklists
    from walkapp.demo.tablets import open_tablet, read_scenario
    from walkapp.demo.tour import TouchWalk

    scenario = read_scenario()
    tablet = open_tablet(scenario["tablet"][0], folder / "store", default_checklists())
    hand = Hand(window_app(tablet.place, folder / "camera", bundles=folder / "bundles"), folder=folder)
    TouchWalk(tablet, hand, folder / "camera").open_concern(scenario["concern"])
    hand.until(lambda: hand.has("start-walk"))
    hand.shot("concern")
    hand.close()
    tablet.place.store.close()
    found = {
        "modules": len(names),
        "pages": len(PAGES),
        "screens": len(SCREENS),
        "concern": tablet.concern,
        "draws": _draws(),
        "from": getattr(sys, "_MEIPASS", ""),
    }
    print(json.dumps(found), flush=True)


def _draws() -> list[str]:
    """Draw a page and a picture in each form that the program writes."""
    try:
        from matplotlib.figure import Figure
    except ImportError:
        return []
    drawn = []
    for form in ("png", "pdf", "svg"):
        figure, written = Figure(figsize=(2, 2)), io.BytesIO()
        figure.text(0.1, 0.5, "x\u0304 \u2264 3 \u00b5m")
        figure.savefig(written, format=form)
        if written.tell() > 100:
            drawn.append(form)
    return drawn
