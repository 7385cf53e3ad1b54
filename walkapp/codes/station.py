"""The text in the code of a station's own label.

It is a form of this program: ``station:STREAM/STATION:LETTERS``. The four letters follow from the rest, so
that a text that was typed wrong, or that happens to begin alike, is told from a label. They keep out
mistakes and nobody who means harm; a label only ever opens a page.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from walkapp.errors import InputError
from walkapp.files import sha256_of
from walkapp.language import tr

BEGINS = "station:"
_LETTERS = "BCDFGHJKLMNPQRSTVWXZ"
"""No vowels, so that no words come about, and nothing that is taken for a digit."""

_FORM = re.compile(r"station:([a-z][a-z0-9-]{0,39})/([a-z][a-z0-9-]{0,39}):([A-Z]{4})", re.ASCII)


@dataclass(frozen=True, slots=True)
class StationLabel:
    """Which station a label is for.

    Parameters
    ----------
    stream, station
        Ids of the value stream and of the station; whether there are such ones is not known here.
    """

    stream: str
    station: str


def station_text(stream: str, station: str) -> str:
    """Give the text of the label of a station.

    Examples
    --------
    >>> station_text("washer-reservoir", "leak-test")
    'station:washer-reservoir/leak-test:ZTSG'
    """
    return f"{BEGINS}{stream}/{station}:{_check_letters(f'{stream}/{station}')}"


def read_station(text: str) -> StationLabel | None:
    """Say which station a text is the label of; none where it is no such label at all.

    Parameters
    ----------
    text
        Scanned or typed; small and capital letters mean the same.

    Raises
    ------
    InputError
        If it begins like one and is not well formed, or its four letters do not fit.
    """
    text = text.strip()
    if text[: len(BEGINS)].lower() != BEGINS:
        return None
    body, _, letters = text[:200].rpartition(":")
    match = _FORM.fullmatch(f"{body.lower()}:{letters.upper()}")
    if match is None or match[3] != _check_letters(f"{match[1]}/{match[2]}"):
        raise InputError(
            tr(
                "This label of a station is damaged or was typed wrong: its last four letters do "
                "not fit; scan it again, or choose the station in the list."
            )
        )
    return StationLabel(match[1], match[2])


def _check_letters(words: str) -> str:
    number = int(sha256_of(words.encode("ascii"))[:16], 16)
    letters = ""
    for _ in range(4):
        number, place = divmod(number, len(_LETTERS))
        letters += _LETTERS[place]
    return letters
