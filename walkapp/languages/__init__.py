"""The languages that the program speaks: a catalogue of texts for each, and how it writes numbers and days.

``xx.po`` beside this file is what translators edit; ``xx.mo`` is made of it (``python -m tests.languages``)
and is what is read.
"""

from __future__ import annotations

import functools
import gettext
from pathlib import Path

from walkapp.language import ENGLISH, Language
from walkapp.languages.locales import WRITTEN

__all__ = ["FOLDER", "LANGUAGES", "load", "nearest"]

FOLDER = Path(__file__).parent
"""Where the catalogues are."""

LANGUAGES: dict[str, str] = {ENGLISH.code: ENGLISH.name} | {
    code: each["name"] for code, each in WRITTEN.items()
}
"""Every language by its code, with what its own speakers call it."""


@functools.cache
def load(code: str) -> Language:
    """Read the catalogue of a language; it takes some 10 ms once, and is kept.

    Parameters
    ----------
    code
        One of ``LANGUAGES``.

    Raises
    ------
    ValueError
        If there is no such language.
    """
    if code == ENGLISH.code:
        return ENGLISH
    if code not in WRITTEN:
        raise ValueError(f"there is no language {code!r}")
    with (FOLDER / f"{code.partition('_')[0]}.mo").open("rb") as file:
        catalogue = gettext.GNUTranslations(file)
    written = dict(WRITTEN[code])
    for names in ("weekdays", "months", "short_weekdays", "short_months"):
        written[names] = tuple(written[names].split())
    return Language(code=code, catalogue=catalogue, **written)


def nearest(*locales: str) -> str:
    """Give the code of the language that comes nearest to what a system is set to.

    Parameters
    ----------
    locales
        The most wanted first, as in the variable ``LANG``: ``de_AT.UTF-8``; or as in BCP 47: ``es-MX``.

    Returns
    -------
    str
        One of ``LANGUAGES``: of the first that comes near one; English where none does.

    Examples
    --------
    >>> nearest("de_AT.UTF-8"), nearest("es-MX"), nearest("es_AR"), nearest("C"), nearest("fr", "pl")
    ('de', 'es_MX', 'es', 'en', 'pl')
    """
    for locale in locales:
        plain = locale.partition(".")[0].partition("@")[0].replace("-", "_")
        language = plain.partition("_")[0].lower()
        for code in (plain, language):
            if code in LANGUAGES:
                return code
    return ENGLISH.code
