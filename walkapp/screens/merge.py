"""The merge page: a board with a bar above it while a merge goes on."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.graphics import Color, Line, Rectangle
from kivy.metrics import dp
from kivy.properties import NumericProperty, ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from walkapp.presenters.desk.merge import MergeState
from walkapp.screens import look
from walkapp.screens.board import BoardScreen

LOOK_AGAIN_S = 0.1
"""How often the page asks how far the merge is."""


class DoneBar(Widget):
    """How much is done, as a filled part of a frame; the words beside it say the same.

    Parameters
    ----------
    share
        0 to 1.
    """

    share = NumericProperty(0)
    test_name = StringProperty("progress")

    def __init__(self, **more) -> None:
        super().__init__(**more)
        self.bind(share=self._redraw, pos=self._redraw, size=self._redraw)

    def _redraw(self, *_) -> None:
        self.canvas.clear()
        left, bottom, width, height = map(round, (self.x, self.y, self.width, self.height))
        with self.canvas:
            Color(*look.THEME.panel.paper)
            Rectangle(pos=(left, bottom), size=(width, height))
            Color(*look.THEME.strong.paper)
            Rectangle(pos=(left, bottom), size=(width * self.share, height))
            Color(*look.THEME.edge)
            Line(rectangle=(left, bottom, width, height), width=look.line())


class MergeScreen(BoardScreen):
    """Bundles to choose from, or a merge that goes on."""

    state = ObjectProperty(MergeState(), rebind=True)

    def __init__(self, **kwargs) -> None:
        self._looks = Clock.create_trigger(self._look, LOOK_AGAIN_S, interval=True)
        self._bar = DoneBar(size_hint_y=None, height=dp(28))
        super().__init__(**kwargs)

    def on_state(self, page, state) -> None:
        """Show the bar while a merge goes on, and go on asking how far it is."""
        super().on_state(page, state)
        if state.is_running:
            self._bar.share = state.share
            if self._bar.parent is None:
                self.ids.head.add_widget(self._bar)
            self._looks()
        else:
            self.ids.head.remove_widget(self._bar)
            self._looks.cancel()

    def leave(self) -> None:
        """Ask no more; the merge goes on by itself."""
        self._looks.cancel()
        super().leave()

    def _look(self, _dt: float) -> None:
        self.presenter.tick()
