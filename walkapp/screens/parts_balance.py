"""Pages about suspect parts: the balance and a bar of where they are stay above all that scrolls."""

from __future__ import annotations

from kivy.graphics import Color, Line, Rectangle
from kivy.metrics import dp
from kivy.properties import ListProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout
from kivy.uix.widget import Widget

from walkapp.presenters.containment import PartsBalanceState
from walkapp.screens import look
from walkapp.screens.board import BoardScreen
from walkapp.screens.page import children_for, load_kv

STEP_DP = 9
"""Distance of the strokes of a pattern."""

LEAST_DP = 8
"""A part of the bar is never narrower, however few parts it stands for."""


class Patterned(Widget):
    """Something filled with patterns that a black-and-white print keeps apart; subclasses draw it."""

    def __init__(self, **kwargs) -> None:
        super().__init__(**kwargs)
        self.bind(pos=self._redraw, size=self._redraw)

    def _redraw(self, *_) -> None:
        self.canvas.clear()
        with self.canvas:
            self.draw()

    def draw(self) -> None:
        """Draw it into the open canvas."""
        raise NotImplementedError


class Swatch(Patterned):
    """A small box with one pattern.

    Parameters
    ----------
    pattern
        ``cross``, ``stripes``, ``dots``, ``plain`` or ``solid``.
    """

    pattern = StringProperty("plain")

    def __init__(self, **kwargs) -> None:
        super().__init__(**kwargs)
        self.bind(pattern=self._redraw)

    def draw(self) -> None:
        """Draw the box."""
        draw_pattern(self.pattern, self.x, self.y, self.width, self.height)


class PartsBar(Patterned):
    """All parts as one bar.

    Parameters
    ----------
    bar
        The parts, from left to right (:class:`walkapp.presenters.containment.BarPart`).
    """

    bar = ListProperty([])
    test_name = StringProperty("")

    def __init__(self, **kwargs) -> None:
        super().__init__(**kwargs)
        self.bind(bar=self._redraw)

    def draw(self) -> None:
        """Draw the parts as wide as they are many, each wide enough to be seen."""
        left = self.x
        for part, width in zip(
            self.bar, widths([part.parts for part in self.bar], self.width), strict=True
        ):
            draw_pattern(part.pattern, left, self.y, width, self.height)
            left += width


def widths(parts: list[int], room: float) -> list[float]:
    """Share out a width in proportion, none less than ``LEAST_DP``; together they fill it."""
    least = min(dp(LEAST_DP), room / max(1, len(parts)))
    total = sum(parts)
    spare = room - least * len(parts)
    return [least + spare * many / total for many in parts]


def draw_pattern(pattern: str, x: float, y: float, width: float, height: float) -> None:
    """Fill a box with a pattern and frame it."""
    step = dp(STEP_DP)
    Color(*look.THEME.panel.paper)
    Rectangle(pos=(x, y), size=(width, height))
    Color(*look.THEME.ground.ink)
    if pattern == "solid":
        Rectangle(pos=(x, y), size=(width, height))
    if pattern == "dots":
        side = dp(3)
        for column in range(int(max(0, width - side) // step) + 1):
            for row in range(int(max(0, height - side) // step) + 1):
                Rectangle(pos=(x + dp(2) + column * step, y + dp(2) + row * step), size=(side, side))
    if pattern in ("stripes", "cross"):
        _slanted(x, y, width, height, step, rises=True)
    if pattern == "cross":
        _slanted(x, y, width, height, step, rises=False)
    Line(rectangle=(x, y, width, height), width=look.line())


def _slanted(x: float, y: float, width: float, height: float, step: float, *, rises: bool) -> None:
    """Draw strokes at 45 degrees that end at the box."""
    for number in range(1, int((width + height) // step) + 1):
        start = number * step - height
        x0, x1 = max(0.0, start), min(width, start + height)
        heights = (x0 - start, x1 - start) if rises else (height - x0 + start, height - x1 + start)
        Line(points=[x + x0, y + heights[0], x + x1, y + heights[1]], width=dp(0.8))


class LegendItem(BoxLayout):
    """A pattern and what it stands for.

    Parameters
    ----------
    part
        What to show.
    """

    part = ObjectProperty(None, allownone=True, rebind=True)


class Legend(GridLayout):
    """What the patterns of a bar stand for.

    Parameters
    ----------
    bar
        The parts.
    """

    bar = ListProperty([])

    def on_bar(self, _legend, bar) -> None:
        """Refill it."""
        for item, part in zip(children_for(self, bar, LegendItem), bar, strict=True):
            item.part = part


class BalanceHead(BoxLayout):
    """The balance, big, with its bar and what the patterns mean.

    Parameters
    ----------
    state
        What the page shows.
    """

    state = ObjectProperty(PartsBalanceState(), rebind=True)


class PartsBalanceScreen(BoardScreen):
    """A page about suspect parts."""

    state = ObjectProperty(PartsBalanceState(), rebind=True)

    def on_kv_post(self, _page) -> None:
        """Put the balance above what scrolls."""
        self._head = BalanceHead(state=self.state)
        self.ids.head.add_widget(self._head)

    def on_state(self, page, state) -> None:
        """Refill the head as well."""
        super().on_state(page, state)
        self._head.state = state


load_kv(__file__)
