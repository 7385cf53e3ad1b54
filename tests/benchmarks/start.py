"""Start to first frames of the app against an empty Kivy app, interleaved; prints the ratio.

Run with ``python -m tests.benchmarks.start [--runs N]``. Both are started as fresh processes without a
display, in turn, so that a noisy machine hits both alike. Both have been started before, as on any day but
the first: Kivy finds its settings, the app its store (empty). What the first start takes, which makes the
folders of the store durable, is said too.

Both find their modules compiled, as an installer and a package leave them, whatever this machine is set to.
Where nothing may be kept (``PYTHONDONTWRITEBYTECODE``), Kivy would still be compiled, from when it was
installed, and the app would compile itself anew at every start.
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


def start_s(body: str, folder: Path, compiled: Path) -> float:
    """Start one child; give the seconds to its first frames.

    Parameters
    ----------
    body
        Builds the app.
    folder
        Its settings and its store, from an earlier start or none.
    compiled
        Where compiled modules are kept.
    """
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    env |= {"PYTHONPATH": str(Path(__file__).parents[2]), "PYTHONPYCACHEPREFIX": str(compiled)}
    script = folder / "start_child.py"  # Kivy looks for the file of the app's class
    script.write_text(CHILD.format(body=body), encoding="utf-8")
    began = time.perf_counter()
    child = subprocess.Popen(
        [sys.executable, str(script), str(folder)],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env=env,
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
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        compiled, empty_home, our_home = (folder / part for part in ("compiled", "empty", "ours"))
        empty_home.mkdir()
        our_home.mkdir()

        def first_start(number: int) -> float:
            home = folder / f"first-{number}"
            home.mkdir()
            return start_s(OURS, home, compiled)

        start_s(EMPTY, empty_home, compiled)
        start_s(OURS, our_home, compiled)
        times = [
            (start_s(EMPTY, empty_home, compiled), start_s(OURS, our_home, compiled), first_start(number))
            for number in range(runs)
        ]
    empty, ours, first = (statistics.median(side) for side in zip(*times, strict=True))
    ratio = statistics.median(b / a for a, b, _ in times)
    print(f"start to first frames, median of {runs}: empty {empty:.2f} s, walkapp {ours:.2f} s")
    print(f"its first start of all {first:.2f} s")
    print(f"ratio {ratio:.2f} (goal 1.3)")


if __name__ == "__main__":
    main()
