"""From a picture or a text to what it means here: a station, or the part that is looked at."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from walkapp.actions.reading import WalkFacts
from walkapp.actions.walking import SeenPart
from walkapp.actions.workplace import Workplace
from walkapp.codes import Code, Label, StationLabel, read_codes, read_label, read_station
from walkapp.codes.gs1 import is_gtin
from walkapp.errors import InputError
from walkapp.language import tr
from walkapp.model.checklist import Station
from walkapp.photos import picture_pixels, pictures_in, read_picture

__all__ = ["Code", "Label", "StationLabel", "TakenLabel", "codes_in_file", "codes_in_frame", "understand"]

QUICK_PX, THOROUGH_PX = 2048, 4800
"""Longest side of a picture when codes are first looked for in it, and when none was found."""

MOST_PICTURES = 12
"""Pictures of a folder that are offered; the one that was just taken is the first."""

EAN = ("]E", "]X")
"""Symbology identifiers of article numbers, which are the same on every part."""

_UNIT = re.compile(r"(?P<word>[A-Za-z]*)[ .:_-]*0*(?P<number>[0-9]{1,3})", re.ASCII)
_UNIT_WORDS = {
    "cavity": ("c", "cav", "cavity"),
    "fixture": ("f", "fix", "fixture", "nest"),
    "machine": ("m", "mc", "machine"),
    "rack": ("r", "rack"),
    "line": ("l", "line"),
}
"""How labels and moulds name a parallel unit, by its kind; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenLabel:
    """What a label says about the next part at a station.

    Parameters
    ----------
    seen
        Tag and lot.
    unit
        The parallel unit of the station that it names; empty for none.
    made_on
        Production date, ISO 8601; empty where it gives none.
    other_part
        Why it may be a label of another part than the concern is about, in one sentence; empty otherwise.
    mind
        What else has to be minded, one sentence; empty for nothing.
    """

    seen: SeenPart
    unit: str = ""
    made_on: str = ""
    other_part: str = ""
    mind: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureToScan:
    """A picture that a code may be read from.

    Parameters
    ----------
    path
        The file.
    taken
        When it was written, RFC 3339 in the tablet's own offset.
    """

    path: Path
    taken: str


def codes_in_frame(size: tuple[int, int], pixels: bytes) -> tuple[Code, ...]:
    """Find the codes in one picture of a live view, as :func:`walkapp.codes.read_codes` in less time."""
    return read_codes(size, pixels, thorough=False)


def codes_in_file(path: Path) -> tuple[Code, ...]:
    """Find the codes in a picture file.

    Raises
    ------
    PhotoError
        If it is no picture that this program reads.
    DeviceError
        If the library that reads codes is not there.
    """
    data = read_picture(path)
    found = read_codes(*picture_pixels(data, QUICK_PX, path.name))
    return found or read_codes(*picture_pixels(data, THOROUGH_PX, path.name))


def pictures_to_scan(place: Workplace, folder: Path) -> tuple[PictureToScan, ...]:
    """Give the newest pictures of a folder, the newest first; none of a folder that is not there.

    Raises
    ------
    PhotoError
        If the folder cannot be read.
    """
    if not folder.is_dir():
        return ()
    zone = place.now().tzinfo
    return tuple(
        PictureToScan(
            path=found.path, taken=datetime.fromtimestamp(found.taken / 1e9, zone).isoformat("T", "seconds")
        )
        for found in pictures_in(folder)[:MOST_PICTURES]
    )


def understand(place: Workplace, text: str, kind: str = "") -> StationLabel | Label:
    """Say what a scanned or typed text is.

    Parameters
    ----------
    place
        Knows the present year.
    text
        As it was read; may be anything.
    kind
        Symbology identifier of the code; empty for a hand scanner and for what was typed.

    Raises
    ------
    InputError
        If it is nothing that can be used; one sentence says why, and what to do.
    """
    station = read_station(text)
    if station is not None:
        return station
    if kind[:2] in EAN:
        raise InputError(
            tr(
                "This is an article number (EAN), which is the same on every part; scan the code "
                "of this one part or of its lot."
            )
        )
    return read_label(text, kind=kind, year=place.now().year)


