"""The first-bad-station view: the answer in words, then the stream station by station."""

from __future__ import annotations

from kivy.properties import NumericProperty, ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.answer import AnswerRow, AnswerState
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit.words import column_px
from walkapp.screens.page import Page, children_for, load_kv

BLANK_ROW = AnswerRow(
    station="", number="", name="", counts="", interval="", low=None, share=None, high=None,
    probability="", probability_value=0.0, mark="not_visited", verdict="", proof="", is_named=False,
)  # fmt: skip


class AnswerLine(BoxLayout):
    """One station of the answer.

    Parameters
    ----------
    row
        What to show.
    name_px
        Width of the longest word of all names.
    """

    row = ObjectProperty(BLANK_ROW, rebind=True)
    name_px = NumericProperty(0)


class AnswerScreen(Page):
    """Where the defect starts, how sure that is, and what to do next."""

    state = ObjectProperty(AnswerState(), rebind=True)
    name_px = NumericProperty(0)

    def on_state(self, _page, state) -> None:
        """Give every station its line; lines are built once and refilled."""
        self.name_px = column_px(row.name for row in state.rows)
        lines = children_for(self.ids.lines, state.rows, AnswerLine)
        for line, row in zip(lines, state.rows, strict=True):
            line.row, line.name_px = row, self.name_px


load_kv(__file__)
