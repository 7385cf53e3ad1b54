"""``python -m tests.soak.day``: a working day of taps in one real window, and what memory it takes.

A hand walks, counts, measures, fills in forms, takes back, scrolls, takes pictures in, does audits, looks
at the desk, turns the tablet and pauses the app, round after round, with real touches on a clock of its
own. Between two rounds the clock jumps, as when a person walks on. Memory, Python objects, widgets and
textures are sampled every simulated half hour; a window that has been used for a day must be as large, as
fast and as whole as after its first hour.

The first hour is the warm-up: every page is built when it is first opened, letters are drawn into
textures, libraries for printed pages are read late, and so many pictures are taken in that no more small
ones are held in memory; none of that comes twice. What is told is the trend over all samples since then,
since one sample differs from the next by what was shown last. The records of a day stay in memory on
purpose and are counted in.

Without a graphics card Mesa's renderer is in the process too. With threads it keeps what it drew of the
last 64 frames, some 250 MB that are the larger the more was to be seen (found by counting what each
library holds), so it is told to draw without (``LP_NUM_THREADS`` of its environment variables): what is
measured is the app.

The control is a second, short day in the same process with a planted leak: labels that something long-lived
holds. It has to be found.
"""

from __future__ import annotations

import argparse
import ctypes
import gc
import io
import itertools
import os
import random
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import redirect_stdout, suppress
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from statistics import median
from typing import Any

from walkapp.demo.hand import Hand, prepare_environment

MOST_GROWTH = 0.05
GROWS = ("rss_kb", "objects", "widgets", "textures")
MOST_TEXTURES_GROW = 0.10
"""They are few, and each shift of the day leaves a concern, which is one more row of the first page."""

CONTROL_H = 24 * 50 / 3600
"""Rounds on the floor: half of them before it is measured first."""

MOST_SLOWER = 1.5
"""Frames may take by so much longer at the end, measured in turns of a bare loop."""

FIRST_PICTURES = 75
"""Taken in one after the other in the first hour: 16 MB of small ones, the most that are held."""

QUIET_S = 2.0
"""Textures of pages that are gone are given back in the frames after that."""

ROUND_S = 50.0
"""How long a round takes on the day's clock, with the walk to the next one; a guess, no source."""


@dataclass(frozen=True)
class Sample:
    """How the window stands.

    Parameters
    ----------
    at_s
        Seconds of the day's clock.
    taps
        Touches so far.
    rss_kb
        Memory of the process: median after each round of the last turn. From one page to the next it goes
        up and down by a tenth, since the renderer keeps more or less for what was drawn last.
    objects, widgets, textures
        What Python and Kivy hold.
    frame
        Median time of a frame that is drawn anew, in turns of a bare loop.
    """

    at_s: float
    taps: int
    rss_kb: int
    objects: int
    widgets: int
    textures: int
    frame: float


@dataclass
class Day:
    """What a day left behind.

    Parameters
    ----------
    samples
        The first one at the end of the warm-up.
    confirmed
        Running numbers of the entries that the screen confirmed.
    problems
        Whatever was wrong, in words.
    """

    samples: list[Sample] = field(default_factory=list)
    confirmed: list[int] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)

    def growth(self, what: str) -> float:
        """By how much something grew from the end of the warm-up to the end of the day, as a share.

        Notes
        -----
        The trend of Theil and Sen: the median of the slopes between all pairs of samples, and the median of
        what is left as the level that it begins at. No single sample decides.
        """
        begin, end = self.samples[0].at_s, self.samples[-1].at_s
        points = [(one.at_s - begin, getattr(one, what)) for one in self.samples]
        slope = median((b - a) / (u - t) for (t, a), (u, b) in itertools.combinations(points, 2))
        return float(slope * (end - begin) / median(value - slope * t for t, value in points))


