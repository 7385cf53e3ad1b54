"""The page that covers people: the picture large, and a finger that draws boxes over it."""

from __future__ import annotations

from collections.abc import Iterator

from kivy.graphics import Color, Line, Rectangle
from kivy.metrics import dp
from kivy.properties import ListProperty, ObjectProperty

from walkapp.presenters.cover import CoveredPlace, CoverState
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import Page, load_kv
from walkapp.screens.picture_pad import PicturePad, Sides, has_moved


class CoverPad(PicturePad):
    """A picture on which a finger draws boxes.

    A box begins where the finger comes down and ends where it is lifted; it is never smaller than what a
    glove can aim at. A touch that does not move farther than a glove wobbles draws nothing.

    Parameters
    ----------
    places
        What is covered, in shares of the picture.

    Events
    ------
    on_place
        With the place that was drawn, when the finger is lifted.
    """

    places = ListProperty()

    __events__ = ("on_place",)

    def __init__(self, **more) -> None:
        super().__init__(**more)
        self._draft: Sides | None = None
        self.bind(places=self._redraw)

    def on_place(self, _place) -> None:
        """Somebody drew a box; the page binds to this."""

    def finger_moved(self, touch) -> None:
        """Show the box as it would be if the finger were lifted here."""
        self._draft = self._drawn(touch)
        self._redraw()

    def finger_lifted(self, touch) -> None:
        """Hand the box over."""
        drawn, self._draft = self._drawn(touch), None
        self._redraw()
        if drawn is not None:
            self.dispatch("on_place", self._place(drawn))

    def _drawn(self, touch) -> Sides | None:
        if not has_moved(touch):
            return None
        left, bottom, right, top = self.sides()
        across = grown(touch.ox, touch.x, left, right, look.target())
        along = grown(touch.oy, touch.y, bottom, top, look.target())
        return across[0], along[0], across[1], along[1]

    def _place(self, drawn: Sides) -> CoveredPlace:
        (left, top), (right, bottom) = self.share(drawn[0], drawn[3]), self.share(drawn[2], drawn[1])
        return CoveredPlace(left, top, right, bottom)

    def draw_over(self) -> None:
        """Draw the boxes."""
        with self.canvas:
            for p in self.places:
                _draw_box((*self.point(p.left, p.bottom), *self.point(p.right, p.top)))
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
