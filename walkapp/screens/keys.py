"""The keyboard and the mouse, on every page alike: a ring that moves, taps, digits, scrolling.

There is no ring until a key is used, and a finger or the mouse takes it away again. A tap by key goes
the way of a tap by finger. A key that is held down repeats where that does no harm; it never taps twice.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kivy.clock import Clock
from kivy.core.window import Window

from walkapp.presenters.route import Route
from walkapp.screens.bursts import Burst
from walkapp.screens.kit.fingers import BOUNCE_S
from walkapp.screens.ring import Ring
from walkapp.screens.stops import Stop, can_be_used, is_inside, pads, scroll_views, stops_of, under

BACKSPACE, TAB, ENTER, ESCAPE, SPACE, PAD_ENTER = 8, 9, 13, 27, 32, 271
UP, DOWN, RIGHT, LEFT, HOME, END, PAGE_UP, PAGE_DOWN = 273, 274, 275, 276, 278, 279, 280, 281
LETTER_F, LETTER_Z = 102, 122

MODIFIER_KEYS = range(300, 312)
"""Shift, Ctrl, Alt and their like: they come between the keys of one text."""

TAP_KEYS = (ENTER, PAD_ENTER, SPACE)

PAD_KEYS = {
    **{48 + digit: str(digit) for digit in range(10)},
    **{256 + digit: str(digit) for digit in range(10)},
    44: ".", 46: ".", 266: ".", 45: "-", 269: "-", BACKSPACE: "back",
}  # fmt: skip
"""Which key of the number pad a key of the keyboard is; on the main keyboard and the one for numbers."""

PAGE_SHARE = 0.85
"""How much of what is seen a Page Up or Page Down scrolls."""

MOST_REMEMBERED = 50
"""Places whose last stop is remembered for coming back."""

LAID_OUT_S = 0.03
"""How long after the ring has moved the page is scrolled: a page that was filled is laid out by then."""

NEVER_S = -1e9
"""A time before every key."""

SETTLES_S = 2.0
"""How long after a page was opened the ring may still go to its first thing: the disk takes its time."""


class Keys:
    """Listens to the keyboard and the mouse for the page that is shown.

    Parameters
    ----------
    page
        Gives the page that is shown; none before the first one.
    go
        Shows another place.
    beside
        Gives what stands beside the page and is reached behind it; none for nothing.
    """

    def __init__(
        self,
        page: Callable[[], Any],
        go: Callable[[Route], None],
        beside: Callable[[], Any] = lambda: None,
    ) -> None:
        self._page = page
        self._go = go
        self._beside = beside
        self._held: set[int] = set()
        self._at: Stop | None = None
        self._index = 0
        self._is_shown = False
        self._types_number = False
        self._tapped_s = NEVER_S
        self._settles_until_s = NEVER_S
        self._route: Route | None = None
        self._left_at: dict[Route, str] = {}
        self._touched_at: tuple[float, float] | None = None
        self._cursor = "arrow"
        self._ring = Ring()
        self._burst = Burst(self._play)
        self._follow = Clock.create_trigger(self._keep_up, 0, interval=True)
        self._hover_soon = Clock.create_trigger(self._hover)
        self._scroll_soon = Clock.create_trigger(self._scroll_to_it, LAID_OUT_S)
        self._listening = {
            "on_key_down": self._key_down,
            "on_key_up": self._key_up,
            "on_textinput": self._written,
            "on_touch_down": self._touched,
            "mouse_pos": self._mouse_moved,
        }
        Window.bind(**self._listening)

    def close(self) -> None:
        """Listen no more."""
        Window.unbind(**self._listening)
        self._follow.cancel()
        self._hover_soon.cancel()
        self._scroll_soon.cancel()
        self._burst.close()
        self._ring.hide()

    @property
    def at(self) -> Stop | None:
        """Where the ring is; none while there is no ring."""
        return self._at if self._is_shown else None

    def page_opened(self, route: Route) -> None:
        """A place is shown: with a ring in use, it goes to where it was there, or to the first thing."""
        self._remember()
        self._route, self._at, self._index, self._types_number = route, None, 0, False
        self._touched_at = None
        self._settles_until_s = Clock.time() + SETTLES_S
        self._ring.hide()

    # keys

    def _key_down(
        self, _window: object, key: int, _scancode: object, _text: object, modifiers: list[str]
    ) -> bool:
        is_repeat = key in self._held
        self._held.add(key)
        self._settles_until_s = NEVER_S
        if (
            self._page() is not None
            and self._field() is None
            and self._is_of_burst(key, is_repeat, modifiers)
        ):
            return True
        if self._page() is None or {"alt", "meta"} & set(modifiers):
            return False
        if "ctrl" in modifiers:
            return not is_repeat and self._shortcut(key)
        field = self._field()
        if key == TAB:
            self._move(-1 if "shift" in modifiers else 1)
            return True
        if key in (PAGE_UP, PAGE_DOWN):
            return self._scroll(1 if key == PAGE_UP else -1)
        if field is not None:
            if key in (UP, DOWN) and not field.multiline:
                self._move_up_or_down(key == UP)
                return True
            return False  # all else is typed
        return self._page_key(key, is_repeat)

    def _is_of_burst(self, key: int, is_repeat: bool, modifiers: list[str]) -> bool:
        """Hold back a key that may be of what a device sends; hand the page what Enter or Tab has ended."""
        if is_repeat and self._burst.is_on:
            return True  # a device lets each key go
        if not is_repeat and self._burst.hold(key, set(modifiers)):
            return True
        if key not in (ENTER, PAD_ENTER, TAB):
            if key not in MODIFIER_KEYS:
                self._burst.play()
            return False
        text = self._burst.end()
        if text:
            self._page().takes_text(text)
        return text is not None

    def _play(self, keys: tuple[int, ...]) -> None:
        for key in keys:
            self._page_key(key, False)

    def _written(self, _window: object, letters: str) -> bool:
        if self._page() is not None and self._field() is None:
            self._burst.write(letters)
        return False

    def _page_key(self, key: int, is_repeat: bool) -> bool:
        """A key while no field is typed into."""
        if key in TAP_KEYS:
            return self._tap_key(key, is_repeat)
        if (pad_key := PAD_KEYS.get(key)) and (pad := self._pad()) is not None:
            self._press_pad(pad, pad_key, is_repeat)
            return True
        if key in (RIGHT, LEFT):
            self._move(1 if key == RIGHT else -1)
        elif key in (UP, DOWN):
            self._move_up_or_down(key == UP)
        elif key in (HOME, END):
            self._move_to_end(key == HOME)
        else:
            return False
        return True

    def _key_up(self, _window: object, key: int, *_: object) -> bool:
        self._held.discard(key)
        return False

    def _shortcut(self, key: int) -> bool:
        if key == LETTER_F:
            self._search()
            return True
        if key == LETTER_Z and self._field() is None:
            undo = next((s for s in stops_of(self._page()) if s.name == "undo"), None)
            if undo is not None:
                self._tap(undo)
            return True
        return False

    def _search(self) -> None:
        if self._route is not None and self._route.screen == "search":
            field = next((stop for stop in stops_of(self._page()) if stop.is_field), None)
            if field is not None:
                self._show_at(field)
        else:
            self._is_shown = True  # so that the field to type into is ready when the page is there
            self._follow()
            self._go(Route(screen="search"))

    # moving

    def _stops(self) -> tuple[Stop, ...]:
        """List what can be reached, the page first."""
        beside = self._beside()
        return stops_of(self._page()) + (() if beside is None else stops_of(beside))

    def _move(self, by: int) -> None:
        stops = self._stops()
        if not stops:
            return
        if self._touched_at is not None:
            # The first key after a finger begins where the finger was.
            self._at = under(stops, *self._touched_at) or self._at
            self._touched_at = None
        place = self._place(stops)
        if place is None:
            place = self._first(stops) if by > 0 else len(stops) - 1
        elif self._is_shown or self._field() is not None:
            place = (place + by) % len(stops)
        self._show_at(stops[place])

    def _move_to_end(self, is_first: bool) -> None:
        if stops := stops_of(self._page()):
            self._show_at(stops[0 if is_first else -1])

    def _move_up_or_down(self, is_up: bool) -> None:
        """Go to the nearest thing above or below; in reading order where that is not known."""
        stops = self._stops()
        here = self._at.box() if self._at is not None else None
        if here is None or not (self._is_shown or self._field() is not None) or self._at.view is not None:
            self._move(-1 if is_up else 1)
            return
        x, y = (here[0] + here[2]) / 2, (here[1] + here[3]) / 2
        found: list[tuple[float, int]] = []
        for place, stop in enumerate(stops):
            box = stop.box()
            if box is None:
                continue
            away = box[1] - here[3] if is_up else here[1] - box[3]
            if away < -2:
                continue
            aside = max(box[0] - x, x - box[2], 0)
            found.append((max(away, 0) + 2 * aside + abs((box[1] + box[3]) / 2 - y) / 100, place))
        if found:
            self._show_at(stops[min(found)[1]])

    def _place(self, stops: tuple[Stop, ...]) -> int | None:
        """Find where the ring is among the things that are there now."""
        field = self._field()
        if field is not None:
            return next((n for n, stop in enumerate(stops) if stop.widget is field), None)
        if self._at is None:
            return None
        for place, stop in enumerate(stops):
            if stop.is_same(self._at):
                return place
        named = [n for n, stop in enumerate(stops) if stop.name and stop.name == self._at.name]
        if named:
            return named[0]
        return min(self._index, len(stops) - 1)

    def _first(self, stops: tuple[Stop, ...]) -> int:
        """Where to begin on a page: where one was there before, else behind what leads back."""
        name = self._left_at.get(self._route, "") if self._route is not None else ""
        named = [n for n, stop in enumerate(stops) if name and stop.name == name]
        if named:
            return named[0]
        return next((n for n, stop in enumerate(stops) if stop.name not in ("back", "undo")), 0)

    def _show_at(self, stop: Stop) -> None:
        field = self._field()
        if field is not None and field is not stop.widget:
            field.focus = False
        self._at, self._is_shown, self._types_number = stop, True, False
        self._index = next((n for n, one in enumerate(self._stops()) if one.is_same(stop)), 0)
        self._scroll_soon()
        if stop.is_field:
            stop.widget.focus = True
        self._follow()

    def _scroll_to_it(self, _dt: float) -> None:
        """Bring what the ring is at into sight; a page that is still being filled would scroll too far."""
        if self.at is not None and (self.at.view is not None or can_be_used(self.at.widget)):
            self.at.scroll_to()

    def _remember(self) -> None:
        if self._route is None or self._at is None or not self._at.name:
            return
        self._left_at.pop(self._route, None)
        self._left_at[self._route] = self._at.name
        if len(self._left_at) > MOST_REMEMBERED:
            del self._left_at[next(iter(self._left_at))]

    def _keep_up(self, _dt: float) -> None:
        """Keep the ring around its thing, wherever that is by now; runs while a ring is in use."""
        page = self._page()
        if not self._is_shown or page is None:
            self._follow.cancel()
            self._ring.hide()
            return
        if self._at is None or Clock.time() < self._settles_until_s:
            stops = stops_of(page)
            if len(stops) > 1 or (stops and stops[0].name != "back"):  # else it is still being read
                first = stops[self._first(stops)]
                if self._at is None or not first.is_same(self._at):
                    self._show_at(first)
        elif self._at.view is None and not can_be_used(self._at.widget):
            stops = self._stops()
            place = self._place(stops) if stops else None
            self._at = stops[place] if place is not None else None
        box = self._at.box() if self._at is not None else None
        if box is None:
            self._ring.hide()
        else:
            self._ring.show(box)

    # tapping

    def _tap_key(self, key: int, is_repeat: bool) -> bool:
        if self._types_number and key != SPACE and (pad := self._pad()) is not None:
            self._press_pad(pad, "enter", is_repeat)
            return True
        if self.at is None:
            return False
        now = Clock.time()
        if not is_repeat and now - self._tapped_s >= BOUNCE_S:
            self._tapped_s = now
            self._tap(self.at)
        return True

    def _tap(self, stop: Stop) -> None:
        page = self._page()
        if not page.takes_taps():
            return
        if stop.is_field:
            stop.widget.focus = True
            return
        self._remember()
        widget = stop.shown_widget()
        if widget is None:
            stop.scroll_to()
            stop.view.dispatch("on_row", stop.view.data[stop.index]["row_id"])
            return
        widget.dispatch("on_press")
        widget.dispatch("on_tap")

    def _pad(self) -> Any:
        """Give the keys of the number pad of the page; none where it has none."""
        return next((field for field in pads(self._page())), None)

    def _press_pad(self, pad: Any, key: str, is_repeat: bool) -> None:
        if is_repeat and key != "back":
            return
        self._types_number = key != "enter"
        pressed = next((child for child in pad.children if child.key == key and not child.disabled), None)
        if pressed is not None:
            pressed.dispatch("on_tap")

    def _field(self) -> Any:
        """Give the field that is typed into; none when there is none."""
        page = self._page()
        if page is None:
            return None
        return next((s.widget for s in stops_of(page) if s.is_field and s.widget.focus), None)

    # scrolling, fingers and the mouse

    def _scroll(self, up: int) -> bool:
        views = list(scroll_views(self._page()))
        if not views:
            return False
        around = [v for v in views if self._at is not None and is_inside(self._at, v)] if self.at else []
        view = (around or sorted(views, key=lambda one: -one.width * one.height))[0]
        room = view.children[0].height - view.height
        view.scroll_y = min(1, max(0, view.scroll_y + up * PAGE_SHARE * view.height / room))
        return True

    def _touched(self, _window: object, touch: Any) -> bool:
        if getattr(touch, "is_mouse_scrolling", False):
            return False
        self._is_shown, self._types_number = False, False
        self._ring.hide()
        self._touched_at = touch.pos
        return False

    def _mouse_moved(self, *_: object) -> None:
        self._hover_soon()

    def _hover(self, _dt: float) -> None:
        """Show a hand over what can be tapped, and a bar over what is typed into."""
        page = self._page()
        if page is None:
            return
        over = under(self._stops(), *Window.mouse_pos)
        cursor = "arrow" if over is None else "ibeam" if over.is_field else "hand"
        if cursor != self._cursor:
            self._cursor = cursor
            Window.set_system_cursor(cursor)
