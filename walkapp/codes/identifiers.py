"""Labels in the envelope of ISO/IEC 15434 with data identifiers of ANSI MH10.8.2: those of suppliers.

References
----------
ISO/IEC 15434 (envelope, separators, formats 05 and 06) and ANSI MH10.8.2 (data identifiers), open
standards; written down from memory.
"""

from __future__ import annotations

import re
from datetime import date

from walkapp.codes.gs1 import read_gs1
from walkapp.codes.said import Said
from walkapp.errors import InputError
from walkapp.language import msg, tr

ENVELOPE = "[)>"
RS, GS, EOT = "\x1e", "\x1d", "\x04"

PART_NUMBERS = ("P", "1P", "30P")
"""Item number of the customer, of the supplier, and of the supplier at first level."""

_FIELD = re.compile(r"([0-9]{0,3}[A-Z])(.*)", re.ASCII | re.DOTALL)
_WHOLE = re.compile(r"[0-9]{1,9}", re.ASCII)
_DAY = re.compile(r"[0-9]{8}", re.ASCII)
_MOST_FIELDS = 60
_MEND = msg("scan another code, or type what stands on the part")


def read_envelope(text: str, *, year: int) -> Said:
    r"""Take a label in the envelope apart.

    Parameters
    ----------
    text
        Begins with ``[)>``.
    year
        The present year, for format 05 (GS1).

    Raises
    ------
    InputError
        If the separators are missing, the format is neither 05 nor 06, or a field is not well formed or
        comes twice with two values.

    Notes
    -----
    The number of the supplier's lot (``1T``) is the lot; the one that the customer gives (``T``) is only
    where there is no other. Serial number is ``S`` alone: ``3S`` and others number packages.

    Examples
    --------
    >>> read_envelope("[)>\x1e06\x1dP4711-A\x1d1TL0815\x1dSX1\x1e\x04", year=2026).serial
    'X1'
    """
    if not text.startswith(ENVELOPE + RS) or GS not in text:
        raise InputError(
            tr(
                "The scanner left out what separates the fields of this label, so that it cannot "
                "be read; set it to send control characters (ASCII 29 and 30), or use the camera."
            )
        )
    found: dict[str, str] = {}
    for block in text[len(ENVELOPE) + 1 :].removesuffix(EOT).split(RS):
        if not block:
            continue
        form, *fields = block.split(GS)
        if form == "05":
            return read_gs1(GS.join(fields), year=year)
        if form != "06":
            raise InputError(
                tr(
                    "The label is of a form {form} that this program does not read; {mend}.",
                    form=repr(form[:4]),
                    mend=tr(_MEND),
                )
            )
        for field in fields[:_MOST_FIELDS]:
            if not field:
                continue
            match = _FIELD.fullmatch(field)
            if match is None or not match[2]:
                raise InputError(tr("The label has a field that cannot be read; {mend}.", mend=tr(_MEND)))
            if found.setdefault(match[1], match[2]) != match[2]:
                raise InputError(
                    tr(
                        "The label gives {match} twice with two values; {mend}.",
                        match=match[1],
                        mend=tr(_MEND),
                    )
                )
    if not found:
        raise InputError(tr("The label is empty; {mend}.", mend=tr(_MEND)))
    return _said(found)


def _said(found: dict[str, str]) -> Said:
    lot_from = "1T" if "1T" in found else "T"
    made_on = _day(found.get("16D", ""))
    known = {*PART_NUMBERS, "S", lot_from, "Q"} | ({"16D"} if made_on else set())
    quantity = found.get("Q", "").strip()
    return Said(
        serial=found.get("S", ""),
        lot=found.get(lot_from, ""),
        made_on=made_on,
        part_numbers=tuple(found[one] for one in PART_NUMBERS if one in found),
        # A quantity such as 2.5 kg is no count of parts, but no single part either.
        many=(int(quantity) if _WHOLE.fullmatch(quantity) else 0) if quantity else None,
        more=tuple((name, value) for name, value in found.items() if name not in known),
    )


def _day(text: str) -> str:
    if not _DAY.fullmatch(text):
        return ""
    try:
        return date(int(text[:4]), int(text[4:6]), int(text[6:])).isoformat()
    except ValueError:
        return ""
