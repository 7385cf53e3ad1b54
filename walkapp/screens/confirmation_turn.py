"""One turn of an on/off confirmation while it runs: two steppers, or the pad."""

from __future__ import annotations

from kivy.properties import ObjectProperty

from walkapp.presenters.confirmation_turn import TurnState
from walkapp.screens import frame, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import Page, load_kv, swap


class TurnScreen(Page):
    """Which turn, what came out, and the button that ends it."""

    state = ObjectProperty(TurnState(), rebind=True)

    def typed(self, state) -> str:
        """Give what was typed so far, with its unit."""
        return f"{state.pad.shown or '–'} {state.unit}" if state.pad is not None else ""

    def on_kv_post(self, _page) -> None:
        """Hold both parts: one of them is always taken out."""
        self._steppers, self._typing = self.ids.steppers.__self__, self.ids.typing.__self__
        swap(self.ids.place, self._steppers)

    def on_state(self, _page, state) -> None:
        """Show the pad while a number is typed, the steppers otherwise."""
        swap(self.ids.place, self._steppers if state.pad is None else self._typing)


load_kv(__file__)
