"""Scrolling through hundreds of pictures in a real window on the real clock, and the naive way beside it.

Run with ``python -m tests.benchmarks.gallery [--pictures N] [--megapixels M] [--naive N]``. A store is
filled with different camera-like JPEGs, and each way runs in a process of its own, so that the memory of
one is not that of the other. Ours: the page of all pictures, scrolled from end to end and back twice and
jumped through; once while no small picture is made yet, and once more in a fresh process. Naive: Kivy's
``AsyncImage`` in a grid in a scroll view, of fewer pictures, since it holds each of them in full.

A frame is one turn of Kivy's loop with ``glFinish`` behind it, so that drawing counts; frames begin every
sixtieth of a second or when the last one has ended. Each is told by the clock, which on a machine that does
other work too tells of that, and by the time that the processor worked for the thread that draws. Without a
graphics card drawing is done by software (Mesa's llvmpipe, here in that same thread so that its work is
counted), which a tablet does not have to do; its processor is slower in Python instead.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

FRAME_S = 1 / 60
LONG_S = 0.05
STEP_PX = 60
JUMPS = 12
SHAPE = (4, 3)
SIZE = (1280, 800)


def camera_jpeg(number: int, size: tuple[int, int], noise) -> bytes:
    """Draw one picture: fine noise as a sensor gives it, and something that no other picture has."""
    from PIL import Image, ImageDraw

    image = Image.new("RGB", size, ((number * 37) % 200 + 30, (number * 91) % 200 + 30, 90))
    draw = ImageDraw.Draw(image)
    wide, high = size
    for turn in range(12):
        at = ((number * 131 + turn * 211) % wide, (number * 71 + turn * 97) % high)
        draw.ellipse(
            (*at, at[0] + wide // 6, at[1] + high // 5), fill=((turn * 20) % 256, 140, number % 256)
        )
    draw.text((wide // 3, high // 3), str(number), fill="white", font_size=high // 4)
    image = Image.blend(image, noise, 0.18)
    target = io.BytesIO()
    image.save(target, "JPEG", quality=88)
    return target.getvalue()


def fill_store(folder: Path, pictures: int, megapixels: float) -> tuple[str, int]:
    """Fill a store with pictures at the stations of a walk; give the concern and the bytes of all files."""
    from PIL import Image

    from tests.fakes import Desk
    from walkapp.files import sha256_of
    from walkapp.model.records import Photo, picture_file_name

    side = (megapixels * 1e6 / (SHAPE[0] * SHAPE[1])) ** 0.5
    size = (round(SHAPE[0] * side), round(SHAPE[1] * side))
    noise = Image.effect_noise(size, 60).convert("RGB")
    desk = Desk(folder)
    route = desk.walk()
    stations = [station.id for station in desk.facts(route).stream.stations]
    entries, total = [], 0
    for number in range(pictures):
        data = camera_jpeg(number, size, noise)
        total += len(data)
        sha256 = sha256_of(data)
        desk.store.add_photo(picture_file_name(sha256, "image/jpeg"), data)
        said = {
            "concern": route.concern,
            "walk": route.walk,
            "station": stations[number % len(stations)],
            "sha256": sha256,
            "media": "image/jpeg",
            "size_bytes": len(data),
            "width_px": size[0],
            "height_px": size[1],
            "caption": f"Picture {number}",
            "invented": True,
        }
        entries.append((Photo, said))
    desk.place.add_all(entries)
    desk.store.close()
    return route.concern, total


def rss_mb() -> float:
    """Give the memory that this process has in use, in MB (Linux)."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


