"""The page on which one run of a reproduction trial is entered."""

from __future__ import annotations

from kivy.properties import ObjectProperty

from walkapp.presenters.trial_run import TrialRunState
from walkapp.screens import frame, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import Page, load_kv, swap


class TrialRunScreen(Page):
    """What to set, and two steppers or the pad for what came out."""

    state = ObjectProperty(TrialRunState(), rebind=True)

    def show(self, presenter) -> None:
        """Start at the top, however far the page before was scrolled."""
        self.ids.scroll.scroll_y = 1
        super().show(presenter)

    def on_kv_post(self, _page) -> None:
        """Hold both parts: one of them is always taken out."""
        self._typing, self._steppers = self.ids.typing.__self__, self.ids.steppers.__self__
        swap(self.ids.entry, self._steppers)

    def on_state(self, _page, state) -> None:
        """Show the pad while a number is typed, the steppers otherwise."""
        swap(self.ids.entry, self._steppers if state.pad is None else self._typing)


load_kv(__file__)
