"""Reads a value as a person types it or an instrument sends it: a number, perhaps with a unit.

What can be read in two ways is refused, never guessed. Only what a person would see as a number is one:
digits of other scripts and characters that cannot be seen are refused in one sentence. A single point or
comma is the decimal sign, as on the number pad. How gauges write: sign, leading zeros, unit, power of ten,
fields between tabs, semicolons or commas; common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from walkapp.analysis.quantities import converted, is_same_unit, unit_called
from walkapp.errors import InputError
from walkapp.language import tr, whole_text

LONGEST = 200
"""More characters no reading has."""

MOST_DIGITS = 12
MOST_DECIMALS = 9

_SPACES = str.maketrans(dict.fromkeys("\N{NO-BREAK SPACE}\N{THIN SPACE}\N{NARROW NO-BREAK SPACE}", " "))
_MINUS = str.maketrans({"\N{MINUS SIGN}": "-"})
_ENDS = "\r\n\t \x00\x02\x03\x04"
"""What interfaces put around a text: line ends, and the characters for start and end of text."""

_NUMBER = r"[+-]? ?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)"
_PLAIN = re.compile(_NUMBER)
_WITH_UNIT = re.compile(rf"({_NUMBER})(?:[eE]([+-]?[0-9]{{1,2}})(?![0-9]))? ?([^0-9]*)")
_BETWEEN_FIELDS = re.compile(r"[\t;\r\n]|,(?![0-9])")


@dataclass(frozen=True, slots=True)
class Reading:
    """A value that was read.

    Parameters
    ----------
    value
        The number with the decimals that were given, at most 12 digits and 9 decimals; a zero has no sign.
    unit
        Name of its unit; empty when none was given.
    """

    value: Decimal
    unit: str = ""

    @property
    def words(self) -> str:
        """The value with its unit."""
        return f"{self.value:f} {self.unit}".rstrip()

    def taken_in(self, unit: str, limits: Iterable[Decimal] = ()) -> Decimal:
        """Give the value in the unit that is asked for; a value without unit is in that unit.

        Parameters
        ----------
        unit
            Name of a unit; empty for none.
        limits
            Numbers in that unit that the value is going to be compared with.

        Raises
        ------
        InputError
            If it cannot be converted, or has too many digits then.
        """
        if not self.unit or is_same_unit(self.unit, unit):
            return self.value
        value = converted(self.value, self.unit, unit, limits)
        if len(value.as_tuple().digits) > MOST_DIGITS:
            raise InputError(
                tr(
                    "{what} has more than {most_digits} digits in {unit}; type the value.",
                    what=self.words,
                    most_digits=MOST_DIGITS,
                    unit=unit,
                )
            )
        return value


def plain_number(text: str) -> Decimal | None:
    """Read a number without unit, with decimal point or comma; none when it is none.

    Parameters
    ----------
    text
        Any text; may be unfinished, as ``12.``.

    Examples
    --------
    >>> plain_number("12,50"), plain_number("-"), plain_number("1e5"), plain_number("1.234,5")
    (Decimal('12.50'), None, None, None)
    """
    if len(text) > LONGEST:
        return None
    cleaned = text.translate(_SPACES).translate(_MINUS).strip()
    return _decimal(cleaned) if _PLAIN.fullmatch(cleaned) else None


def read_reading(text: str, asked: str = "") -> Reading:
    """Read what an instrument has sent, or what was pasted.

    Parameters
    ----------
    text
        Any text of any length.
    asked
        Name of the unit that is asked for; written just so it is known too, whatever it is.

    Raises
    ------
    InputError
        If it holds no number, more than one, one that can be read in two ways, one that is too long, or a
        unit that is not known.

    Examples
    --------
    >>> read_reading("+0012.340mm"), read_reading("-0,05;in")
    (Reading(value=Decimal('12.340'), unit='mm'), Reading(value=Decimal('-0.05'), unit='in'))
    >>> read_reading("1;-0,05;in")
    Traceback (most recent call last):
        ...
    walkapp.errors.InputError: '1;-0,05;in' holds more than one number; send or type one value alone.
    """
    if len(text) > LONGEST:
        raise InputError(
            tr(
                "A text of {text} characters is no measured value; send or type one value.",
                text=whole_text(len(text)),
            )
        )
    cleaned = text.translate(_SPACES).translate(_MINUS).strip(_ENDS)
    told = cleaned if len(cleaned) <= 40 else f"{cleaned[:40]}…"
    if any(not letter.isprintable() for letter in cleaned if letter not in "\t\r\n"):
        raise InputError(
            tr("'{told}' has characters in it that cannot be seen; type the value.", told=told)
        )
    if any(letter.isnumeric() and not "0" <= letter <= "9" for letter in cleaned):
        raise InputError(tr("'{told}' is not written in the digits 0 to 9; type the value.", told=told))
    fields = [field for part in _BETWEEN_FIELDS.split(cleaned) if (field := part.strip())]
    places = [place for place, field in enumerate(fields) if any(letter.isdigit() for letter in field)]
    if not places:
        raise InputError(
            tr("'{told}' holds no number; send or type one value.", told=told)
            if told
            else tr("Nothing was sent.")
        )
    if len(places) > 1:
        raise InputError(
            tr("'{told}' holds more than one number; send or type one value alone.", told=told)
        )
    found, after = _WITH_UNIT.fullmatch(fields[0]), fields[1:]
    if found is None:  # a word before the number too: it may say that the number is none, such as ERR
        raise InputError(
            tr("'{told}' is no number that can be read in one way only; type the value.", told=told)
        )
    number, power, unit = found.groups()
    written = [word for word in (unit.strip(), *after) if word]
    known = "".join(asked if word == asked else unit_called(word) for word in written[:1])
    if len(written) > 1 or (written and not known):
        raise InputError(
            tr("'{told}' has a unit that this tablet does not know; type the value without it.", told=told)
        )
    value = _decimal(number)
    if power:
        value = value.scaleb(int(power))
    return Reading(_bounded(value, told), known)


def _decimal(number: str) -> Decimal:
    value = Decimal(number.replace(" ", "").replace(",", "."))
    return value if value else abs(value)


def _bounded(value: Decimal, told: str) -> Decimal:
    plain = Decimal(format(value, "f"))
    digits, exponent = plain.as_tuple().digits, int(plain.as_tuple().exponent)
    if max(len(digits), -exponent) > MOST_DIGITS or -exponent > MOST_DECIMALS:
        raise InputError(
            tr(
                "'{told}' has more than {most_digits} digits or {most_decimals} decimals; type it rounded.",
                told=told,
                most_digits=MOST_DIGITS,
                most_decimals=MOST_DECIMALS,
            )
        )
    return plain
