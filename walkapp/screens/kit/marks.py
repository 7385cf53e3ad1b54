"""The shapes that stand for a state, so that colour never has to say it alone.

Each shape is drawn from strokes, rings and faces in a square of side 1 (origin at the lower left),
sharp at any size. Ring for good and cross for bad are the shop floor's own signs; the rest is drawn
so that no two shapes are alike without their colour.
"""

from __future__ import annotations

from dataclasses import dataclass

from kivy.clock import Clock
from kivy.graphics import Color, SmoothEllipse, SmoothLine, SmoothTriangle
from kivy.properties import ColorProperty, StringProperty
from kivy.uix.widget import Widget

from walkapp.screens import look


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through `points` (x1, y1, x2, y2 ...), `width` thick."""

    points: tuple[float, ...]
    width: float = 0.12


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle line around (x, y)."""

    x: float
    y: float
    radius: float
    width: float = 0.12


@dataclass(frozen=True, slots=True)
class Disc:
    """A filled circle around (x, y), or the part of it between two angles (degrees, clockwise)."""

    x: float
    y: float
    radius: float
    start: float = 0.0
    end: float = 360.0


@dataclass(frozen=True, slots=True)
class Face:
    """A filled triangle."""

    points: tuple[float, float, float, float, float, float]


Part = Stroke | Ring | Disc | Face

SHAPES: dict[str, tuple[Part, ...]] = {
    "clean": (Ring(0.5, 0.5, 0.36, 0.15),),
    "bad": (Stroke((0.16, 0.16, 0.84, 0.84), 0.17), Stroke((0.16, 0.84, 0.84, 0.16), 0.17)),
    "undecided": (Ring(0.5, 0.5, 0.38, 0.08), Disc(0.5, 0.5, 0.38, 90, 270)),
    "not_visited": (Stroke((0.16, 0.5, 0.84, 0.5), 0.13),),
    "not_applicable": (
        Stroke((0.14, 0.5, 0.86, 0.5), 0.11),
        Stroke((0.14, 0.26, 0.14, 0.74), 0.11),
        Stroke((0.86, 0.26, 0.86, 0.74), 0.11),
    ),
    "here": (Face((0.08, 0.86, 0.92, 0.86, 0.5, 0.1)),),
    "next": (
        Stroke((0.14, 0.86, 0.46, 0.5, 0.14, 0.14), 0.13),
        Stroke((0.52, 0.86, 0.84, 0.5, 0.52, 0.14), 0.13),
    ),
    "first_bad": (Stroke((0.2, 0.04, 0.2, 0.96), 0.1), Face((0.24, 0.96, 0.24, 0.42, 0.92, 0.69))),
    "onward": (Stroke((0.34, 0.84, 0.68, 0.5, 0.34, 0.16), 0.11),),
    "evidence": (
        Stroke((0.12, 0.2, 0.88, 0.2, 0.88, 0.8, 0.12, 0.8, 0.12, 0.16), 0.09),
        Disc(0.34, 0.6, 0.09),
        Face((0.22, 0.28, 0.78, 0.28, 0.6, 0.6)),
    ),
    "covered": (
        Stroke((0.12, 0.12, 0.88, 0.12, 0.88, 0.88, 0.12, 0.88, 0.12, 0.075), 0.08),
        Stroke((0.14, 0.5, 0.5, 0.86), 0.08),
        Stroke((0.14, 0.14, 0.86, 0.86), 0.08),
        Stroke((0.5, 0.14, 0.86, 0.5), 0.08),
    ),
    "chosen": (
        Stroke((0.12, 0.12, 0.88, 0.12, 0.88, 0.88, 0.12, 0.88, 0.12, 0.075), 0.09),
        Stroke((0.3, 0.5, 0.7, 0.5), 0.4),
    ),
    "open": (Stroke((0.12, 0.12, 0.88, 0.12, 0.88, 0.88, 0.12, 0.88, 0.12, 0.075), 0.09),),
    "arrow": (Stroke((0.12, 0.14, 0.84, 0.86), 0.11), Stroke((0.44, 0.86, 0.86, 0.86, 0.86, 0.44), 0.11)),
    "ellipse": (Ring(0.5, 0.5, 0.42, 0.08),),
    "freehand": (
        Stroke((0.08, 0.3, 0.2, 0.66, 0.36, 0.7, 0.48, 0.42, 0.6, 0.3, 0.76, 0.4, 0.9, 0.8), 0.1),
    ),
    "letters": (Stroke((0.16, 0.86, 0.84, 0.86), 0.12), Stroke((0.5, 0.86, 0.5, 0.1), 0.13)),
    "hatched": (
        Stroke((0.1, 0.1, 0.9, 0.1, 0.9, 0.9, 0.1, 0.9, 0.1, 0.06), 0.08),
        Stroke((0.14, 0.5, 0.5, 0.86), 0.07),
        Stroke((0.14, 0.14, 0.86, 0.86), 0.07),
        Stroke((0.5, 0.14, 0.86, 0.5), 0.07),
    ),
    "backward": (Stroke((0.66, 0.84, 0.32, 0.5, 0.66, 0.16), 0.11),),
    "plus": (Stroke((0.1, 0.5, 0.9, 0.5), 0.14), Stroke((0.5, 0.1, 0.5, 0.9), 0.14)),
    "minus": (Stroke((0.1, 0.5, 0.9, 0.5), 0.14),),
    "practice": (
        Stroke((0.12, 0.36, 0.12, 0.12, 0.36, 0.12), 0.1),
        Stroke((0.64, 0.12, 0.88, 0.12, 0.88, 0.36), 0.1),
        Stroke((0.88, 0.64, 0.88, 0.88, 0.64, 0.88), 0.1),
        Stroke((0.36, 0.88, 0.12, 0.88, 0.12, 0.64), 0.1),
        Disc(0.5, 0.5, 0.1),
    ),
    "caution": (
        Stroke((0.5, 0.9, 0.94, 0.1, 0.06, 0.1, 0.5, 0.9, 0.53, 0.85), 0.08),
        Stroke((0.5, 0.62, 0.5, 0.36), 0.1),
        Disc(0.5, 0.23, 0.06),
    ),
    "notice": (
        Stroke((0.1, 0.06, 0.94, 0.06, 0.94, 0.94, 0.06, 0.94, 0.06, 0.02), 0.08),
        Stroke((0.5, 0.2, 0.5, 0.54), 0.11),
        Disc(0.5, 0.72, 0.075),
    ),
    "error": (
        Stroke((0.5, 0.96, 0.96, 0.5, 0.5, 0.04, 0.04, 0.5, 0.5, 0.96, 0.54, 0.92), 0.08),
        Stroke((0.5, 0.74, 0.5, 0.44), 0.11),
        Disc(0.5, 0.28, 0.065),
    ),
}
"""Every shape by name."""

