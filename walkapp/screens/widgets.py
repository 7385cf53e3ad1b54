"""The widget kit: everything that a screen is put together from, under one name.

Importing this loads the kv files of the kit and makes its widgets known to all others.
"""

from __future__ import annotations

from walkapp.screens.kit.bars import ProbabilityBar, RowDrawing, ShareBar
from walkapp.screens.kit.buttons import AnswerBar, MarkButton, Pair, TapButton, Tappable, ToolButton
from walkapp.screens.kit.choices import Choice, FootBar, UnitBar
from walkapp.screens.kit.fields import ChoiceField, DayField, Field
from walkapp.screens.kit.lists import Lines, Row, Rows, Stack
from walkapp.screens.kit.marks import Mark
from walkapp.screens.kit.numbers import NumberPad, Stepper, ToleranceBar
from walkapp.screens.kit.placed import PlacedLabels
from walkapp.screens.kit.scrolling import Scroll
from walkapp.screens.kit.strip import StreamStrip
from walkapp.screens.kit.words import Banner, TypeMeasure, WrapLabel

__all__ = [
    "FootBar",
    "AnswerBar",
    "Banner",
    "Choice",
    "ChoiceField",
    "DayField",
    "Field",
    "Lines",
    "Mark",
    "MarkButton",
    "NumberPad",
    "Pair",
    "PlacedLabels",
    "ProbabilityBar",
    "Row",
    "RowDrawing",
    "Rows",
    "Scroll",
    "ShareBar",
    "Stack",
    "Stepper",
    "StreamStrip",
    "TapButton",
    "Tappable",
    "ToleranceBar",
    "ToolButton",
    "TypeMeasure",
    "UnitBar",
    "WrapLabel",
]
