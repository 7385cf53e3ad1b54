"""What is mended in Kivy."""

from __future__ import annotations

import pytest
from kivy.lang import Builder

from walkapp.screens.kivy_mends import say_no_values

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
