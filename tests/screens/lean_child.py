"""The app where only its run-time packages are installed: run by test_lean.py in a process of its own.

``FOLDER PACKAGE...`` shuts off the packages that are named, loads every module of walkapp, sees that this
did not load what draws pages and figures, opens a concern by touch and takes a picture; then it prints how
many modules it loaded.
"""

from __future__ import annotations

import pkgutil
import sys
from importlib import import_module
from pathlib import Path


def main() -> None:
    """Load everything, then touch."""
    folder, foreign = Path(sys.argv[1]), sys.argv[2:]
    for package in foreign:
        sys.modules[package] = None  # importing it now fails as if it were not there
    # Late, as all that follows: only now is it seen who needs what.
    from walkapp.demo.hand import Hand, prepare_environment

    prepare_environment(folder / "kivy")
    import walkapp

    names = [m.name for m in pkgutil.walk_packages(walkapp.__path__, "walkapp.")]
    for name in names:
        if not name.endswith("__main__"):
            import_module(name)

    if "matplotlib" in sys.modules:
        raise SystemExit("matplotlib is imported although nothing was drawn")
    from walkapp.app import window_app
    from walkapp.demo.tablets import open_tablet, read_scenario
    from walkapp.demo.tour import TouchWalk

    scenario = read_scenario()
    tablet = open_tablet(scenario["tablet"][0], folder / "store", Path("checklists"))
    hand = Hand(window_app(tablet.place, folder / "camera", bundles=folder / "bundles"), folder=folder)
    TouchWalk(tablet, hand, folder / "camera").open_concern(scenario["concern"])
    hand.until(lambda: hand.has("start-walk"))
    hand.shot("concern")
    hand.close()
    tablet.place.store.close()
    print(len(names))


if __name__ == "__main__":
    main()
