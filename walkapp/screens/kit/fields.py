"""Fields of a form: words, a choice, a day. All have the same properties and one way of telling."""

from __future__ import annotations

from kivy.properties import BooleanProperty, ListProperty, NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.language import tr
from walkapp.screens import look
from walkapp.screens.kit import choices  # noqa: F401  the kv file uses its widgets
from walkapp.screens.page import load_kv


class LabelledField(BoxLayout):
    """What is asked, and what was filled in.

    Parameters
    ----------
    label
        What is asked.
    hint
        An example or an explanation.
    is_required
        Whether it must be filled in; said in words.
    words
        What was filled in; follows every key, so that binding to it keeps half-typed text.
    options
        Pairs of word and label to choose from.
    lines
        Lines of text to show.
    is_crowded
        Whether there is no room for what could be tapped instead of typing: the keyboard has taken it.

    Events
    ------
    on_done
        The field was left, or Enter was pressed in a field of one line.
    """

    label = StringProperty("")
    hint = StringProperty("")
    is_required = BooleanProperty(False)
    words = StringProperty("")
    options = ListProperty([])
    lines = NumericProperty(1)
    is_crowded = BooleanProperty(False)
    test_name = StringProperty("")

    __events__ = ("on_done",)

    def heading(self, label: str, is_required: bool) -> str:
        """Say what is asked, and that it is needed."""
        return tr("{label} (needed)", label=label) if is_required else label

    def box_height(self, lines: float, line_px: float) -> float:
        """Give the height of the box to type in: a target at least."""
        return max(look.target(), lines * line_px + 2 * look.space("apart"))

    def left(self, is_focused: bool) -> None:
        """Tell when the focus has gone."""
        if not is_focused:
            self.dispatch("on_done")

    def on_done(self) -> None:
        """The field was left; those who use it bind to this."""


class Field(LabelledField):
    """A field for words."""


class ChoiceField(LabelledField):
    """A field in which one of a few words is chosen."""


class OfferField(LabelledField):
    """A field for words, with likely ones to tap instead of typing."""


class DayField(OfferField):
    """A field for a day, as 2026-03-02, with the likely days to tap."""


load_kv(__file__)
