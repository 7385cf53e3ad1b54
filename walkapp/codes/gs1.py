"""GS1 element strings: application identifiers, and what stands behind them.

References
----------
GS1 General Specifications, an open standard: lengths of the application identifiers, the table of those of
predefined length, the set of 82 letters, check digits, and the century of a date. Written down from memory.
"""

from __future__ import annotations

import calendar
import re
from collections.abc import Iterator
from datetime import date

from walkapp.codes.said import Said
from walkapp.errors import InputError
from walkapp.language import msg, tr

GS1_KINDS = ("]C1", "]d2", "]Q3", "]e0", "]J1")
"""Symbology identifiers of codes with GS1 element strings: Code 128, Data Matrix, QR, DataBar, DotCode."""

SEPARATOR = "\x1d"

_STAND_INS = ("<GS>", "{GS}", "\u241d", "^", "|", "~")
"""What hand scanners send where a keyboard has no separator; none of them can be part of a value."""

_DIGITS_OF_AI = {
    **{f"{n:02}": 2 for n in (*range(5), 10, 11, 12, 13, 15, 16, 17, 20, 21, 22, 30, 37, *range(90, 100))},
    **{f"{n}": 3 for n in (23, 24, 25, 40, 41, 42, 71)},
    **{f"{n}": 4 for n in (*range(31, 37), 39, 43, 70, 72, 80, 81, 82)},
}
"""Digits of an application identifier, by its first two."""

_PREDEFINED = {
    "00": 18, "01": 14, "02": 14, "03": 14, "04": 16, "11": 6, "12": 6, "13": 6, "15": 6, "16": 6, "17": 6,
    "20": 2, "31": 6, "32": 6, "33": 6, "34": 6, "35": 6, "36": 6, "41": 13,
}  # fmt: skip
"""Letters of a value that needs no separator behind it, by the first two digits of its identifier."""

_AT_MOST = {
    "10": 20, "21": 20, "22": 20, "30": 8, "37": 8, "240": 30, "241": 30, "242": 6, "243": 20, "250": 30,
    "251": 30, "253": 30, "254": 20, "255": 25, "90": 30,
}  # fmt: skip
"""Most letters of a value of variable length; of all others 90, the most that any of them may have."""

_MOST_OF_ANY = 90
_WITH_CHECK_DIGIT = ("00", "01", "02", "03")
_LETTERS_82 = re.compile(r"[!-\"%-/0-9:-?A-Z_a-z]+", re.ASCII)
_READABLE = re.compile(r"\(([0-9]{2,4})\)")
_MEND = msg("scan another code, or type what stands on the part")


def read_gs1(text: str, *, year: int) -> Said:
    r"""Take a GS1 element string apart.

    Parameters
    ----------
    text
        The element string with its separators, or as it stands in words below a code: ``(01)...(10)...``.
    year
        The present year.

    Raises
    ------
    InputError
        If an identifier is not known, a value is not allowed, a check digit is wrong, a date is none, or
        one identifier comes twice with two values.

    Notes
    -----
    A separator is needed after each value of variable length but the last. A hand scanner that leaves them
    out would run lot and serial number together: what could be read in two ways is refused.

    Examples
    --------
    >>> read_gs1("(01)09506000134352(10)AB-123", year=2026).lot
    'AB-123'
    """
    found: dict[str, str] = {}
    for identifier, value in _fields(text):
        _check(identifier, value)
        if found.setdefault(identifier, value) != value:
            raise InputError(
                tr(
                    "The GS1 label gives ({identifier}) twice with two values; {mend}.",
                    identifier=identifier,
                    mend=tr(_MEND),
                )
            )
    if not found:
        raise InputError(tr("The GS1 label is empty; {mend}.", mend=tr(_MEND)))
    made = _day(found["11"], year) if "11" in found else None
    for identifier in ("12", "13", "15", "16", "17"):
        if identifier in found:
            _day(found[identifier], year)
    counted = found.get("37") or found.get("30")
    is_container = "00" in found or "02" in found
    known = {"01", "10", "21", "240", "241"} | ({"11"} if made else set())
    return Said(
        serial=found.get("21", ""),
        lot=found.get("10", ""),
        made_on=made.isoformat() if made else "",
        part_numbers=tuple(found[one] for one in ("241", "240") if one in found),
        gtin=found.get("01", ""),
        many=int(counted) if counted else 0 if is_container else None,
        more=tuple((identifier, value) for identifier, value in found.items() if identifier not in known),
    )


def is_gtin(text: str) -> bool:
    """Say whether a text is a trade item number of 8, 12, 13 or 14 digits whose check digit is right."""
    return (
        text.isascii() and text.isdigit() and len(text) in (8, 12, 13, 14) and _check_digit_is_right(text)
    )


