"""Which touches of a gloved hand are meant. Everything that is tapped asks here, so that there is one rule.

A glove bounces: it comes down again within a fraction of a second, on the same button or on whatever has
come up there in the meantime. A palm or two fingers touch several things at once. A thumb rests. None of
these is an answer. Times are counted in frames too: touches that waited while the window was busy arrive
late, but no later in frames.
"""

from __future__ import annotations

from dataclasses import dataclass
from weakref import ref

from kivy.base import EventLoop
from kivy.clock import Clock
from kivy.metrics import dp
from kivy.uix.scrollview import ScrollView

BOUNCE_S = 0.3
"""A finger that comes down again within this, where it was, is the same tap; so is one that comes down
before anybody can have seen what a page shows. Who means it takes longer: common practice, no source."""

TOGETHER_S = 0.15
"""Fingers that come down within this on different things are a palm, or a finger and its neighbour."""

RESTS_S = 2.0
"""A finger that stays longer rests. A slow press takes about one second."""

NEAR_DP = 54
"""How far from the first touch a bounce comes down at most: 8 mm."""

LONGEST_FRAME_S = 0.05
"""A frame counts no longer than this, however long it took."""

# no text: keys of a touch
_DOWN, _WITH, _OUT = "fingers down", "fingers with", "fingers out"


@dataclass(frozen=True, slots=True, order=True)
class Moment:
    """A time, in seconds and in frames of the window."""

    s: float
    frame: int

    @classmethod
    def now(cls) -> Moment:
        """Give this moment."""
        return cls(Clock.time(), Clock.frames)

    def is_past(self, seconds: float, now: Moment | None = None) -> bool:
        """Whether so much time, and frames for so much time, lie between it and now."""
        now = now or Moment.now()
        frames = seconds / LONGEST_FRAME_S
        return now.s - self.s >= seconds and now.frame - self.frame >= frames


NEVER = Moment(-1e9, -(10**9))
"""Before every touch."""


class Fingers:
    """Knows the fingers on the glass, the tap that counted last, and since when the page can be seen."""

    def __init__(self) -> None:
        self._listens = False
        self._last, self._last_at, self._last_pos = ref(self), NEVER, (0.0, 0.0)
        self._seen_since = NEVER

    def listen(self) -> None:
        """Note when and where each finger comes down, from now on; again does no harm."""
        if not self._listens:
            from kivy.core.window import Window  # late: importing it opens the window

            Window.bind(on_touch_down=self._came_down)
            self._listens = True

    def page_changed(self) -> None:
        """Something else is on the glass: no finger that is there meant it, nor one that comes at once."""
        self._seen_since = Moment.now()

    def is_seen(self) -> bool:
        """Whether the page has been there long enough for somebody to have seen it."""
        return self._seen_since.is_past(BOUNCE_S)

    def takes(self, widget, touch) -> bool:
        """Whether a widget takes a finger that came down on it."""
        return not touch.ud.get(_OUT) and not self._is_bounce(widget, touch)

    def counts(self, widget, touch) -> bool:
        """Whether a finger that was lifted from a widget has meant it; it is then the last that counted."""
        down, _ = self._down(touch)
        is_meant = (
            not touch.ud.get(_OUT)
            and down > max(self._seen_since, widget.changed)
            and not down.is_past(RESTS_S)
            and not self._is_bounce(widget, touch)
            and self._is_alone(widget, touch)
            and not _has_slid(widget, touch)
            and widget.get_root_window() is not None
        )
        if is_meant:
            self._last, self._last_at = ref(widget), Moment.now()
            self._last_pos = widget.to_window(*touch.pos)
            for other in EventLoop.touches:
                if other is not touch and not (widget.is_typed and _types(other)):
                    self.leave_out(other)
        return is_meant

    def leave_out(self, touch) -> None:
        """Say that a finger on the glass means nothing, however it is lifted."""
        touch.ud[_OUT] = True

    def _came_down(self, _window, touch) -> None:
        if getattr(touch, "is_mouse_scrolling", False):
            return
        now = Moment.now()
        touch.ud[_DOWN], touch.ud[_WITH] = (now, tuple(touch.pos)), []
        for other in EventLoop.touches:
            if other is not touch and _DOWN in other.ud and not other.ud[_DOWN][0].is_past(TOGETHER_S, now):
                touch.ud[_WITH].append(other.ud[_DOWN])
                other.ud[_WITH].append(touch.ud[_DOWN])

    def _down(self, touch) -> tuple[Moment, tuple[float, float]]:
        return touch.ud.get(_DOWN) or (Moment.now(), tuple(touch.pos))

    def _is_bounce(self, widget, touch) -> bool:
        down, pos = self._down(touch)
        if not widget.tapped.is_past(widget.guard_s, down):
            return True
        last = self._last()
        if last is widget:
            return False  # one that is gone was replaced by what is there now
        x, y = self._last_pos
        is_near = max(abs(pos[0] - x), abs(pos[1] - y)) < dp(NEAR_DP)
        both_typed = widget.is_typed and getattr(last, "is_typed", False)
        return is_near and not self._last_at.is_past(widget.guard_s if both_typed else BOUNCE_S, down)

    def _is_alone(self, widget, touch) -> bool:
        """Whether no finger came down together with it, but for one on the same thing; three are a palm.

        Keys are typed faster.
        """
        down, _ = self._down(touch)
        together = [
            pos
            for when, pos in touch.ud.get(_WITH, ())
            if not widget.is_typed or abs(when.s - down.s) < widget.guard_s
        ]
        return len(together) < 2 and all(widget.collide_point(*widget.to_widget(*pos)) for pos in together)


def _has_slid(widget, touch) -> bool:
    """Whether a finger has gone so far on something that scrolls that it wanted to scroll."""
    parent = widget.parent
    while parent is not None and parent is not parent.parent:
        if isinstance(parent, ScrollView):
            return max(abs(touch.x - touch.ox), abs(touch.y - touch.oy)) > parent.scroll_distance
        parent = parent.parent
    return False


def _types(touch) -> bool:
    """Whether a finger is on a key that is typed."""
    return any(getattr(what, "is_typed", False) for what in touch.ud)


FINGERS = Fingers()
"""The one glass that there is."""