def station_in(walk: WalkFacts, label: StationLabel) -> Station:
    """Give the station that a label opens in a walk.

    Raises
    ------
    InputError
        If it is of another value stream, or the checklist of the walk has no such station.
    """
    if label.stream != walk.stream.id:
        raise InputError(
            tr(
                "This label is of the value stream {stream}, and this walk is of {stream2}; open "
                "a walk of that stream first.",
                stream=repr(label.stream),
                stream2=walk.stream.name,
            )
        )
    found = walk.stream.station(label.station)
    if found is None:
        raise InputError(
            tr(
                "The checklist of this walk has no station {station} (any more); choose one in "
                "the strip, and print the labels again.",
                station=repr(label.station),
            )
        )
    return found


def taken_label(walk: WalkFacts, station: Station, label: Label, *, read_by: str) -> TakenLabel:
    """Say what a label tells of the next part at a station.

    Parameters
    ----------
    walk, station
        Where the part is looked at.
    label
        What was read.
    read_by
        ``code`` or ``typed``.

    Raises
    ------
    InputError
        If it tells nothing of one part, its lot or its parallel unit.
    """
    known_lots = {sample.lot} if (sample := walk.sample(station.id)) and sample.lot else set()
    if label.plain:
        return _taken_plain(walk, station, label.plain, known_lots, read_by)
    if label.is_of_a_box and not label.lot:
        raise InputError(
            tr(
                "This is the label of a box and not of one part, and it gives no lot; scan the "
                "code on the part."
            )
        )
    part = "" if label.is_of_a_box else label.serial
    if not part and not label.lot:
        raise InputError(
            tr(
                "This label gives neither a serial number nor a lot; scan the code of the part "
                "or of its lot."
            )
        )
    mind = ""
    if label.is_of_a_box:
        mind = tr("This is the label of a box: its lot was taken, and no serial number.")
    if known_lots and label.lot and label.lot not in known_lots:
        said = sorted(known_lots)[0]
        mind = tr(
            "The label is of lot {lot}; the parts here were said to be of lot {said}.",
            lot=label.lot,
            said=said,
        )
    return TakenLabel(
        seen=SeenPart(part=part, lot=label.lot, read_by=read_by),
        made_on=label.made_on,
        other_part=_other_part(walk, label),
        mind=mind,
    )


def _taken_plain(
    walk: WalkFacts, station: Station, text: str, known_lots: set[str], read_by: str
) -> TakenLabel:
    number = walk.facts.concern.part_number
    if number and _bare(text) == _bare(number):
        raise InputError(
            tr(
                "This is the part number, which is the same on every part; scan the code of this "
                "one part or of its lot."
            )
        )
    unit = unit_named(station, text)
    if unit:
        return TakenLabel(seen=SeenPart(), unit=unit)
    if text in known_lots:
        return TakenLabel(seen=SeenPart(lot=text, read_by=read_by))
    return TakenLabel(seen=SeenPart(part=text, read_by=read_by))


def unit_named(station: Station, text: str) -> str:
    """Give the parallel unit of a station that a text such as ``CAV 3`` names; empty for none or several.

    A number alone names none: it may be anything.
    """
    if station.units is None:
        return ""
    wanted = " ".join(text.split()).casefold()
    same = [name for name in station.units.names if " ".join(name.split()).casefold() == wanted]
    if same:
        return same[0]
    match = _UNIT.fullmatch(wanted)
    if match is None or match["word"] not in _UNIT_WORDS.get(station.units.kind, ()):
        return ""
    of_number = [
        name
        for name in station.units.names
        if (one := re.search(r"([0-9]{1,3})$", name)) and int(one[1]) == int(match["number"])
    ]
    return of_number[0] if len(of_number) == 1 else ""


def _other_part(walk: WalkFacts, label: Label) -> str:
    """Say that a label is of another part number; nothing where it agrees or nothing can be compared."""
    number = walk.facts.concern.part_number
    if not number:
        return ""
    if label.part_numbers:
        if _bare(number) in map(_bare, label.part_numbers):
            return ""
        said = label.part_numbers[0]
    elif label.gtin and is_gtin(number):
        if number.zfill(14) == label.gtin:
            return ""
        said = label.gtin
    else:
        return ""
    return tr(
        "The label is of part number {said}, and this concern is about {number}: make sure "
        "that it is the right part before you judge it.",
        said=said,
        number=number,
    )


def _bare(number: str) -> str:
    """A part number without the signs that are written in one place and left out in another."""
    return re.sub(r"[ .\-/_]", "", number).casefold()
