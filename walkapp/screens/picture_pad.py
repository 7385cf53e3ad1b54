"""A picture, as large as it fits, on which one finger draws."""

from __future__ import annotations

from kivy.base import EventLoop
from kivy.graphics import Color, Rectangle
from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from walkapp.screens import look
from walkapp.screens.photo import texture_of

Sides = tuple[float, float, float, float]
"""Left, bottom, right and top in window pixels."""


class PicturePad(Widget):
    """A picture on which a finger draws; what it draws is up to the subclass.

    Parameters
    ----------
    tile
        The picture; none until it is read.
    """

    tile = ObjectProperty(None, allownone=True)
    test_name = StringProperty("")

    def __init__(self, **more) -> None:
        self._texture = None
        self._finger = None
        super().__init__(**more)
        self.bind(pos=self._redraw, size=self._redraw)

    def on_tile(self, _pad, tile) -> None:
        """Turn the pixels into a texture."""
        self._texture = texture_of(tile) if tile is not None else None
        self._redraw()

    def finger_down(self, touch) -> None:
        """The first finger came down on the picture."""

    def finger_moved(self, touch) -> None:
        """It moved."""

    def finger_lifted(self, touch) -> None:
        """It was lifted."""

    def draw_over(self) -> None:
        """Draw what lies over the picture."""

    def sides(self) -> Sides:
        """Give the sides of the picture, as large as it fits."""
        width, height = self.tile.size
        scale = min(self.width / width, self.height / height)
        left = round(self.center_x - width * scale / 2)
        bottom = round(self.center_y - height * scale / 2)
        return left, bottom, left + round(width * scale), bottom + round(height * scale)

    def point(self, across: float, down: float) -> tuple[float, float]:
        """Give a place of the picture, in shares from its upper left corner, as window pixels."""
        left, bottom, right, top = self.sides()
        return left + across * (right - left), top - down * (top - bottom)

    def share(self, x: float, y: float) -> tuple[float, float]:
        """Give a place in window pixels as shares of the picture from its upper left corner."""
        left, bottom, right, top = self.sides()
        return (x - left) / max(right - left, 1), (top - y) / max(top - bottom, 1)

    def on_touch_down(self, touch) -> bool:
        """Take the first finger on the picture; leave out others while it is down."""
        if self.tile is None or not self.collide_point(*touch.pos):
            return super().on_touch_down(touch)
        if self._finger is not None and self._finger in EventLoop.touches:
            return True
        left, bottom, right, top = self.sides()
        if left <= touch.x <= right and bottom <= touch.y <= top:
            self._finger = touch
            touch.grab(self)
            self.finger_down(touch)
        return True

    def on_touch_move(self, touch) -> bool:
        """Follow the finger."""
        if touch.grab_current is not self:
            return super().on_touch_move(touch)
        self.finger_moved(touch)
        return True

    def on_touch_up(self, touch) -> bool:
        """Let go of the finger."""
        if touch.grab_current is not self:
            return super().on_touch_up(touch)
        touch.ungrab(self)
        self._finger = None
        self.finger_lifted(touch)
        return True

    def _redraw(self, *_) -> None:
        self.canvas.clear()
        if self._texture is None:
            return
        left, bottom, right, top = self.sides()
        with self.canvas:
            Color(1, 1, 1, 1)
            Rectangle(pos=(left, bottom), size=(right - left, top - bottom), texture=self._texture)
        self.draw_over()


def has_moved(touch) -> bool:
    """Whether a finger moved farther than a glove wobbles."""
    return max(abs(touch.x - touch.ox), abs(touch.y - touch.oy)) >= look.gap()
