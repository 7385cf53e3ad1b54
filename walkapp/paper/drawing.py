"""Pages drawn as PDF, and the letters they are drawn with.

The letters are those of DejaVu Sans, which comes with matplotlib: Latin, Greek and Cyrillic. Nothing of
matplotlib is imported before a page is drawn; the first time that takes some seconds.
"""

from __future__ import annotations

import io
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from walkapp.paper.flow import Box, Mark, Rule, Words
from walkapp.paper.library import drawing_settings, quiet
from walkapp.visible import visible

A4 = (595.2756, 841.8898)
"""Width and height of an upright A4 page in points: 210 mm by 297 mm (ISO 216)."""

_UNITS = 1000
"""Size in points at which letters are measured."""

_WRITTEN_FROM_THE_RIGHT = frozenset(("R", "AL"))
"""Classes of letters (Unicode Standard Annex 9) that would stand in the wrong order here."""


class Letters:
    """The letters of one cut of the typeface, measured.

    Parameters
    ----------
    bold
        Whether it is the bold cut.
    """

    def __init__(self, *, bold: bool = False) -> None:
        with quiet():
            import matplotlib as mpl
            from matplotlib.ft2font import FT2Font

        name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
        self.file = Path(mpl.get_data_path()) / "fonts" / "ttf" / name
        self._font = FT2Font(str(self.file))
        self._font.set_size(_UNITS, 72)
        self._widths: dict[str, float] = {}

    def has(self, letter: str) -> bool:
        """Whether there is a sign for a letter."""
        return ord(letter) <= 0xFFFF and self._font.get_char_index(ord(letter)) != 0

    def width(self, text: str, size: float) -> float:
        """Give the width of a text, in points; letters are counted without drawing pairs closer."""
        return sum(self._width(letter) for letter in text) * size

    def _width(self, letter: str) -> float:
        if letter not in self._widths:
            advance = self._font.load_char(ord(letter)).linearHoriAdvance
            self._widths[letter] = advance / 65536 / _UNITS
        return self._widths[letter]


@cache
def letters_of(bold: bool) -> Letters:
    """Give the letters of a cut; they are read once."""
    return Letters(bold=bold)


@lru_cache(maxsize=4096)
def printable(text: str) -> str:
    r"""Show a text from outside so that every letter of it has a sign on paper.

    Parameters
    ----------
    text
        Any text.

    Returns
    -------
    str
        On one line. What cannot be seen, what the typeface has no sign for, and letters of scripts that
        are written from the right are shown by their number.

    Examples
    --------
    >>> printable("Prüfstand\nżółć 中")
    'Prüfstand żółć <U+4E2D>'
    """
    plain, bold = letters_of(False), letters_of(True)

    def shown(letter: str) -> str:
        is_drawn = plain.has(letter) and bold.has(letter)
        if is_drawn and unicodedata.bidirectional(letter) not in _WRITTEN_FROM_THE_RIGHT:
            return letter
        return f"<U+{ord(letter):04X}>"

    return "".join(map(shown, visible(unicodedata.normalize("NFC", text))))


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One page.

    Parameters
    ----------
    width, height
        Of the paper, in points.
    marks
        What stands on it; x from its left edge, y down from its top edge.
    """

    width: float
    height: float
    marks: tuple[Mark, ...]


def draw(pages: Sequence[Page], title: str) -> bytes:
    """Draw pages as PDF.

    Parameters
    ----------
    pages
        At least one. Their texts are :func:`printable`.
    title
        What a reader of the file shows above it.

    Returns
    -------
    bytes
        The same for the same pages and the same version of matplotlib. The text can be searched and
        copied; its letters are in the file (Type 42).
    """
    out = io.BytesIO()
    with drawing_settings():
        from matplotlib.backends.backend_pdf import PdfPages
        from matplotlib.figure import Figure
        from matplotlib.font_manager import FontProperties

        fonts = {bold: FontProperties(fname=letters_of(bold).file) for bold in (False, True)}
        # A moment of making would let the same page differ every time.
        told = {"Title": title, "Creator": "walkapp", "CreationDate": None}
        with PdfPages(out, metadata=told) as pdf:
            for page in pages:
                figure = Figure(figsize=(page.width / 72, page.height / 72), dpi=72, frameon=False)
                for mark in page.marks:
                    _add(figure, mark, page.height, fonts)
                pdf.savefig(figure)
    return out.getvalue()


def _add(figure: Any, mark: Mark, height: float, fonts: dict[bool, Any]) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Rectangle

    match mark:
        case Words():
            figure.text(
                mark.x,
                height - mark.y,
                mark.text,
                fontproperties=fonts[mark.bold],
                fontsize=mark.size,
                color="black",
                transform=None,
                verticalalignment="baseline",
                parse_math=False,
            )
        case Rule():
            ends = (mark.x, mark.x + mark.length), (height - mark.y, height - mark.y)
            figure.add_artist(Line2D(*ends, linewidth=mark.thick, color="black", transform=None))
        case Box():
            corner = mark.x, height - mark.y - mark.side
            figure.add_artist(
                Rectangle(
                    corner, mark.side, mark.side, fill=False, linewidth=1, edgecolor="black", transform=None
                )
            )
