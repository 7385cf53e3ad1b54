"""The page that covers people: the picture large, and a finger that draws boxes over it."""

from __future__ import annotations

from collections.abc import Iterator

from kivy.base import EventLoop
from kivy.graphics import Color, Line, Rectangle
from kivy.metrics import dp
from kivy.properties import ListProperty, ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from walkapp.presenters.cover import CoveredPlace, CoverState
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import Page, load_kv
from walkapp.screens.photo import texture_of

Sides = tuple[float, float, float, float]
"""Left, bottom, right and top in window pixels."""


class CoverPad(Widget):
    """A picture on which a finger draws boxes.

    A box begins where the finger comes down and ends where it is lifted; it is never smaller than what a
    glove can aim at. A touch that does not move farther than a glove wobbles draws nothing.

    Parameters
    ----------
    tile
        The picture; none until it is read.
    places
        What is covered, in shares of the picture.

    Events
    ------
    on_place
        With the place that was drawn, when the finger is lifted.
    """

    tile = ObjectProperty(None, allownone=True)
    places = ListProperty()
    test_name = StringProperty("")

    __events__ = ("on_place",)

    def __init__(self, **more) -> None:
        super().__init__(**more)
        self._texture = None
        self._finger = None
        self._draft: Sides | None = None
        self.bind(places=self._redraw, pos=self._redraw, size=self._redraw)

    def on_tile(self, _pad, tile) -> None:
        """Turn the pixels into a texture."""
        self._texture = texture_of(tile) if tile is not None else None
        self._redraw()

    def on_place(self, _place) -> None:
        """Somebody drew a box; the page binds to this."""

    def sides(self) -> Sides:
        """Give the sides of the picture, as large as it fits."""
        width, height = self.tile.size
        scale = min(self.width / width, self.height / height)
        left = round(self.center_x - width * scale / 2)
        bottom = round(self.center_y - height * scale / 2)
        return left, bottom, left + round(width * scale), bottom + round(height * scale)

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
        return True

    def on_touch_move(self, touch) -> bool:
        """Show the box as it would be if the finger were lifted here."""
        if touch.grab_current is not self:
            return super().on_touch_move(touch)
        self._draft = self._drawn(touch)
        self._redraw()
        return True

    def on_touch_up(self, touch) -> bool:
        """Hand the box over."""
        if touch.grab_current is not self:
            return super().on_touch_up(touch)
        touch.ungrab(self)
        drawn, self._draft, self._finger = self._drawn(touch), None, None
        self._redraw()
        if drawn is not None:
            self.dispatch("on_place", self._place(drawn))
        return True

    def _drawn(self, touch) -> Sides | None:
        if max(abs(touch.x - touch.ox), abs(touch.y - touch.oy)) < look.gap():
            return None
        left, bottom, right, top = self.sides()
        across = grown(touch.ox, touch.x, left, right, look.target())
        along = grown(touch.oy, touch.y, bottom, top, look.target())
        return across[0], along[0], across[1], along[1]

    def _place(self, drawn: Sides) -> CoveredPlace:
        left, bottom, right, top = self.sides()
        width, height = right - left, top - bottom
        return CoveredPlace(
            (drawn[0] - left) / width,
            (top - drawn[3]) / height,
            (drawn[2] - left) / width,
            (top - drawn[1]) / height,
        )

    def _redraw(self, *_) -> None:
        self.canvas.clear()
        if self._texture is None:
            return
        left, bottom, right, top = self.sides()
        width, height = right - left, top - bottom
        with self.canvas:
            Color(1, 1, 1, 1)
            Rectangle(pos=(left, bottom), size=(width, height), texture=self._texture)
            for p in self.places:
                _draw_box(
                    (
                        left + p.left * width,
                        top - p.bottom * height,
                        left + p.right * width,
                        top - p.top * height,
                    )
                )
            if self._draft is not None:
                _draw_box(self._draft)


def grown(start: float, end: float, least: float, most: float, size: float) -> tuple[float, float]:
    """Give the span from `start` to `end`, at least `size` long and within `least` to `most`.

    Examples
    --------
    >>> grown(50, 60, 0, 200, 40), grown(190, 230, 0, 200, 40), grown(5, 9, 0, 30, 40)
    ((35.0, 75.0), (160.0, 200.0), (0.0, 30.0))
    """
    low, high = sorted((min(max(start, least), most), min(max(end, least), most)))
    length = min(max(high - low, size), most - least)
    low = min(max((low + high - length) / 2, least), most - length)
    return float(low), float(low + length)


def hatching(sides: Sides, step: float) -> Iterator[Sides]:
    """Give slanting lines across a box, each from its lower left to its upper right end.

    Examples
    --------
    >>> list(hatching((0, 0, 4, 2), 2))
    [(0, 0, 2, 2), (2, 0, 4, 2)]
    """
    left, bottom, right, top = sides
    height = top - bottom
    start = left - height + step
    while start < right:
        low, high = max(start, left), min(start + height, right)
        if high > low:
            yield low, bottom + low - start, high, bottom + high - start
        start += step


def _draw_box(sides: Sides) -> None:
    """Draw a covered place: hatched, with a dark outline on a light one."""
    left, bottom, right, top = sides
    size = (right - left, top - bottom)
    Color(*look.THEME.panel.paper[:3], 0.7)
    Rectangle(pos=(left, bottom), size=size)
    Color(*look.THEME.panel.ink)
    for line in hatching(sides, dp(14)):
        Line(points=line, width=dp(1.5))
    for ink, width in ((look.THEME.panel.paper, dp(4)), (look.THEME.panel.ink, dp(2))):
        Color(*ink)
        Line(rectangle=(left, bottom, *size), width=width, joint="miter")


class CoverScreen(Page):
    """One picture, to cover people in it."""

    state = ObjectProperty(CoverState(), rebind=True)


load_kv(__file__)
