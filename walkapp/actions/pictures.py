"""Pictures on their way from the watched folder into the records, and back to the screen."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from walkapp.actions.copies import Album, Copies, copies_by_photo, photo_of, picture_bytes, shown_bytes
from walkapp.actions.intake import Subject, keep_photo
from walkapp.actions.workplace import Workplace
from walkapp.errors import PhotoError
from walkapp.language import msg, tr, trn
from walkapp.model.boxes import Box
from walkapp.model.records import Photo, Record
from walkapp.model.standing import Standing
from walkapp.photos import pictures_in, read_picture, small_picture

SMALL_PX = 320
LARGE_PX = 1600
MOST_SHOWN = 12
_GREY = bytes((128, 128, 128))
NOT_HERE = msg("Not on this tablet")
DAMAGED = msg("Damaged, cannot be shown")


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
    trouble
        Why there is only a grey field instead, in words; empty when the picture is shown.
    """

    key: str
    caption: str
    size: tuple[int, int]
    pixels: bytes
    trouble: str = ""


def new_pictures(folder: Path, records: Iterable[Record]) -> tuple[Picture, ...]:
    """Give the newest pictures of a folder that are not recorded yet.

    Parameters
    ----------
    folder
        Where to look; a missing folder holds no pictures.
    records
        The records in which they are not to be yet.

    Notes
    -----
    A file that is no whole picture (half copied, perhaps) is left out; it appears when it is whole.
    """
    if not folder.is_dir():
        return ()
    known = {r.sha256 for r in records if isinstance(r, Photo)}
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
    return tuple(tile for tile in tiles if tile.trouble != NOT_HERE)


def _tile(place: Workplace, photo: Photo, copies: Copies | None) -> Picture:
    """Make one recorded picture small, and say what it shows."""
    picture = shown_picture(place, photo, copies, SMALL_PX)
    named = photo.caption or f"{photo.width_px} x {photo.height_px}"
    if picture.trouble:
        return replace(picture, caption=f"{picture.trouble}: {named}")
    return replace(picture, caption=", ".join((named, *_said(place, photo, copies))))


def shown_picture(place: Workplace, photo: Photo, copies: Copies | None, longest_px: int) -> Picture:
    """Give a recorded picture with people covered, or a grey field that says why not.

    Parameters
    ----------
    place
        Where the pictures are.
    photo
        Its record.
    copies
        The copies of it that hold, or none.
    longest_px
        Longest side.
    """
    try:
        data = shown_bytes(place.store, photo, copies)
        if data is not None:
            size, pixels = small_picture(data, longest_px)
            return Picture(key=photo.sha256, caption=photo.caption, size=size, pixels=pixels)
    except PhotoError:
        data = None
    # One damaged file must not hide the others, nor that there is a picture.
    trouble = NOT_HERE if place.store.photo_path(photo.file_name) is None else DAMAGED
    return Picture(key=photo.sha256, caption=photo.caption, size=(1, 1), pixels=_GREY, trouble=trouble)


class Thumbnails:
    """Recorded pictures to show, the newest of them held ready: a limit sample is shown at every check.

    Parameters
    ----------
    place
        Where the pictures are.
    """

    MOST_HELD = 24
    HELD_PX = 640

    def __init__(self, place: Workplace) -> None:
        self._place = place
        self._held: dict[tuple[str, tuple[Box, ...], int], Picture] = {}

    def give(self, photo: Photo, copies: Copies | None, longest_px: int) -> Picture:
        """Give a picture as :func:`shown_picture` does."""
        key = (photo.sha256, copies.boxes if copies else (), longest_px)
        if key in self._held:
            return replace(self._held[key], caption=photo.caption)
        picture = shown_picture(self._place, photo, copies, longest_px)
        if not picture.trouble and longest_px <= self.HELD_PX:
            if len(self._held) >= self.MOST_HELD:
                del self._held[next(iter(self._held))]
            self._held[key] = picture
        return picture


def _said(place: Workplace, photo: Photo, copies: Copies | None) -> Iterator[str]:
    """Say what a picture is shown without."""
    if place.store.photo_path(photo.file_name) is None:
        yield tr("copy without place and serial number")
    if copies is not None and copies.boxes:
        many = len(copies.boxes)
        yield trn("{count} place covered", "{count} places covered", many)
    if copies is not None and not copies.safe:
        yield tr("covered differently on two tablets")


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


def covering_of(place: Workplace, here: Album, sha256: str, ready: Picture | None = None) -> Covering:
    """Give what the page that covers people shows.

    Parameters
    ----------
    place
        Where the pictures are.
    here
        Where it is recorded.
    sha256
        Of the recorded picture.
    ready
        The large picture from an earlier call, so that it is not made again.

    Raises
    ------
    InputError
        If there is no such picture.
    PhotoError
        If it is not here or cannot be read.
    """
    photo = photo_of(here, sha256)
    copies = copies_by_photo(here.facts.standing).get(sha256)
    if ready is None:
        data = picture_bytes(place.store, photo, copies)
        if data is None:
            raise PhotoError(tr("The picture is not on this tablet; cover it on the one that took it."))
        size, pixels = small_picture(data, LARGE_PX)
        ready = Picture(key=sha256, caption=photo.caption, size=size, pixels=pixels)
    return Covering(
        picture=ready,
        photo=photo,
        boxes=copies.boxes if copies else (),
        is_settled=copies is None or bool(copies.safe),
        is_as_taken=place.store.photo_path(photo.file_name) is not None,
    )


def take_in(place: Workplace, subject: Subject, path: Path, *, caption: str = "") -> Photo:
    """Copy a picture into the store unchanged and record it.

    Parameters
    ----------
    place
        Where to keep it.
    subject
        What it is taken in for.
    path
        The file.
    caption
        What it shows, or what to look at.

    Raises
    ------
    PhotoError
        If the file is not a whole picture.
    """
    return keep_photo(place, subject, read_picture(path), path.name, caption=caption)
