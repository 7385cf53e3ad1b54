"""Shares drawn as bars, for the rows of a table."""

from __future__ import annotations

from kivy.graphics import Color, Line, Rectangle
from kivy.metrics import dp
from kivy.properties import ObjectProperty
from kivy.uix.widget import Widget

from walkapp.screens import look


class RowDrawing(Widget):
    """Something drawn of one row; subclasses say what in ``draw``.

    Parameters
    ----------
    row
        The row; none draws nothing.
    """

    row = ObjectProperty(None, allownone=True)

    def __init__(self, **more) -> None:
        super().__init__(**more)
        self.bind(row=self._redraw, pos=self._redraw, size=self._redraw)

    def _redraw(self, *_) -> None:
        self.canvas.clear()
        if self.row is None:
            return
        with self.canvas:
            self.draw()


class ShareBar(RowDrawing):
    """The share called NOK on a scale from 0 to 100 %, with its exact interval as a line.

    A row has ``low``, ``share`` and ``high``, all none when nothing was checked, and ``mark``.
    """

    def draw(self) -> None:
        """Draw line, interval and share."""
        middle, left, width = round(self.center_y), round(self.x), round(self.width)
        Color(*look.THEME.edge)
        Line(points=[left, middle, left + width, middle], width=look.line())
        for end in (left, left + width):
            Line(points=[end, middle - dp(6), end, middle + dp(6)], width=look.line())
        if self.row.share is None:
            return
        Color(*look.tone(self.row.mark).ink)
        low, share, high = (left + width * part for part in (self.row.low, self.row.share, self.row.high))
        Rectangle(pos=(low, middle - dp(3)), size=(max(high - low, dp(2)), dp(6)))
        Line(points=[share, middle - dp(12), share, middle + dp(12)], width=dp(2))


class ProbabilityBar(RowDrawing):
    """The probability that the row speaks of (``probability_value``), as a filled part of a frame."""

    def draw(self) -> None:
        """Draw filling and frame."""
        left, bottom = round(self.x), round(self.center_y - dp(9))
        width, height = round(self.width), round(dp(18))
        Color(*look.THEME.ground.ink)
        Rectangle(pos=(left, bottom), size=(width * self.row.probability_value, height))
        Line(rectangle=(left, bottom, width, height), width=look.line())
