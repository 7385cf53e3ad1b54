"""Where things of a window stand: boxes of widgets and of letters, and what is drawn over what."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from kivy.graphics import Canvas
from kivy.graphics.instructions import InstructionGroup, VertexInstruction
from kivy.uix.label import Label
from kivy.uix.scrollview import ScrollView

from walkapp.screens.room import Gone

Box = tuple[float, float, float, float]
"""Left, bottom, right and top in window pixels."""


def visible(widget: Any) -> Iterator[Any]:
    """Give every widget that can be seen, the outermost first, in the order in which they are drawn.

    A widget without a size is not seen itself; what is in it is drawn nevertheless.
    """
    if widget.opacity == 0:
        return
    if widget.width > 0 and widget.height > 0:
        yield widget
    for child in reversed(widget.children):
        yield from visible(child)


def name(widget: Any) -> str:
    """Name a widget for a report."""
    text = getattr(widget, "test_name", "") or getattr(widget, "text", "")
    return f"{type(widget).__name__}({text[:24]!r})"


_known: dict[Any, Box] | None = None


@contextmanager
def standing_still() -> Iterator[None]:
    """Work out the box of each widget once; nothing may move meanwhile."""
    global _known
    _known = {}
    try:
        yield
    finally:
        _known = None


def box(widget: Any) -> Box:
    """Give left, bottom, right and top in window pixels."""
    if _known is None:
        return _box(widget)
    if widget not in _known:
        _known[widget] = _box(widget)
    return _known[widget]


def _box(widget: Any) -> Box:
    return (*widget.to_window(widget.x, widget.y), *widget.to_window(widget.right, widget.top))


def ancestors(widget: Any) -> Iterator[Any]:
    """Give the parents, the nearest first."""
    parent = widget.parent
    while parent is not None and parent is not parent.parent:
        yield parent
        parent = parent.parent


def shared(one: Box, other: Box) -> Box:
    """Give what two boxes have in common; its right is left of its left where that is nothing."""
    return (
        max(one[0], other[0]),
        max(one[1], other[1]),
        min(one[2], other[2]),
        min(one[3], other[3]),
    )


def is_there(part: Box, least_px: float = 1) -> bool:
    """Whether a box is more than so many pixels wide and high."""
    return part[2] - part[0] > least_px and part[3] - part[1] > least_px


def is_within(inner: Box, outer: Box, slack_px: float = 1.5) -> bool:
    """Whether a box lies in another one; the slack is for whole pixels."""
    return (
        inner[0] >= outer[0] - slack_px
        and inner[1] >= outer[1] - slack_px
        and inner[2] <= outer[2] + slack_px
        and inner[3] <= outer[3] + slack_px
    )


def middle(part: Box) -> tuple[float, float]:
    """Give the middle of a box."""
    return (part[0] + part[2]) / 2, (part[1] + part[3]) / 2


def holds(part: Box, point: tuple[float, float]) -> bool:
    """Whether a point lies in a box."""
    return part[0] <= point[0] <= part[2] and part[1] <= point[1] <= part[3]


def clipped(widget: Any, part: Box | None = None) -> Box:
    """Give the part of the widget's box, or of a box in it, that the scroll views around it show."""
    seen = box(widget) if part is None else part
    for parent in ancestors(widget):
        if isinstance(parent, ScrollView):
            seen = shared(seen, box(parent))
    return seen


def letters(label: Any) -> Box | None:
    """Give where the letters of a text are drawn, which is less than its widget; none for no letters."""
    drawn = label._label
    if not label.text.strip() or not drawn._cached_lines:
        return None
    wide, high = label.texture_size
    left = label.center_x - wide / 2
    before, above, behind, below = label.padding
    width = max(line.w for line in drawn._cached_lines)
    free = max(wide - before - behind - width, 0) if label.text_size[0] is not None else 0
    left += before + {"center": free / 2, "right": free}.get(label.halign, 0)
    bottom = label.center_y - high / 2 + below
    right, top = left + width, label.center_y + high / 2 - above
    return (*label.to_window(left, bottom), *label.to_window(right, top))


def draws(widget: Any) -> bool:
    """Whether the widget itself puts something on the glass: a plate, a picture, letters, a shape."""
    if isinstance(widget, Label) and not widget.text.strip():
        return any(_has_shape(canvas) for canvas in (widget.canvas.before, widget.canvas.after))
    return any(_has_shape(part) for part in (widget.canvas.before, widget.canvas, widget.canvas.after))


def _has_shape(group: Any) -> bool:
    for part in group.children:
        if isinstance(part, Canvas):
            continue  # of a child
        if isinstance(part, VertexInstruction):
            return True
        if isinstance(part, InstructionGroup) and _has_shape(part):
            return True
    return False


def touched_first(widget: Any, point: tuple[float, float], kinds: tuple[type, ...]) -> Any:
    """Give what takes a finger at a point, as Kivy passes it on: the last drawn first, children first.

    Also what is off takes it: Kivy lets a widget that is disabled swallow what comes down on it.
    """
    if widget.opacity == 0 and isinstance(widget, Gone):
        return None
    is_on = holds(box(widget), point)
    if isinstance(widget, ScrollView) and not is_on:
        return None
    if widget.disabled and is_on:
        return widget
    for child in widget.children:
        if (taker := touched_first(child, point, kinds)) is not None:
            return taker
    return widget if is_on and isinstance(widget, kinds) else None
