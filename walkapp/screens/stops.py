"""Everything on a page that the keyboard can reach, in the order in which a page is read."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cmp_to_key
from typing import Any

from kivy.core.window import Window
from kivy.uix.recycleview import RecycleView
from kivy.uix.scrollview import ScrollView
from kivy.uix.textinput import TextInput

from walkapp.screens.kit.buttons import Tappable

OVERLAP_PX = 2
"""By so much one thing may reach into the line of another and still stand above it."""


@dataclass(frozen=True, slots=True)
class Stop:
    """A thing that is tapped or typed into.

    Parameters
    ----------
    name
        Its name, by which it is found again when the page has been filled anew; may be empty.
    widget
        The widget; none for a row of a long list that is scrolled away.
    view, index
        The long list that it is a row of, and its place in it; none and 0 for anything else.
    """

    name: str
    widget: Any
    view: Any = None
    index: int = 0

    @property
    def is_field(self) -> bool:
        """Whether it is typed into."""
        return isinstance(self.widget, TextInput)

    def is_same(self, other: Stop) -> bool:
        """Whether it is the same thing, though perhaps another widget shows it now."""
        if self.view is not None:
            return self.view is other.view and self.index == other.index
        return self.widget is other.widget

    def shown_widget(self) -> Any:
        """Give the widget that shows it now; none while it is scrolled away."""
        if self.view is not None:
            return self.view.view_adapter.get_visible_view(self.index)
        return self.widget

    def scroll_to(self) -> None:
        """Scroll everything around it so that it is in sight."""
        if self.view is not None:
            _scroll_to_row(self.view, self.index)
        inside = self.view if self.view is not None else self.widget
        for parent in _parents(inside):
            if isinstance(parent, ScrollView) and _has_more(parent):
                parent.scroll_to(inside, padding=8, animate=False)

    def box(self) -> tuple[float, float, float, float] | None:
        """Give left, bottom, right and top in window pixels; none while it is scrolled away."""
        widget = self.shown_widget()
        if widget is None or not is_in_window(widget):
            return None
        return (*widget.to_window(widget.x, widget.y), *widget.to_window(widget.right, widget.top))


def stops_of(page: Any) -> tuple[Stop, ...]:
    """List everything on a page that can be tapped or typed into, in reading order.

    Parameters
    ----------
    page
        The page, or any widget.
    """
    return tuple(_stops(page))


def _stops(widget: Any) -> Iterator[Stop]:
    if widget.opacity == 0 or widget.width <= 0 or widget.height <= 0 or widget.disabled:
        return
    if isinstance(widget, (Tappable, TextInput)):
        yield Stop(getattr(widget, "test_name", ""), widget)
    elif isinstance(widget, RecycleView):
        # It lends a few widgets to all its rows: the rows themselves are what is listed.
        for index, row in enumerate(widget.data):
            if not row.get("disabled"):
                yield Stop(row.get("test_name", ""), None, widget, index)
    else:
        children = widget.children[::-1]
        children.sort(key=cmp_to_key(_reads_before))
        for child in children:
            yield from _stops(child)


def _reads_before(one: Any, other: Any) -> int:
    """Compare two children of one widget: from top to bottom, and in a line from left to right."""
    if one.y >= other.top - OVERLAP_PX:
        return -1
    if other.y >= one.top - OVERLAP_PX:
        return 1
    return -1 if one.x < other.x else 1 if one.x > other.x else 0


def _scroll_to_row(view: Any, index: int) -> None:
    """Scroll a long list so that a row is in sight, whether a widget shows it yet or not."""
    before, height, whole = view.span_of(index)
    room = whole - view.height
    if room <= 0:
        return
    above = (1 - min(max(view.scroll_y, 0), 1)) * room
    if before < above:
        above = before
    elif before + height > above + view.height:
        above = before + height - view.height
    view.scroll_y = 1 - min(max(above / room, 0), 1)


def _has_more(view: Any) -> bool:
    """Whether there is more in a view than it shows; what fits must stay where it is."""
    inside = view.children[0] if view.children else None
    if inside is None:
        return False
    is_higher = view.do_scroll_y and inside.height > view.height + 1
    return is_higher or (view.do_scroll_x and inside.width > view.width + 1)


def _parents(widget: Any) -> Iterator[Any]:
    parent = widget.parent
    while parent is not None and parent is not parent.parent and parent is not Window:
        yield parent
        parent = parent.parent


def is_in_window(widget: Any) -> bool:
    """Whether a widget is still part of the window; a page that is filled anew drops some."""
    return widget.get_root_window() is not None


def scroll_views(page: Any) -> Iterator[Any]:
    """Give every view on a page that scrolls up and down and has something to scroll."""
    if page.opacity == 0 or page.width <= 0 or page.height <= 0:
        return
    if isinstance(page, ScrollView) and page.do_scroll_y and _has_more(page):
        yield page
    for child in page.children:
        yield from scroll_views(child)
