"""What is mended in Kivy."""

from __future__ import annotations

import pytest
from kivy.lang import Builder
from kivy.uix.label import Label

from walkapp.screens.kivy_mends import keep_no_drawn_text, say_no_values

pytestmark = pytest.mark.window

HANDED_ON = """
Widget:
    told: None
    Widget:
        told: self.parent.told if self.parent else None
"""


class Long:
    """A value that takes long to be written out."""

    written = 0

    def __repr__(self) -> str:
        type(self).written += 1
        return "a long text"


def test_what_a_rule_hands_on_is_not_written_out():
    say_no_values()
    outer = Builder.load_string(HANDED_ON)
    value = Long()

    outer.told = value

    assert outer.children[0].told is value
    assert Long.written == 0  # Kivy's own way: once for each rule


def test_a_text_is_in_memory_once():
    keep_no_drawn_text()
    label = Label(text="Mounting ears", font_size=40)

    for text in ("Mounting ears", "Leak test"):
        label.text = text
        label.texture_update()
        assert max(label.texture.pixels) == 255  # letters are in the texture
        assert label._label._surface is None  # Kivy's own way: all pixels once more
