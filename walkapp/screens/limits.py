"""The newest limit samples beside the answers of a check: pictures where there is room, else a button."""

from __future__ import annotations

from kivy.properties import BooleanProperty, ColorProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.judging import LimitPair
from walkapp.screens import widgets  # noqa: F401  the kv file uses its widgets
from walkapp.screens.kit.buttons import Tappable
from walkapp.screens.page import load_kv, swap
from walkapp.screens.photo import texture_of


class LimitHalf(BoxLayout):
    """One side: shape, word and picture.

    Parameters
    ----------
    tile
        The picture; none while there is no sample.
    word, mark
        The side, as a word and as a shape.
    ink, state
        Of the plate that it stands on.
    """

    tile = ObjectProperty(None, allownone=True, rebind=True)
    texture = ObjectProperty(None, allownone=True)
    word = StringProperty("")
    mark = StringProperty("")
    ink = ColorProperty()
    state = StringProperty("normal")

    def on_tile(self, _half, tile) -> None:
        """Show the picture."""
        self.texture = texture_of(tile) if tile is not None else None


class LimitPlate(Tappable):
    """OK and NOK side by side, to be tapped as one."""

    pair = ObjectProperty(LimitPair(), rebind=True)


class LimitPlace(BoxLayout):
    """Where the newest limit samples stand; a tap leads to the page that says how to judge.

    A window without room for pictures, and a concern without any, has a button instead.

    Parameters
    ----------
    pair
        What to show.
    page
        The page whose presenter hears the tap.
    has_room
        Whether the window has room for pictures; the page says so.
    is_narrow
        Whether something else stands beside it in a narrow window.
    """

    pair = ObjectProperty(LimitPair(), rebind=True)
    page = ObjectProperty(None, allownone=True, rebind=True)
    has_room = BooleanProperty(True)
    is_narrow = BooleanProperty(False)

    def on_kv_post(self, _place) -> None:
        """Hold both: at least one of them is always taken out."""
        self._plate, self._button = self.ids.plate.__self__, self.ids.button.__self__
        for name in ("pair", "has_room", "is_narrow"):
            self.fbind(name, self.arrange)
        self.arrange()

    def arrange(self, *_: object) -> None:
        """Show the pictures, the button or nothing, as large as that is."""
        if not self.pair.is_offered:
            self.clear_widgets()
            self.size = (0, 0)
            return
        shows = self._plate if self.pair.has_pictures and self.has_room else self._button
        swap(self, shows)
        self.size = shows.size


load_kv(__file__)
