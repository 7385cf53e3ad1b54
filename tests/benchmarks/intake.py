"""Taking in pictures of 12 megapixels: how long the window waits meanwhile, and how long one takes.

::

    python -m tests.benchmarks.intake [--pictures 6]

A real window on its own clock shows the photo page of a walk and draws every frame. When all pictures are
shown small, it counts frames for a while with nothing to do; then all pictures are chosen one after the
other, and it counts until the last is on disk. The first count says what the machine does by itself. In
between the same pictures are read, checked and written by another program while the window is idle: what is
slower then is so because the processor is shared, and nothing in this program can hold up a frame.

Where a frame's time went is said too: what the thread that draws worked itself, what it waited for the end
of drawing (without a graphics card that is work of other threads on the same processor), and the rest, in
which it waited for the interpreter or for a turn on the processor.

Then the work on one picture is timed beside Pillow alone. "The same result" is a picture that was decoded
to its last pixel (a JPEG that was cut short is refused by nothing less) and a small upright one: the best
that Pillow has for both is to decode once, shrink and turn. The small picture alone is faster, since Pillow
then leaves most pixels out; what it costs to leave none out is said too.
"""

from __future__ import annotations

import argparse
import io
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from PIL import ExifTags, Image, ImageOps

from walkapp.demo.hand import prepare_environment

SIZE = (4000, 3000)
SMALL_PX = 320
IDLE_S = 3.0
GOAL_MS = 50
GOAL_RATIO = 1.2
SETTLING_S = 1.0
FRAMES_A_TAP = 8
"""A hand that hurries needs as long from one picture to the next."""

OTHER_PROGRAM = """
import os, sys
from pathlib import Path
from walkapp.actions.picture_folders import read_in
from walkapp.files import write_atomically
source, target = (Path(name) for name in sys.argv[1:3])
os.nice(int(sys.argv[3]))
sys.stdin.readline()
for path in sorted(source.iterdir()):
    read = read_in(path)
    write_atomically(target / path.name, read.data)
"""
"""Takes the same pictures in as the window does, as far as that is work, and steps back as far."""


def camera_picture(number: int) -> bytes:
    """A picture of 12 megapixels, invented, as large as a camera writes it, lying on its side."""
    grain = Image.effect_noise(SIZE, 24)
    ramp = Image.linear_gradient("L").resize(SIZE)
    image = Image.merge("RGB", (Image.blend(ramp, grain, 0.4), grain, ramp.rotate(90 * number)))
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6
    exif[ExifTags.Base.Make] = "Invented Optics"
    target = io.BytesIO()
    image.save(target, "JPEG", quality=92, exif=exif)
    return target.getvalue()


def main() -> None:
    """Measure both."""
    parser = argparse.ArgumentParser(prog="tests.benchmarks.intake", description=__doc__.split("\n")[0])
    parser.add_argument("--pictures", type=int, default=6, help="pictures taken in (default %(default)s)")
    call = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="walkapp-intake-") as folder:
        prepare_environment(Path(folder) / "kivy", size=(1280, 800))
        from kivy.config import Config

        Config.set("graphics", "maxfps", "60")
        data = _fill(Path(folder) / "camera", call.pictures)
        _measure_frames(Path(folder), call.pictures)
    _measure_work(data)


def _fill(camera: Path, many: int) -> bytes:
    camera.mkdir()
    data = b""
    for number in range(many):
        data = camera_picture(number)
        (camera / f"{number}.jpg").write_bytes(data)
    print(f"{many} pictures of {SIZE[0]} x {SIZE[1]} pixels, {len(data) / 1e6:.1f} MB each, orientation 6")
    return data


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """Milliseconds of one frame: by the clock, and which of them went where."""

    clock: float
    worked: float
    drawing: float

    @property
    def waited(self) -> float:
        """What was neither work of the thread that draws nor waiting for the end of drawing."""
        return max(0.0, self.clock - self.worked - self.drawing)


class _Frames:
    """Counts how long each frame of a running window takes, while it takes pictures in."""

    def __init__(self, app, desk, many: int, other: subprocess.Popen[str]) -> None:
        from kivy.clock import Clock
        from kivy.core.window import Window

        self._app, self._desk, self._many, self._other = app, desk, many, other
        self._window, self._clock = Window, Clock
        self._last_s = self._began_s = time.perf_counter()
        self._last_work_s = time.thread_time()
        self._drawing_s = 0.0
        self._step: Callable[[], None] = self._wait_for_pictures
        self.frames: dict[str, list[_Frame]] = {"idle": [], "other program": [], "intake": []}
        self._now = ""
        self.taken_s = 0.0
        self._chosen = 0
        Window.bind(on_flip=self._flip)
        Clock.schedule_interval(self._frame, 0)

    def _flip(self, window) -> bool:
        """Show the frame in place of Kivy, to know how long that waits."""
        self._drawing_s += _waiting_s(window.flip)
        return True

    def _frame(self, _dt: float) -> None:
        from kivy.graphics.opengl import glFinish

        now_s, work_s = time.perf_counter(), time.thread_time()
        if self._now:
            frame = _Frame(
                clock=(now_s - self._last_s) * 1000,
                worked=(work_s - self._last_work_s) * 1000,
                drawing=self._drawing_s * 1000,
            )
            self.frames[self._now].append(frame)
        self._last_s, self._last_work_s = now_s, work_s
        # Every frame is drawn, and to its end: without a graphics card, frames would pile up in the driver,
        # and whoever next gave it a picture would wait for all of them.
        self._window.canvas.ask_update()
        self._drawing_s = _waiting_s(glFinish)
        self._step()

    def _go(self, step: Callable[[], None], counts: str = "") -> None:
        self._step, self._now, self._began_s = step, counts, time.perf_counter()

    def _wait_for_pictures(self) -> None:
        presenter = self._app.page.presenter
        if len(presenter.state.choice.found) == self._many and presenter.picker.is_at_rest:
            self._go(self._settle)

    def _settle(self) -> None:
        if time.perf_counter() - self._began_s > SETTLING_S:
            self._go(self._idle, "idle")

    def _idle(self) -> None:
        if time.perf_counter() - self._began_s > IDLE_S:
            self._other.stdin.write("\n")
            self._other.stdin.flush()
            self._go(self._wait_for_other, "other program")

    def _wait_for_other(self) -> None:
        if self._other.poll() is not None:
            self._go(self._take, "intake")

    def _take(self) -> None:
        from kivy.base import stopTouchApp

        from walkapp.model.records import Photo

        presenter = self._app.page.presenter
        state = presenter.state
        chosen = len(self.frames["intake"]) // FRAMES_A_TAP
        if self._chosen < min(chosen, self._many):
            presenter.choose(state.choice.found[self._chosen].key)
            self._chosen += 1
        if len(state.choice.kept) == self._many:
            self.taken_s = time.perf_counter() - self._began_s
            assert sum(isinstance(r, Photo) for r in self._desk.records) == self._many
            stopTouchApp()


