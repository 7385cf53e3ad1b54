"""Pictures on their way from the watched folder into a walk, and back to the screen."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from walkapp.actions.copies import Copies, copies_by_photo, photo_of, picture_bytes, shown_bytes
from walkapp.actions.reading import WalkFacts
from walkapp.actions.walking import Walking
from walkapp.actions.workplace import Workplace
from walkapp.errors import PhotoError
from walkapp.model.boxes import Box
from walkapp.model.records import Photo, Record
from walkapp.model.standing import Standing
from walkapp.photos import pictures_in, read_picture, small_picture

SMALL_PX = 320
LARGE_PX = 1600
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


def kept_pictures(place: Workplace, records: Iterable[Record], standing: Standing) -> tuple[Picture, ...]:
    """Give the pictures among some records that are here, newest first, with people covered.

    Parameters
    ----------
    place
        Where they are.
    records
        In the order in which they were made.
    standing
        What holds in the concern: copies of them may cover people.
    """
    copies = copies_by_photo(standing)
    tiles = (
        _tile(place, record, copies.get(record.sha256))
        for record in reversed(tuple(records))
        if isinstance(record, Photo)
    )
    return tuple(tile for tile in tiles if tile is not None)


def _tile(place: Workplace, photo: Photo, copies: Copies | None) -> Picture | None:
    """Make one recorded picture small; none when neither it nor a copy is here."""
    caption = photo.caption or f"{photo.width_px} x {photo.height_px}"
    try:
        data = shown_bytes(place.store, photo, copies)
        if data is not None:
            size, pixels = small_picture(data, SMALL_PX)
            said = ", ".join((caption, *_said(place, photo, copies)))
            return Picture(key=photo.sha256, caption=said, size=size, pixels=pixels)
    except PhotoError:
        data = None
    if place.store.photo_path(photo.file_name) is None:
        return None
    # One damaged file must not hide the others, nor that there is a picture.
    caption = f"Damaged, cannot be shown: {caption}"
    return Picture(key=photo.sha256, caption=caption, size=(1, 1), pixels=_GREY)


def _said(place: Workplace, photo: Photo, copies: Copies | None) -> Iterator[str]:
    """Say what a picture is shown without."""
    if place.store.photo_path(photo.file_name) is None:
        yield "copy without place and serial number"
    if copies is not None and copies.boxes:
        many = len(copies.boxes)
        yield "1 place covered" if many == 1 else f"{many} places covered"
    if copies is not None and not copies.safe:
        yield "covered differently on two tablets"


@dataclass(frozen=True, slots=True, kw_only=True)
class Covering:
    """A picture as it is covered on its page.

    Parameters
    ----------
    picture
        It, large and without the covers of `boxes`, as far as it is here uncovered.
    photo
        Its record.
    boxes
        The places that are covered in the copy.
    is_settled
        Whether one copy covers them all; not when two tablets covered different places.
    is_as_taken
        Whether the picture as it was taken is here.
    """

    picture: Picture
    photo: Photo
    boxes: tuple[Box, ...]
    is_settled: bool
    is_as_taken: bool


def covering_of(place: Workplace, walk: WalkFacts, sha256: str, ready: Picture | None = None) -> Covering:
    """Give what the page that covers people shows.

    Parameters
    ----------
    place
        Where the pictures are.
    walk
        The walk.
    sha256
        Of the recorded picture.
    ready
        The large picture from an earlier call, so that it is not made again.

    Raises
    ------
    InputError
        If the walk has no such picture.
    PhotoError
        If it is not here or cannot be read.
    """
    photo = photo_of(walk, sha256)
    copies = copies_by_photo(walk.facts.standing).get(sha256)
    if ready is None:
        data = picture_bytes(place.store, photo, copies)
        if data is None:
            raise PhotoError("The picture is not on this tablet; cover it on the one that took it.")
        size, pixels = small_picture(data, LARGE_PX)
        ready = Picture(key=sha256, caption=photo.caption, size=size, pixels=pixels)
    return Covering(
        picture=ready,
        photo=photo,
        boxes=copies.boxes if copies else (),
        is_settled=copies is None or bool(copies.safe),
        is_as_taken=place.store.photo_path(photo.file_name) is not None,
    )


def take_in(walking: Walking, path: Path, *, station: str, check: str) -> Photo:
    """Copy a picture into the store unchanged and record it at a station.

    Raises
    ------
    PhotoError
        If the file is not a whole picture.
    """
    return walking.add_photo(station, read_picture(path), path.name, check=check)
