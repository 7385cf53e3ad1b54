"""What surrounds a page: the bar at the top, and for a walk the guide line and the stream strip."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.frame import FrameState
from walkapp.screens import look, widgets  # noqa: F401  the kv file uses its widgets
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

    def _measures(self) -> tuple[tuple[TypeMeasure, str], ...]:
        title = TypeMeasure(look.font("title"), bold=True)
        return (title, self.title), (TypeMeasure(look.font("small")), self.subtitle)

    def _is_whole(self, room_px: float) -> bool:
        return all(measure.widest_word_px(text) <= room_px for measure, text in self._measures())

    def _words_px(self, room_px: float) -> float:
        high = sum(measure.height_px(text, room_px) for measure, text in self._measures())
        return max(high, look.target())


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