class Rounds:
    """Everything that the hand does, a round at a time.

    Parameters
    ----------
    tablet
        The tablet; its store is open and empty.
    hand
        The hand in its window.
    folder
        Where the tablet keeps its files.
    """

    def __init__(self, tablet: Any, hand: Hand, folder: Path) -> None:
        from walkapp.demo.tour import TouchWalk

        self.tablet, self.hand, self.folder = tablet, hand, folder
        self.touch = TouchWalk(tablet, hand, folder / "camera")
        self.chance = random.Random(8)
        self.taps = 0
        self.confirmed: list[int] = []
        self.walks = 0
        self.pictures = itertools.count(1)
        self.concern = self.walk = ""

    # what all rounds do

    def tap(self, *names: str) -> None:
        """Tap one after the other, as late as who has read the page."""
        for name in names:
            self.hand.wait(0.3)
            try:
                self.touch.tap(name)
            except TimeoutError:
                raise AssertionError(f"there is no {name}; the page says {self.hand.texts()}") from None
            self.taps += 1

    def records(self, *names: str) -> None:
        """Tap; the last tap has to put one entry on disk, and the page has to say so."""
        before = self.tablet.place.store.next_number
        self.tap(*names)
        after = self.tablet.place.store.next_number
        if after != before + 1:
            raise AssertionError(f"{names[-1]}: {after - before} entries; {self.hand.texts()}")
        self.confirmed.append(before)

    def go(self, screen: str, **more: str) -> None:
        """Open a place of the walk, as the strip, a search or a restart does."""
        from walkapp.presenters.route import Route

        said = {"concern": self.concern, **more}
        self.hand.app.go(Route(screen=screen, **said))
        self.touch.settle()

    def at(self, screen: str, station: str, check: str = "") -> None:
        """Open a check of the walk."""
        self.go(screen, walk=self.walk, station=station, check=check)

    def back(self) -> None:
        """Press the tablet's key."""
        self.hand.back()
        self.touch.settle()
        self.taps += 1

    def scroll(self) -> None:
        """Drag what scrolls up and down again."""
        from walkapp.screens.stops import scroll_views

        for view in itertools.islice(scroll_views(self.hand.app.page), 2):
            x, y = view.to_window(*view.center)
            high = min(view.height * 0.4, 200)
            for way in (1, -1):
                self.hand.drag((x, y - way * high / 2), (x, y + way * high / 2), rests=True)
                self.taps += 1

    # rounds

    def begin(self) -> None:
        """Open a concern and begin a walk, as on each shift."""
        from walkapp.demo.tablets import read_scenario

        while self.hand.app.page.name != "home":
            self.back()
        self.tap("new-concern")
        facts = read_scenario()["concern"]
        for name in ("stream", "defect", "severity"):
            self.tap(f"field-{name}-choice-{facts[name]}")
        self.walks += 1
        self.touch.write("what", f"Cracked ears, number {self.walks} (invented)")
        self.tap("record")
        self.concern = self.hand.app.route.concern
        self.tap("start-walk")
        self.touch.write("by", "QE-RT")
        self.tap("field-direction-choice-down", "record")
        self.walk = self.hand.app.route.walk
        self.tap("station-welding")
        if self.hand.has("cautions-read"):
            self.records("cautions-read")

    def judge(self) -> None:
        """Judge parts one by one; one is taken back."""
        self.at("judge", "welding", "ear-look")
        for word in ("ok", "ok", "not_ok", "ok"):
            self.records(f"answer-{word}")
        self.records("undo")
        self.back()

    def count(self) -> None:
        """Count by steps and on the pad."""
        self.at("count", "packing", "ear-count")
        self.records("checked-more")
        left = self.hand.app.page.presenter.state.checked
        self.records("checked-value", f"key-{left % 8 + 2}", "key-enter")  # always another number
        self.back()

    def measure(self) -> None:
        """Type values, and leave one half typed."""
        self.at("measure", "moulding", "ear-wall")
        for key in ("key-clear",) if self.hand.app.page.presenter.state.pad.text else ():
            self.tap(key)
        for digits in ("2.51", "2.48"):
            keys = [f"key-{'point' if key == '.' else key}" for key in digits]
            self.records(*keys, "key-enter")
        self.tap("key-2")
        self.back()

    def note(self) -> None:
        """Fill in a form."""
        self.at("note", "leak-test")
        self.touch.write("words", "clamp pads look new " * self.chance.randrange(1, 9))
        self.records("record")

    def lists(self) -> None:
        """Look through long pages."""
        for screen in ("search", "onset", "review", "answer"):
            self.go(screen, station="welding", walk=self.walk) if screen != "search" else self.go("search")
            self.scroll()
        self.go("search")
        self.touch.write("words", "pads")
        self.scroll()
        self.back()

    def photo(self) -> None:
        """Take a picture of the watched folder in, and look at all of them."""
        from walkapp.demo.brushes import PAPER, STEEL, Sheet

        number = next(self.pictures)
        sheet = Sheet(f"Invented {number}", (PAPER, PAPER))
        sheet.box((100, 100, 200 + number, 400), STEEL)
        self.touch._pictures.mkdir(parents=True, exist_ok=True)
        (self.touch._pictures / f"{number:04}.jpg").write_bytes(sheet.finish())
        self.at("photo", "packing")
        self.hand.until(lambda: self.hand.has("picture-1"))
        self.records("picture-1")
        self.back()

    def audits(self) -> None:
        """Look at today's audits; begin, answer and leave one."""
        self.go("audits", concern="")
        self.scroll()
        self.back()

    def desk(self) -> None:
        """Look at pages of the desk, of which two are drawn."""
        from walkapp.demo.tablets import SCENARIO

        for screen, about in (
            ("desk", {"concern": ""}), ("reviews", {"concern": ""}),
            ("ppm", {"concern": "", "stream": SCENARIO}),
            ("indicators", {"concern": "", "stream": SCENARIO}), ("figures", {}),
            ("figure", {"entry": "share-by-station"}), ("sheet", {}), ("actions", {}), ("containment", {}),
            ("trials", {}), ("lessons", {}), ("audit_results", {"concern": "", "stream": SCENARIO}),
        ):  # fmt: skip
            self.go(screen, **about)
            self.hand.app.aside.finish()
            self.touch.settle()
            self.scroll()
        self.back()

    def turn(self) -> None:
        """Turn the tablet on a page that is being filled in, and back."""
        self.at("sample", "packing")
        self.touch.write("lot", f"L{self.chance.randrange(100, 999)}")
        size = tuple(self.hand.window.size)
        for wanted in (size[::-1], size):
            self.hand.turn(wanted)
        self.back()

    def pause(self) -> None:
        """A call comes in the middle of a number."""
        self.at("measure", "welding", "ear-wall-welded")
        self.tap("key-2")
        self.hand.app.dispatch("on_pause")
        self.hand.wait(0.2)
        self.hand.app.dispatch("on_resume")
        self.touch.settle()
        self.tap("key-clear")
        self.back()

    def floor_kinds(self) -> list[Callable[[], None]]:
        """Give a turn of what is done at stations only."""
        return [self.judge, self.count, self.measure, self.note]

    def all_kinds(self) -> list[Callable[[], None]]:
        """Give a turn of each kind; judging, counting and measuring more often, as on the floor."""
        floor = self.floor_kinds()
        others = [self.lists, self.photo, self.audits, self.desk, self.turn, self.pause]
        return [kind for other in others for kind in (self.chance.choice(floor), other)]


