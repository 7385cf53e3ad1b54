"""The first-bad-station view: the answer in words, then the stream station by station."""

from __future__ import annotations

from kivy.graphics import Color, Line, Rectangle
from kivy.metrics import dp
from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.answer import AnswerRow, AnswerState
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit.bars import RowDrawing, ShareBar  # noqa: F401  the kv file uses the second
from walkapp.screens.page import Page, load_kv

BLANK_ROW = AnswerRow(
    station="", number="", name="", counts="", interval="", low=None, share=None, high=None,
    probability="", probability_value=0.0, mark="not_visited", verdict="", proof="", is_named=False,
)  # fmt: skip


class ProbabilityBar(RowDrawing):
    """The probability that the defect starts here, as a filled part of a frame."""

    def draw(self) -> None:
        """Draw filling and frame."""
        left, bottom = round(self.x), round(self.center_y - dp(9))
        width, height = round(self.width), round(dp(18))
        Color(*look.THEME.ground.ink)
        Rectangle(pos=(left, bottom), size=(width * self.row.probability_value, height))
        Color(*look.THEME.edge)
        Line(rectangle=(left, bottom, width, height), width=1)


class AnswerLine(BoxLayout):
    """One station of the answer.

    Parameters
    ----------
    row
        What to show.
    """

    row = ObjectProperty(BLANK_ROW, rebind=True)


class AnswerScreen(Page):
    """Where the defect starts, how sure that is, and what to do next."""

    state = ObjectProperty(AnswerState(), rebind=True)

    def on_state(self, _page, state) -> None:
        """Give every station its line; lines are built once and refilled."""
        lines = self.ids.lines
        while len(lines.children) > len(state.rows):
            lines.remove_widget(lines.children[0])
        while len(lines.children) < len(state.rows):
            lines.add_widget(AnswerLine())
        for line, row in zip(reversed(lines.children), state.rows, strict=True):
            line.row = row


load_kv(__file__)
