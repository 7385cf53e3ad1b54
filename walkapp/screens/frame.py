"""What surrounds a page: the bar at the top, and for a walk the guide line and the stream strip."""

from __future__ import annotations

from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.frame import FrameState
from walkapp.screens import look, widgets  # noqa: F401  the kv file uses its widgets
from walkapp.screens.page import load_kv


class TopBar(BoxLayout):
    """Back, title and subtitle; further buttons are added behind them.

    Parameters
    ----------
    title, subtitle
        Two lines of text.
    page
        The page that "back" speaks to.
    """

    title = StringProperty("")
    subtitle = StringProperty("")
    page = ObjectProperty(None, allownone=True)


class WalkFrame(BoxLayout):
    """Everything around a page of a walk; the page itself is added below it.

    Parameters
    ----------
    frame
        What to show.
    page
        The page whose presenter the buttons speak to.
    """

    frame = ObjectProperty(FrameState(), rebind=True)
    page = ObjectProperty(None, allownone=True)
    is_low = BooleanProperty(False)

    def on_height(self, *_: object) -> None:
        """A tablet that is turned has another height."""
        self.is_low = look.is_low()


load_kv(__file__)
