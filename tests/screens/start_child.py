"""The start of the app, counted: run by test_start.py in a process of its own, with a folder for its store.

Prints as JSON which modules of walkapp were loaded and how many dataclasses were made for the first frames,
and which modules more when the first page has been looked at for a while.
"""

from __future__ import annotations

import dataclasses
import json
import sys
from pathlib import Path


def main() -> None:
    """Start, count, look at the first page, count again."""
    folder = Path(sys.argv[1])
    made = []
    make = dataclasses._process_class

    def counted(cls, *said):
        made.append(cls)
        return make(cls, *said)

    dataclasses._process_class = counted
    # Late, as all that follows: only now is it seen what a start loads.
    from walkapp.demo.hand import Hand, prepare_environment

    prepare_environment(folder / "kivy")
    from walkapp.app import window_app, workplace_of
    from walkapp.cli.commands import build_parser
    from walkapp.cli.machine import default_checklists, id_maker, now
    from walkapp.store import Store

    build_parser().parse_args([])
    new_id = id_maker()
    with Store(folder / "store", now=now, new_id=new_id, app="test") as store:
        place = workplace_of(store, default_checklists(), now=now, new_id=new_id)
        app = window_app(place, folder / "pictures", bundles=folder / "bundles")
        hand = Hand(app)
        first, classes = loaded(), len(made)
        hand.wait(1.5)
        app.aside.finish()
        print(json.dumps({"first": sorted(first), "classes": classes, "next": sorted(loaded() - first)}))
        hand.close()


def loaded() -> set[str]:
    """Give the modules of walkapp that are loaded."""
    return {name for name in list(sys.modules) if name.startswith("walkapp")}


if __name__ == "__main__":
    main()