class Frames:
    """Runs Kivy's loop and times each frame.

    Attributes
    ----------
    took, worked, own
        Seconds of each frame since the last :meth:`told`: by the clock, of the processor, and of the
        processor before the end of drawing was waited for.
    peak_mb
        Most memory that was in use at any frame.
    """

    def __init__(self) -> None:
        from kivy.base import EventLoop
        from kivy.graphics.opengl import glFinish

        self._idle, self._finish = EventLoop.idle, glFinish
        self.took: list[float] = []
        self.worked: list[float] = []
        self.own: list[float] = []
        self.peak_mb = 0.0

    def run(self) -> None:
        """Run one frame, then wait until the next one is due."""
        began, work = time.perf_counter(), time.thread_time()
        self._idle()
        self.own.append(time.thread_time() - work)
        self._finish()
        took = time.perf_counter() - began
        self.took.append(took)
        self.worked.append(time.thread_time() - work)
        self.peak_mb = max(self.peak_mb, rss_mb())
        if took < FRAME_S:
            time.sleep(FRAME_S - took)

    def for_seconds(self, seconds: float) -> None:
        """Run frames for some time."""
        end = time.perf_counter() + seconds
        while time.perf_counter() < end:
            self.run()

    def told(self) -> dict:
        """Sum up the frames since the last call, in milliseconds."""
        told = {
            "frames": len(self.took),
            "clock": summed_up(self.took),
            "processor": summed_up(self.worked),
            "own": summed_up(self.own),
            "mb": rss_mb(),
            "peak_mb": self.peak_mb,
        }
        self.took, self.worked, self.own = [], [], []
        return told


def summed_up(seconds: list[float]) -> dict[str, float]:
    """Give median, 95 % and longest in milliseconds, and how many are long."""
    ordered = sorted(seconds)
    return {
        "median": 1000 * statistics.median(ordered),
        "p95": 1000 * ordered[int(len(ordered) * 0.95)],
        "longest": 1000 * ordered[-1],
        "long": sum(one > LONG_S for one in ordered),
    }


def start(app) -> Frames:
    """Open a window on an app, on the real clock."""
    from kivy.base import runTouchApp
    from kivy.core.window import Window

    Window.size = SIZE
    app._run_prepare()
    runTouchApp(embedded=True)
    frames = Frames()
    frames.for_seconds(1.0)
    return frames


def run_ours(folder: Path, concern: str) -> dict:
    """Measure the page of all pictures."""
    from tests.fakes import CHECKLISTS
    from walkapp.app import window_app, workplace_of
    from walkapp.cli.machine import id_maker, now
    from walkapp.presenters.route import Route
    from walkapp.store import Store

    new_id = id_maker()
    store = Store(folder / "store", now=now, new_id=new_id, app="benchmark")
    place = workplace_of(store, CHECKLISTS, now=now, new_id=new_id)
    app = window_app(place, folder, bundles=folder / "bundles")
    frames = start(app)
    told = {"before_mb": rss_mb()}
    frames.told()
    app.go(Route(screen="gallery", concern=concern))
    grid = app.page.ids.grid
    began = time.perf_counter()
    while not grid.tiles:
        frames.run()
    told["open_s"] = time.perf_counter() - began
    told["first_s"] = until_shown(frames, grid)
    told["open"] = frames.told()
    for name in ("first pass", "second pass"):
        for end in (grid.room_px, 0):
            way = 1 if end else -1
            at = grid.above_px
            while (end - at) * way > 0:
                at += STEP_PX * way
                grid.scroll_px(at)
                frames.run()
        told[name] = frames.told()
    waits = []
    for jump in range(JUMPS):
        grid.scroll_px(grid.room_px * ((jump * 7) % JUMPS) / JUMPS)
        frames.run()
        waits.append(until_shown(frames, grid))
    told["jumps"] = frames.told()
    told["jump_s"] = waits
    told["textures_mb"] = app.page.textures.held_bytes / 1e6
    app.session.release_memory()
    frames.run()
    told["released_mb"] = rss_mb()
    app.dispatch("on_stop")
    store.close()
    return told


def until_shown(frames: Frames, grid) -> float:
    """Run frames until every tile in view has its picture; give the seconds."""
    began = time.perf_counter()
    while not (tiles := grid.shown_tiles()) or any(tile.texture is None for tile in tiles):
        frames.run()
    return time.perf_counter() - began


def run_naive(folder: Path, pictures: int) -> dict:
    """Measure AsyncImage in a grid in a scroll view."""
    from kivy.app import App
    from kivy.uix.gridlayout import GridLayout
    from kivy.uix.image import AsyncImage
    from kivy.uix.scrollview import ScrollView

    paths = sorted((folder / "store" / "photos").iterdir())[:pictures]

    class Naive(App):
        def build(self):
            return ScrollView()

    app = Naive()
    frames = start(app)
    told = {"before_mb": rss_mb()}
    frames.told()
    grid = GridLayout(cols=4, size_hint_y=None, spacing=28)
    grid.bind(minimum_height=grid.setter("height"))
    images = [AsyncImage(source=str(path), size_hint_y=None, height=260) for path in paths]
    for image in images:
        grid.add_widget(image)
    app.root.add_widget(grid)
    began = time.perf_counter()
    while any(image.texture is None or image.texture.width < 200 for image in images):
        frames.run()
        if time.perf_counter() - began > 300:
            break
    told["shown_s"] = time.perf_counter() - began
    told["open"] = frames.told()
    at, room = 0.0, grid.height - app.root.height
    while at < room:
        at += STEP_PX
        app.root.scroll_y = 1 - min(at / room, 1)
        frames.run()
    told["scroll"] = frames.told()
    return told


