"""What is really drawn in a window: which ink on which paper, read from the drawing itself and not from
the lists of the theme.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from kivy.core.window import Window
from kivy.graphics import (
    BorderImage,
    Canvas,
    Color,
    Ellipse,
    Line,
    Rectangle,
    RoundedRectangle,
    SmoothEllipse,
    SmoothLine,
    SmoothRoundedRectangle,
    SmoothTriangle,
    StencilPop,
    StencilPush,
    StencilUnUse,
    StencilUse,
    Triangle,
)
from kivy.uix.image import Image
from kivy.uix.label import Label
from kivy.uix.textinput import TextInput

from tests.screens.layout_check import ancestors, clipped, name, visible
from walkapp.screens.kit.marks import Mark

BOXES = (Rectangle, BorderImage, RoundedRectangle, SmoothRoundedRectangle)
STROKES = (Line, SmoothLine, Triangle, SmoothTriangle, Ellipse, SmoothEllipse)

Shade = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Drawn:
    """Something drawn in a colour on something else.

    Parameters
    ----------
    what
        ``text``, ``shape`` for a mark, ``stroke`` for any other line or figure.
    ink, paper
        Red, green and blue.
    who
        The widget, for a report.
    """

    what: str
    ink: Shade
    paper: Shade
    who: str


@dataclass(frozen=True, slots=True)
class _Fill:
    shade: Shade
    left: float
    bottom: float
    right: float
    top: float

    def holds(self, x: float, y: float) -> bool:
        return self.left <= x <= self.right and self.bottom <= y <= self.top


def shade(colour: Any) -> Shade:
    """Round a colour so that what was drawn with it is found again."""
    red, green, blue = (round(float(part), 3) for part in tuple(colour)[:3])
    return red, green, blue


def drawn_in(root: Any) -> Iterator[Drawn]:
    """Give everything drawn in what can be seen of a tree of widgets."""
    for widget in visible(root):
        left, bottom, right, top = clipped(widget)
        if right - left < 1 or top - bottom < 1:
            continue  # scrolled away
        who = f"{name(widget)} in {' < '.join(type(one).__name__ for one in list(ancestors(widget))[:3])}"
        if isinstance(widget, Label):
            if widget.text.strip():
                colour = widget.disabled_color if widget.disabled else widget.color
                yield Drawn("text", shade(colour), paper_under(widget), who)
        elif isinstance(widget, TextInput):
            for colour in (widget.foreground_color, widget.hint_text_color, widget.cursor_color):
                yield Drawn("text", shade(colour), paper_under(widget), who)
        elif isinstance(widget, Mark):
            if widget.shape:
                yield Drawn("shape", shade(widget.ink), paper_under(widget), who)
        elif not isinstance(widget, Image):
            yield from _own_drawing(widget, who)


def paper_under(widget: Any) -> Shade:
    """Give the colour of what a widget lies on: the nearest filled box behind its middle."""
    x, y = widget.to_window(*widget.center)
    for one in (widget, *ancestors(widget)):
        inside = one.to_widget(x, y)
        for fill in reversed(list(_fills(one))):
            if fill.holds(*inside):
                return fill.shade
    return shade(Window.clearcolor)


def _fills(widget: Any) -> Iterator[_Fill]:
    for instruction, colour in _coloured(widget.canvas.before):
        if isinstance(instruction, BOXES) and colour[3] > 0.99:
            yield _fill_of(instruction, colour)


def _fill_of(box: Any, colour: Any) -> _Fill:
    (left, bottom), (width, height) = box.pos, box.size
    return _Fill(shade(colour), left, bottom, left + width, bottom + height)


def _own_drawing(widget: Any, who: str) -> Iterator[Drawn]:
    under, fills = paper_under(widget), []
    for part in (widget.canvas.before, widget.canvas, widget.canvas.after):
        for instruction, colour in _coloured(part):
            if colour[3] == 0:
                continue
            if isinstance(instruction, BOXES):
                fill = _fill_of(instruction, colour)
                if type(instruction) is Rectangle and _has_letters(instruction):
                    if fill.shade == (1.0, 1.0, 1.0):
                        continue  # a picture in its own colours
                    x, y = (fill.left + fill.right) / 2, (fill.bottom + fill.top) / 2
                    yield Drawn("text", fill.shade, _last(fills, x, y, under), who)
                elif min(fill.right - fill.left, fill.top - fill.bottom) > 0:
                    fills.append(fill)
                    yield Drawn("fill", fill.shade, fill.shade, who)
            elif isinstance(instruction, STROKES) and (points := list(getattr(instruction, "points", ()))):
                x, y = sum(points[0:4:2]) / 2, sum(points[1:4:2]) / 2
                yield Drawn("stroke", shade(colour), _last(fills, x, y, under), who)
            elif isinstance(instruction, STROKES):
                yield Drawn("stroke", shade(colour), under, who)


def _has_letters(box: Rectangle) -> bool:
    """Whether something is shown in a box; Kivy gives a plain one a white texture of its own."""
    return box.texture is not None and box.texture.id != Rectangle().texture.id


def _last(fills: list[_Fill], x: float, y: float, under: Shade) -> Shade:
    return next((fill.shade for fill in reversed(fills) if fill.holds(x, y)), under)


def _coloured(group: Any) -> Iterator[tuple[Any, Any]]:
    """Give each thing drawn with its colour; what only cuts out a part of the window is left out."""
    colour, cuts = (1.0, 1.0, 1.0, 1.0), False
    for instruction in _flat(group):
        if isinstance(instruction, (StencilPush, StencilUnUse)):
            cuts = True
        elif isinstance(instruction, (StencilUse, StencilPop)):
            cuts = False
        elif isinstance(instruction, Color):
            colour = tuple(instruction.rgba)
        elif not cuts:
            yield instruction, colour


def _flat(group: Any) -> Iterator[Any]:
    for child in group.children:
        if isinstance(child, Canvas):
            continue  # that of a child of the widget, which is looked at by itself
        yield child
        if hasattr(child, "children"):
            yield from _flat(child)
