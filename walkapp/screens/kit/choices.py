"""Bars of buttons, and a few words of which one is chosen."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.properties import ListProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout

from walkapp.screens import look
from walkapp.screens.kit.buttons import FittedButton
from walkapp.screens.page import load_kv


class ButtonGrid(GridLayout):
    """Buttons side by side, in as many rows as their width needs; all as high as the one that needs
    most.
    """

    def __init__(self, **kwargs) -> None:
        self._arrange_soon = Clock.create_trigger(self._arrange, -1)
        super().__init__(**kwargs)
        self.fbind("width", self._arrange_soon)

    def add_widget(self, widget, *args, **kwargs) -> None:
        """Add a button."""
        super().add_widget(widget, *args, **kwargs)
        widget.fbind("needed_px", self._arrange_soon)
        widget.fbind("size_hint_min_x", self._arrange_soon)
        self._arrange_soon()

    def _arrange(self, _dt: float) -> None:
        count = max(len(self.children), 1)
        # As wide as a single column of them needs, whoever shares the width with it.
        self.size_hint_min_x = max((button.size_hint_min_x or 0 for button in self.children), default=0)
        least = max((button.least_px() for button in self.children), default=1)
        fitting = int((self.width + look.gap()) // (least + look.gap()))
        rows = -(-count // max(1, min(count, fitting)))
        self.cols = -(-count // rows)
        height = max((button.needed_px for button in self.children), default=0)
        for button in self.children:
            button.height = max(height, look.target())


class FootBar(ButtonGrid):
    """The buttons at the foot of a page."""


class Choice(ButtonGrid):
    """A few words of which one is chosen, as big buttons.

    Parameters
    ----------
    options
        Pairs of word and label.
    chosen
        The chosen word; empty for none.

    Events
    ------
    on_choice(word)
        A word was tapped, the chosen one too.
    """

    options = ListProperty([])
    chosen = StringProperty("")
    test_name = StringProperty("")

    __events__ = ("on_choice",)

    def __init__(self, **kwargs) -> None:
        super().__init__(**kwargs)
        for name in ("options", "test_name"):
            self.fbind(name, self._build)
        self._build()

    def _build(self, *_: object) -> None:
        """Build the buttons anew; their number is small and changes rarely."""
        self.clear_widgets()
        for word, label in self.options:
            name = f"{self.test_name or 'choice'}-{word}"
            self.add_widget(ChoiceButton(word=word, text=label, test_name=name))
        self._show_chosen()

    def on_chosen(self, *_: object) -> None:
        """Move frame and filled box to the chosen word."""
        self._show_chosen()

    def _show_chosen(self) -> None:
        for button in self.children:
            button.is_framed = button.word == self.chosen

    def on_choice(self, word: str) -> None:
        """A word was tapped; those who use the choice bind to this."""


class ChoiceButton(FittedButton):
    """One word of a choice, with a box that is filled when it is chosen."""

    word = StringProperty("")

    def on_tap(self) -> None:
        """Pass the word on."""
        self.parent.dispatch("on_choice", self.word)


class UnitBar(BoxLayout):
    """The parallel units of a station, of which one may be chosen; gone where there is none.

    Parameters
    ----------
    units
        What has ``question``, ``names`` and ``chosen``; none for none.

    Events
    ------
    on_choice(name)
        A unit was tapped, the chosen one too.
    """

    units = ObjectProperty(None, allownone=True)
    question = StringProperty("")
    names = ListProperty([])
    chosen = StringProperty("")
    test_name = StringProperty("units")

    __events__ = ("on_choice",)

    def on_units(self, _bar, units) -> None:
        """Take over what to choose from."""
        self.names = [] if units is None else list(units.names)
        if units is not None:
            self.question, self.chosen = units.question, units.chosen

    def on_choice(self, name: str) -> None:
        """A unit was tapped; those who use the bar bind to this."""


load_kv(__file__)
