"""Texts in CSV cells, made harmless for a person who opens the table in a spreadsheet."""

from __future__ import annotations

import re
from functools import lru_cache

__all__ = ["RULE", "neutralise", "neutralise_unless_number", "restore", "restore_format_1"]

_STARTS_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠", "'")
# A spreadsheet that takes another sign for the separator, as those of many countries take the
# semicolon, begins new cells and rows within a text. Quotes do not help: they do not stand at the
# beginning of what it takes for a cell.
_STARTS_WITHIN = re.compile(r"""([,;|\t\r\n])(?=[-=+@＝＋－＠'"])""")
_APOSTROPHE = re.compile(r"(?:\A|(?<=[,;|\t\r\n]))'")
_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?", re.ASCII)

# no text: it stands in the descriptor, the same in every language
RULE = (
    "A cell of a text column that begins with = + - @ (also in full width), a tab, a carriage return, "
    "a line feed or an apostrophe has one apostrophe put in front. So has = + - @ (also in full width), "
    "a quotation mark or an apostrophe within it that follows a comma, a semicolon, a bar, a tab, a "
    "carriage return or a line feed. To read the text, take exactly one apostrophe away at the "
    "beginning and after each of those six signs, where there is one."
)


@lru_cache(maxsize=256)  # The same few roles, cavities and empty texts come thousands of times.
def neutralise(text: str) -> str:
    """Put an apostrophe wherever a spreadsheet could begin to run a text as a formula.

    Notes
    -----
    The signs are those of the OWASP page "CSV Injection", with their full-width forms, and the
    apostrophe itself, so that :func:`restore` gives back every text exactly. That page warns of
    separators and quotes that begin a new cell, too. LibreOffice 7.4 runs ``=1+1`` out of the text
    ``x;=1+1`` when it is told that semicolons separate (tests/bundle/test_spreadsheet.py).

    Examples
    --------
    >>> neutralise("=1+1"), neutralise("'quoted'"), neutralise("1+1")
    ("'=1+1", "''quoted'", '1+1')
    >>> neutralise("worn;=1+1"), neutralise("worn, -5 °C")
    ("worn;'=1+1", 'worn, -5 °C')
    """
    marked = _STARTS_WITHIN.sub(r"\1'", text) if _STARTS_WITHIN.search(text) else text
    return f"'{marked}" if text.startswith(_STARTS_FORMULA) else marked


def neutralise_unless_number(text: str) -> str:
    """Do the same for a column of unknown meaning, where ``-12.5`` must stay a number.

    Examples
    --------
    >>> neutralise_unless_number("-12.5"), neutralise_unless_number("-12.5+1")
    ('-12.5', "'-12.5+1")
    """
    return text if _NUMBER.fullmatch(text) else neutralise(text)


def restore(cell: str) -> str:
    """Take the apostrophes away that :func:`neutralise` put there.

    Examples
    --------
    >>> restore("'=1+1"), restore("''quoted'"), restore("1+1"), restore("worn;'=1+1")
    ('=1+1', "'quoted'", '1+1', 'worn;=1+1')
    """
    return _APOSTROPHE.sub("", cell) if "'" in cell else cell


def restore_format_1(cell: str) -> str:
    """Take exactly one leading apostrophe away, if there is one: the rule of bundles of format 1.

    Examples
    --------
    >>> restore_format_1("'=1+1"), restore_format_1("it's;'so'")
    ('=1+1', "it's;'so'")
    """
    return cell.removeprefix("'")
