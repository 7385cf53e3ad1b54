"""One figure: its picture, what has to be known to read it, and the way to paper."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.properties import ObjectProperty

from walkapp.presenters.desk.figure import FigureState
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import Page, load_kv
from walkapp.screens.photo import texture_of

SETTLED_S = 0.2
"""A page that is still changing its size is not drawn for yet; a guess, no source."""


class FigureScreen(Page):
    """A figure; one texture is held, and none when another page is shown."""

    state = ObjectProperty(FigureState(), rebind=True)
    texture = ObjectProperty(None, allownone=True)

    def __init__(self, **said) -> None:
        super().__init__(**said)
        self._picture = None
        self._fit_soon = Clock.create_trigger(self._fit, SETTLED_S)

    def show(self, presenter) -> None:
        """Start at the top; the picture of another figure is let go."""
        self.ids.scroll.scroll_y = 1
        super().show(presenter)
        self._fit_soon()

    def leave(self) -> None:
        """Let go of the picture."""
        self._fit_soon.cancel()
        super().leave()
        self.texture = self._picture = None

    def on_state(self, _page, state) -> None:
        """Turn a new picture into a texture; the one before is dropped."""
        if state.picture is not self._picture:
            self._picture = state.picture
            self.texture = None if state.picture is None else texture_of(state.picture)

    def refit(self) -> None:
        """Have the figure drawn anew once the page keeps its size."""
        if self.presenter is not None and self.parent is not None:
            self._fit_soon()

    def _fit(self, _dt) -> None:
        room = self.ids.scroll
        self.presenter.fit(round(room.width), round(self.picture_height()), look.font("small"))

    def picture_height(self) -> float:
        """Give the height of a picture that fills the page without hiding that words follow below it."""
        room = self.ids.scroll
        return max(min(room.height * 0.9, room.width * 0.75), 1)


load_kv(__file__)
