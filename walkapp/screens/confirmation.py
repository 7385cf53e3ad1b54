"""One on/off confirmation: what to do now in big words, the turns as a strip of bars, what they prove."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.graphics import Color, Ellipse, Line, Rectangle
from kivy.metrics import dp
from kivy.properties import ListProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout

from walkapp.language import tr
from walkapp.presenters.confirmation import ConfirmationState
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit.bars import RowDrawing
from walkapp.screens.page import Page, children_for, load_kv
from walkapp.screens.widgets import TapButton, TypeMeasure

LEAST_COLUMN_DP, MOST_COLUMN_DP = 96, 180
"""Width of a turn; more turns than fit begin a new line."""


class TurnDrawing(RowDrawing):
    """One turn: a bar as high as its share NOK, or its values with the mean; filled on, empty off."""

    def draw(self) -> None:
        """Draw the frame, then the bar or the values."""
        bar, middle = self.row, round(self.center_x)
        left, bottom, height = round(self.x), round(self.y) + dp(3), round(self.height) - dp(6)
        Color(*look.THEME.edge)
        for level in (0.0, 0.5, 1.0):
            y = bottom + round(level * height)
            Line(points=(left, y, left + round(self.width), y), width=look.line())
        if bar.height is None:
            return
        half = min(round(self.width * 0.32), dp(40))
        top = bottom + round(bar.height * height)
        Color(*look.THEME.ground.ink)
        if bar.is_counted:
            self._draw_bar(bar, middle - half, bottom, 2 * half, max(top - bottom, dp(4)))
            return
        for point in bar.points:
            self._draw_point(bar, middle, bottom + round(point * height))
        Rectangle(pos=(middle - half, top - dp(2)), size=(2 * half, dp(4)))

    def _draw_bar(self, bar, left: float, bottom: float, width: float, height: float) -> None:
        Rectangle(pos=(left, bottom), size=(width, height))
        edge = dp(3)
        if not bar.is_on and height > 2 * edge:
            Color(*look.THEME.panel.paper)
            Rectangle(pos=(left + edge, bottom + edge), size=(width - 2 * edge, height - 2 * edge))

    def _draw_point(self, bar, x: float, y: float) -> None:
        radius = dp(6)
        if bar.is_on:
            Ellipse(pos=(x - radius, y - radius), size=(2 * radius, 2 * radius))
        else:
            Line(circle=(x, y, radius - dp(1)), width=dp(1.5))


class TurnColumn(BoxLayout):
    """One turn of the strip: number, on or off, drawing, and what came out.

    Parameters
    ----------
    bar
        What to show.
    """

    bar = ObjectProperty(None, allownone=True, rebind=True)


class TurnStrip(GridLayout):
    """All turns beside each other, in as many lines as they need.

    They do not scroll sideways: a strip that does would take the finger that drags the page.

    Parameters
    ----------
    bars
        What to show.
    """

    bars = ListProperty([])
    test_name = StringProperty("bars")

    def __init__(self, **kwargs) -> None:
        self._arrange_soon = Clock.create_trigger(self._arrange, -1)
        super().__init__(**kwargs)
        self.fbind("width", self._arrange_soon)
        self.fbind("bars", self._arrange_soon)

    def _arrange(self, _dt: float) -> None:
        many = len(self.bars)
        least = max(dp(LEAST_COLUMN_DP), self._head_px())
        self.cols = max(1, min(int(self.width // least), many))
        width = min(int(self.width / self.cols), max(dp(MOST_COLUMN_DP), least))
        for column, bar in zip(
            children_for(self, self.bars, lambda: TurnColumn(size_hint_x=None)), self.bars, strict=True
        ):
            column.width, column.bar = width, bar

    def _head_px(self) -> float:
        """Give the width of the widest head: number, shape and word, and the narrow spaces around them."""
        plain, bold = TypeMeasure(look.font("small")), TypeMeasure(look.font("small"), bold=True)
        words = (plain.width_px(bar.name) + bold.width_px(bar.word) for bar in self.bars)
        return max(words, default=0) + dp(22) + 6 * look.space("tight")


class ConfirmationScreen(Page):
    """What to do now, the turns so far, and what they prove."""

    state = ObjectProperty(ConfirmationState(), rebind=True)

    def on_state(self, _page, state) -> None:
        """Refill the foot: what cannot be done now has no button."""
        foot = self.ids.foot
        foot.clear_widgets()
        self._add("undo", tr("Undo"), "plain", lambda: self.presenter.undo(), state.undo)
        if state.go_on:
            self._add("go-on", state.go_on, "plain", lambda: self.presenter.go_on())
        if state.start:
            self._add("start", state.start, state.start_tone, lambda: self.presenter.start())

    def _add(self, name: str, text: str, tone: str, act, detail: str = "") -> None:
        is_off = name == "undo" and not detail
        button = TapButton(test_name=name, text=text, tone=tone, detail=detail, disabled=is_off)
        button.bind(on_tap=lambda _: act())
        self.ids.foot.add_widget(button)


load_kv(__file__)
