"""Lists and pages that scroll under a gloved finger, and never answer by it.

What a kv file calls ``ScrollView`` is :class:`Scroll`: no page can forget it.
"""

from __future__ import annotations

from functools import partial

from kivy.base import EventLoop
from kivy.clock import Clock
from kivy.factory import Factory
from kivy.properties import NumericProperty
from kivy.uix.scrollview import ScrollView

from walkapp.screens.kit.fingers import NEVER, Moment

STILL_S = 0.15
"""What has moved within this still moves for a finger: it comes down to stop it."""

LIFTS_S = 0.07
"""How long what was tapped looks pressed before it is told."""


class GloveScroll:
    """How a gloved finger scrolls; goes before a scroll view among the bases.

    A finger may wobble by ``scroll_distance`` and taps; one that went further does not, wherever it comes
    back to. A finger that comes down while the view moves only stops it. While one finger is on the view,
    others do nothing. A view in a view hands on a finger that goes a way in which it does not scroll.
    """

    scroll_distance = NumericProperty("40dp")
    """6 mm on the least dense tablet planned for; the distance from where the finger came down, not its
    way."""
    scroll_timeout = NumericProperty(1200)
    """A slow press takes a second; until then a finger that rests first may still scroll, in ms."""

    def __init__(self, **kwargs) -> None:
        self._moved = NEVER
        super().__init__(**kwargs)
        self.fbind("scroll_x", self._note_move)
        self.fbind("scroll_y", self._note_move)

    def _note_move(self, *_: object) -> None:
        self._moved = Moment.now()

    def on__viewport(self, view, content) -> None:
        """Listen to the size of what is in the view."""
        super().on__viewport(view, content)
        if content is not None:
            content.fbind("size", self._stop)

    def _stop(self, *_: object) -> None:
        """What is filled anew does not swing on: the page would move under a finger that has just come."""
        if self._touch:
            return
        for effect in (self.effect_x, self.effect_y):
            if effect:
                effect.velocity = 0

    def on_touch_down(self, touch) -> bool:
        """Swallow a second finger."""
        held = self._touch
        if held and held is not touch and held in EventLoop.touches and self.collide_point(*touch.pos):
            return True
        return super().on_touch_down(touch)

    def on_scroll_start(self, touch, check_children=True):
        """Note whether the finger only stops what moves."""
        is_moving = not self._moved.is_past(STILL_S)
        taken = super().on_scroll_start(touch, check_children)
        if (here := self._of(touch)) is not None:
            here["user_stopped"] |= is_moving or max(_away(touch)) > self.scroll_distance
        return taken

    def on_scroll_move(self, touch):
        """Measure how far the finger is from where it came down; Kivy adds up all of its way."""
        here = self._of(touch)
        if here is not None and here["mode"] == "unknown":
            away_x, away_y = _away(touch)
            here["dx"], here["dy"] = away_x - abs(touch.dx), away_y - abs(touch.dy)
            if max(away_x, away_y) > self.scroll_distance:
                here["user_stopped"] = True
                if not (self.do_scroll_y if away_y > away_x else self.do_scroll_x):
                    return False
        return super().on_scroll_move(touch)

    def on_scroll_stop(self, touch, check_children=True):
        """Let go of what was tapped sooner than Kivy does, and forget how long this finger has rested.

        Kivy would hand the next finger over when this one's time is up.
        """
        taken = super().on_scroll_stop(touch, check_children)
        Clock.unschedule(self._change_touch_mode)
        here = self._of(touch)
        if here is not None and here["mode"] == "unknown" and not here["user_stopped"]:
            Clock.schedule_once(partial(self._lift, touch), LIFTS_S)
        return taken

    def _lift(self, touch, _dt: float) -> None:
        self._do_touch_up(touch)

    def _of(self, touch):
        return touch.ud.get(self._get_uid())


def _away(touch) -> tuple[float, float]:
    """How far a finger is from where it came down, across and up or down."""
    return abs(touch.x - touch.ox), abs(touch.y - touch.oy)


class Scroll(GloveScroll, ScrollView):
    """A page that scrolls."""


Factory.unregister("ScrollView")
Factory.register("ScrollView", cls=Scroll)
