"""Room for the keyboard on the glass: whatever is typed into stays in sight above it, on every page alike.

While it is there, the page ends where the keyboard begins, and what stands above the field's own part of
the page may go off the top. The page comes back as it was when the keyboard has gone and no finger is on
the glass.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from kivy.base import EventLoop
from kivy.clock import Clock
from kivy.core.window import Window
from kivy.metrics import dp
from kivy.uix.recycleview import RecycleView
from kivy.uix.scrollview import ScrollView
from kivy.uix.textinput import TextInput

from walkapp.screens.kit.fields import LabelledField
from walkapp.screens.room import Whole

LOOKS_EVERY_S = 0.1
"""How often it is looked whether the keyboard is there: no system tells it in the same way."""

AFTER_TOUCH_S = 0.02

LAID_OUT_S = 0.04
"""The page is laid out by then, so that the field can be scrolled to."""


class KeyboardRoom:
    """Keeps the field that is typed into above the keyboard.

    Parameters
    ----------
    root
        What holds the pages; fills the window while there is no keyboard.
    page
        Gives the page that is shown; none before the first one.
    keyboard_px
        Gives how many pixels of the window, from below, the keyboard covers.
    """

    def __init__(self, root: Any, page: Callable[[], Any], keyboard_px: Callable[[], float]) -> None:
        self._root = root
        self._page = page
        self._keyboard_px = keyboard_px
        self._made_for: tuple[Any, ...] | None = None
        self._scrolled: tuple[Any, float] | None = None
        # The system would else move the window as well, each in its own way.
        Window.softinput_mode = ""
        self._looks = Clock.create_trigger(self._look, LOOKS_EVERY_S, interval=True)
        self._look_soon = Clock.create_trigger(self._begin, AFTER_TOUCH_S)
        self._settle_soon = Clock.create_trigger(self._settle, LAID_OUT_S)
        self._fit_soon = Clock.create_trigger(self._fit, LAID_OUT_S)
        self._listening = {"on_touch_up": self._wake, "on_key_up": self._wake, "size": self._wake}
        Window.bind(**self._listening)

    def close(self) -> None:
        """Look no more."""
        Window.unbind(**self._listening)
        for event in (self._looks, self._look_soon, self._settle_soon, self._fit_soon):
            event.cancel()

    def _wake(self, *_: object) -> bool:
        self._look_soon()
        return False

    def _begin(self, _dt: float) -> None:
        if self._field() is not None or self._made_for is not None:
            self._looks()
            self._look(0)

    def _field(self) -> Any:
        page = self._page()
        if page is None:
            return None
        return next((one for one in _seen(page) if isinstance(one, TextInput) and one.focus), None)

    def _look(self, _dt: float) -> None:
        """Make room, or take it back; nothing moves under a finger that is on the glass."""
        if EventLoop.touches:
            return
        field = self._field()
        covered = self._keyboard_px() if field is not None else 0
        if field is None or covered <= 0:
            self._put_back()
            if field is None:
                self._looks.cancel()
            return
        wanted = (field, covered, tuple(Window.size))
        if wanted != self._made_for:
            self._put_back()
            self._made_for = wanted
            self._settle_soon()

    def _put_back(self) -> None:
        if self._made_for is None:
            return
        asked = _around(self._made_for[0], LabelledField)
        if asked is not None:
            asked.is_crowded = False
        self._made_for = None
        self._settle_soon.cancel()
        self._fit_soon.cancel()
        self._root.size_hint = (1, 1)
        self._root.pos = (0, 0)
        self._root.size = Window.size
        if self._scrolled is not None:
            view, place = self._scrolled
            self._scrolled = None
            view.scroll_y = place

    def _settle(self, _dt: float) -> None:
        """Move the page, now that it is laid out for the whole window, and then the field within it."""
        if self._made_for is None:
            return
        field, covered, _ = self._made_for
        asked = _around(field, LabelledField) or field
        view = _view_of(asked)
        problem = _problem(self._page())
        top = max(_top(part) for part in (asked if view is None else view, problem) if part is not None)
        if view is not None:
            self._scrolled = (view, view.scroll_y)
        if isinstance(asked, LabelledField) and not asked.is_crowded:
            needed = asked.height + (problem.height if problem is not None else 0) + dp(24)
            if needed > Window.height - covered:
                asked.is_crowded = True
                self._settle_soon()  # once more, when it is as low as it gets
                return
        parts = [asked] if problem is None or _view_of(problem) is not view else [asked, problem]
        bottom = min(map(_bottom, parts))
        if bottom >= covered + dp(4) and _top(asked) <= Window.height:
            # It is above the keyboard where it is; but its label may be scrolled away.
            if view is not None and _top(asked) > _top(view):
                _scroll_to_top(view, asked)
        elif view is None:
            self._root.y = covered + dp(4) - bottom
        else:
            # What stands beside the field's own part of the page, above it, may go off the top.
            self._lay_out(covered, 2 * Window.height - covered - top)
            self._fit_soon()

    def _fit(self, _dt: float) -> None:
        """Scroll to the field; where its view became too low, less is offered, then the page moves up."""
        if self._made_for is None or self._scrolled is None:
            return
        asked, (view, _) = _around(self._made_for[0], LabelledField), self._scrolled
        if asked is not None and (missing := asked.height + dp(8) - view.height) > 1:
            if not asked.is_crowded:
                asked.is_crowded = True
            else:
                self._lay_out(self._root.y, self._root.height + missing)
            self._fit_soon()
        else:
            _scroll_to_top(view, asked or self._made_for[0])

    def _lay_out(self, bottom: float, height: float) -> None:
        self._root.size_hint = (1, None)
        self._root.height = height
        self._root.y = bottom


def _around(widget: Any, kind: type) -> Any:
    """Give the nearest of a kind that a widget is in; none where there is none."""
    while widget.parent is not None and widget.parent is not widget:
        widget = widget.parent
        if isinstance(widget, kind):
            return widget
    return None


def _view_of(widget: Any) -> Any:
    """Give the view that a widget is scrolled in; none where it is not, as on a page that is seen whole."""
    view = _around(widget, ScrollView)
    return None if isinstance(view, Whole) and not view.do_scroll_y else view


def _problem(page: Any) -> Any:
    """Give the line that says what is wrong; none while it says nothing."""
    return next(
        (one for one in _seen(page) if getattr(one, "test_name", "") == "problem" and one.text), None
    )


def _seen(widget: Any) -> Iterator[Any]:
    if widget.opacity == 0 or widget.width <= 0 or widget.height <= 0:
        return
    yield widget
    if not isinstance(widget, RecycleView):  # no row of a long list is typed into
        for child in widget.children:
            yield from _seen(child)


def _top(widget: Any) -> float:
    return float(widget.to_window(widget.x, widget.top)[1])


def _bottom(widget: Any) -> float:
    return float(widget.to_window(widget.x, widget.y)[1])


def _scroll_to_top(view: Any, widget: Any) -> None:
    """Scroll so that a widget begins where its view does, as far as there is more below it."""
    content = view.children[0]
    room = content.height - view.height
    if room <= 0:
        return
    view.effect_y.velocity = 0
    top = content.to_widget(*widget.to_window(widget.x, widget.top))[1]
    view.scroll_y = min(max((top - content.y - view.height) / room, 0.0), 1.0)
