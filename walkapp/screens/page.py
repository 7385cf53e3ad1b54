"""What every screen has in common: it follows one presenter at a time and shows its state."""

from __future__ import annotations

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import ObjectProperty
from kivy.uix.screenmanager import Screen

from walkapp.screens.kit.fingers import FINGERS
from walkapp.screens.room import Whole


def load_kv(module_file: str) -> None:
    """Load the kv file of the same name beside a module; called once, where the module is imported."""
    Builder.load_file(str(Path(module_file).resolve().with_suffix(".kv")))


def swap(place, wanted) -> None:
    """Make `wanted` the only child of `place`.

    Both must be held by somebody: a widget that only an id names is gone once it is taken out.
    """
    if place.children != [wanted]:
        place.clear_widgets()
        place.add_widget(wanted)


def children_for(place, rows, make) -> list:
    """Give `place` one child for each row, in their order.

    Children are made (by `make`) or dropped only where their number changes.
    """
    while len(place.children) > len(rows):
        place.remove_widget(place.children[0])
    while len(place.children) < len(rows):
        place.add_widget(make())
    return place.children[::-1]


class Page(Screen):
    """A screen of the app. Subclasses declare ``state`` with the blank state of their presenter."""

    presenter = ObjectProperty(None, allownone=True, rebind=True)

    def __init__(self, **kwargs) -> None:
        self.whole = Whole()
        super().__init__(**kwargs)
        super().add_widget(self.whole)

    def add_widget(self, widget, *args, **kwargs) -> None:
        """Take what is on the page; it scrolls as a whole where the window is too low for it."""
        self.whole.add_widget(widget, *args, **kwargs)

    def show(self, presenter) -> None:
        """Follow a presenter from now on, from the top of the page."""
        self.whole.scroll_y = 1
        self.presenter, self._is_filled = presenter, True
        presenter.watch(self._on_new_state)
        self._is_filled = False
        FINGERS.page_changed()
        presenter.open()

    def leave(self) -> None:
        """Stop following the presenter."""
        self.presenter.unwatch(self._on_new_state)

    def takes_taps(self) -> bool:
        """Whether a tap counts now, and is none that was meant for what was there before."""
        return FINGERS.is_seen()

    def takes_text(self, text: str) -> None:
        """Hand on what a gauge or a code reader has sent as if it were a keyboard; most pages leave it."""
        self.presenter.take_text(text)

    def on_touch_down(self, touch) -> bool:
        """Swallow a finger while no tap counts."""
        return not self.takes_taps() or super().on_touch_down(touch)

    def _on_new_state(self, state) -> None:
        if not self._is_filled:  # the page was blank until now: nobody can have meant what comes up
            FINGERS.page_changed()
            self._is_filled = True
        self.state = state
