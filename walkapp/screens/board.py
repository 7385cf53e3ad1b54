"""Every page that says how something stands and leads on."""

from __future__ import annotations

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.language import tr
from walkapp.presenters.board import BoardState
from walkapp.screens import frame, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import Page, children_for, load_kv
from walkapp.screens.widgets import TapButton


class BoardSection(BoxLayout):
    """Rows under a heading.

    Parameters
    ----------
    section
        What to show.
    page
        The page that is told of a tap.
    """

    section = ObjectProperty(None, allownone=True, rebind=True)
    page = ObjectProperty(None, rebind=True)


class BoardScreen(Page):
    """A sentence, rows in sections, buttons at the foot."""

    state = ObjectProperty(BoardState(), rebind=True)

    def show(self, presenter) -> None:
        """Start at the top, however far the page that was shown before was scrolled."""
        self.ids.scroll.scroll_y = 1
        super().show(presenter)

    def on_state(self, _page, state) -> None:
        """Refill sections and buttons; they are few."""
        sections = children_for(self.ids.sections, state.sections, lambda: BoardSection(page=self))
        for widget, section in zip(sections, state.sections, strict=True):
            widget.section = section
        self._fill_foot(state)

    def _fill_foot(self, state) -> None:
        foot = self.ids.foot
        foot.clear_widgets()
        if state.can_undo:
            undo = TapButton(test_name="undo", text=tr("Undo"), detail=state.undo, disabled=not state.undo)
            undo.bind(on_tap=lambda _: self.presenter.undo())
            foot.add_widget(undo)
        for button in state.buttons:
            widget = TapButton(
                test_name=button.name, text=button.text, tone=button.tone, disabled=button.is_off
            )
            widget.bind(on_tap=lambda _, name=button.name: self.presenter.press(name))
            foot.add_widget(widget)


load_kv(__file__)
