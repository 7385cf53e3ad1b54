"""Taking a picture in: kept unchanged and recorded, at a station, as a limit sample or as evidence."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from walkapp.actions.copies import bare_copy
from walkapp.actions.workplace import Workplace
from walkapp.files import sha256_of
from walkapp.model.records import Photo, PhotoCopy, Record, picture_file_name
from walkapp.photos import examine


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


def keep_photo(
    place: Workplace, subject: Subject, data: bytes, name: str, *, caption: str = "", invented: bool = False
) -> Photo:
    """Keep a picture unchanged and record it: the file is durable before the record is.

    A picture with metadata gets the record of its copy without any at the same time.

    Parameters
    ----------
    place
        Where to keep it.
    subject
        What it is taken in for.
    data
        The file.
    name
        Name of the file, for the sentence of an error.
    caption
        What it shows, or what to look at.
    invented
        Whether it was drawn and shows no real part.

    Raises
    ------
    PhotoError
        If `data` is not a whole JPEG or PNG picture.
    """
    facts = examine(data, name)
    sha256 = sha256_of(data)
    said = {
        **asdict(subject),
        "sha256": sha256,
        "media": facts.media,
        "size_bytes": len(data),
        "width_px": facts.width_px,
        "height_px": facts.height_px,
        "caption": caption,
        "invented": invented,
    }
    place.store.add_photo(picture_file_name(sha256, facts.media), data)
    entries: list[tuple[type[Record], dict[str, Any]]] = [(Photo, said)]
    size_px = (facts.width_px, facts.height_px)
    copy = bare_copy(data, station=subject.station, media=facts.media, size_px=size_px)
    if copy is not None:
        entries.append((PhotoCopy, {**copy, "concern": subject.concern, "walk": subject.walk}))
    photo = place.add_all(entries)[0]
    assert isinstance(photo, Photo)
    return photo
