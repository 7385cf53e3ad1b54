"""Writing in which it is seen where each letter comes from.

What the catalogues give is written in small Greek and large Cyrillic letters, what people typed and what
checklists say in Armenian ones. So a Latin letter that is shown came from the code itself, a small Cyrillic
or a large Greek one from code that made a text's letters smaller or larger, which other languages do not
bear. Days and decimals are written as nobody else does: those that are shown as a record holds them are
seen. All these letters are in the font of the printed pages.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import cache
from string import ascii_lowercase, ascii_uppercase
from typing import Any
from unittest.mock import patch

from tests.languages.extraction import messages
from walkapp.actions import speaking
from walkapp.checklists import fields, reading
from walkapp.language import ENGLISH, Language, use
from walkapp.model.records import kinds
from walkapp.model.schema import columns_of

_GREEK = "αβγδεζηθικλμνξοπρστυφχψωάέ"
_CYRILLIC = "АБВГДЕЖЗИЙКЛМНОПРСТУФХЦЧШЩ"
_ARMENIAN = "".join(chr(0x561 + at) for at in range(26))
_LARGE_ARMENIAN = "".join(chr(0x531 + at) for at in range(26))

_FROM_CATALOGUE = str.maketrans(ascii_lowercase + ascii_uppercase, _GREEK + _CYRILLIC)
_FROM_PEOPLE = str.maketrans(ascii_lowercase + ascii_uppercase, _ARMENIAN + _LARGE_ARMENIAN)

_PUT_IN = re.compile(r"(\{[^}]*\}|%\([a-z]+\)[sd]|%%)")
_BARE = re.compile(r"[A-Za-z]{2,}")
_FIGURE = re.compile(r"(?<![\w-])\d{4}-\d\d(?:-\d\d)?(?![\d-])|(?<![\w.])\d+\.\d+(?![\w]|\.\d)")
_POINT = re.compile(r"(?<=\d)\.(?=\d)")
_DECIMAL_SIGN = "·"
_CHANGED = re.compile(r"[А-Яа-я]*[а-я][А-Яа-я]*|[Α-Ωα-ωάέ]*[Α-ΩΆΈ][Α-Ωα-ωάέ]*")

_FOR_PROGRAMS = {"time_zone", "version"}
"""Texts of a checklist that nobody translates."""

SAME_EVERYWHERE = frozenset({"OK", "NOK", "LSL", "USL", "PPM", "ppm", "Cp", "Cpk", "Pp", "Ppk"})
"""The trade writes them so in every language."""


def of_catalogue(message: str) -> str:
    """Write a text as the catalogue gives it; what stands for a value stays."""
    pieces = _PUT_IN.split(message)
    return "".join(
        piece if _PUT_IN.fullmatch(piece) else _POINT.sub(_DECIMAL_SIGN, piece.translate(_FROM_CATALOGUE))
        for piece in pieces
    )


def of_people(text: str) -> str:
    """Write a text as somebody typed it."""
    return text.translate(_FROM_PEOPLE)


class _Disguised:
    """Knows the texts that the catalogues have; any other stays as it is, as for a person."""

    def __init__(self) -> None:
        self._known = messages().keys()

    def gettext(self, message: str, /) -> str:
        return self.pgettext("", message)

    def pgettext(self, context: str, message: str, /) -> str:
        return of_catalogue(message) if (context, message) in self._known else message

    def ngettext(self, msgid1: str, msgid2: str, n: int, /) -> str:
        message = msgid1 if n == 1 else msgid2
        return of_catalogue(message) if ("", msgid1) in self._known else message


@cache
def disguised() -> Language:
    """Give the language in which each text of the catalogues is seen to be one."""
    return replace(
        ENGLISH,
        code="qq",
        decimal_sign=_DECIMAL_SIGN,
        digits="{day}/{month}/{year}",
        month_digits="{month}/{year}",
        weekdays=tuple(map(of_catalogue, ENGLISH.weekdays)),
        months=tuple(map(of_catalogue, ENGLISH.months)),
        short_weekdays=tuple(map(of_catalogue, ENGLISH.short_weekdays)),
        short_months=tuple(map(of_catalogue, ENGLISH.short_months)),
        catalogue=_Disguised(),
    )


def bare_words(text: str) -> list[str]:
    """Give the words that no catalogue gave and nobody typed, and those whose letters were changed.

    Examples
    --------
    >>> bare_words("Ξεχτ: 12 parts of αβγ"), bare_words("ԱԲ: NOK, p = 0.04"), bare_words("аβγ Аβγ")
    (['parts', 'of', 'Ξεχτ'], [], ['а'])
    """
    return [word for word in _BARE.findall(text) if word not in SAME_EVERYWHERE] + _CHANGED.findall(text)


def bare_figures(text: str) -> list[str]:
    """Give the days, months and decimals that stand as records hold them, not as the language writes them.

    Examples
    --------
    >>> bare_figures("2026-03-09 06:10, 12.5 mm, 2026-03"), bare_figures("9/3/2026, 12·5 mm, version 1.2.3")
    (['2026-03-09', '12.5', '2026-03'], [])
    """
    return _FIGURE.findall(text)


@contextmanager
def disguise() -> Iterator[None]:
    """Write everything so: what is said, what records hold and what checklists say."""
    real_record = kinds.from_plain
    real_text, real_texts, real_words = fields.Table.text, fields.Table.texts, fields.Table.words
    are_names = True

    def from_plain(kind: Any, names: Any, plain: Any) -> Any:
        typed = {name for name, column in columns_of(kind).items() if column.is_free_text}
        shown = {
            name: of_people(value) if name in typed and isinstance(value, str) else value
            for name, value in plain.items()
        }
        return real_record(kind, names, shown)

    def text(self: fields.Table, key: str, **options: Any) -> str:
        found = real_text(self, key, **options)
        if key in _FOR_PROGRAMS:
            return found.replace("-", "_")  # A version is named like a day, and is none that is said.
        return of_people(found)

    def texts(self: fields.Table, key: str, **options: Any) -> tuple[str, ...]:
        found = real_texts(self, key, **options)
        return tuple(map(of_people, found)) if are_names else found

    def words(self: fields.Table, key: str, allowed: tuple[str, ...]) -> tuple[str, ...]:
        # One of a few words is for the program, unless the checklist made them up: names of its shifts.
        nonlocal are_names
        before, are_names = are_names, any(map(str.isascii, allowed)) is False
        try:
            return real_words(self, key, allowed)
        finally:
            are_names = before

    with (
        patch.object(kinds, "from_plain", from_plain),
        patch.object(fields.Table, "text", text),
        patch.object(fields.Table, "texts", texts),
        patch.object(fields.Table, "words", words),
        # Whatever language a call or the app chooses.
        patch.object(speaking, "load", lambda code: disguised()),
    ):
        reading._parsed.cache_clear()
        use(disguised())
        try:
            yield
        finally:
            use(ENGLISH)
            reading._parsed.cache_clear()
