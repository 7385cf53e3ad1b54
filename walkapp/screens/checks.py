"""The pages on which one check is answered."""

from __future__ import annotations

from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.checks import CheckHead, CountState, JudgeState, MeasureState, TagChoice
from walkapp.screens import frame, limits, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit.buttons import Pair
from walkapp.screens.page import Page, load_kv, swap
from walkapp.screens.room import Gone


class CheckTop(Pair):
    """What the check is, how it is judged, how far it is, and which unit made the part.

    Parameters
    ----------
    head
        What to show.
    page
        The page whose presenter hears which unit was chosen.
    offers_units
        Whether the units are offered here; otherwise the page does it in another place.
    """

    head = ObjectProperty(CheckHead(), rebind=True)
    offers_units = BooleanProperty(True)
    page = ObjectProperty(None, allownone=True)


class TagBar(Gone, BoxLayout):
    """The tag of the next part, to switch off and on and to count up and down; gone where none is offered.

    Parameters
    ----------
    tag
        What to show.
    page
        The page whose presenter hears what was tapped.
    """

    tag = ObjectProperty(TagChoice(), rebind=True)
    test_name = StringProperty("tag")
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
    no_tag = TagChoice()

    def on_kv_post(self, _page) -> None:
        """Hold pad and units: one of them is always taken out."""
        self._pad, self._choosing = self.ids.pad.__self__, self.ids.choosing.__self__
        swap(self.ids.place, self._pad)

    def on_state(self, _page, state) -> None:
        """Show the units while one is chosen, the pad otherwise."""
        swap(self.ids.place, self._choosing if state.is_choosing_unit else self._pad)


load_kv(__file__)