ANSWER_SHAPES = {"ok": "clean", "not_ok": "bad", "not_applicable": "not_applicable"}
"""Shape of each answer."""


class Mark(Widget):
    """One shape, as large as fits.

    Parameters
    ----------
    shape
        A name of ``SHAPES``; empty draws nothing.
    ink
        Its colour; the screens give that of the verdict.
    """

    shape = StringProperty("")
    ink = ColorProperty((0, 0, 0, 1))
    test_name = StringProperty("")

    def __init__(self, **kwargs) -> None:
        self._redraw = Clock.create_trigger(self._draw, -1)
        if "ink" not in kwargs:
            kwargs["ink"] = look.THEME.ground.ink
        super().__init__(**kwargs)
        self.bind(pos=self._redraw, size=self._redraw, shape=self._redraw, ink=self._redraw)
        self._redraw()

    def _draw(self, _dt: float) -> None:
        self.canvas.clear()
        if not self.shape:
            return
        side = min(self.size)
        left, bottom = round(self.center_x - side / 2), round(self.center_y - side / 2)
        with self.canvas:
            Color(*self.ink)
            for part in SHAPES[self.shape]:
                draw_part(part, left, bottom, side)


def draw_part(part: Part, left: float, bottom: float, side: float) -> None:
    """Draw one part into the open canvas, scaled to a square of `side` pixels."""
    match part:
        case Stroke(points=points, width=width):
            SmoothLine(points=_scaled(points, left, bottom, side), width=width * side / 2)
        case Ring(x=x, y=y, radius=radius, width=width):
            # A little more than once around: the ends of a closed circle leave a gap.
            circle = (left + x * side, bottom + y * side, radius * side, 0, 375)
            SmoothLine(circle=circle, width=width * side / 2)
        case Disc(x=x, y=y, radius=radius, start=start, end=end):
            SmoothEllipse(
                pos=(left + (x - radius) * side, bottom + (y - radius) * side),
                size=(2 * radius * side, 2 * radius * side),
                angle_start=start,
                angle_end=end,
            )
        case Face(points=points):
            SmoothTriangle(points=_scaled(points, left, bottom, side))


def _scaled(points: tuple[float, ...], left: float, bottom: float, side: float) -> list[float]:
    return [(bottom if i % 2 else left) + value * side for i, value in enumerate(points)]
