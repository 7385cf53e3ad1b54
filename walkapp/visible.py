"""Texts that came from outside, shown so that nothing in them hides, reorders or commands anything.

What is stored is what was typed. Only what a person sees goes through here: on a screen, in a terminal,
in the sentence of an error.
"""

from __future__ import annotations

import unicodedata

__all__ = ["in_short", "visible", "visible_json"]

# Letters by their category, and blank all the same: fillers of Korean syllables, the empty Braille
# pattern, the joiner of graphemes (Unicode Technical Standard 39, from memory).
_BLANK = frozenset("\u034f\u115f\u1160\u2800\u3164\uffa0")


def visible(text: str, *, keep: str = "") -> str:
    r"""Show a text on one line, with a mark for every character that cannot be seen.

    Parameters
    ----------
    text
        Any text.
    keep
        Characters that stay as they are, such as line feeds where several lines are shown.

    Returns
    -------
    str
        Line feeds, tabs and blanks of other widths become a plain blank. Control characters (with them
        every terminal escape), marks that change the direction of writing, characters of no width,
        lone surrogates and unassigned ones are shown by their number.

    Notes
    -----
    The direction marks are those of CVE-2021-42574, by which a line reads otherwise than it is stored.

    Examples
    --------
    >>> visible("clean\u202e dab\x1b[2J"), visible("two\nlines"), visible("two\nlines", keep="\n")
    ('clean<U+202E> dab<U+001B>[2J', 'two lines', 'two\nlines')
    """
    if text.isprintable() and _BLANK.isdisjoint(text):
        return text
    return "".join(letter if letter in keep else _shown(letter) for letter in text)


def _shown(letter: str) -> str:
    if letter.isprintable() and letter not in _BLANK:
        return letter
    if letter in "\n\t" or unicodedata.category(letter) == "Zs":
        return " "
    return f"<U+{ord(letter):04X}>"


def visible_json(text: str) -> str:
    r"""Escape in a JSON text what cannot be seen; the values stay the same.

    Examples
    --------
    >>> visible_json('"\u202edab"')
    '"\\u202edab"'
    """
    if text.isprintable() and _BLANK.isdisjoint(text):
        return text
    return "".join(
        letter if letter == "\n" or _shown(letter) == letter else _escaped(letter) for letter in text
    )


def _escaped(letter: str) -> str:
    units = letter.encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[at]:02x}{units[at + 1]:02x}" for at in range(0, len(units), 2))


def in_short(words: str, longest: int = 90) -> str:
    """Cut a text that is too long for its place, between two words where one is near.

    Parameters
    ----------
    words
        Any text.
    longest
        How many letters there is room for, at least 3.

    Examples
    --------
    >>> in_short("soft pads fitted", 12), in_short("Dichtheitsprüfstand", 12)
    ('soft pads …', 'Dichtheits …')
    """
    if len(words) <= longest:
        return words
    blank = words.rfind(" ", longest // 2, longest - 1)
    return f"{words[: blank if blank > 0 else longest - 2].rstrip()} …"