def child(way: str, folder: Path, **more: object) -> dict:
    """Run one way in a process of its own; give what it told."""
    said = json.dumps(more)
    done = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.gallery", "--child", way, str(folder), said],
        stdout=subprocess.PIPE,
        check=True,
        env={**os.environ, "LP_NUM_THREADS": "0"},
        text=True,
    )
    return json.loads(done.stdout.splitlines()[-1])


def run_child(way: str, folder: Path, more: dict) -> None:
    """Be one of the two processes."""
    from walkapp.demo.hand import prepare_environment

    prepare_environment(folder / f"kivy-{way}", size=SIZE)
    told = run_ours(folder, more["concern"]) if way == "ours" else run_naive(folder, more["pictures"])
    print(json.dumps(told), flush=True)


def line(name: str, told: dict) -> str:
    """Put the frames of one part into a line."""
    by_clock, worked, own = (
        f"median {one['median']:.1f}, 95 % {one['p95']:.1f}, longest {one['longest']:.1f}, over 50: "
        f"{one['long']}"
        for one in (told["clock"], told["processor"], told["own"])
    )
    return (
        f"  {name:<11} {told['frames']} frames, ms: clock {by_clock}; processor {worked}; without the "
        f"end of drawing {own}; memory "
        f"{told['mb']:.0f} MB (peak so far {told['peak_mb']:.0f})"
    )


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pictures", type=int, default=500)
    parser.add_argument("--megapixels", type=float, default=3.0)
    parser.add_argument("--naive", type=int, default=24, help="pictures of the naive way")
    parser.add_argument("--child", nargs=3, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.child:
        run_child(asked.child[0], Path(asked.child[1]), json.loads(asked.child[2]))
        return
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        concern, total = fill_store(folder, asked.pictures, asked.megapixels)
        print(
            f"{asked.pictures} pictures of {asked.megapixels:g} megapixels, {total / 1e6:.0f} MB of files; "
            f"window {SIZE[0]} x {SIZE[1]}, drawn by software where there is no graphics card"
        )
        ours = child("ours", folder, concern=concern)
        again = child("ours", folder, concern=concern)
        naive = child("naive", folder, pictures=min(asked.naive, asked.pictures))
    for title, told in (("no small picture made yet", ours), ("small pictures on disk", again)):
        print(
            f"ours, {title}: records read in {told['open_s']:.2f} s, pictures in view "
            f"{told['first_s']:.2f} s later; {told['before_mb']:.0f} MB before"
        )
        for part in ("open", "first pass", "second pass", "jumps"):
            print(line(part, told[part]))
        waits = told["jump_s"]
        print(
            f"  after a jump all tiles in view are shown after {statistics.median(waits):.2f} s (longest "
            f"{max(waits):.2f} s); textures {told['textures_mb']:.0f} MB; memory after a release "
            f"{told['released_mb']:.0f} MB"
        )
    print(
        f"naive, {min(asked.naive, asked.pictures)} pictures: all shown after {naive['shown_s']:.1f} s; "
        f"{naive['before_mb']:.0f} MB before"
    )
    print(line("open", naive["open"]))
    print(line("scroll", naive["scroll"]))
    longest = [told["processor"]["longest"] for told in (naive["open"], ours["first pass"])]
    count = min(asked.naive, asked.pictures)
    grown = (naive["scroll"]["peak_mb"] - naive["before_mb"]) / count
    own = (ours["jumps"]["peak_mb"] - ours["before_mb"]) / asked.pictures
    print(
        f"longest frame by the processor: naive / ours {longest[0] / longest[1]:.1f}; memory a picture: "
        f"naive {grown:.1f} MB, ours {own:.2f} MB, ratio {grown / own:.0f}"
    )


if __name__ == "__main__":
    main()
