"""The window on a disk that is really full: run by test_full_disk.py in a process with mounts of its own.

``FOLDER`` mounts a small file system there, fills it to the brim, tries everything that writes, makes room,
and does the same once more; it prints what the pages said as JSON.
"""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

from walkapp.demo.hand import Hand, prepare_environment

PICTURE = "leak-tester-hard-pads"


def main() -> None:
    """Do it."""
    folder = Path(sys.argv[1])
    prepare_environment(folder / "kivy")
    from tests.fakes import Desk
    from walkapp.app import window_app
    from walkapp.demo.pictures import draw
    from walkapp.demo.tour import TouchWalk
    from walkapp.presenters.route import Route

    disk = folder / "disk"
    disk.mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=12m", "tmpfs", disk], check=True)
    desk = Desk(disk)
    walk = desk.walk()
    desk.pictures = folder / "camera"  # a card of its own
    desk.pictures.mkdir()
    (desk.pictures / "one.jpg").write_bytes(draw(PICTURE))
    hand = Hand(
        window_app(desk.place, desk.pictures, bundles=disk / "bundles"), size=(1024, 600), folder=folder
    )
    touch = TouchWalk(desk, hand, desk.pictures)

    def go(screen: str, **more: str) -> None:
        hand.app.go(replace(walk, screen=screen, **more))
        touch.settle()
        hand.wait(0.4)

    def said() -> str:
        touch.settle()
        hand.app.aside.finish()
        touch.settle()
        shown = (widget for widget in hand.widgets() if getattr(widget, "test_name", "") == "problem")
        return " ".join(widget.text for widget in shown if widget.text)

    def entry() -> str:
        go("judge", station="welding", check="ear-look")
        touch.tap("answer-ok")
        for _ in range(30 if told.get("is full") else 0):
            if words := said():
                return words
            hand.wait(0.3)
            touch.tap("answer-ok")  # the last block of the journal has room for some more
        return said()

    def typed() -> str:
        go("note", station="welding")
        touch.write("words", "pads")
        return said()

    def picture() -> str:
        go("photo", station="welding")
        try:
            touch.tap("picture-1")
        except TimeoutError:
            return f"there is no picture: {hand.texts()}"
        return said()

    def bundle() -> str:
        go("answer")
        touch.tap("write-bundle")
        return said()

    def sheet() -> str:
        hand.app.go(Route(screen="sheet", concern=walk.concern))
        said()
        touch.tap("pdf")
        return said()

    def search() -> str:
        hand.app.go(Route(screen="search"))
        touch.settle()
        touch.write("words", "pads")
        return said()

    def mailed() -> str:
        hand.app.go(Route(screen="mailed", concern=walk.concern))
        said()
        touch.tap("write")
        return said()

    kinds = (entry, typed, picture, bundle, sheet, mailed, search)

    def all_of() -> dict[str, str]:
        return {kind.__name__: kind() for kind in kinds}

    filler = disk / "filler"
    # The reserve of the store is another test's; here it is used up already.
    (desk.store.folder / "ballast").unlink()
    fill(filler)
    told = {"is full": "yes"}
    entry()  # the last blocks of the journals are full as well then
    before = len(desk.records)
    full = all_of()
    told |= {"full": full, "more records": len(desk.records) - before}
    told["left on disk"] = (
        sorted(p.name for p in (disk / "bundles").glob("*")) if (disk / "bundles").exists() else []
    )
    filler.unlink()
    told["is full"] = ""
    told |= {"with room": all_of(), "more records then": len(desk.records) - before}
    hand.close()
    desk.store.close()
    again = Desk(disk, seed=7)
    told["kept"] = len(again.records) - before
    again.store.close()
    print(json.dumps(told))


def fill(path: Path) -> None:
    """Write until nothing more goes onto the disk."""
    with path.open("ab", buffering=0) as file, contextlib.suppress(OSError):
        for size in (1 << 20, 1 << 12, 1):
            with contextlib.suppress(OSError):
                while file.write(b"x" * size) == size:
                    pass


if __name__ == "__main__":
    main()
