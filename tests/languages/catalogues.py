"""The catalogues beside the program, read and written with Babel."""

from __future__ import annotations

import io
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from tests.languages.extraction import messages
from walkapp.languages import FOLDER, LANGUAGES

CODES = tuple(sorted({code.partition("_")[0] for code in LANGUAGES} - {"en"}))
"""Every language with a catalogue; those that differ by country share one."""

HEADER = """\
# Texts of walkapp. What stands in braces is put in by the program and stays as it is.
msgid ""
msgstr ""
"Language: {code}\\n"
"Content-Type: text/plain; charset=utf-8\\n"
"Content-Transfer-Encoding: 8bit\\n"
"Plural-Forms: {plurals}\\n"

"""


def path_of(code: str) -> Path:
    """Give the file that translators edit."""
    return FOLDER / f"{code}.po"


def read(code: str) -> Catalog:
    """Read a catalogue as it is on disk; an empty one where there is none yet."""
    if not path_of(code).exists():
        return Catalog(locale=code)
    with path_of(code).open("rb") as file:
        return read_po(file, locale=code)


def updated(code: str) -> Catalog:
    """Give the catalogue with the texts that the program has now, and the translations that there are."""
    before = read(code)
    fresh = Catalog(locale=code)
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


def as_bytes(catalogue: Catalog) -> bytes:
    """Write a catalogue as its file."""
    target = io.BytesIO()
    write_po(target, catalogue, width=100, omit_header=True, include_lineno=False)
    header = HEADER.format(code=catalogue.locale, plurals=catalogue.plural_forms)
    return header.encode() + target.getvalue()


def compiled(catalogue: Catalog) -> bytes:
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
