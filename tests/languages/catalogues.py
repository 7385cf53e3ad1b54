"""The catalogues beside the program, read and written with Babel."""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from tests.languages.extraction import messages
from walkapp.languages import FOLDER, LANGUAGES

CODES = tuple(sorted({code.partition("_")[0] for code in LANGUAGES} - {"en"}))
"""Every language with a catalogue; those that differ by country share one."""

OPENING = """\
# Texts of walkapp. What stands in braces is put in by the program and stays as it is.
msgid ""
msgstr ""
"""


PLURALS = {
    "de": (2, "(n != 1)"),
    "es": (2, "(n != 1)"),
    "pl": (3, "(n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2)"),
}
"""How many texts a count has, and which one is for n: manual of GNU gettext, "Additional functions for
plural forms". Named here since Babel's differ from version to version."""


class Undated(Catalog):
    """A catalogue that says of itself only what readers need: the same whenever it is written."""

    @property
    def num_plurals(self) -> int:
        return PLURALS[str(self.locale)][0]

    @property
    def plural_forms(self) -> str:
        return "nplurals={}; plural={};".format(*PLURALS[str(self.locale)])

    @property
    def mime_headers(self) -> list[tuple[str, str]]:
        return [
            ("Language", str(self.locale)),
            ("Content-Type", "text/plain; charset=utf-8"),
            ("Content-Transfer-Encoding", "8bit"),
            ("Plural-Forms", self.plural_forms),
        ]


def path_of(code: str) -> Path:
    """Give the file that translators edit."""
    return FOLDER / f"{code}.po"


@cache
def read(code: str) -> Catalog:
    """Read a catalogue off the disk, once, so do not change it; an empty one where there is none yet."""
    if not path_of(code).exists():
        return Catalog(locale=code)
    with path_of(code).open("rb") as file:
        return read_po(file, locale=code)


def updated(code: str) -> Undated:
    """Give the catalogue with the texts that the program has now, and the translations that there are."""
    before = read(code)
    fresh = Undated(locale=code)
    for message in messages().values():
        known = before.get(message.one, context=message.context or None)
        text = known.string if known is not None else ""
        if message.many and not isinstance(text, tuple):
            text = (text, *("",) * (fresh.num_plurals - 1))
        fresh.add(
            message.id,
            text,
            locations=[(place, None) for place in message.places],
            context=message.context or None,
        )
    return fresh


def as_bytes(catalogue: Undated) -> bytes:
    """Write a catalogue as its file."""
    target = io.BytesIO()
    write_po(target, catalogue, width=100, omit_header=True, include_lineno=False)
    header = "".join(f'"{name}: {value}\\n"\n' for name, value in catalogue.mime_headers)
    return f"{OPENING}{header}\n".encode() + target.getvalue()


def compiled(catalogue: Undated) -> bytes:
    """Write what the program reads."""
    target = io.BytesIO()
    write_mo(target, catalogue)
    return target.getvalue()


def untranslated(catalogue: Catalog) -> list[str]:
    """Give the texts that have no translation, or not every plural of one."""
    return [
        str(message.id)
        for message in catalogue
        if message.id
        and not all(message.string if isinstance(message.string, tuple) else (message.string,))
    ]