def _waiting_s(call: Callable[[], None]) -> float:
    """Call, and give the seconds in which it waited and did not work itself."""
    began_s, work_s = time.perf_counter(), time.thread_time()
    call()
    return (time.perf_counter() - began_s) - (time.thread_time() - work_s)


def _measure_frames(folder: Path, many: int) -> None:
    from dataclasses import replace

    from tests.fakes import Desk
    from walkapp.app import window_app
    from walkapp.screens.background import LATER

    desk = Desk(folder)
    route = replace(desk.walk(), screen="photo")
    desk.session.kept.keep_route(route)
    app = window_app(desk.place, folder / "camera", bundles=folder / "bundles")
    (folder / "other").mkdir()
    with subprocess.Popen(
        [sys.executable, "-c", OTHER_PROGRAM, folder / "camera", folder / "other", str(LATER)],
        stdin=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
        text=True,
    ) as other:
        app.on_start = lambda: setattr(app, "frames", _Frames(app, desk, many, other))
        app.run()
    desk.store.close()
    if other.returncode:
        raise SystemExit("the other program failed")
    print(f"all on disk in {app.frames.taken_s:.2f} s, {app.frames.taken_s / many * 1000:.0f} ms each")
    for name, frames in app.frames.frames.items():
        _tell(name, frames)


def _tell(name: str, frames: list[_Frame]) -> None:
    """Print how long frames took, and where the time of the longest went."""
    late = sum(frame.clock > GOAL_MS for frame in frames)
    median, longest = statistics.median(f.clock for f in frames), max(frames, key=lambda f: f.clock)
    print(
        f"{name:13} {len(frames):4} frames: median {median:5.1f} ms, longest {longest.clock:5.1f} ms, "
        f"{late} over {GOAL_MS} ms"
    )
    parts = {
        "worked": [f.worked for f in frames],
        "waited for drawing": [f.drawing for f in frames],
        "waited else": [f.waited for f in frames],
    }
    said = (f"{part} {statistics.median(ms):.1f}, at most {max(ms):.1f}" for part, ms in parts.items())
    print(f"{'':13} of these ms the thread that draws {'; '.join(said)}")
    print(
        f"{'':13} the longest: worked {longest.worked:.1f}, waited for drawing {longest.drawing:.1f}, else "
        f"{longest.waited:.1f}"
    )


def _best(work: Callable[[], object], tries: int = 9) -> float:
    """Least time of several, in milliseconds: what else the machine does only adds to it."""
    times = []
    for _ in range(tries):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times) * 1000


def _measure_work(data: bytes) -> None:
    from walkapp.actions.intake import check_picture
    from walkapp.photos import examine, examine_whole, small_picture

    side = (SMALL_PX, SMALL_PX)

    def small_only() -> None:
        with Image.open(io.BytesIO(data)) as image:
            image.draft("RGB", side)
            image.thumbnail(side)
            ImageOps.exif_transpose(image)

    def every_pixel() -> None:
        with Image.open(io.BytesIO(data)) as image:
            image.load()

    def both() -> None:
        with Image.open(io.BytesIO(data)) as image:
            image.load()
            image.thumbnail(side)
            ImageOps.exif_transpose(image)

    peer = {
        "small picture alone": (_best(small_only), _best(lambda: small_picture(data, SMALL_PX))),
        "decoded to the last pixel": (_best(every_pixel), _best(lambda: examine(data, "x"))),
        "both, and a bare copy": (_best(both), _best(lambda: examine_whole(data, SMALL_PX))),
    }
    for name, (pillow, ours) in peer.items():
        print(f"{name:26} Pillow {pillow:6.1f} ms, ours {ours:6.1f} ms, ratio {ours / pillow:.2f}")
    whole = _best(lambda: check_picture(data, "x"))
    ratio = whole / peer["both, and a bare copy"][0]
    print(f"intake with its SHA-256    {whole:.1f} ms, ratio {ratio:.2f} to Pillow's (goal {GOAL_RATIO})")
    print(
        f"what safety costs          {whole / peer['small picture alone'][0]:.2f} times the small one alone"
    )


if __name__ == "__main__":
    main()
