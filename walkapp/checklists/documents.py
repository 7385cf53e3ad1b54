"""One file of a checklist folder, from bytes to a table."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from decimal import Decimal, InvalidOperation

from walkapp.checklists.fields import Notes, Table, Translations
from walkapp.checklists.outline import Outline
from walkapp.errors import Mistake
from walkapp.language import tr

LARGEST_FILE_BYTES = 1_048_576
_SYNTAX_PLACE = re.compile(r" \(at line (\d+), column (\d+)\)$")
# The parser of the standard library takes days for one key of 100,000 parts.
_DEEP_KEY = re.compile(r"""(?<![\w-])(?:(?:[\w-]+|"[^"\n]*"|'[^'\n]*')[ \t]*\.[ \t]*){50}""", re.ASCII)


def document(
    folder_name: str,
    name: str,
    files: Mapping[str, bytes],
    mistakes: list[Mistake],
    translations: Translations | None = None,
) -> Table | None:
    """Parse one file.

    Parameters
    ----------
    folder_name, name
        Names of the folder and of the file.
    files
        Content by file name.
    mistakes
        Where what is wrong is noted.
    translations
        What is said instead of the texts in it.

    Returns
    -------
    Table or None
        None where the file is missing, or, with the mistake noted, cannot be parsed at all.
    """
    shown = f"{folder_name}/{name}"
    data = files.get(name)
    if data is None:
        return None
    if len(data) > LARGEST_FILE_BYTES:
        what = tr("the file has {data} bytes", data=len(data))
        mistakes.append(
            Mistake(
                shown,
                0,
                what,
                tr("shorten it to at most {largest_file_bytes}", largest_file_bytes=LARGEST_FILE_BYTES),
            )
        )
        return None
    try:
        text = data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        mistakes.append(
            Mistake(shown, line, tr("the text is not UTF-8"), tr("save the file with UTF-8 encoding"))
        )
        return None
    if found := _DEEP_KEY.search(text):
        line = text.count("\n", 0, found.start()) + 1
        mistakes.append(Mistake(shown, line, tr("a key has too many parts"), tr("mend the line")))
        return None
    try:
        values = tomllib.loads(text, parse_float=_exact)
        outline = Outline(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        mistakes.append(_syntax_mistake(shown, str(error), text))
        return None
    return Table(values, (), Notes(shown, outline, translations))


def _exact(digits: str) -> Decimal:
    """Keep a number as it was written; one whose exponent no decimal can hold becomes infinite."""
    try:
        return Decimal(digits)
    except InvalidOperation:
        return Decimal("Infinity")  # no text: a number


def _syntax_mistake(shown: str, said: str, text: str) -> Mistake:
    place = _SYNTAX_PLACE.search(said)
    line = int(place[1]) if place else text.count("\n") + 1 if "end of document" in said else 0
    what = said[: place.start()] if place else said.removesuffix(" (at end of document)")
    column = tr(" at column {place}", place=place[2]) if place else ""
    return Mistake(
        shown, line, tr("this is not TOML: {what}{column}", what=what, column=column), tr("mend the line")
    )
