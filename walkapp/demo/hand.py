"""The hand that walks the demo and the tests: it drives a real window frame by frame by touches.

The window runs on a clock that the hand owns, so that half a second of a finger on the glass takes
a few milliseconds and always the same frames. Nothing here knows what the app is for.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from walkapp.screens.environment import quiet_kivy

FRAME_S = 1 / 60
LOOK_S = 0.35
LOOK_FRAMES = 8
"""A person who has seen what comes up taps no sooner; few frames, since nobody sees them."""

RESTING_MOVES = 8
"""More moves than a list remembers."""

PERSON_KEY_S = 0.12
"""From one key to the next, of a person."""

BACK_KEY = 27
BACKSPACE_KEY = 8
ENTER_KEY = 13


def prepare_environment(folder: Path, *, size: tuple[int, int] = (1920, 1920)) -> None:
    """Make Kivy quiet, windowless where there is no display, and free of what the user has set.

    Call before anything imports Kivy: it reads all of this once.

    Parameters
    ----------
    folder
        A folder of its own for Kivy's settings; made when it is missing.
    size
        First size of the window in pixels. Without a display the surface keeps this size, so it has
        to be as large as the largest window that is asked for later.
    """
    quiet_kivy()
    folder.mkdir(parents=True, exist_ok=True)
    os.environ.update(
        KIVY_HOME=str(folder),
        XDG_CONFIG_HOME=str(folder),
        KIVY_WINDOW="sdl2",  # else a missing library ends the process instead of raising an error
        KIVY_CLIPBOARD="dummy",
        KIVY_DPI="160",
        KIVY_METRICS_DENSITY="1",
        KIVY_METRICS_FONTSCALE="1",
        SDL_AUDIODRIVER="dummy",
    )
    if not os.environ.get("DISPLAY"):
        os.environ.setdefault("SDL_VIDEODRIVER", "offscreen")
    from kivy.config import Config

    width, height = size
    for key, value in (("width", width), ("height", height), ("maxfps", 0), ("multisamples", 0)):
        Config.set("graphics", key, str(value))
    Config.set("kivy", "exit_on_escape", "0")
    # Without this Kivy would open the machine's own mouse and touch devices beside the hand.
    Config.remove_section("input")
    Config.add_section("input")


class Hand:
    """Runs one app in the window, on its own clock, and touches it.

    Parameters
    ----------
    app
        The Kivy app, not running yet.
    size
        Size of the window in pixels.
    density
        Pixels per dp.
    fontscale
        How much larger the person has set the type.
    folder
        Where pictures of the window are put.
    """

    def __init__(
        self,
        app: Any,
        *,
        size: tuple[int, int] = (1280, 800),
        density: float = 1.0,
        fontscale: float = 1.0,
        folder: Path = Path(),
    ) -> None:
        from kivy.base import EventLoop, runTouchApp
        from kivy.clock import Clock
        from kivy.core.window import Window
        from kivy.metrics import Metrics
        from kivy.uix.recycleview import views

        self.app, self.window, self.folder = app, Window, folder
        self._loop, self._clock = EventLoop, Clock
        # A clock that starts behind the last frame would run backwards.
        self.now: float = max(Clock.time(), Clock.get_time())
        Clock.time = self._time
        Metrics.dpi, Metrics.density, Metrics.fontscale = 160 * density, density, fontscale
        Window.size = size
        Window.softinput_mode = ""
        # Rows that Kivy keeps for the next list of any app have type and words of the window before.
        views._cached_views.clear()
        views._cache_count = 0
        EventLoop.status, EventLoop.quit, EventLoop.stopping = "stopped", False, False
        self._events_before = {id(event) for event in Clock.get_events()}
        app._run_prepare()
        runTouchApp(embedded=True)
        self.wait(0.1)
        self.look()

    def _time(self) -> float:
        return self.now

    # time

    def wait(self, seconds: float = 0.05) -> None:
        """Let the window run for some seconds of its own time; at least one frame.

        Of several frames only the last is drawn: nobody sees the others, and without a graphics card
        drawing takes longest of all.
        """
        self._unseen(max(1, round(seconds / FRAME_S)) - 1)
        self._frame()

    def look(self) -> None:
        """Let as much time go by as a person needs to see what has come up; nothing of it is drawn."""
        self._unseen(LOOK_FRAMES, LOOK_S / LOOK_FRAMES)

    def _unseen(self, frames: int, seconds: float = FRAME_S) -> None:
        self.window.bind(on_draw=_leave_out, on_flip=_leave_out)
        try:
            for _ in range(frames):
                self._frame(seconds)
        finally:
            self.window.unbind(on_draw=_leave_out, on_flip=_leave_out)

    def _frame(self, seconds: float = FRAME_S) -> None:
        self.now += seconds
        self._loop.idle()

    def until(self, is_so: Callable[[], object], timeout_s: float = 30.0) -> None:
        """Let the window run until something is so; threads get real time for their work.

        Raises
        ------
        TimeoutError
            If it is not so after `timeout_s` real seconds.
        """
        end = time.monotonic() + timeout_s
        while not is_so():
            if time.monotonic() > end:
                raise TimeoutError(f"the window did not get there within {timeout_s:g} s")
            time.sleep(0.002)
            self.wait(FRAME_S)

    # what is there

    def widgets(self) -> Iterator[Any]:
        """Give every widget in the window, the outermost first."""
        for child in self.window.children:
            yield from _walk(child)

    def find(self, test_name: str, within: Any = None) -> Any:
        """Give the one widget of that name.

        Raises
        ------
        LookupError
            If there is none, or more than one.
        """
        tree = self.widgets() if within is None else _walk(within)
        found = [widget for widget in tree if getattr(widget, "test_name", "") == test_name]
        if len(found) != 1:
            names = sorted({n for w in self.widgets() if (n := getattr(w, "test_name", ""))})
            raise LookupError(f"{len(found)} widgets are called {test_name!r}; there are: {names}")
        return found[0]

    def has(self, test_name: str) -> bool:
        """Say whether there is a widget of that name that can be seen."""
        return any(
            getattr(w, "test_name", "") == test_name and w.opacity and w.height > 0 and w.width > 0
            for w in self.widgets()
        )

    def texts(self) -> list[str]:
        """Give every text in the window."""
        return [text for w in self.widgets() if w.opacity and (text := getattr(w, "text", ""))]

    # touch

    def finger(self, target: Any) -> Any:
        """Give a finger above a widget, a name or a point in window pixels; it is not down yet."""
        x, y = self._point(target)
        if not (0 <= x < self.window.width and 0 <= y < self.window.height):
            raise LookupError(f"{target!r} is off the window, at {x:.0f}, {y:.0f}")
        from walkapp.demo.finger import Finger

        return Finger(x, y)

    def tap(self, target: Any, hold_s: float = 0.05) -> None:
        """Tap a widget, a name or a point, as late as a person does who looks before.

        Gives a scroll view the time to pass the touch on.
        """
        self.look()
        self.poke(target, hold_s)

    def poke(self, target: Any, hold_s: float = 0.05) -> None:
        """Put a finger down and lift it, at once and without looking, as a glove does that bounces."""
        finger = self.finger(target)
        finger.down()
        self.wait(hold_s)
        finger.up()
        self.wait(0.15)

    def drag(
        self, start: Any, end: Any, seconds: float = 0.3, steps: int = 15, *, rests: bool = False
    ) -> None:
        """Put a finger down at one place, move it to another and lift it.

        A finger that `rests` before it is lifted gives a list no swing: Kivy takes the swing from the
        last few moves and the machine's own clock, so that it is another one on a busy machine.
        """
        finger = self.finger(start)
        (x0, y0), (x1, y1) = self._point(start), self._point(end)
        finger.down()
        for step in range(1, steps + 1):
            self.wait(seconds / steps)
            share = step / steps
            finger.move(x0 + (x1 - x0) * share, y0 + (y1 - y0) * share)
        for _ in range(RESTING_MOVES if rests else 0):
            self.wait(FRAME_S)
            finger.move(x1, y1)
        finger.up()
        self.wait(0.15)

    def _point(self, target: Any) -> tuple[float, float]:
        if isinstance(target, tuple):
            return target
        widget = self.find(target) if isinstance(target, str) else target
        x, y = widget.to_window(*widget.center)
        return x, y

    # keys

    def key(self, code: int) -> bool:
        """Press a key of a keyboard; says whether anybody used it."""
        handled = self.window.dispatch("on_key_down", code, 0, "", [])
        if not handled:
            handled = self.window.dispatch("on_keyboard", code, 0, "", [])
        self.window.dispatch("on_key_up", code, 0)
        self.wait(PERSON_KEY_S)
        return bool(handled)

    def send(self, text: str, end: int = ENTER_KEY) -> None:
        """Send a text as a gauge or a code reader does that acts as a keyboard.

        Parameters
        ----------
        text
            What is sent; control characters are sent as Ctrl and a letter.
        end
            The key at its end, Enter or Tab; 0 for none.
        """
        for character in text:
            code, held = ord(character.lower()), ["shift"] if character.isupper() else []
            if ord(character) < 32:
                code, held = ord(character) | 0x40, ["ctrl"]
            self._send_key(code, held)
        if end:
            self._send_key(end, [])
        self.wait(PERSON_KEY_S)

    def _send_key(self, code: int, held: list[str]) -> None:
        if not self.window.dispatch("on_key_down", code, 0, "", held):
            self.window.dispatch("on_keyboard", code, 0, "", held)
        self.window.dispatch("on_key_up", code, 0)
        self.wait(FRAME_S)

    def back(self) -> bool:
        """Press the tablet's back button; says whether the app used it."""
        return self.key(BACK_KEY)

    def type(self, text: str) -> None:
        """Type into the field that has the focus."""
        for character in text:
            self.window.dispatch("on_textinput", character)
        self.wait()

    # turning and pictures

    def turn(self, size: tuple[int, int]) -> None:
        """Give the window another size, as when the tablet is turned."""
        self.window.size = size
        self.wait(0.2)

    def shot(self, name: str) -> Path:
        """Take a picture of the window; gives its path."""
        self.window.canvas.ask_update()
        self.wait(FRAME_S)
        path = self.folder / f"{name}.png"
        # Kivy adds a number to the name it is given.
        return Path(self.window.screenshot(name=str(path))).replace(path)

    # end

    def close(self) -> list[str]:
        """Stop the app and empty the window.

        Returns
        -------
        list of str
            Callbacks of the app that would go on being called by the clock; should be none.
        """
        from kivy.animation import Animation
        from kivy.app import App

        # The clock stops here, so what still moves would never end and keep its whole window in memory.
        Animation.cancel_all(None)
        for child in self.window.children[:]:
            self.window.remove_widget(child)
        self.app.dispatch("on_stop")
        App._running_app = None
        self.window.release_all_keyboards()
        self._loop.touches.clear()
        self._loop.input_events.clear()
        for module in self._loop.postproc_modules:
            for held in ("touches", "last_touches"):
                getattr(module, held, {}).clear()
        left_over = []
        for event in self._clock.get_events():
            if id(event) in self._events_before:
                continue
            callback = event.get_callback()
            function = getattr(callback, "func", callback)  # Kivy binds arguments with partial
            if callback is not None and "kivy." not in getattr(function, "__module__", ""):
                left_over.append(repr(callback))
            event.cancel()
        self.app = None
        self._loop.stop()
        del self._clock.time
        return left_over


def _leave_out(_window: Any) -> bool:
    """Say that a frame is drawn already."""
    return True


def _walk(widget: Any) -> Iterator[Any]:
    yield widget
    for child in reversed(widget.children):
        yield from _walk(child)
