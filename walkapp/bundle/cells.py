"""Texts in CSV cells, made harmless for a person who opens the table in a spreadsheet."""

from __future__ import annotations

import re

__all__ = ["RULE", "neutralise", "neutralise_unless_number", "restore"]

_STARTS_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠", "'")
_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?", re.ASCII)

RULE = (
    "A cell of a text column that begins with = + - @ (also in full width), a tab, a carriage return, "
    "a line feed or an apostrophe has one apostrophe put in front; to read the text, take exactly one "
    "leading apostrophe away."
)


def neutralise(text: str) -> str:
    """Put one apostrophe in front of a text that a spreadsheet could run as a formula.

    Notes
    -----
    The signs are those of the OWASP page "CSV Injection", with their full-width forms, and the
    apostrophe itself, so that :func:`restore` gives back every text exactly.

    Examples
    --------
    >>> neutralise("=1+1"), neutralise("'quoted'"), neutralise("1+1")
    ("'=1+1", "''quoted'", '1+1')
    """
    return f"'{text}" if text.startswith(_STARTS_FORMULA) else text


def neutralise_unless_number(text: str) -> str:
    """Do the same for a column of unknown meaning, where ``-12.5`` must stay a number.

    Examples
    --------
    >>> neutralise_unless_number("-12.5"), neutralise_unless_number("-12.5+1")
    ('-12.5', "'-12.5+1")
    """
    return text if _NUMBER.fullmatch(text) else neutralise(text)


def restore(cell: str) -> str:
    """Take exactly one leading apostrophe away, if there is one.

    Examples
    --------
    >>> restore("'=1+1"), restore("''quoted'"), restore("1+1")
    ('=1+1', "'quoted'", '1+1')
    """
    return cell.removeprefix("'")
