"""What the text of a code on a part, a box or a paper says: plain, GS1, or with data identifiers.

A text is never guessed at. It is taken for GS1 or for identified data only where the code itself says so:
by what the reader knows of its kind, by an identifier of its kind that a hand scanner sends in front, or by
the envelope of ISO/IEC 15434. Anything else is plain: a serial number, a lot or a tag as it stands.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

from walkapp.codes.gs1 import GS1_KINDS, read_gs1
from walkapp.codes.identifiers import ENVELOPE, read_envelope
from walkapp.codes.said import Said
from walkapp.errors import InputError
from walkapp.language import tr, whole_text

MOST_LETTERS = 1000
"""Letters of a code that are looked at at all; labels of parts have some dozens."""

LONGEST_TAG, LONGEST_LOT = 40, 60
"""Letters that the records keep of the tag of a part, and of a lot."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """What a label says. Each text is printable, trimmed and at most as long as records keep it.

    Parameters
    ----------
    plain
        The whole text, where it is nothing but a text: a serial number, a lot, a tag or a cavity; empty
        where the label says itself what is what.
    serial
        Serial number or tag of one part.
    lot
        Lot or batch.
    made_on
        Production date, ISO 8601.
    part_numbers
        Every part number that it gives, the customer's own first.
    gtin
        Global trade item number, 14 digits, its check digit right.
    many
        How many parts it is for, where it says so: a label of more than one part is that of a box.
    more
        What else it says, as pairs of identifier and value, in its order.
    """

    plain: str = ""
    serial: str = ""
    lot: str = ""
    made_on: str = ""
    part_numbers: tuple[str, ...] = ()
    gtin: str = ""
    many: int | None = None
    more: tuple[tuple[str, str], ...] = ()

    @property
    def is_of_a_box(self) -> bool:
        """Whether it belongs to more than one part, so that no part is told by it."""
        return self.many is not None and self.many != 1


def read_label(text: str, *, kind: str = "", year: int) -> Label:
    """Read the text of a code.

    Parameters
    ----------
    text
        As the code, or a hand scanner, gives it; may be anything.
    kind
        Symbology identifier of the code (ISO/IEC 15424), such as ``]d2``, where it is known.
    year
        The present year: GS1 dates have two digits for theirs.

    Raises
    ------
    InputError
        If it is empty, cannot be printed, is longer than records keep it, or says that it is GS1 or
        identified data and is not well formed.

    Examples
    --------
    >>> read_label(" EAR-0042 ", year=2026).plain
    'EAR-0042'
    >>> read_label("010950600013435210AB-123\\x1d21S1", kind="]d2", year=2026).lot
    'AB-123'
    """
    if len(text) > MOST_LETTERS:
        raise InputError(
            tr(
                "The code holds {text} letters, which is no label of a part; point at another code.",
                text=whole_text(len(text)),
            )
        )
    text = unicodedata.normalize("NFC", text)
    if not kind and text[:3] in GS1_KINDS:
        # A hand scanner that is set to do so sends it in front.
        kind, text = text[:3], text[3:]
    if kind in GS1_KINDS or (text.startswith("(") and text[1:3].isdigit()):
        return _label_of(read_gs1(text, year=year))
    if text.startswith(ENVELOPE):
        return _label_of(read_envelope(text, year=year))
    return Label(plain=kept(text, LONGEST_TAG, tr("The text of the code")))


def _label_of(said: Said) -> Label:
    return Label(
        serial=kept(said.serial, LONGEST_TAG, tr("The serial number")) if said.serial else "",
        lot=kept(said.lot, LONGEST_LOT, tr("The lot")) if said.lot else "",
        made_on=said.made_on,
        part_numbers=tuple(kept(one, LONGEST_LOT, tr("The part number")) for one in said.part_numbers),
        gtin=said.gtin,
        many=said.many,
        more=said.more,
    )


def kept(text: str, longest: int, what: str) -> str:
    """Give a text as records keep it.

    Raises
    ------
    InputError
        If it is empty, too long, or holds something that cannot be printed.
    """
    text = text.strip()
    if not text:
        raise InputError(tr("{what} is empty; scan again, or type what stands on the part.", what=what))
    # A hand scanner's key of which is not known what it wrote arrives as U+FFFD.
    if not text.isprintable() or "\ufffd" in text:
        raise InputError(
            tr(
                "{what} holds signs that cannot be printed; scan another code, or type what "
                "stands on the part.",
                what=what,
            )
        )
    if len(text) > longest:
        raise InputError(
            tr(
                "{what} has {text} letters and at most {longest} are kept; scan another code, or "
                "type the part of it that tells parts apart.",
                what=what,
                text=len(text),
                longest=longest,
            )
        )
    return text
