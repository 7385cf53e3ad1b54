"""The time line: draws what :mod:`walkapp.presenters.time_axis` has laid out, and decides nothing."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.core.text import Label as CoreLabel
from kivy.graphics import Color, Line, Rectangle
from kivy.metrics import dp
from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from walkapp.presenters.time_axis import Measures, draw
from walkapp.screens import look
from walkapp.screens.kit.marks import SHAPES, draw_part
from walkapp.screens.kit.words import TypeMeasure

MARK_DP = 20
GAP_DP = 6
HATCH_DP = 16
"""Distance of the strokes that fill the band, which is to be seen without colour."""


class TimeLineChart(Widget):
    """Changes and counted days against the onset; as high as it needs, nothing while there is no day.

    Parameters
    ----------
    line
        A :class:`~walkapp.actions.time_line.TimeLine`, or none.
    drawing
        What is drawn now; none when nothing is.
    """

    line = ObjectProperty(None, allownone=True)
    drawing = ObjectProperty(None, allownone=True)
    test_name = StringProperty("")

    def __init__(self, **kwargs) -> None:
        self._lay_out_soon = Clock.create_trigger(self._lay_out, -1)
        self._redraw_soon = Clock.create_trigger(self._redraw, -1)
        super().__init__(size_hint_y=None, height=0, **kwargs)
        self.bind(line=self._lay_out_soon, width=self._lay_out_soon)
        self.bind(pos=self._redraw_soon, size=self._redraw_soon, drawing=self._redraw_soon)

    def _lay_out(self, _dt: float) -> None:
        plain = TypeMeasure(look.font("small"), bold=True)
        measures = Measures(plain.width_px, plain.line_px, dp(MARK_DP), dp(GAP_DP))
        self.drawing = draw(self.line, self.width, measures) if self.line is not None else None
        self.height = self.drawing.height if self.drawing is not None else 0

    def _redraw(self, _dt: float) -> None:
        self.canvas.clear()
        if self.drawing is None:
            return
        with self.canvas:
            self._draw_band(self.drawing)
            self._draw_lanes(self.drawing)
            self._draw_first_bad(self.drawing)
            self._draw_days(self.drawing)
            self._draw_changes(self.drawing)
            for text in (*(t.label for t in self.drawing.ticks), self.drawing.unit):
                self._write(text, look.THEME.ground.ink)

    def _at(self, x: float, y: float) -> tuple[float, float]:
        """Turn a point of the drawing, whose y grows downwards, into one of the window."""
        return round(self.x + x), round(self.top - y)

    def _stroke(self, x0: float, y0: float, x1: float, y1: float, width_dp: float = 1) -> None:
        Line(points=(*self._at(x0, y0), *self._at(x1, y1)), width=dp(width_dp), cap="none")

    def _draw_band(self, drawing) -> None:
        if drawing.band is None:
            return
        left, right = drawing.band
        top = drawing.lanes[0].name.y if drawing.lanes else 0
        bottom = drawing.axis_y
        Color(*look.THEME.undecided.paper)
        Rectangle(pos=self._at(left, bottom), size=(right - left, bottom - top))
        Color(*look.THEME.edge)
        begin = left - (bottom - top)
        while begin < right:  # strokes that rise by 45 degrees, cut off at both ends
            x0, x1 = max(begin, left), min(begin + bottom - top, right)
            self._stroke(x0, bottom - (x0 - begin), x1, bottom - (x1 - begin), 0.5)
            begin += dp(HATCH_DP)
        Color(*look.THEME.undecided.ink)
        for x, is_end in ((left, not drawing.is_open), (right, True)):
            if is_end:
                self._stroke(x, top, x, bottom, 1.2)

    def _draw_lanes(self, drawing) -> None:
        for lane in drawing.lanes:
            Color(*look.THEME.edge)
            self._stroke(drawing.left, lane.y, drawing.right, lane.y, 0.6)
            self._write(lane.name, look.THEME.ground.ink)
        Color(*look.THEME.ground.ink)
        self._stroke(drawing.left, drawing.axis_y, drawing.right, drawing.axis_y, 1.4)
        for tick in drawing.ticks:
            self._stroke(tick.x, drawing.axis_y, tick.x, drawing.axis_y + dp(GAP_DP), 1.4)

    def _draw_first_bad(self, drawing) -> None:
        if drawing.first_bad is None:
            return
        ink, x = look.THEME.bad.ink, drawing.first_bad.x
        Color(*ink)
        self._stroke(x, dp(MARK_DP), x, drawing.axis_y, 1.6)
        left, bottom = self._at(x - 0.2 * dp(MARK_DP), dp(MARK_DP))
        for part in SHAPES["first_bad"]:
            draw_part(part, left, bottom, dp(MARK_DP))
        self._write(drawing.first_bad.label, ink)

    def _draw_days(self, drawing) -> None:
        for day in drawing.days:
            shape = "bad" if day.is_bad else "clean"
            Color(*look.tone(shape).ink)
            half = dp(MARK_DP) / 2
            left, bottom = self._at(day.x - half, day.y + half)
            for part in SHAPES[shape]:
                draw_part(part, left, bottom, dp(MARK_DP))

    def _draw_changes(self, drawing) -> None:
        Color(*look.THEME.ground.ink)
        for mark in drawing.changes:
            self._stroke(mark.x, mark.y, mark.box.x + mark.box.width / 2, mark.box.y + mark.box.height, 1)
            Rectangle(pos=self._at(mark.x - dp(3), mark.y + dp(3)), size=(dp(6), dp(6)))
        for mark in drawing.changes:
            box = mark.box
            left, bottom = self._at(box.x, box.y + box.height)
            Color(*look.THEME.panel.paper)
            Rectangle(pos=(left, bottom), size=(box.width, box.height))
            Color(*look.THEME.ground.ink)
            Line(rectangle=(left, bottom, box.width, box.height), width=look.line())
            self._write(box, look.THEME.ground.ink)

    def _write(self, box, ink) -> None:
        """Write a text into the middle of its box."""
        label = CoreLabel(text=box.text, font_size=look.font("small"), bold=True)
        label.refresh()
        wide, high = label.texture.size
        left, bottom = self._at(box.x + (box.width - wide) / 2, box.y + (box.height + high) / 2)
        Color(*ink)
        Rectangle(texture=label.texture, pos=(left, bottom), size=(wide, high))
