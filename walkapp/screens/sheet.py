"""The sheet of a concern: the page as it would be printed, and what is missing for a good one."""

from __future__ import annotations

from kivy.properties import NumericProperty, ObjectProperty

from walkapp.presenters.desk.sheet import SheetState
from walkapp.screens.board import BoardScreen
from walkapp.screens.kit.buttons import Tappable
from walkapp.screens.page import load_kv
from walkapp.screens.photo import texture_of


class SheetPlate(Tappable):
    """The page as it would be printed; a tap shows it large.

    Parameters
    ----------
    texture
        Its picture; none while it is drawn.
    waiting
        What is said in its place.
    room_px
        How high it may be.
    page
        The page that the tap is told to.
    """

    room_px = NumericProperty(0)
    texture = ObjectProperty(None, allownone=True)
    waiting = ObjectProperty("")
    page = ObjectProperty(None, allownone=True)


class SheetScreen(BoardScreen):
    """A picture of the page between the sentence and what is missing; one texture is held."""

    state = ObjectProperty(SheetState(), rebind=True)
    plate = ObjectProperty(None, allownone=True)

    def __init__(self, **said) -> None:
        super().__init__(**said)
        self.plate = SheetPlate(page=self, test_name="sheet")
        column = self.ids.sections.parent
        column.add_widget(self.plate, index=column.children.index(self.ids.sections) + 1)
        self._picture = None
        self.ids.scroll.bind(height=self._give_room)

    def _give_room(self, _scroll, height) -> None:
        """Let the whole page be seen at once, whichever way the tablet is held."""
        self.plate.room_px = height * 0.75

    def on_state(self, page, state) -> None:
        """Show a new picture of the page; the one before is dropped."""
        super().on_state(page, state)
        if self.plate is None:
            return
        self.plate.waiting = state.waiting
        if state.picture is not self._picture:
            self._picture = state.picture
            self.plate.texture = None if state.picture is None else texture_of(state.picture)

    def leave(self) -> None:
        """Let go of the picture."""
        super().leave()
        self._picture = self.plate.texture = None


load_kv(__file__)
