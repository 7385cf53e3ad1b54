"""The app on a tablet whose battery dies: run by test_kill.py in a process of its own.

``judge FOLDER`` walks to the first check and judges parts by touch without end; after each tap it
prints the counter that the screen shows. ``look FOLDER`` opens the app anew and prints where it is.
``type FOLDER`` leaves a form half filled and a number half typed; it says so and waits for its end.
"""

from __future__ import annotations

import json
import sys
from itertools import cycle
from pathlib import Path

from walkapp.app import window_app
from walkapp.demo.hand import Hand, prepare_environment
from walkapp.demo.tablets import open_tablet, read_scenario
from walkapp.demo.tour import TouchWalk

CHECKLISTS = Path(__file__).resolve().parents[2] / "checklists"
STATION, CHECK, VALUE = "moulding", "ear-look", "ear-wall"
TAPS = ("ok", "not_ok", "ok")


def main() -> None:
    """Do what the call says."""
    task, folder = sys.argv[1], Path(sys.argv[2])
    prepare_environment(folder / f"kivy-{task}")
    scenario = read_scenario()
    tablet = open_tablet(scenario["tablet"][0], folder / "store", CHECKLISTS)
    camera = folder / "camera"
    hand = Hand(window_app(tablet.place, camera, bundles=folder / "bundles"), folder=folder)
    if task == "judge":
        walk = TouchWalk(tablet, hand, camera)
        walk.open_concern(scenario["concern"])
        walk.start()
        walk.stop({"station": STATION})
        hand.tap(f"row-{CHECK}")
        judge_without_end(hand)
    if task == "type":
        walk = TouchWalk(tablet, hand, camera)
        walk.open_concern(scenario["concern"])
        walk.start()
        walk.stop({"station": STATION})
        walk.tap("note")
        walk.write("words", "clamp pa")
        hand.back()
        walk.settle()
        for name in (f"row-{VALUE}", "key-2", "key-point"):
            walk.tap(name)
        hand.wait(1.2)
        walk.settle()
        print(json.dumps(hand.app.route.to_place()), flush=True)
        while True:
            hand.wait()
    hand.until(lambda: hand.has("progress") and "checked" in hand.find("progress").text)
    route = hand.app.session.kept.route()
    print(json.dumps(route.to_place() | {"progress": hand.find("progress").text}), flush=True)
    hand.close()
    tablet.place.store.close()


def judge_without_end(hand: Hand) -> None:
    """Tap one answer after another; each is printed as the screen confirms it."""
    hand.until(lambda: hand.has("progress") and hand.find("progress").text)
    for word in cycle(TAPS):
        before = hand.find("progress").text
        hand.tap(f"answer-{word}")
        hand.until(lambda before=before: hand.find("progress").text != before)
        print(hand.find("progress").text, flush=True)
        hand.wait(0.2)


if __name__ == "__main__":
    main()
