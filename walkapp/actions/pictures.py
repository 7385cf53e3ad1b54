"""Pictures on their way from the watched folder into a walk, and back to the screen."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from walkapp.actions.reading import WalkFacts
from walkapp.actions.walking import Walking
from walkapp.actions.workplace import Workplace
from walkapp.errors import PhotoError
from walkapp.model.records import Photo, Record
from walkapp.photos import pictures_in, read_picture, small_picture

SMALL_PX = 320
MOST_SHOWN = 12
_GREY = bytes((128, 128, 128))


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture, small enough to be shown in a grid.

    Parameters
    ----------
    key
        Path of a found picture, SHA-256 of a kept one.
    caption
        Its name or what it shows.
    size
        Width and height of `pixels`.
    pixels
        Upright RGB, three bytes a pixel, top row first.
    """

    key: str
    caption: str
    size: tuple[int, int]
    pixels: bytes


def new_pictures(folder: Path, walk: WalkFacts) -> tuple[Picture, ...]:
    """Give the newest pictures of a folder that are not in this walk yet.

    Parameters
    ----------
    folder
        Where to look; a missing folder holds no pictures.
    walk
        The walk.

    Notes
    -----
    A file that is no whole picture (half copied, perhaps) is left out; it appears when it is whole.
    """
    if not folder.is_dir():
        return ()
    known = {r.sha256 for r in walk.current if isinstance(r, Photo)}
    found: list[Picture] = []
    for candidate in pictures_in(folder):
        if len(found) == MOST_SHOWN:
            break
        try:
            data = read_picture(candidate.path)
            if hashlib.sha256(data).hexdigest() in known:
                continue
            size, pixels = small_picture(data, SMALL_PX)
        except PhotoError:
            continue
        found.append(
            Picture(key=str(candidate.path), caption=candidate.path.name, size=size, pixels=pixels)
        )
    return tuple(found)


def kept_pictures(place: Workplace, records: Iterable[Record]) -> tuple[Picture, ...]:
    """Give the recorded pictures whose files the store has, newest first."""
    kept: list[Picture] = []
    for record in records:
        if isinstance(record, Photo) and (path := place.store.photo_path(record.file_name)) is not None:
            caption = record.caption or f"{record.width_px} x {record.height_px}"
            try:
                size, pixels = small_picture(read_picture(path), SMALL_PX)
            except PhotoError:
                # One damaged file must not hide the others, nor that there is a picture.
                caption, size, pixels = f"Damaged, cannot be shown: {caption}", (1, 1), _GREY
            kept.append(Picture(key=record.sha256, caption=caption, size=size, pixels=pixels))
    return tuple(reversed(kept))


def take_in(walking: Walking, path: Path, *, station: str, check: str) -> Photo:
    """Copy a picture into the store unchanged and record it at a station.

    Raises
    ------
    PhotoError
        If the file is not a whole picture.
    """
    return walking.add_photo(station, read_picture(path), path.name, check=check)
