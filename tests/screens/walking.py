"""Looks at a whole page: as it opens, and after scrolling each of its views step by step to its end."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

from kivy.clock import Clock
from kivy.lang import Builder
from kivy.uix.scrollview import ScrollView

from tests.screens.layout_check import problems, visible
from walkapp.presenters.route import Route

FRAME_S = 1 / 60
SETTLING_FRAMES = 4
"""A plate that grows makes its page grow: each needs a frame."""

STEP = 0.8
"""Share of a view that a step scrolls on, so that nothing lies on the edge of every look."""

MOST_STEPS = 12
"""Looks at a view; of a longer one first, middle and last of them are farther apart."""


@dataclass(frozen=True)
class Look:
    """What was seen of a page.

    Parameters
    ----------
    looks
        How often it was looked at: as it opened, and at each step of scrolling.
    faults
        What was wrong, each once.
    """

    looks: int
    faults: tuple[str, ...]

    def __add__(self, other: Look) -> Look:
        return Look(self.looks + other.looks, tuple(dict.fromkeys((*self.faults, *other.faults))))


class _Unrest(logging.Handler):
    """Hears Kivy complain that a page is laid out again and again, since its parts push each other."""

    def __init__(self) -> None:
        super().__init__()
        self.is_heard = False

    def emit(self, record: logging.LogRecord) -> None:
        self.is_heard = self.is_heard or "too much iteration" in record.getMessage()


_UNREST = _Unrest()
logging.getLogger("kivy").addHandler(_UNREST)


def lay_out(hand, frames: int = SETTLING_FRAMES) -> None:
    """Let time pass without drawing, which takes most of it and shows nobody anything."""
    for _ in range(frames):
        hand.now += FRAME_S
        Clock.tick()
        Builder.sync()
        Clock.tick_draw()
        Builder.sync()


def go(hand, route: Route) -> None:
    """Open a place, and wait until all that it reads from the disk is shown."""
    hand.app.go(route)
    settle(hand)


def settle(hand) -> None:
    """Wait until what the page asked for is done and shown."""
    for _ in range(3):
        hand.app.worker.finish()
        hand.app.aside.finish()
        lay_out(hand)


def walk_page(hand, pixels_per_inch: float, most_steps: int = MOST_STEPS) -> Look:
    """Look at the page that is open, from its top to its end.

    Parameters
    ----------
    hand
        The hand in whose window it is; scrolled back when this returns.
    pixels_per_inch
        Of the tablet's glass.
    most_steps
        Looks at each view that scrolls, at least two.
    """
    seen = Look(1, tuple(problems(hand.window, pixels_per_inch=pixels_per_inch)))
    for _ in _scrolled(hand, most_steps):
        seen += Look(1, tuple(problems(hand.window, pixels_per_inch=pixels_per_inch)))
    _UNREST.is_heard = False
    lay_out(hand, 2)
    if _UNREST.is_heard:
        seen += Look(0, ("never rests: its parts go on pushing each other",))
    return seen


def _scrolled(hand, most_steps: int) -> Iterator[None]:
    views = [w for root in hand.window.children for w in visible(root) if isinstance(w, ScrollView)]
    for view in views:
        for axis, side in (("scroll_y", 1), ("scroll_x", 0)):
            start = getattr(view, axis)
            inside = view.children[0].size[side] if view.children else 0
            more = inside - view.size[side]
            if more <= 1 or not (view.do_scroll_y if side else view.do_scroll_x):
                continue
            steps = min(max(2, round(more / (STEP * view.size[side])) + 1), most_steps)
            for step in range(steps):
                place = step / (steps - 1)
                setattr(view, axis, 1 - place if side else place)
                lay_out(hand, 3)
                yield
            setattr(view, axis, start)
            lay_out(hand, 3)


TROUBLE = (
    "The tablet's storage is full, so that nothing was recorded just now; free some space, for example "
    "by taking away pictures that are in a bundle already, and tap again."
)
"""As long as the errors of this program get."""

SAVED = (
    "On disk: part 12 of 30 at the leak test with clamp pads, cavity 3: NOK, with a reason and two pictures"
)

TROUBLED = {
    "problem": TROUBLE,
    "saved": SAVED,
    "written": SAVED,
    "undo": "part 12 at the leak test, NOK",
    "busy": True,
    "can_undo": True,
}
"""What a state of a page may say besides, by the name of the field."""


def in_trouble(state: Any) -> Any:
    """Give a state of a page with everything said that can go wrong or well at once."""
    said = {}
    for field in fields(state):
        value = getattr(state, field.name)
        if field.name in TROUBLED and isinstance(value, type(TROUBLED[field.name])):
            said[field.name] = TROUBLED[field.name]
        elif field.name in ("frame", "head") and is_dataclass(value):
            said[field.name] = in_trouble(value)
    return replace(state, **said)


def trouble_page(hand) -> None:
    """Let the open page say what went wrong, what is on disk, what can be undone, and that it is busy."""
    show: Callable[[Any], None] = hand.app.page.presenter._show
    show(in_trouble(hand.app.page.presenter.state))
    lay_out(hand)
