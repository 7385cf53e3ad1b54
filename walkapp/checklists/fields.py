"""Taking a table of a checklist apart, key by key, noting every mistake instead of stopping."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from walkapp.checklists.outline import Outline, Path
from walkapp.errors import Mistake
from walkapp.language import decimal_text, msg, tr

_ID = re.compile(r"[a-z][a-z0-9-]{0,39}", re.ASCII)
MOST_MISTAKES = 100
"""Mistakes of one file that are told; nobody mends more at once, and a hostile file could hold millions."""

MOST_IN_WORD = 40
FIRST_YEAR, LAST_YEAR = 2000, 2199

_DAY_EXAMPLE = "2026-03-02"
_DAY_FORM = msg("a date such as {example}, without quotes")
_MOST_ENTRIES = 100
_MOST_TRANSLATIONS = 5_000
_MOST_DIGITS = 30
_BIDIRECTIONAL = set("\u200e\u200f\u061c\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def _day_form() -> str:
    return tr(_DAY_FORM, example=_DAY_EXAMPLE)


class StopReadingError(Exception):
    """Reading of a file stops here; what is noted until now is told."""


class Translations:
    """What the texts of a checklist are in another language.

    Parameters
    ----------
    texts
        Translation by text.
    """

    def __init__(self, texts: Mapping[str, str]) -> None:
        self._texts = texts
        self.used: set[str] = set()
        self.missing: list[str] = []

    def beside(self, text: str, more: str) -> str:
        """Give the translation of a text with something behind it; empty where there is none."""
        found = self._texts.get(f"{text}{more}", "")
        self.used.update((f"{text}{more}",) if found else ())
        return found

    def of(self, text: str) -> str:
        """Give the translation of a text; the text itself where there is none, which is noted."""
        if text in self._texts:
            self.used.add(text)
            return self._texts[text]
        if text not in self.missing:
            self.missing.append(text)
        return text


class Notes:
    """The mistakes of one file, with their lines.

    Parameters
    ----------
    file
        Name of the file as the user knows it.
    outline
        Where everything stands in it.
    translations
        What is said instead of the texts for people in it.
    """

    def __init__(self, file: str, outline: Outline, translations: Translations | None = None) -> None:
        self.file = file
        self.mistakes: list[Mistake] = []
        self.translations = translations
        self._outline = outline

    def line(self, path: Path) -> int:
        """Give the line of a key."""
        return self._outline.line_of(path)

    def add(self, path: Path, what: str, mend: str) -> None:
        """Note a mistake at a key.

        Raises
        ------
        StopReadingError
            If there are more than :data:`MOST_MISTAKES`.
        """
        if len(self.mistakes) == MOST_MISTAKES:
            what, mend = (
                tr("there are more than {most_mistakes} mistakes", most_mistakes=MOST_MISTAKES),
                tr("mend the others first"),
            )
            self.mistakes.append(Mistake(self.file, self.line(path), what, mend))
            raise StopReadingError
        self.mistakes.append(Mistake(self.file, self.line(path), what, mend))


class Table:
    """One table of a checklist file.

    Every method takes a key out, checks it, and gives a harmless value when it is missing or wrong,
    after noting the mistake. :meth:`finish` notes the keys that nobody asked for.

    Parameters
    ----------
    values
        The table as parsed.
    path
        Where it stands in the document.
    notes
        Where mistakes go.
    """

    def __init__(self, values: Mapping[str, Any], path: Path, notes: Notes) -> None:
        self._values = values
        self._known: set[str] = set()
        self.path = path
        self.notes = notes

    def has(self, key: str) -> bool:
        """Say whether a key is there."""
        return key in self._values

    def wrong(self, key: str, what: str, mend: str) -> None:
        """Note a mistake at a key of this table."""
        self.notes.add((*self.path, key), what, mend)

    def text(self, key: str, *, longest: int, default: str | None = None, is_told: bool = False) -> str:
        """Take a text of at most `longest` characters; needed when there is no default.

        One that `is_told` to people is taken in their language, where the checklist has it.
        """
        value: str = self._take(key, str, tr("a text in quotes"), default)
        if not isinstance(self._values.get(key), str):
            return default or ""
        return self._checked_text(key, value, longest, is_told=is_told)

    def texts(self, key: str, *, longest: int, is_told: bool = False) -> tuple[str, ...]:
        """Take a list of texts as in :meth:`text`; an absent one is empty."""
        values = self._take(key, list, tr('a list such as ["one", "two"]'), [])
        if not isinstance(values, list):
            return ()
        if len(values) > _MOST_ENTRIES:
            self.wrong(
                key,
                tr("{key} holds {values} entries", key=key, values=len(values)),
                tr("list at most {most_entries}", most_entries=_MOST_ENTRIES),
            )
        found = []
        for value in values[:_MOST_ENTRIES]:
            if isinstance(value, str):
                found.append(self._checked_text(key, value, longest, is_told=is_told))
            else:
                self.wrong(
                    key,
                    tr("{key} holds {shown}", key=key, shown=_shown(value)),
                    tr("write every entry as a text in quotes"),
                )
        return tuple(found)

    def translation_beside(self, key: str, more: str, *, longest: int) -> str:
        """Give what the language has for a text with `more` behind it; empty where it has nothing."""
        if self.notes.translations is None:
            return ""
        told = self.notes.translations.beside(self._values.get(key, ""), more)
        return self._plain_text(key, told, longest) if told else ""

    def all_texts(self, *, longest: int) -> dict[str, str]:
        """Take every key, each with a text: the translations of a checklist."""
        return {
            unicodedata.normalize("NFC", key): self.text(key, longest=longest)
            for key in list(self._values)[:_MOST_TRANSLATIONS]
        }

    def only_known(self, used: Iterable[str], missing: Sequence[str]) -> None:
        """Note the translations of texts that the checklist does not have."""
        known = {unicodedata.normalize("NFC", text) for text in used}
        for key in self._values:
            if unicodedata.normalize("NFC", key) not in known:
                self.notes.add(
                    (*self.path, key),
                    tr("no text of the checklist reads “{text}”", text=_brief(key)),
                    tr(
                        "copy the text letter by letter, or take the line out{near}",
                        near=near(key, missing),
                    ),
                )

    def key(self, key: str, *, default: str | None = None) -> str:
        """Take an id: small letters, digits and dashes."""
        value: str = self._take(key, str, tr("a text in quotes"), default)
        if not isinstance(self._values.get(key), str):
            return default or ""
        if not _ID.fullmatch(value):
            self.wrong(
                key,
                tr("{key} is {shown}", key=key, shown=_shown(value)),
                tr("use small letters, digits and dashes, a letter first, at most 40 characters"),
            )
        return value

    def word(self, key: str, words: tuple[str, ...]) -> str:
        """Take one of a few words; gives an empty text when it is none of them."""
        value = self._take(key, str, tr("a text in quotes"), None)
        if not isinstance(value, str):
            return ""
        if value not in words:
            self.wrong(
                key,
                tr("{key} is {shown}", key=key, shown=_shown(value)),
                tr("use one of {words}{near}", words=", ".join(words), near=near(value, words)),
            )
            return ""
        return value

    def words(self, key: str, words: tuple[str, ...]) -> tuple[str, ...]:
        """Take a list of words, each one of a few and none twice; an absent one is empty."""
        found = []
        for value in self.texts(key, longest=MOST_IN_WORD):
            if value in words and value not in found:
                found.append(value)
            elif value in found:
                self.wrong(
                    key, tr("{key} holds {shown} twice", key=key, shown=_shown(value)), tr("list it once")
                )
            elif value.strip() and len(value) <= MOST_IN_WORD:  # what is empty or too long is told already
                mend = (
                    tr("use {words}{near}", words=", ".join(words), near=near(value, words))
                    if words
                    else tr("take it out")
                )
                self.wrong(key, tr("{key} holds {shown}", key=key, shown=_shown(value)), mend)
        return tuple(found)

    def day(self, key: str, *, needed: bool = False) -> date | None:
        """Take a date; none when it is absent or wrong."""
        value = self._take(key, date, _day_form(), None, needed=needed)
        return self._checked_day(key, value) if self.has(key) and value is not None else None

    def days(self, key: str, *, most: int) -> tuple[date, ...]:
        """Take a list of dates; an absent one is empty."""
        values = self._take(key, list, tr("a list such as [{day_example}]", day_example=_DAY_EXAMPLE), [])
        if not isinstance(values, list):
            return ()
        if len(values) > most:
            self.wrong(
                key,
                tr("{key} holds {values} entries", key=key, values=len(values)),
                tr("list at most {most}", most=most),
            )
        found = []
        for value in values[:most]:
            if not isinstance(value, date):
                self.wrong(
                    key,
                    tr("{key} holds {shown}", key=key, shown=_shown(value)),
                    tr("write every entry as {day_form}", day_form=_day_form()),
                )
            elif (day := self._checked_day(key, value)) is not None:
                found.append(day)
        return tuple(found)

    def _checked_day(self, key: str, value: date) -> date | None:
        if isinstance(value, datetime):
            self.wrong(
                key,
                tr("{key} is {shown}", key=key, shown=_shown(value)),
                tr("write {day_form}, without a time", day_form=_day_form()),
            )
            return None
        if not FIRST_YEAR <= value.year <= LAST_YEAR:
            self.wrong(
                key,
                tr("{key} is {shown}", key=key, shown=_shown(value)),
                tr(
                    "use a year from {first_year} to {last_year}",
                    first_year=FIRST_YEAR,
                    last_year=LAST_YEAR,
                ),
            )
            return None
        return value

    def flag(self, key: str) -> bool:
        """Take true or false; an absent one is false."""
        value = self._take(key, bool, tr("true or false"), False)
        return value is True

    def whole(self, key: str, *, least: int, most: int, default: int) -> int:
        """Take a whole number."""
        value: Any = self._take(key, int, tr("a whole number"), default)
        whole = int(value)
        if not least <= whole <= most:
            self.wrong(
                key,
                tr("{key} is {shown}", key=key, shown=_shown(whole)),
                tr("use a whole number from {least} to {most}", least=least, most=most),
            )
            return default
        return whole

    def number(self, key: str, *, least: float, most: float, default: float) -> float:
        """Take a number."""
        value = self._number(key)
        if value is None:
            return default
        if not least <= value <= most:
            self.wrong(
                key,
                tr("{key} is {shown}", key=key, shown=_shown(value)),
                tr(
                    "use a number from {least} to {most}",
                    least=decimal_text(f"{least:g}"),
                    most=decimal_text(f"{most:g}"),
                ),
            )
            return default
        return float(value)

    def decimal(self, key: str) -> Decimal | None:
        """Take a number with the digits as they were written; none when it is absent."""
        return self._number(key)

    def _number(self, key: str) -> Decimal | None:
        value: Any = self._take(key, (int, Decimal), tr("a number"), None, needed=False)
        if isinstance(value, bool) or not isinstance(value, int | Decimal):
            return None
        # A whole number of a million digits is compared first: to make a decimal of it takes minutes.
        is_endless = isinstance(value, int) and abs(value) >= 10**12
        number = Decimal("Infinity" if is_endless else value)  # no text: a number
        if not number.is_finite() or abs(number) >= 10**12:
            self.wrong(
                key,
                tr("{key} is {shown}", key=key, shown=_shown(value)),
                tr("use a number below 1,000,000,000,000"),
            )
            return None
        _, digits, exponent = number.as_tuple()
        if len(digits) > _MOST_DIGITS or (isinstance(exponent, int) and exponent < -_MOST_DIGITS):
            self.wrong(
                key,
                tr("{key} is {shown}", key=key, shown=_shown(value)),
                tr("use at most {most_digits} digits", most_digits=_MOST_DIGITS),
            )
            return None
        return number

    def table(self, key: str) -> Table | None:
        """Take a table within this one; none when it is absent."""
        value = self._take(key, dict, tr("a table"), None, needed=False)
        return Table(value, (*self.path, key), self.notes) if isinstance(value, dict) else None

    def tables(self, key: str, *, most: int) -> tuple[Table, ...]:
        """Take an array of tables; an absent one is empty.

        Raises
        ------
        StopReadingError
            If there are more than `most`: to compare thousands with each other would take for ever.
        """
        values = self._take(key, list, tr("tables headed [[{key}]]", key=key), [])
        if not isinstance(values, list):
            return ()
        if not all(isinstance(value, dict) for value in values):
            self.wrong(
                key,
                tr("{key} holds something else than tables", key=key),
                tr("write each under [[{key}]]", key=key),
            )
            return ()
        if len(values) > most:
            self.wrong(
                key,
                tr("there are {values} tables headed [[{key}]]", values=len(values), key=key),
                tr("list at most {most}", most=most),
            )
            raise StopReadingError
        return tuple(
            Table(value, (*self.path, key, place), self.notes) for place, value in enumerate(values)
        )

    def refuse(self, keys: Iterable[str], mend: str) -> None:
        """Note keys that are known but have no place here."""
        for key in keys:
            self._known.add(key)
            if self.has(key):
                self.wrong(key, tr("{key} does not belong here", key=key), mend)

    def finish(self) -> None:
        """Note every key that nobody asked for, with the nearest one that is known."""
        for key in self._values:
            if key not in self._known:
                known = tuple(sorted(self._known))
                self.wrong(
                    key,
                    tr("{brief} is not a key that is known here", brief=_brief(key)),
                    tr("take it out or rename it{near}", near=near(key, known)),
                )

    def _take(
        self, key: str, kinds: type | tuple[type, ...], form: str, default: Any, *, needed: bool = True
    ) -> Any:
        self._known.add(key)
        if key not in self._values:
            if default is None and needed:
                self.notes.add(
                    self.path, tr("{key} is missing", key=key), tr("add {key} = {form}", key=key, form=form)
                )
            return default
        value = self._values[key]
        wants_bool = kinds is bool
        if not isinstance(value, kinds) or (isinstance(value, bool) and not wants_bool):
            self.wrong(
                key, tr("{key} is {shown}", key=key, shown=_shown(value)), tr("write {form}", form=form)
            )
            return default
        return value

    def _checked_text(self, key: str, value: str, longest: int, *, is_told: bool) -> str:
        text = self._plain_text(key, value, longest)
        if not is_told or self.notes.translations is None:
            return text
        # What is said instead has to fit the same place.
        return self._plain_text(key, self.notes.translations.of(text), longest)

    def _plain_text(self, key: str, value: str, longest: int) -> str:
        if not value.strip():
            self.wrong(key, tr("{key} is empty", key=key), tr("write what it says, or take the key out"))
        elif len(value) > longest:
            self.wrong(
                key,
                tr("{key} has {value} characters", key=key, value=len(value)),
                tr("shorten it to at most {longest}", longest=longest),
            )
        for letter in value:
            if letter != "\n" and (
                # no text: categories of Unicode
                unicodedata.category(letter) in ("Cc", "Cs")
                or letter in _BIDIRECTIONAL  # no text: categories of Unicode
            ):
                self.wrong(
                    key,
                    tr("{key} holds the unseen character U+{ord}", key=key, ord=f"{ord(letter):04X}"),
                    tr("take it out"),
                )
                break
        return unicodedata.normalize("NFC", value)


def near(word: str, known: Iterable[str]) -> str:
    """Suggest the nearest known word, as the end of a sentence; empty when none is near.

    Examples
    --------
    >>> near("hazard", ("hazards", "minutes"))
    ' (did you mean hazards?)'
    """
    found = difflib.get_close_matches(word, list(known), n=1, cutoff=0.6)
    return tr(" (did you mean {found}?)", found=found[0]) if found else ""


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return tr("a table")
    if isinstance(value, list):
        return tr("a list")
    if isinstance(value, int) and abs(value) >= 10**40:
        return tr("a number of more than 40 digits")  # Python refuses to write out thousands of them
    shown = f'"{value}"' if isinstance(value, str) else str(value)
    return _brief(shown)


def _brief(shown: str) -> str:
    return shown if len(shown) <= 40 else shown[:37] + "..."
