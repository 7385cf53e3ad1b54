"""How to judge: the words, and the limit samples OK and NOK side by side; one of them large."""

from __future__ import annotations

from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.judging import JudgingState, LimitSide
from walkapp.screens import frame, photo, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import Page, children_for, load_kv, swap
from walkapp.screens.photo import PicturePlate, texture_of


class SamplePlate(PicturePlate):
    """One limit sample; a tap shows it large.

    Parameters
    ----------
    limit
        The side that it belongs to.
    """

    limit = StringProperty("")


class SideHead(BoxLayout):
    """Shape and word of a side.

    Parameters
    ----------
    side
        The side; none while it is not known.
    """

    side = ObjectProperty(None, allownone=True, rebind=True)
    word_name = StringProperty("")


class LimitColumn(BoxLayout):
    """One side of the limit: shape and word, then its pictures.

    Parameters
    ----------
    side
        What to show.
    page
        The page whose presenter hears what was tapped.
    """

    side = ObjectProperty(LimitSide(), rebind=True)
    page = ObjectProperty(None, allownone=True, rebind=True)
    test_name = StringProperty("")

    def on_side(self, _column, side) -> None:
        """Refill the plates; they are few."""
        plates = children_for(self.ids.plates, side.pictures, lambda: SamplePlate(page=self.page))
        for number, (plate, tile) in enumerate(zip(plates, side.pictures, strict=True), start=1):
            plate.tile, plate.limit, plate.test_name = tile, side.limit, f"{self.test_name}-{number}"


class JudgingScreen(Page):
    """The judging text and both sides, or one picture large."""

    state = ObjectProperty(JudgingState(), rebind=True)
    large_texture = ObjectProperty(None, allownone=True)

    def on_kv_post(self, _page) -> None:
        """Hold both parts: one of them is always taken out."""
        self._sides, self._large = self.ids.sides.__self__, self.ids.large.__self__
        swap(self.ids.body, self._sides)

    def on_state(self, _page, state) -> None:
        """Show one picture large, or both sides."""
        for column, side in zip((self.ids.ok, self.ids.not_ok), state.sides, strict=False):
            column.side = side
        self.large_texture = texture_of(state.large) if state.large is not None else None
        swap(self.ids.body, self._sides if state.large is None else self._large)


load_kv(__file__)
