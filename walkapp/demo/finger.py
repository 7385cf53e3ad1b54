"""A finger on the glass, for the hand. Importing this loads Kivy."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import count

from kivy.base import EventLoop
from kivy.input.motionevent import MotionEvent

_numbers = count(1)


class Finger:
    """One finger: down, move, up, through the same way as a real one.

    Parameters
    ----------
    x, y
        Where it is above the glass, in window pixels.
    """

    def __init__(self, x: float, y: float) -> None:
        self._touch = _Touch("hand", next(_numbers), _place(x, y), is_touch=True, type_id="touch")

    def down(self) -> None:
        """Put it on the glass."""
        EventLoop.post_dispatch_input("begin", self._touch)

    def move(self, x: float, y: float) -> None:
        """Move it to a point in window pixels."""
        self._touch.move(_place(x, y))
        EventLoop.post_dispatch_input("update", self._touch)

    def up(self) -> None:
        """Lift it."""
        EventLoop.post_dispatch_input("end", self._touch)


class _Touch(MotionEvent):  # type: ignore[misc]  # Kivy ships no types
    """What Kivy hears of a finger."""

    def depack(self, args: Mapping[str, float]) -> None:
        """Take in a place, as Kivy hands it on."""
        self.profile = ["pos"]
        self.sx, self.sy = args["x"], args["y"]
        super().depack(args)


def _place(x: float, y: float) -> dict[str, float]:
    """Give a point in window pixels as Kivy wants it: as shares of the window."""
    window = EventLoop.window
    return {"x": x / (window.width - 1.0), "y": y / (window.height - 1.0)}
