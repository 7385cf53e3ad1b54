"""The language that people are spoken to in: every text, number and day for a person goes through here.

What stands in a record, a bundle, a CSV or a JSON answer is for programs: it is the same in every language,
and what makes it is run :func:`in_english`. A program speaks one language at a time; the entry points
choose it with :func:`use`. This module knows no disk: whoever calls `use` brings the catalogue.

Texts are whole sentences with named values, since words come in another order elsewhere::

    tr("{nok} of {checked} NOK at {station}", nok=3, checked=20, station="Welding")
    trn("{count} part", "{count} parts", 20)
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Protocol, TypeVar

__all__ = [
    "ENGLISH",
    "Catalogue",
    "Language",
    "code_for_people",
    "current",
    "day_said",
    "day_text",
    "day_words",
    "decimal_text",
    "grouped_text",
    "in_english",
    "minute_text",
    "msg",
    "msgn",
    "month_text",
    "month_words",
    "tr",
    "tr_choices",
    "tr_each",
    "trc",
    "trn",
    "use",
    "weekday_words",
    "whole_text",
]


T = TypeVar("T")


class Catalogue(Protocol):
    """What the texts are in a language; the standard library's ``gettext`` gives one."""

    def gettext(self, message: str, /) -> str:
        """Give the text for a message; the message itself where there is none."""

    def ngettext(self, msgid1: str, msgid2: str, n: int, /) -> str:
        """Give the text for so many of something."""

    def pgettext(self, context: str, message: str, /) -> str:
        """Give the text for a message that means this in one place and that in another."""


class _AsWritten:
    def gettext(self, message: str, /) -> str:
        return message

    def pgettext(self, context: str, message: str, /) -> str:
        return message

    def ngettext(self, msgid1: str, msgid2: str, n: int, /) -> str:
        return msgid1 if n == 1 else msgid2


_AS_WRITTEN = _AsWritten()


@dataclass(frozen=True, slots=True, kw_only=True)
class Language:
    """How people of one language read texts, numbers and days.

    Parameters
    ----------
    code
        ISO 639-1, with the country of ISO 3166-1 after an underscore where it makes a difference.
    name
        What its own speakers call it.
    decimal_sign, group_sign
        What stands before the decimals, and between groups of three digits.
    least_grouped
        The least number of digits that are grouped.
    digits, month_digits
        A day and a month in digits, as formats of `day`, `month` and `year`.
    weekdays, months
        Their names where they stand alone; Monday and January first.
    short_weekdays, short_months
        Their short names inside a date.
    short_day, short_day_with_year, month_of_year
        Dates with names, as formats of `weekday`, `day`, `month` and `year`.
    catalogue
        The texts.
    """

    code: str
    name: str
    decimal_sign: str = "."
    group_sign: str = ","
    least_grouped: int = 4
    digits: str = "{year:04}-{month:02}-{day:02}"
    month_digits: str = "{year:04}-{month:02}"
    weekdays: tuple[str, ...]
    months: tuple[str, ...]
    short_weekdays: tuple[str, ...]
    short_months: tuple[str, ...]
    short_day: str = "{weekday} {day} {month}"
    short_day_with_year: str = "{weekday} {day} {month} {year}"
    month_of_year: str = "{month} {year}"
    catalogue: Catalogue = _AS_WRITTEN


_ENGLISH_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_ENGLISH_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip

ENGLISH = Language(
    code="en",
    name="English",
    weekdays=_ENGLISH_DAYS,
    months=_ENGLISH_MONTHS,
    short_weekdays=tuple(name[:3] for name in _ENGLISH_DAYS),
    short_months=tuple(name[:3] for name in _ENGLISH_MONTHS),
)
"""The language that the texts are written in; its days in digits are those of ISO 8601, which nobody reads
in two ways."""

_chosen = [ENGLISH]
_for_programs: ContextVar[bool] = ContextVar("_for_programs", default=False)


