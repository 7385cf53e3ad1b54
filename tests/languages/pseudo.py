"""A made-up language in which every text that went through a catalogue is seen to have done so."""

from __future__ import annotations

import re
from dataclasses import replace

from walkapp.language import ENGLISH, Language

OPEN, CLOSE = "⟦", "⟧"


class _Bracketed:
    """Puts each text into brackets; values that are put in stand inside them."""

    def gettext(self, message: str, /) -> str:
        return f"{OPEN}{message}{CLOSE}"

    def pgettext(self, context: str, message: str, /) -> str:
        return f"{OPEN}{message}{CLOSE}"

    def ngettext(self, msgid1: str, msgid2: str, n: int, /) -> str:
        return f"{OPEN}{msgid1 if n == 1 else msgid2}{CLOSE}"


PSEUDO: Language = replace(ENGLISH, code="qq", catalogue=_Bracketed())


def outside(text: str) -> str:
    """Give what of a text stands outside all brackets.

    Examples
    --------
    >>> outside("⟦Next: ⟦it⟧⟧ and clean")
    ' and clean'
    """
    while True:
        shorter = re.sub(f"{OPEN}[^{OPEN}{CLOSE}]*{CLOSE}", "", text)
        if shorter == text:
            return text
        text = shorter


def words_outside(text: str, data: frozenset[str]) -> list[str]:
    """Give the words of a text that no catalogue knows and that are no data either.

    Parameters
    ----------
    text
        What is shown.
    data
        Words of records and checklists, in small letters.
    """
    return [word for word in re.findall(r"[^\W\d_]{3,}", outside(text)) if word.lower() not in data]
