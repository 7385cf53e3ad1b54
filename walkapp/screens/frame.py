"""What surrounds a page: the bar at the top, and for a walk the guide line and the stream strip."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.frame import FrameState
from walkapp.presenters.held import ScanKeys
from walkapp.screens import look, widgets  # noqa: F401  the kv file uses its widgets
from walkapp.screens.kit.buttons import FittedButton
from walkapp.screens.kit.words import TypeMeasure
from walkapp.screens.page import load_kv


class TopBar(BoxLayout):
    """Back, title and subtitle; further buttons are added behind them.

    The buttons stand beside the title, or below it where that makes the bar lower or keeps a word whole.

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

    def __init__(self, **kwargs) -> None:
        self._buttons = []
        self._arrange_soon = Clock.create_trigger(self._arrange, -1)
        super().__init__(**kwargs)
        for name in ("width", "title", "subtitle"):
            self.fbind(name, self._arrange_soon)

    def add_widget(self, widget, *args, **kwargs) -> None:
        """Take the two lines of the bar, and after them its buttons."""
        if len(self.children) < 2:
            super().add_widget(widget, *args, **kwargs)
            return
        self._buttons.append(widget)
        widget.fbind("size", self._arrange_soon)
        self.ids.line.add_widget(widget)
        self._arrange_soon()

    def _arrange(self, _dt: float) -> None:
        if not self._buttons:
            return
        room = self.width - self.ids.back.width - look.gap()
        beside = room - sum(button.width + look.gap() for button in self._buttons)
        button_px = max(button.height for button in self._buttons)
        is_beside = self._is_whole(beside) and (
            max(self._words_px(beside), button_px) <= self._words_px(room) + look.gap() + button_px
        )
        wanted, other = self.ids.line.__self__, self.ids.more.__self__
        if not is_beside:
            wanted, other = other, wanted
        for button in self._buttons:
            if button.parent is other:
                other.remove_widget(button)
                wanted.add_widget(button)

    def lend(self, button, place) -> None:
        """Let a button of the bar stand elsewhere; where that is the bar itself, as its first one."""
        if button in self._buttons:
            self._buttons.remove(button)
        if button.parent is not None:
            button.parent.remove_widget(button)
        if place is self:
            self._buttons.insert(0, button)
            line = self.ids.line
            line.add_widget(button, index=len(line.children) - 2)
        else:
            place.add_widget(button)
        self._arrange_soon()

    def _measures(self) -> tuple[tuple[TypeMeasure, str], ...]:
        title = TypeMeasure(look.font("title"), bold=True)
        return (title, self.title), (TypeMeasure(look.font("small")), self.subtitle)

    def _is_whole(self, room_px: float) -> bool:
        return all(measure.widest_word_px(text) <= room_px for measure, text in self._measures())

    def _words_px(self, room_px: float) -> float:
        high = sum(measure.height_px(text, room_px) for measure, text in self._measures())
        return max(high, look.target())


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
        self._keys, self._keys_in = self.ids.scan.__self__, self.ids.bar.__self__

    def on_width(self, *_: object) -> None:
        """The keys stand in the bar of a wide window, and beside the strip in a narrow one."""
        keys = getattr(self, "_keys", None)
        if keys is None:
            return
        is_wide = look.is_wide(self.width)
        wanted = (self.ids.bar if is_wide else self.ids.row).__self__
        if wanted is not self._keys_in:
            self._keys_in = wanted
            self.ids.bar.lend(keys, wanted)

    def on_height(self, *_: object) -> None:
        """A tablet that is turned has another height."""
        self.is_low = look.is_low()


load_kv(__file__)
