"""One characteristic along the stream: drawn, and station by station in words."""

from __future__ import annotations

from kivy.factory import Factory
from kivy.graphics import Color, Line, Rectangle
from kivy.metrics import dp
from kivy.properties import NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.measured import MeasuredState, MeasuredView
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit.bars import RowDrawing
from walkapp.screens.kit.placed import PlacedLabels
from walkapp.screens.kit.words import column_px
from walkapp.screens.page import Page, load_kv

COLUMN_DP = 104
"""Least width of a station; a longer stream scrolls."""


class ChartDrawing(RowDrawing):
    """Limits, means and tagged parts of every station; its row is the whole view."""

    def draw(self) -> None:
        """Draw from the back to the front: limits, parts, means."""
        columns = self.row.columns
        if not columns:
            return
        step = self.width / len(columns)
        for number, column in enumerate(columns):
            self._draw_limits(column, self.x + number * step, step)
        for path in self.row.paths:
            self._draw_path(path, step)
        for number, column in enumerate(columns):
            if column.is_measured:
                self._draw_mean(column, self.x + (number + 0.5) * step, step)

    def _y(self, height: float) -> float:
        return round(self.y + height * self.height)

    def _draw_limits(self, column, left: float, width: float) -> None:
        Color(*look.THEME.edge)
        Line(rectangle=(round(left), round(self.y), round(width), round(self.height)), width=look.line())
        if column.lsl is None and column.usl is None:
            return
        low = self._y(0.0 if column.lsl is None else column.lsl)
        high = self._y(1.0 if column.usl is None else column.usl)
        Color(*look.THEME.clean.paper)
        Rectangle(pos=(left + 1, low), size=(width - 2, high - low))
        Color(*look.THEME.ground.ink)
        for limit in (column.lsl, column.usl):
            if limit is not None:
                Rectangle(pos=(left, self._y(limit) - dp(1)), size=(width, dp(2)))
        if column.nominal is not None:
            Line(
                points=(left, self._y(column.nominal), left + width, self._y(column.nominal)),
                dash_length=4,
                dash_offset=4,
                width=1,  # Kivy dashes no thicker one
            )

    def _draw_path(self, path, step: float) -> None:
        places = [(self.x + (number + 0.5) * step, self._y(height)) for number, height in path.points]
        Color(*look.THEME.edge)
        Line(points=[side for place in places for side in place], width=1)  # thinner than what is framed
        for (x, y), is_outside in zip(places, path.outside, strict=True):
            if is_outside:
                Color(*look.THEME.bad.ink)
                arm = dp(6)
                Line(points=(x - arm, y - arm, x + arm, y + arm), width=dp(1.5))
                Line(points=(x - arm, y + arm, x + arm, y - arm), width=dp(1.5))

    def _draw_mean(self, column, middle: float, step: float) -> None:
        half = min(step * 0.3, dp(44))
        Color(*look.THEME.ground.ink)
        Line(points=(middle, self._y(column.least), middle, self._y(column.greatest)), width=look.line())
        if column.low is not None:
            low, high = self._y(column.low), self._y(column.high)
            Line(rectangle=(middle - half, low, 2 * half, max(high - low, 1)), width=look.line())
        Rectangle(pos=(middle - half, self._y(column.mean) - dp(2)), size=(2 * half, dp(4)))


class ScaleLabels(PlacedLabels):
    """The limits in words beside the drawing, at their heights and never over each other."""

    def labels(self, view):
        """One for each limit."""
        return [Factory.ScaleLabel(text=text) for _, text in view.scale]

    def place(self, view, labels) -> None:
        """Each at its height, or above the one below."""
        above = self.y
        for label, (height, _) in zip(labels, view.scale, strict=True):
            wanted = self.y + height * self.height - label.height / 2
            label.pos = round(self.x), round(max(above, min(wanted, self.top - label.height)))
            above = label.top


class ColumnFoot(BoxLayout):
    """What stands under a station of the drawing.

    Parameters
    ----------
    column
        The station.
    """

    column = ObjectProperty(None, allownone=True, rebind=True)


class StreamChart(BoxLayout):
    """The drawing with its feet and its scale; scrolls sideways where the stream is long.

    Parameters
    ----------
    view
        What to draw.
    """

    view = ObjectProperty(MeasuredView(), rebind=True)
    least_px = NumericProperty(0)
    test_name = StringProperty("")

    def on_view(self, _chart, view) -> None:
        """Give every station its foot."""
        names_px = column_px((column.name for column in view.columns), "small")
        least = max(look.for_text(dp(COLUMN_DP)), names_px + 2 * look.space("tight"))
        self.least_px = len(view.columns) * least
        self.ids.feet.clear_widgets()
        for column in view.columns:
            self.ids.feet.add_widget(ColumnFoot(column=column))


class StationLine(BoxLayout):
    """What is said of one measured station.

    Parameters
    ----------
    line
        What to show.
    """

    line = ObjectProperty(None, allownone=True, rebind=True)


class MeasuredScreen(Page):
    """One characteristic along the stream."""

    state = ObjectProperty(MeasuredState(), rebind=True)

    def on_state(self, _page, state) -> None:
        """Build the lines; they are few."""
        self.ids.lines.clear_widgets()
        for line in state.lines:
            self.ids.lines.add_widget(StationLine(line=line))


load_kv(__file__)
