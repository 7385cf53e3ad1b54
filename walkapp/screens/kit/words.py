"""Texts: wrapped labels, and the banners that carry cautions, notices and errors."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from kivy.core.text import DEFAULT_FONT
from kivy.core.text import Label as CoreLabel
from kivy.properties import OptionProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.label import Label

from walkapp.language import msg, tr
from walkapp.screens import look
from walkapp.screens.kit import marks  # noqa: F401  the kv file uses its widget
from walkapp.screens.page import load_kv
from walkapp.visible import visible

BANNER_WORDS = {"caution": msg("Caution"), "notice": msg("Note"), "error": msg("Not done")}
"""What stands in front of each kind of banner."""

_WITHIN_NUMBER = re.compile(r"(?<=\d) (?=%|\d{3}(?!\d))")
_WORD = re.compile(r"[^ \n]+")


def unparted(text: str) -> str:
    r"""Keep a number in one piece where a line is broken: its sign of percent, and its thousands.

    Examples
    --------
    >>> unparted("33 % of 4 800")
    '33\xa0% of 4\xa0800'
    """
    return _WITHIN_NUMBER.sub("\N{NO-BREAK SPACE}", text)


class SeenLabel(Label):
    """A text, whoever wrote it, in which nothing hides or runs backwards; markup stays off."""

    def on_text(self, _: Label, text: str) -> None:
        """Put a mark where a character cannot be seen."""
        self.text = visible(text, keep="\n")

    def _trigger_texture_update(self, name=None, source=None, value=None) -> None:
        """Draw the text as it is now; Kivy hands over the one that `on_text` has replaced."""
        super()._trigger_texture_update(name, source, unparted(self.text) if name == "text" else value)


class WrapLabel(SeenLabel):
    """A text as wide as its place and as high as it needs; no height at all while it is empty.

    Parameters
    ----------
    size_name
        A name of the type scale.
    """

    size_name = OptionProperty("body", options=list(look.TYPE_SCALE_SP))
    test_name = StringProperty("")


class Banner(BoxLayout):
    """A text that must be seen, with the shape and word of its kind; gone while it is empty.

    Parameters
    ----------
    kind
        ``caution``, ``notice`` or ``error``.
    text
        What to say.
    """

    kind = OptionProperty("notice", options=list(BANNER_WORDS))
    text = StringProperty("")
    test_name = StringProperty("")

    def word(self, kind: str) -> str:
        """Give the word of a kind of banner."""
        return tr(BANNER_WORDS[kind])


class TypeMeasure:
    """Measures wrapped text without drawing it; each word is measured once.

    Parameters
    ----------
    font_px
        Size of the type in pixels.
    bold
        Whether it is bold.
    font_name
        Name of the font; that of texts when none is named.
    """

    def __init__(self, font_px: float, *, bold: bool = False, font_name: str = DEFAULT_FONT) -> None:
        self._label = CoreLabel(font_size=font_px, bold=bold, font_name=font_name)
        self._widths: dict[str, float] = {}
        self.line_px = self._label.get_extents("Ag")[1]  # no text: letters to measure

    def width_px(self, text: str) -> float:
        """Measure a text on one line."""
        if text not in self._widths:
            self._widths[text] = self._label.get_extents(text)[0]
        return self._widths[text]

    def widest_word_px(self, text: str) -> float:
        """Measure the widest word; 0 for no text."""
        return max(map(self.width_px, _WORD.findall(unparted(text))), default=0)

    def height_px(self, text: str, room_px: float) -> float:
        """Measure the height of a text wrapped to a width; 0 for no text."""
        return self.line_px * sum(self.line_count(line, room_px) for line in text.splitlines())

    def shortened(self, text: str, room_px: float, lines: int = 1) -> str:
        """Give as many words of a text as fit, and dots where there are more; no word is broken.

        Parameters
        ----------
        text
            One line of text.
        room_px
            Width of a line in pixels.
        lines
            How many lines it may be wrapped to.
        """
        text = visible(text)

        def fits(shown: str) -> bool:
            return self.widest_word_px(shown) <= room_px and self.line_count(shown, room_px) <= lines

        if fits(text):
            return text
        words = _WORD.findall(text)
        several = _most(len(words), lambda count: fits(" ".join((*words[:count], "..."))))
        if several:
            return " ".join((*words[:several], "..."))
        letters = _most(len(text), lambda count: fits(f"{text[:count]}..."))
        return f"{text[:letters]}..."

    def line_count(self, line: str, room_px: float) -> int:
        """Count the lines that one line of text is wrapped to; at least 1."""
        count, used, before = 1, 0.0, 0.0
        for word in _WORD.findall(unparted(line)):
            width = self.width_px(word)
            # As Kivy, which measures a word with its blank, and breaks a line that fills its room.
            if used and before + width >= room_px - 1:
                count, used = count + 1, width
            else:
                used = before + width
            if used > room_px:  # a word longer than the line is broken
                broken = int(used // max(room_px, 1))
                count, used = count + broken, used - broken * room_px
            before = used - width + self.width_px(f"{word} ")
        return count


def column_px(texts: Iterable[str], size_name: str = "body") -> float:
    """Give the width of a column of bold texts in which no word of them is broken.

    Parameters
    ----------
    texts
        What stands in the column.
    size_name
        A name of the type scale.
    """
    measure = TypeMeasure(look.font(size_name), bold=True)
    # Kivy breaks a word that fills its line.
    return max(map(measure.widest_word_px, texts), default=0) + 2


def _most(many: int, holds: Callable[[int], bool]) -> int:
    """Give the largest number up to `many` for which something holds, as it then does for fewer."""
    low, high = 0, many
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if holds(middle) else (low, middle - 1)
    return low


load_kv(__file__)
