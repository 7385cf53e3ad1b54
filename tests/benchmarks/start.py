"""Start to first frame of the app against an empty Kivy app, interleaved; prints the ratio.

Run with ``python -m tests.benchmarks.start [--runs N]``. Both are started as fresh processes without a
display, in turn, so that a noisy machine hits both alike.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

EMPTY = """
from kivy.app import App
from kivy.uix.label import Label
class Empty(App):
    def build(self):
        return Label(text="empty")
app = Empty()
"""

OURS = """
from walkapp.cli.commands import build_parser
from walkapp.cli import window
build_parser().parse_args([])
from walkapp.app import window_app, workplace_of
from walkapp.cli.machine import default_checklists, id_maker, now
from walkapp.store import Store
new_id = id_maker()
store = Store(folder / "store", now=now, new_id=new_id, app="benchmark")
place = workplace_of(store, default_checklists(), now=now, new_id=new_id)
app = window_app(place, folder / "pictures", bundles=folder / "bundles")
"""

CHILD = """
import sys
from pathlib import Path
from walkapp.demo.hand import prepare_environment
folder = Path(sys.argv[1])
prepare_environment(folder / "kivy")
{body}
from walkapp.demo.hand import Hand
hand = Hand(app)
print("frame", flush=True)
"""


def start_s(body: str) -> float:
    """Start one child in a folder of its own; give the seconds to its first frames."""
    with tempfile.TemporaryDirectory() as folder:
        script = Path(folder) / "start_child.py"  # Kivy looks for the file of the app's class
        script.write_text(CHILD.format(body=body), encoding="utf-8")
        began = time.perf_counter()
        child = subprocess.Popen(
            [sys.executable, str(script), folder],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
            text=True,
        )
        with child:
            line = child.stdout.readline()
            took = time.perf_counter() - began
        if line != "frame\n":
            raise SystemExit("the app did not start")
        return took


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=7)
    runs = parser.parse_args().runs
    for body in (EMPTY, OURS):  # a warm disk for both
        start_s(body)
    pairs = [(start_s(EMPTY), start_s(OURS)) for _ in range(runs)]
    empty, ours = (statistics.median(side) for side in zip(*pairs, strict=True))
    ratio = statistics.median(b / a for a, b in pairs)
    print(f"start to first frames, median of {runs}: empty {empty:.2f} s, walkapp {ours:.2f} s")
    print(f"ratio {ratio:.2f} (goal 1.3)")


if __name__ == "__main__":
    main()
