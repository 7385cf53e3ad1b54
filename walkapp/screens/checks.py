"""The pages on which one check is answered."""

from __future__ import annotations

from kivy.core.window import Window
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.checks import CheckHead, CountState, JudgeState
from walkapp.presenters.measuring import MeasureState
from walkapp.presenters.part_tags import TagChoice
from walkapp.screens import frame, limits, look, widgets  # noqa: F401  the kv file uses their widgets
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


class CheckPage(Page):
    """A check whose limit samples stand beside what is to be tapped, where that stays in the window."""

    def has_room(self, orientation: str, height_px: float) -> bool:
        """Say whether there is room for pictures of the samples, else a button leads to them.

        Parameters
        ----------
        orientation
            How check and samples stand to each other; above each other they need more height.
        height_px
            Of the page: that of the window, without what stands above the page while somebody practises.
        """
        return height_px >= dp(look.LOW_DP if orientation == "horizontal" else 880)


class JudgeScreen(CheckPage):
    """Judging parts one by one, or answering a question."""

    state = ObjectProperty(JudgeState(), rebind=True)


class CountScreen(CheckPage):
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

    def show(self, presenter) -> None:
        """Look for something to paste when the person comes back from where it was copied."""
        Window.bind(focus=self._on_focus)
        super().show(presenter)

    def leave(self) -> None:
        """Look no more."""
        Window.unbind(focus=self._on_focus)
        super().leave()

    def _on_focus(self, _window, has_focus) -> None:
        if has_focus:
            self.presenter.look_at_clipboard()

    def on_kv_post(self, _page) -> None:
        """Hold what may be taken out: pad or units, and the key to paste."""
        self._pad, self._choosing = self.ids.pad.__self__, self.ids.choosing.__self__
        self._pasting = self.ids.pasting.__self__
        self._offer_paste()
        self.ids.sides.fbind("orientation", self._offer_paste)
        swap(self.ids.place, self._pad)

    def on_state(self, _page, state) -> None:
        """Show the units or the pad, and the key to paste where there is something."""
        swap(self.ids.place, self._choosing if state.is_choosing_unit else self._pad)
        self._offer_paste()

    def _offer_paste(self, *_: object) -> None:
        """Put the key to paste below the values, or where there is no room beside the units."""
        key, place = self._pasting, None
        if self.state.can_paste:
            place = self.ids.about if self.ids.sides.orientation == "horizontal" else self._choosing
        if key.parent is place:
            return
        if key.parent is not None:
            key.parent.remove_widget(key)
        if place is self._choosing:
            place.add_widget(key, index=1)
        elif place is not None:
            place.add_widget(key)
        # A glove's distance from what is tapped above.
        key.padding = 0, look.gap() - dp(8) if place is self.ids.about else 0, 0, 0


load_kv(__file__)