def _fields(text: str) -> Iterator[tuple[str, str]]:
    if text.startswith("("):
        yield from _readable_fields(text)
        return
    for stand_in in _STAND_INS:
        text = text.replace(stand_in, SEPARATOR)
    is_separated = SEPARATOR in text
    at = 0
    while at < len(text):
        if text[at] == SEPARATOR:
            at += 1  # a separator after a value of predefined length does no harm
            continue
        digits = _DIGITS_OF_AI.get(text[at : at + 2])
        identifier = text[at : at + (digits or 2)]
        if (
            digits is None
            or len(identifier) < digits
            or not (identifier.isascii() and identifier.isdigit())
        ):
            raise InputError(
                tr(
                    "The GS1 label has a field {identifier} that is not known; {mend}.",
                    identifier=repr(identifier),
                    mend=tr(_MEND),
                )
            )
        at += digits
        fixed = _PREDEFINED.get(identifier[:2])
        end = at + fixed if fixed is not None else text.find(SEPARATOR, at)
        end = len(text) if end < 0 else end
        value = text[at:end]
        if fixed is None and not is_separated and _may_hide_another(value):
            raise InputError(
                tr(
                    "The scanner left out what separates the fields of this GS1 label, so that "
                    "lot and serial number cannot be told apart; set it to send them (ASCII 29), "
                    "or use the camera."
                )
            )
        yield identifier, value
        at = end


def _readable_fields(text: str) -> Iterator[tuple[str, str]]:
    parts = _READABLE.split(text)
    for identifier, value in zip(parts[1::2], parts[2::2], strict=True):
        if _DIGITS_OF_AI.get(identifier[:2]) != len(identifier):
            raise InputError(
                tr(
                    "The GS1 label has a field {identifier} that is not known; {mend}.",
                    identifier=repr(identifier),
                    mend=tr(_MEND),
                )
            )
        yield identifier, value


def _may_hide_another(value: str) -> bool:
    """Whether lot and serial number, the one behind the other, may have been run together."""
    return any(
        value.find(identifier, 1) > 0 and not value.endswith(identifier) for identifier in ("10", "21")
    )


def _check(identifier: str, value: str) -> None:
    fixed = _PREDEFINED.get(identifier[:2])
    if not value or (fixed is not None and len(value) != fixed):
        raise InputError(
            tr(
                "The value of ({identifier}) on the GS1 label is cut short; {mend}.",
                identifier=identifier,
                mend=tr(_MEND),
            )
        )
    if fixed is not None and not _is_number(value):
        raise InputError(
            tr(
                "The value of ({identifier}) on the GS1 label is no number; {mend}.",
                identifier=identifier,
                mend=tr(_MEND),
            )
        )
    if len(value) > _AT_MOST.get(identifier, _MOST_OF_ANY):
        raise InputError(
            tr(
                "The value of ({identifier}) on the GS1 label is longer than the standard "
                "allows; set the scanner to send what separates the fields (ASCII 29), or use "
                "the camera.",
                identifier=identifier,
            )
        )
    if identifier in ("30", "37") and not _is_number(value):
        raise InputError(
            tr(
                "The value of ({identifier}) on the GS1 label is no number; {mend}.",
                identifier=identifier,
                mend=tr(_MEND),
            )
        )
    if not _LETTERS_82.fullmatch(value):
        raise InputError(
            tr(
                "The value of ({identifier}) on the GS1 label holds a wrong letter; {mend}.",
                identifier=identifier,
                mend=tr(_MEND),
            )
        )
    if identifier in _WITH_CHECK_DIGIT and not _check_digit_is_right(value):
        raise InputError(
            tr(
                "The check digit of ({identifier}) on the GS1 label is wrong; scan it again.",
                identifier=identifier,
            )
        )


def _check_digit_is_right(digits: str) -> bool:
    """Each digit from the right times 1 and 3 in turn adds up to a multiple of ten."""
    return (
        sum(int(digit) * (3 if place % 2 else 1) for place, digit in enumerate(reversed(digits))) % 10 == 0
    )


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdigit()


def _day(value: str, year: int) -> date | None:
    """Give a date; none where the label gives a month only (day 00)."""
    gap = int(value[:2]) - year % 100
    century = year // 100 + (-1 if gap >= 51 else 1 if gap <= -50 else 0)
    y, m, d = century * 100 + int(value[:2]), int(value[2:4]), int(value[4:])
    if not (1 <= y <= 9999 and 1 <= m <= 12 and 0 <= d <= calendar.monthrange(y, m)[1]):
        raise InputError(
            tr("The GS1 label has a date {value} that is none; {mend}.", value=value, mend=tr(_MEND))
        )
    return date(y, m, d) if d else None
