"""What surrounds a page: the bar at the top, and for a walk the guide line and the stream strip."""

from __future__ import annotations

from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.frame import FrameState
from walkapp.presenters.held import ScanKeys
from walkapp.screens import look, widgets  # noqa: F401  the kv file uses its widgets
from walkapp.screens.kit.buttons import FittedButton
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


class HeldKey(FittedButton):
    """The part that the next entry is about, with the shape of what has to be minded; a tap lets it go."""

    shape = StringProperty("clean")


class ScanPlace(BoxLayout):
    """The keys for scanning, and the part that is held; gone where none are offered.

    Parameters
    ----------
    scan
        What to show.
    page
        The page whose presenter hears of a tap.
    """

    scan = ObjectProperty(ScanKeys(), rebind=True)
    page = ObjectProperty(None, allownone=True)

    def __init__(self, **said) -> None:
        super().__init__(**said)
        self._held = None
        self._scan = None

    def on_kv_post(self, _place) -> None:
        """Hold both keys: an id alone does not keep a widget alive that is taken out."""
        self._held, self._scan = self.ids.held.__self__, self.ids.scan.__self__
        self.on_scan()

    def on_scan(self, *_: object) -> None:
        """Put in the keys that are offered."""
        if self._scan is None:
            return
        wanted = [self._held] if self.scan.held else []
        wanted += [self._scan] if self.scan.is_offered else []
        if self.children[::-1] != wanted:
            self.clear_widgets()
            for key in wanted:
                self.add_widget(key)


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

    def on_kv_post(self, _frame) -> None:
        """Hold the keys for scanning, which have two places."""
        self._keys = self.ids.scan.__self__

    def on_width(self, *_: object) -> None:
        """The keys stand in the bar of a wide window, and beside the strip in a narrow one."""
        keys = getattr(self, "_keys", None)
        if keys is None:
            return
        wanted = self.ids.bar if self.width >= 9 * look.target() else self.ids.row
        if keys.parent is not wanted:
            keys.parent.remove_widget(keys)
            # In the bar they come before undo and the answer, which keep their corner.
            wanted.add_widget(keys, index=2 if wanted is self.ids.bar else 0)

    def on_height(self, *_: object) -> None:
        """A tablet that is turned has another height."""
        self.is_low = look.is_low()


load_kv(__file__)