def live_through(
    folder: Path,
    *,
    hours: float,
    warm_hours: float,
    every_hours: float = 0.5,
    pictures: int = 0,
    kinds: Callable[[Rounds], list[Callable[[], None]]] = Rounds.all_kinds,
    leak: Callable[[Any], None] = lambda page: None,
    tell: Callable[[str], None] = lambda words: None,
) -> Day:
    """Live through a day.

    Parameters
    ----------
    folder
        Where the tablet keeps its files; empty.
    hours, warm_hours, every_hours
        How long the day is, after what time growth is measured from, and how often is sampled: each at the
        end of the turn of rounds that is under way, since pages hold what they showed last.
    pictures
        How many are taken in before anything else.
    kinds
        Gives a turn of rounds; the last one is done first.
    leak
        Called with the page after each round: the control.
    tell
        Hears a line for each sample.
    """
    from tests.fakes import CHECKLISTS
    from walkapp.app import window_app
    from walkapp.demo.tablets import open_tablet, read_scenario

    tablet = open_tablet(read_scenario()["tablet"][0], folder / "store", CHECKLISTS)
    app = window_app(tablet.place, folder / "camera", bundles=folder / "store" / "bundles")
    hand = Hand(app, size=(1280, 800), folder=folder)
    rounds, day = Rounds(tablet, hand, folder), Day()
    begun, next_s, next_shift_s = hand.now, warm_hours * 3600, 0.0
    rounds.go("home")
    waiting: list[Callable[[], None]] = []
    memory: list[int] = []
    try:
        if pictures:
            rounds.begin()
            next_shift_s += 3600
        for _ in range(pictures):
            rounds.photo()
        while (now_s := hand.now - begun) < hours * 3600 or waiting:
            if now_s >= next_shift_s:
                rounds.begin()
                next_shift_s += 3600
            if not waiting:
                waiting = kinds(rounds)
                memory.clear()
            waiting.pop()()
            leak(app.page)
            memory.append(_rss_kb())
            end = begun + now_s + ROUND_S
            hand.now = max(hand.now, end)
            tablet.clock.time += timedelta(seconds=ROUND_S)
            if not waiting and hand.now - begun >= min(next_s, hours * 3600):
                day.samples.append(sample(hand, rounds, hand.now - begun, round(median(memory))))
                tell(line(day.samples[-1]))
                next_s += every_hours * 3600
    finally:
        left_over = hand.close()
        tablet.place.store.close()
    day.confirmed = rounds.confirmed
    day.problems += [f"the clock goes on calling {one}" for one in left_over]
    day.problems += left_wrong(folder / "store", day.confirmed)
    if len(day.samples) < 2:
        day.problems.append("the day was over before anything could have grown")
    return day


