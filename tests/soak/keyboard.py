"""``python -m tests.soak.keyboard``: the keyboard over every field of every page, at two sizes and heights.

Some minutes; ``tests/screens/test_keyboard_room.py`` tries some of the pages.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from tests.everywhere import OpenedEverywhere
from tests.fakes import CHECKLISTS
from walkapp.demo.hand import Hand, prepare_environment
from walkapp.demo.scenario import play


def main() -> int:
    """Go through all of them, and tell what was hidden."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        prepare_environment(folder / "kivy")
        # Late: the environment has to be set before anything imports Kivy.
        from tests.screens.glass import LYING, STANDING, Glass

        play(folder / "demo", CHECKLISTS)
        count, hidden = 0, []
        with OpenedEverywhere(folder / "demo") as everywhere:
            for tablet, share in ((LYING, 0.40), (LYING, 0.55), (STANDING, 0.40), (STANDING, 0.55)):
                glass = Glass(lambda app, **more: Hand(app, **more), everywhere, share=share, tablet=tablet)
                for page, route in everywhere.routes.items():
                    glass.open(route)
                    for field in glass.names():
                        count += 1
                        hidden += [
                            f"{tablet['size']} {share:.0%} {page}: {one}" for one in glass.hidden(field)
                        ]
                        if glass.field() is not None:
                            glass.let_go()
                glass.hand.close()
    print(*hidden, f"{count} fields, {len(hidden)} hidden", sep="\n")
    return 1 if hidden else 0


if __name__ == "__main__":
    raise SystemExit(main())
