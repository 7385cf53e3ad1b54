"""Words of a text, folded so that accents, capitals and ways of writing the same letter make no difference.

The same folding is done to what is searched and to what is asked for, in Python, so that no database has
a say in it and a plain scan finds the same.
"""

from __future__ import annotations

import re
import unicodedata

__all__ = ["LONGEST_WORD", "MOST_WORDS", "asked_words", "fold", "holds", "snippet", "words_of"]

LONGEST_WORD = 64
"""Letters by which a word is compared; what comes after them makes no difference."""

MOST_WORDS = 16
"""Words of a question that are looked for."""

SNIPPET = 160
"""Characters of a text that are shown around the first hit."""

_WORD = re.compile(r"[^\W_]+")
_RUN = re.compile(r"\S+")


def fold(text: str) -> str:
    """Fold a text: compatible letters made one (NFKC's table), accents dropped, capitals made small.

    Examples
    --------
    >>> fold("Straße"), fold("É"), fold("２")
    ('strasse', 'e', '2')
    """
    if text.isascii():
        return text.lower()
    # Case folding may make letters that decompose further, and the other way round: once more is enough.
    for _ in range(2):
        text = unicodedata.normalize("NFKD", text).casefold()
    return "".join(letter for letter in text if unicodedata.category(letter)[0] != "M")


def words_of(text: str) -> list[str]:
    """Give the folded words of a text, in its order: runs of letters and digits.

    Returns
    -------
    list of str
        None is longer than ``LONGEST_WORD``. Signs, emoji and blanks are in none. A script that is written
        without blanks gives one word for each run.

    Examples
    --------
    >>> words_of("Nest B: Öl-Leck (0222-2)")
    ['nest', 'b', 'ol', 'leck', '0222', '2']
    """
    return [word[:LONGEST_WORD] for word in _WORD.findall(fold(text))]


def asked_words(question: str) -> tuple[tuple[str, ...], bool]:
    """Give the words that a question asks for, and whether some were left out because there are too many.

    Parameters
    ----------
    question
        Any text of any length.

    Returns
    -------
    tuple
        Different folded words, at most ``MOST_WORDS``, and whether there were more.
    """
    # Words are at least one letter and a blank: what comes after this can be none of the first ones.
    different = tuple(dict.fromkeys(words_of(question[:20_000])))
    return different[:MOST_WORDS], len(different) > MOST_WORDS or len(question) > 20_000


def holds(words: str, asked: tuple[str, ...]) -> bool:
    """Whether each word asked for begins some word of a text.

    Parameters
    ----------
    words
        Folded words, a blank before each.
    asked
        Folded words.
    """
    return all(f" {word}" in words for word in asked)


def snippet(text: str, asked: tuple[str, ...]) -> str:
    """Give what is shown of a text: all of a short one, else the part around the first hit.

    Parameters
    ----------
    text
        As it was typed.
    asked
        Folded words.
    """
    text = " ".join(text.split())
    if len(text) <= SNIPPET:
        return text
    runs = list(_RUN.finditer(text))
    hit = next((run.start() for run in runs if any(word.startswith(asked) for word in words_of(run[0]))), 0)
    least = max(0, min(hit - SNIPPET // 3, len(text) - SNIPPET))
    # Whole words, unless one alone is longer than what is shown.
    whole = [run for run in runs if run.start() >= least and run.end() <= least + SNIPPET]
    start, end = (whole[0].start(), whole[-1].end()) if whole else (hit, hit + SNIPPET)
    return f"{'… ' if start else ''}{text[start:end]}{' …' if end < len(text) else ''}"