def sample(hand: Hand, rounds: Rounds, at_s: float, rss_kb: int) -> Sample:
    """See how the window stands, on a page that is always the same."""
    from kivy.graphics.texture import Texture
    from kivy.uix.widget import Widget

    rounds.at("judge", "welding", "ear-look")
    hand.app.aside.finish()
    hand.wait(QUIET_S)
    for _ in range(3):
        gc.collect()
    frames = [_seconds(lambda: _draw_one(hand)) for _ in range(15)]
    bare = [_seconds(lambda: sum(range(20_000))) for _ in range(15)]
    objects = gc.get_objects()
    counted = {kind: sum(1 for one in objects if issubclass(type(one), kind)) for kind in (Widget, Texture)}
    return Sample(
        at_s=at_s,
        taps=rounds.taps,
        rss_kb=rss_kb,
        objects=len(objects),
        widgets=counted[Widget],
        textures=counted[Texture],
        frame=median(frames) / median(bare),
    )


def _draw_one(hand: Hand) -> None:
    hand.window.canvas.ask_update()  # a frame in which nothing is drawn takes no time that could be told
    hand.wait(1 / 60)


def _rss_kb() -> int:
    """Give the memory of the process, without what the C library only keeps for later."""
    with suppress(OSError, AttributeError):
        ctypes.CDLL("libc.so.6").malloc_trim(0)
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") // 1024


def _seconds(do: Callable[[], object]) -> float:
    begin = time.process_time()  # a busy machine makes nothing slower here
    do()
    return time.process_time() - begin


