"""Geometry of a window as it stands: what is off, too small, too close, overlapping or cut."""

from __future__ import annotations

from itertools import combinations

from kivy.core.text import Label as CoreLabel
from kivy.uix.behaviors import ButtonBehavior, FocusBehavior
from kivy.uix.label import Label
from kivy.uix.scrollview import ScrollView

TOUCHED = (ButtonBehavior, FocusBehavior)

SMALLEST_MM = 12.0
CLOSEST_MM = 4.0


def problems(window, *, pixels_per_inch: float, closest_mm: float = CLOSEST_MM) -> list[str]:
    """List everything wrong with what can be seen.

    Parameters
    ----------
    window
        Kivy's window.
    pixels_per_inch
        Of the tablet's glass, which Kivy does not know.
    closest_mm
        Least distance between two things that are tapped.
    """
    found, touched, written = [], [], []
    for root in window.children:
        for widget in visible(root):
            seen = clipped(widget)
            found += off_window(widget, window)
            if isinstance(widget, Label):
                found += [f"cut: {name(widget)}: {why}" for why in cut(widget)]
                written.append(widget)
            if isinstance(widget, TOUCHED):
                found += too_small(widget, pixels_per_inch)
                if seen[2] - seen[0] > 1 and seen[3] - seen[1] > 1:
                    touched.append((widget, seen))
    return found + too_close(touched, closest_mm / 25.4 * pixels_per_inch) + covered(written, touched)


def visible(widget):
    """Give every widget that can be seen, the outermost first."""
    if widget.opacity == 0 or widget.width <= 0 or widget.height <= 0:
        return
    yield widget
    for child in reversed(widget.children):
        yield from visible(child)


def name(widget) -> str:
    """Name a widget for a report."""
    text = getattr(widget, "test_name", "") or getattr(widget, "text", "")
    return f"{type(widget).__name__}({text[:24]!r})"


def box(widget) -> tuple[float, float, float, float]:
    """Give left, bottom, right and top in window pixels."""
    return (*widget.to_window(widget.x, widget.y), *widget.to_window(widget.right, widget.top))


def ancestors(widget):
    """Give the parents, the nearest first."""
    parent = widget.parent
    while parent is not None and parent is not parent.parent:
        yield parent
        parent = parent.parent


def clipped(widget) -> tuple[float, float, float, float]:
    """Give the part of the box that the scroll views around it show."""
    left, bottom, right, top = box(widget)
    for parent in ancestors(widget):
        if isinstance(parent, ScrollView):
            view = box(parent)
            left, bottom = max(left, view[0]), max(bottom, view[1])
            right, top = min(right, view[2]), min(top, view[3])
    return left, bottom, right, top


def off_window(widget, window) -> list[str]:
    """Report what sticks out of the window; what is scrolled away may."""
    if clipped(widget) != box(widget):
        return []
    left, bottom, right, top = box(widget)
    if left >= -1 and bottom >= -1 and right <= window.width + 1 and top <= window.height + 1:
        return []
    return [f"off the window: {name(widget)} {[round(side) for side in box(widget)]}"]


def too_small(widget, pixels_per_inch: float) -> list[str]:
    """Report what is smaller than a gloved finger; half a pixel is let through."""
    side_mm = min(widget.width, widget.height) / pixels_per_inch * 25.4
    if side_mm >= SMALLEST_MM - 0.05:
        return []
    return [f"too small: {name(widget)} {side_mm:.1f} mm"]


def too_close(touched, closest_px: float) -> list[str]:
    """Report things to tap that overlap or leave too little dead space between them."""
    found = []
    for (one, a), (other, b) in combinations(touched, 2):
        if one in ancestors(other) or other in ancestors(one):
            continue
        apart = max(max(a[0], b[0]) - min(a[2], b[2]), max(a[1], b[1]) - min(a[3], b[3]))
        if apart < closest_px - 1:
            found.append(f"too close: {name(one)} and {name(other)}, {apart:.0f} px apart")
    return found


def covered(labels, touched) -> list[str]:
    """Report a text that lies under, or over, a thing to tap that it does not belong to."""
    found = []
    for label in labels:
        if not label.text:
            continue
        x, y = label.to_window(*label.center)
        half_w, half_h = label.texture_size[0] / 2, label.texture_size[1] / 2
        view = clipped(label)
        left, bottom = max(x - half_w, view[0]), max(y - half_h, view[1])
        right, top = min(x + half_w, view[2]), min(y + half_h, view[3])
        if right - left < 2 or top - bottom < 2:
            continue  # scrolled away
        for other, seen in touched:
            if other is label or other in ancestors(label) or label in ancestors(other):
                continue
            if (
                min(right, seen[2]) - max(left, seen[0]) > 1
                and min(top, seen[3]) - max(bottom, seen[1]) > 1
            ):
                found.append(f"covered: {name(label)} and {name(other)} lie over each other")
    return found


def cut(label) -> list[str]:
    """Report a text that is not wholly there, or has a word broken in two."""
    if not label.text:
        return []
    width, height = label.texture_size
    if width > label.width + 1 or height > label.height + 1:
        return [f"text of {width} x {height} px in {label.width:.0f} x {label.height:.0f} px"]
    if label.is_shortened:
        return ["shortened with dots"]
    room, limit = label.text_size
    free = CoreLabel(
        text=label.text,
        font_size=label.font_size,
        font_name=label.font_name,
        bold=label.bold,
        text_size=(room, None),
        padding=label.padding,
    )
    free.refresh()
    if limit is not None and free.content_height > height + 1:
        return [f"needs {free.content_height} px of height, has {height}"]
    if room is not None:
        return [
            f"word broken: {word!r} needs {free.get_extents(word)[0]} px, has {room:.0f}"
            for word in label.text.split()
            if free.get_extents(word)[0] > room + 1
        ]
    return []