def use(language: Language) -> None:
    """Speak a language from now on, in all threads."""
    _chosen[0] = language


def current() -> Language:
    """Give the language that is spoken here and now."""
    return ENGLISH if _for_programs.get() else _chosen[0]


def code_for_people() -> str:
    """Give the code of the language that is spoken; empty within :func:`in_english`.

    For texts that are not ours and are there in several languages, such as those of a checklist: programs
    get them as whoever wrote them did.
    """
    return "" if _for_programs.get() else _chosen[0].code


@contextmanager
def in_english() -> Iterator[None]:
    """Write for programs: within this, in this thread alone, everything is as it is written in the code."""
    before = _for_programs.set(True)
    try:
        yield
    finally:
        _for_programs.reset(before)


def tr(message: str, /, **values: object) -> str:
    """Say something in the language of the person.

    Parameters
    ----------
    message
        The English text, as it stands in the catalogues; values stand in it as ``{name}``.
    values
        What is put in. Days, moments and numbers with decimals are written as people of the language do;
        whole numbers stay as they are, since some are years or names: counts are made with
        :func:`whole_text`. Texts stay as they are too, since a lot may be named like a day: a day that is
        the text of a record is said with :func:`day_said`.

    Examples
    --------
    >>> tr("{station} is clean so far", station="Welding")
    'Welding is clean so far'
    """
    # A catalogue answers an empty text with what it says of itself.
    text = current().catalogue.gettext(message) if message else ""
    return _filled(text, values) if values else text


def _filled(text: str, values: dict[str, object]) -> str:
    return text.format(**{name: _shown(value) for name, value in values.items()})


def _shown(value: object) -> object:
    if isinstance(value, datetime):
        return minute_text(value)
    if isinstance(value, date):
        return day_text(value)
    if isinstance(value, float | Decimal):
        return decimal_text(str(value))
    return value


def trc(context: str, message: str, /, **values: object) -> str:
    """Say something short that other languages say in several ways; `context` tells translators which.

    Examples
    --------
    >>> trc("a button: show it", "Open"), trc("how an action stands", "Open")
    ('Open', 'Open')
    """
    text = current().catalogue.pgettext(context, message)
    return _filled(text, values) if values else text


def trn(one: str, many: str, count: int, /, **values: object) -> str:
    """Say something of so many things; `count` stands in both texts as ``{count}``.

    Examples
    --------
    >>> trn("{count} part", "{count} parts", 1), trn("{count} part", "{count} parts", 1200)
    ('1 part', '1,200 parts')
    """
    text = current().catalogue.ngettext(one, many, count)
    return _filled(text, {"count": whole_text(count), **values})


def msg(message: str) -> str:
    """Mark a text that is kept in a table and said later, with :func:`tr`."""
    return message


def msgn(one: str, many: str) -> tuple[str, str]:
    """Mark the two texts of a count that are kept in a table; they are said with ``trn(*texts, count)``."""
    return one, many


def tr_each(messages: Iterable[str]) -> tuple[str, ...]:
    """Say each text of a table.

    Examples
    --------
    >>> tr_each((msg("Down the stream"), msg("Up the stream")))
    ('Down the stream', 'Up the stream')
    """
    return tuple(tr(message) for message in messages)


def tr_choices(pairs: Iterable[tuple[T, str]]) -> tuple[tuple[T, str], ...]:
    """Say the texts of what may be chosen; the word that each stands for is the program's own and stays.

    Examples
    --------
    >>> tr_choices((("down", msg("Down the stream")),))
    (('down', 'Down the stream'),)
    """
    return tuple((word, tr(message)) for word, message in pairs)


def whole_text(number: int) -> str:
    """Write a whole number for a person.

    Examples
    --------
    >>> whole_text(1200), whole_text(-4800), whole_text(12)
    ('1,200', '-4,800', '12')
    """
    language = current()
    if len(str(abs(number))) < language.least_grouped:
        return str(number)
    return f"{number:,}".replace(",", language.group_sign)