def line(one: Sample) -> str:
    """Put a sample into a line."""
    return (
        f"{one.at_s / 3600:5.2f} h  {one.taps:6} taps  {one.rss_kb / 1024:7.1f} MB  "
        f"{one.objects:8} objects  "
        f"{one.widgets:6} widgets  {one.textures:5} textures  frame {one.frame:5.1f}"
    )


def left_wrong(store: Path, confirmed: list[int]) -> list[str]:
    """Say what is wrong: what the check of the store finds, and what was confirmed and is not there."""
    from tests.store.support import open_store
    from walkapp.cli import main

    said = io.StringIO()
    with redirect_stdout(said):
        status = main(["check", "--store", str(store)])
    problems = [] if status == 0 else [f"the check of the store says: {said.getvalue()}"]
    with open_store(store, writable=False) as left:
        numbers = {record.number for record in left.all_records() if record.device == left.device}
    return problems + [
        f"entry {number} was confirmed and is lost" for number in confirmed if number not in numbers
    ]


class Leak:
    """The control: widgets that something long-lived holds, as a binding that is never undone does."""

    def __init__(self) -> None:
        self.held: list[Any] = []

    def __call__(self, page: Any) -> None:
        """Hold some more labels with their textures."""
        from kivy.uix.label import Label

        for number in range(25):
            label = Label(text=f"held {len(self.held)} {number}")
            label.texture_update()
            self.held.append(label)


def main(arguments: list[str] | None = None) -> int:
    """Live through a day, and tell."""
    parser = argparse.ArgumentParser(prog="python -m tests.soak.day", description=__doc__.split("\n")[0])
    parser.add_argument("--hours", type=float, default=8.0, help="length of the day (default %(default)s)")
    parser.add_argument(
        "--warm", type=float, default=1.0, help="hours before growth is measured (default %(default)s)"
    )
    parser.add_argument(
        "--every", type=float, default=0.5, help="hours between samples (default %(default)s)"
    )
    parser.add_argument(
        "--pictures", type=int, default=FIRST_PICTURES, help="taken in at first (default %(default)s)"
    )
    parser.add_argument("--most-rss", type=float, default=MOST_GROWTH,
                        help="share by which the process may grow (default %(default)s)")  # fmt: skip
    call = parser.parse_args(arguments)
    begun = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        os.environ["LP_NUM_THREADS"] = "0"
        prepare_environment(Path(folder) / "kivy")

        def live(name: str, hours: float, warm: float, every: float, **more: Any) -> Day:
            print(name, flush=True)
            return live_through(
                Path(folder) / name, hours=hours, warm_hours=warm, every_hours=every,
                tell=lambda words: print(words, flush=True), **more,
            )  # fmt: skip

        day = live("day", call.hours, call.warm, call.every, pictures=call.pictures)
        control = live(
            "control", CONTROL_H, CONTROL_H / 2, CONTROL_H, kinds=Rounds.floor_kinds, leak=Leak()
        )
    taps = day.samples[-1].taps
    took_s = time.monotonic() - begun
    print(f"{taps} taps, {len(day.confirmed)} entries confirmed; {took_s:.0f} s of real time")
    for what in GROWS:
        print(f"{what}: {100 * day.growth(what):+.1f} % since the end of hour {call.warm:g}")
    slower = 1 + day.growth("frame")
    print(f"frames: {slower:.2f} times as long")
    for problem in day.problems:
        print(problem)
    most = dict.fromkeys(GROWS, MOST_GROWTH) | {"rss_kb": call.most_rss, "textures": MOST_TEXTURES_GROW}
    is_small = all(day.growth(what) < most[what] for what in GROWS)
    is_good = is_small and slower < MOST_SLOWER and not day.problems
    is_found = control.growth("widgets") >= MOST_GROWTH
    print(f"growth small enough, frames as fast, store whole: {'yes' if is_good else 'NO'}")
    grew = f"{100 * control.growth('widgets'):+.1f} % widgets"
    print(f"control found out: {'yes' if is_found else 'NO'} ({grew})")
    return 0 if is_good and is_found else 1


if __name__ == "__main__":
    sys.exit(main())
