"""Geometry of a window as it stands: what is off, cut, covered, too small, too close or out of reach.

Nothing is touched or moved, so a test may look at any moment. ``walking.py`` scrolls and looks again.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from kivy.core.text import Label as CoreLabel
from kivy.uix.behaviors import ButtonBehavior, FocusBehavior
from kivy.uix.label import Label
from kivy.uix.scrollview import ScrollView

from tests.screens.layout_boxes import (
    ancestors,
    box,
    clipped,
    draws,
    holds,
    is_there,
    is_within,
    letters,
    middle,
    name,
    shared,
    standing_still,
    touched_first,
    visible,
)

__all__ = ["ancestors", "box", "clipped", "name", "problems", "visible"]

TOUCHED = (ButtonBehavior, FocusBehavior)

SMALLEST_MM = 12.0
CLOSEST_MM = 4.0
ANSWER_MM = 18.0
"""Least height of OK, NOK and N/A."""

LONGEST_WORD = 26
"""A longer word is nobody's language but a text from outside; it may be broken, since nothing is lost.

The longest words of the app, made a third longer, have fewer letters.
"""

LEAST_VIEW_LINES = 2
"""A page that scrolls shows at least so many lines of its text at a time."""


def problems(window, *, pixels_per_inch: float, closest_mm: float = CLOSEST_MM) -> list[str]:
    """List everything wrong with what can be seen, and with what can be scrolled to.

    Parameters
    ----------
    window
        Kivy's window.
    pixels_per_inch
        Of the tablet's glass, which Kivy does not know.
    closest_mm
        Least distance between two things that are tapped.
    """
    with standing_still():
        return _problems(window, pixels_per_inch, closest_mm)


def _problems(window, pixels_per_inch: float, closest_mm: float) -> list[str]:
    found, touched, written, seen_all = [], [], [], []
    for root in reversed(window.children):  # the first was added last and lies on top
        for widget in visible(root):
            seen = clipped(widget)
            seen_all.append((widget, seen))
            found += off_window(widget, window)
            if isinstance(widget, Label):
                found += [f"cut: {name(widget)}: {why}" for why in cut(widget)]
                if (inked := letters(widget)) is not None:
                    found += sticks_out(widget, inked)
                    written.append((widget, clipped(widget, inked)))
            if isinstance(widget, ScrollView):
                found += cannot_scroll(widget)
            if isinstance(widget, TOUCHED):
                found += too_small(widget, pixels_per_inch)
                found += never_shown(widget, window)
                found += sticks_out(widget, box(widget))
                if is_there(seen):
                    touched.append((widget, seen))
    found += too_close(touched, closest_mm / 25.4 * pixels_per_inch)
    return found + covered(written, touched) + overwritten(written) + underneath(touched, seen_all, window)


def off_window(widget, window) -> list[str]:
    """Report what sticks out of the window; what is scrolled away may."""
    if clipped(widget) != box(widget):
        return []
    left, bottom, right, top = box(widget)
    if left >= -1 and bottom >= -1 and right <= window.width + 1 and top <= window.height + 1:
        return []
    return [f"off the window: {name(widget)} {[round(side) for side in box(widget)]}"]


def too_small(widget, pixels_per_inch: float) -> list[str]:
    """Report what is smaller than a gloved finger needs, or an answer that is too low."""
    found = []
    side_mm = min(widget.width, widget.height) / pixels_per_inch * 25.4
    if side_mm < SMALLEST_MM - 0.05:
        found.append(f"too small: {name(widget)} {side_mm:.1f} mm")
    high_mm = widget.height / pixels_per_inch * 25.4
    if getattr(widget, "test_name", "").startswith("answer-") and high_mm < ANSWER_MM - 0.05:
        found.append(f"too low: {name(widget)} {high_mm:.1f} mm, an answer needs {ANSWER_MM:g} mm")
    return found


def too_close(touched, closest_px: float) -> list[str]:
    """Report things to tap that overlap or leave too little dead space between them."""
    found = []
    for (one, a), (other, b) in combinations(touched, 2):
        apart = max(max(a[0], b[0]) - min(a[2], b[2]), max(a[1], b[1]) - min(a[3], b[3]))
        if apart >= closest_px - 1 or one in ancestors(other) or other in ancestors(one):
            continue
        found.append(f"too close: {name(one)} and {name(other)}, {apart:.0f} px apart")
    return found


def covered(written, touched) -> list[str]:
    """Report a text that lies under, or over, a thing to tap that it does not belong to."""
    found = []
    for label, inked in written:
        for other, seen in touched:
            if not is_there(shared(inked, seen)) or other is label:
                continue
            if other in ancestors(label) or label in ancestors(other):
                continue
            found.append(f"covered: {name(label)} and {name(other)} lie over each other")
    return found


def overwritten(written) -> list[str]:
    """Report texts that lie over each other."""
    return [
        f"overwritten: {name(one)} and {name(other)} by {b[2] - b[0]:.0f} x {b[3] - b[1]:.0f} px"
        for (one, first), (other, second) in combinations(written, 2)
        if is_there(b := shared(first, second), 2)
    ]


def underneath(touched, seen_all, window) -> list[str]:
    """Report what a finger on its middle does not reach, and what is painted over there."""
    painted = [(one, seen) for one, seen in seen_all if is_there(seen) and draws(one)]
    order = {one: number for number, (one, _) in enumerate(seen_all)}
    found = []
    for widget, seen in touched:
        if widget.disabled:
            continue
        point = middle(seen)
        takers = (touched_first(root, point, TOUCHED) for root in window.children)
        taker = next((one for one in takers if one is not None), None)
        if taker is not widget and widget not in ancestors(taker or window):
            found.append(f"under: {name(widget)} is not reached, the finger meets {name(taker or window)}")
        for other, its in painted:
            if holds(its, point) and order[other] > order[widget] and widget not in ancestors(other):
                found.append(f"under: {name(widget)} has {name(other)} painted over it")
    return found


def sticks_out(widget, part) -> list[str]:
    """Report letters or a thing to tap outside the plate, page or scrolled content that they belong to."""
    for parent in ancestors(widget):
        if isinstance(parent, ScrollView):
            break  # beyond it only what it shows is seen
        is_scrolled = isinstance(parent.parent, ScrollView)
        if (draws(parent) or is_scrolled) and not is_within(part, box(parent)):
            return [
                f"sticks out: {name(widget)} {_rounded(part)} of {name(parent)} {_rounded(box(parent))}"
            ]
    return []


def never_shown(widget, window) -> list[str]:
    """Report a thing to tap that no scrolling brings wholly into view.

    Of what is higher than half the window, such as a row with a very long text, a part is enough.
    """
    if widget.disabled:
        return []
    its = box(widget)
    for parent in ancestors(widget):
        if not isinstance(parent, ScrollView):
            continue
        inside, view = box(parent.children[0]), box(parent)
        if not is_within(its, inside):
            return [f"never shown: {name(widget)} lies outside what {name(parent)} scrolls"]
        for axis, scrolls in ((0, parent.do_scroll_x), (1, parent.do_scroll_y)):
            start, end = its[axis], its[axis + 2]
            room = view[axis + 2] - view[axis]
            moves = scrolls and inside[axis + 2] - inside[axis] > room + 1
            stays_in = start >= view[axis] - 1.5 and end <= view[axis + 2] + 1.5
            if min(end - start, window.size[axis] / 2) > room + 1.5 or not (moves or stays_in):
                return [f"never shown: {name(widget)} wholly in {name(parent)}, {room:.0f} px large"]
        its = view  # a view around it has to bring that view into sight
    return []


def cannot_scroll(view) -> list[str]:
    """Report content larger than a view that does not scroll, and a view too low to read in."""
    if not view.children:
        return []
    inside = view.children[0]
    found = []
    if inside.width > view.width + 1 and not view.do_scroll_x:
        found.append(f"too wide: {name(inside)} {inside.width:.0f} px in {name(view)} {view.width:.0f} px")
    if inside.height > view.height + 1 and not view.do_scroll_y:
        found.append(
            f"too high: {name(inside)} {inside.height:.0f} px in {name(view)} {view.height:.0f} px"
        )
    if inside.height > view.height + 1 and view.do_scroll_y:
        lines = [_line_px(label) for label in visible(inside) if isinstance(label, Label) and label.text]
        least = LEAST_VIEW_LINES * max(lines, default=0)
        if view.height < least - 1:
            found.append(
                f"too low to read: {name(view)} {view.height:.0f} px for lines of {max(lines):.0f} px"
            )
    return found


def _line_px(label) -> float:
    lines = label._label._cached_lines
    return lines[0].h if lines else 0


def _rounded(part) -> list[int]:
    return [round(side) for side in part]


def cut(label) -> Iterator[str]:
    """Report a text that is not wholly there, or has a word broken in two."""
    if not label.text:
        return
    width, height = label.texture_size
    if width > label.width + 1 or height > label.height + 1:
        yield f"text of {width} x {height} px in {label.width:.0f} x {label.height:.0f} px"
        return
    if label.is_shortened:
        yield "shortened with dots"
        return
    room, limit = label.text_size
    free = CoreLabel(
        text=label.text,
        font_size=label.font_size,
        font_name=label.font_name,
        bold=label.bold,
        text_size=(room, None),
        padding=label.padding,
    )
    if limit is not None:
        free.refresh()
        if free.content_height > height + 1:
            yield f"needs {free.content_height} px of height, has {height}"
            return
    if room is not None:
        for word in label.text.split():
            if len(word) <= LONGEST_WORD and (wide := free.get_extents(word)[0]) > room + 1:
                yield f"word broken: {word!r} needs {wide} px, has {room:.0f}"
