"""The pages on which one check is answered."""

from __future__ import annotations

from kivy.properties import ObjectProperty

from walkapp.presenters.checks import CheckHead, CountState, JudgeState, MeasureState
from walkapp.screens import frame, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit.buttons import Pair
from walkapp.screens.page import Page, load_kv, swap


class CheckTop(Pair):
    """What the check is, how it is judged, how far it is, and which unit made the part.

    Parameters
    ----------
    head
        What to show.
    page
        The page whose presenter hears which unit was chosen.
    """

    head = ObjectProperty(CheckHead(), rebind=True)
    page = ObjectProperty(None, allownone=True)


class JudgeScreen(Page):
    """Judging parts one by one, or answering a question."""

    state = ObjectProperty(JudgeState(), rebind=True)


class CountScreen(Page):
    """Counting parts: two steppers, or the pad while a number is typed."""

    state = ObjectProperty(CountState(), rebind=True)

    def on_kv_post(self, _page) -> None:
        """Hold both parts: one of them is always taken out."""
        self._typing, self._steppers = self.ids.typing.__self__, self.ids.steppers.__self__
        swap(self.ids.body, self._steppers)

    def on_state(self, _page, state) -> None:
        """Show the pad while it is open, the steppers otherwise."""
        swap(self.ids.body, self._typing if state.pad is not None else self._steppers)


class MeasureScreen(Page):
    """Taking a value with the pad, the tolerance drawn beside it."""

    state = ObjectProperty(MeasureState(), rebind=True)


load_kv(__file__)
