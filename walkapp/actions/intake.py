"""Taking a picture in: kept unchanged and recorded, at a station, as a limit sample or as evidence."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from walkapp.actions.copies import bare_copy
from walkapp.actions.workplace import Workplace
from walkapp.files import sha256_of
from walkapp.model.records import Photo, PhotoCopy, Record, picture_file_name
from walkapp.photos import WholePicture, examine_whole


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """What a picture is taken in for.

    Parameters
    ----------
    concern, walk
        Ids of the concern and of the walk; no walk for a picture of the concern itself.
    station, check
        Where it was taken, and the check that asked for it; empty outside a walk.
    limit
        ``ok`` or ``not_ok`` for a limit sample; empty otherwise.
    about
        Id of the action, trial or other record that it is evidence of; empty otherwise.
    """

    concern: str
    walk: str = ""
    station: str = ""
    check: str = ""
    limit: str = ""
    about: str = ""


SMALL_PX = 320
"""Longest side of the small picture that is made when one is taken in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadPicture:
    """A picture that was read and found whole; nothing of it is kept yet.

    Parameters
    ----------
    data
        The file, byte for byte.
    name
        What the file was called.
    sha256
        Of `data`, in 64 small hexadecimal digits.
    whole
        What it holds, its copy without metadata, and a small picture of it.
    """

    data: bytes
    name: str
    sha256: str
    whole: WholePicture


def check_picture(data: bytes, name: str) -> ReadPicture:
    """Do the long part of taking a picture in; needs no store and may run on any worker.

    Parameters
    ----------
    data
        The file.
    name
        Name of the file, for the sentence of an error.

    Raises
    ------
    PhotoError
        If `data` is not a whole JPEG or PNG picture.
    """
    return ReadPicture(
        data=data, name=name, sha256=sha256_of(data), whole=examine_whole(data, SMALL_PX, name)
    )


def keep_photo(
    place: Workplace, subject: Subject, data: bytes, name: str, *, caption: str = "", invented: bool = False
) -> Photo:
    """Read a picture and keep it, as :func:`check_picture` and :func:`keep_checked` do."""
    return keep_checked(place, subject, check_picture(data, name), caption=caption, invented=invented)


def keep_checked(
    place: Workplace, subject: Subject, read: ReadPicture, *, caption: str = "", invented: bool = False
) -> Photo:
    """Keep a picture unchanged and record it: the file is durable before the record is.

    A picture with metadata gets the record of its copy without any at the same time.

    Parameters
    ----------
    place
        Where to keep it.
    subject
        What it is taken in for.
    read
        The picture, found whole.
    caption
        What it shows, or what to look at.
    invented
        Whether it was drawn and shows no real part.

    Raises
    ------
    StoreError
        If the disk refuses; nothing is recorded then.
    """
    facts = read.whole.facts
    size_px = (facts.width_px, facts.height_px)
    said = {
        **asdict(subject),
        "sha256": read.sha256,
        "media": facts.media,
        "size_bytes": len(read.data),
        "width_px": facts.width_px,
        "height_px": facts.height_px,
        "caption": caption,
        "invented": invented,
    }
    place.store.add_photo(picture_file_name(read.sha256, facts.media), read.data)
    entries: list[tuple[type[Record], dict[str, Any]]] = [(Photo, said)]
    copy = bare_copy(
        read.data, station=subject.station, media=facts.media, size_px=size_px, copy=read.whole.copy
    )
    if copy is not None:
        entries.append((PhotoCopy, {**copy, "concern": subject.concern, "walk": subject.walk}))
    photo = place.add_all(entries)[0]
    assert isinstance(photo, Photo)
    return photo