def decimal_text(number: str) -> str:
    """Write a number that has its decimals after a point for a person; nothing is rounded or grouped.

    Examples
    --------
    >>> decimal_text("12.50")
    '12.50'
    """
    return number.replace(".", current().decimal_sign)


def grouped_text(number: str) -> str:
    """Write a number that may have decimals after a point for a person, its digits grouped.

    Examples
    --------
    >>> grouped_text("12345.60"), grouped_text("-0.5")
    ('12,345.60', '-0.5')
    """
    whole, point, decimals = number.partition(".")
    sign = "-" if whole.startswith("-") else ""
    return f"{sign}{whole_text(int(whole.removeprefix('-') or '0'))}{decimal_text(point + decimals)}"


def day_text(day: date) -> str:
    """Write a day in digits for a person, year included.

    Examples
    --------
    >>> day_text(date(2026, 3, 9))
    '2026-03-09'
    """
    return current().digits.format(day=day.day, month=day.month, year=day.year)


def month_text(day: date) -> str:
    """Write the month of a day in digits for a person, year included.

    Examples
    --------
    >>> month_text(date(2026, 3, 9))
    '2026-03'
    """
    return current().month_digits.format(month=day.month, year=day.year)


def minute_text(moment: datetime) -> str:
    """Write a moment to the minute for a person: its day in digits and its own time of the day.

    Examples
    --------
    >>> minute_text(datetime(2026, 3, 9, 6, 10, 59))
    '2026-03-09 06:10'
    """
    return f"{day_text(moment)} {moment:%H:%M}"


_OF_RECORD = re.compile(r"(?P<month>[0-9]{4}-[0-9]{2})(?:(?P<day>-[0-9]{2})(?P<time> [0-9]{2}:[0-9]{2})?)?")


def day_said(text: str) -> str:
    """Write a day or a month that stands as text in a record for a person.

    Parameters
    ----------
    text
        ``YYYY-MM-DD`` or ``YYYY-MM``, as records hold days and months; or ``YYYY-MM-DD HH:MM``, whose time
        stays as it is.

    Returns
    -------
    str
        In digits, as :func:`day_text` and :func:`month_text` write them; a text that is neither comes back
        as it is.

    Examples
    --------
    >>> day_said("2026-03-09"), day_said("2026-03-09 06:10"), day_said("2026-03"), day_said("")
    ('2026-03-09', '2026-03-09 06:10', '2026-03', '')
    """
    found = _OF_RECORD.fullmatch(text)
    if not found:
        return text
    try:
        day = date.fromisoformat(found["month"] + (found["day"] or "-01"))
    except ValueError:
        return text
    return day_text(day) + (found["time"] or "") if found["day"] else month_text(day)


def day_words(day: date, *, with_year: bool = False) -> str:
    """Write a day for a person, short, with the day of the week.

    Examples
    --------
    >>> day_words(date(2026, 3, 9)), day_words(date(2026, 3, 9), with_year=True)
    ('Mon 9 Mar', 'Mon 9 Mar 2026')
    """
    language = current()
    form = language.short_day_with_year if with_year else language.short_day
    return form.format(
        weekday=language.short_weekdays[day.weekday()],
        day=day.day,
        month=language.short_months[day.month - 1],
        year=day.year,
    )


def month_words(day: date) -> str:
    """Write the month of a day for a person, with its year.

    Examples
    --------
    >>> month_words(date(2026, 3, 9))
    'March 2026'
    """
    return current().month_of_year.format(month=current().months[day.month - 1], year=day.year)


def weekday_words(day: date) -> str:
    """Write the day of the week for a person.

    Examples
    --------
    >>> weekday_words(date(2026, 3, 9))
    'Monday'
    """
    return current().weekdays[day.weekday()]
