"""What a reproduction trial shows: effects as bars on one scale, and the plot of two factors."""

from __future__ import annotations

from kivy.factory import Factory
from kivy.graphics import Color, Line, Rectangle
from kivy.metrics import dp
from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.trial_result import TrialResultState
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit.bars import RowDrawing
from walkapp.screens.kit.lists import Lines
from walkapp.screens.kit.placed import PlacedLabels
from walkapp.screens.page import Page, load_kv

DASH_DP, BREAK_DP = 12, 8
"""Length of a dash and of the break after it."""


class EffectBar(RowDrawing):
    """An effect as a bar to the right or left of the line that stands for no effect."""

    def draw(self) -> None:
        """Draw scale, bar and zero line."""
        left, width = round(self.x), round(self.width)
        bottom, height = round(self.center_y - dp(9)), round(dp(18))
        Color(*look.THEME.edge)
        Line(points=[left, self.center_y, left + width, self.center_y], width=look.line())
        Color(*look.tone(self.row.mark).ink)
        start, end = (left + width * part for part in (self.row.start, self.row.end))
        Rectangle(pos=(start, bottom), size=(max(end - start, dp(1)), height))
        Color(*look.THEME.ground.ink)
        middle = left + width / 2
        Rectangle(pos=(middle - dp(1), bottom - dp(6)), size=(dp(2), height + dp(12)))


class EffectLine(BoxLayout):
    """What is said of one effect.

    Parameters
    ----------
    row
        What to show.
    """

    row = ObjectProperty(None, allownone=True, rebind=True)


class EffectLines(Lines):
    """The effects, each with its line."""

    line_class = EffectLine


class PlotDrawing(RowDrawing):
    """Scale, levels and the two lines of an interaction plot; its row is the whole plot."""

    def draw(self) -> None:
        """Draw from the back to the front: scale, levels, lines, points."""
        Color(*look.THEME.edge)
        # The scale ends before the names of the lines begin.
        end = self._x(self.row.lines[0].points[1][0]) + dp(12)
        for height, _ in self.row.ticks:
            Line(points=(self.x, self._y(height), end, self._y(height)), width=look.line())
        for place, _ in self.row.lines[0].points:
            Line(points=(self._x(place), self.y, self._x(place), self.top), width=look.line())
        Color(*look.THEME.ground.ink)
        for line in self.row.lines:
            (x1, y1), (x2, y2) = [(self._x(x), self._y(y)) for x, y in line.points]
            if line.style == "solid":
                Line(points=(x1, y1, x2, y2), width=dp(2))
            else:
                self._draw_dashes(x1, y1, x2, y2)
            half = dp(7)
            for x, y in ((x1, y1), (x2, y2)):
                self._draw_point(x, y, half, is_filled=line.style == "solid")

    def _draw_dashes(self, x1: float, y1: float, x2: float, y2: float) -> None:
        length = max(((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5, 1)
        at = 0.0
        while at < length:
            to = min(at + dp(DASH_DP), length)
            places = [(x1 + (x2 - x1) * part, y1 + (y2 - y1) * part) for part in (at / length, to / length)]
            Line(points=[side for place in places for side in place], width=dp(2))
            at += dp(DASH_DP) + dp(BREAK_DP)

    def _draw_point(self, x: float, y: float, half: float, *, is_filled: bool) -> None:
        Color(*(look.THEME.ground.ink if is_filled else look.THEME.ground.paper))
        Rectangle(pos=(x - half, y - half), size=(2 * half, 2 * half))
        Color(*look.THEME.ground.ink)
        Line(rectangle=(x - half, y - half, 2 * half, 2 * half), width=dp(1.5))

    def _x(self, place: float) -> float:
        return round(self.x + place * self.width)

    def _y(self, height: float) -> float:
        return round(self.y + height * self.height)


class TickLabels(PlacedLabels):
    """The numbers of the scale, beside the drawing."""

    def labels(self, view):
        """One for each number."""
        return [Factory.PlotLabel(text=text) for _, text in view.ticks]

    def place(self, view, labels) -> None:
        """Each at its height, at the right."""
        for label, (height, _) in zip(labels, view.ticks, strict=True):
            label.pos = (
                round(self.right - label.width - dp(8)),
                round(self.y + height * self.height - label.height / 2),
            )


class LineLabels(PlacedLabels):
    """The names of the two lines beside their right ends, with what both ends stand for."""

    def labels(self, view):
        """One for each line."""
        return [Factory.PlotName(text=line.label) for line in view.lines]

    def place(self, view, labels) -> None:
        """Each beside the end of its line."""
        room = self.width * (1 - view.lines[0].points[1][0]) - dp(18)
        for label, line in zip(labels, view.lines, strict=True):
            label.width = max(room, 1)
            middle = self.y + line.label_at * self.height
            # A name of many lines stays within the drawing.
            bottom = max(min(middle - label.height / 2, self.top - label.height), self.y)
            label.pos = (round(self.x + line.points[1][0] * self.width + dp(18)), round(bottom))


class InteractionPlot(BoxLayout):
    """The plot with its scale, its names and what stands below it.

    Parameters
    ----------
    view
        What to draw; none takes no room.
    """

    view = ObjectProperty(None, allownone=True, rebind=True)
    test_name = StringProperty("")


class TrialResultScreen(Page):
    """What a trial shows."""

    state = ObjectProperty(TrialResultState(), rebind=True)

    def show(self, presenter) -> None:
        """Start at the top, however far the page before was scrolled."""
        self.ids.scroll.scroll_y = 1
        super().show(presenter)


load_kv(__file__)
