"""Recorded pictures as the screen shows them: small, with people covered, and words for what is missing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from walkapp.actions.copies import Album, Copies, copies_by_photo, photo_of, picture_bytes, shown_bytes
from walkapp.actions.intake import SMALL_PX as SMALL_PX
from walkapp.actions.marks import marks_on
from walkapp.actions.workplace import Workplace
from walkapp.errors import LargePhotoError, PhotoError
from walkapp.language import msg, tr, trn
from walkapp.model.boxes import Box
from walkapp.model.drawings import Drawing
from walkapp.model.records import Photo, Record
from walkapp.model.standing import Standing
from walkapp.photos import small_picture

LARGE_PX = 1600
MOST_SHOWN = 12
_GREY = bytes((128, 128, 128))
NOT_HERE = msg("Not on this tablet")
DAMAGED = msg("Damaged, cannot be shown")
TOO_LARGE = msg("Too large to be shown")


Give = Callable[[Photo, Copies | None, int], "Picture"]
"""Makes a recorded picture of at most so many pixels on its longest side, as :func:`shown_picture` does."""


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
    is_here
        Whether the picture or a copy of it is on this tablet, to be shown or not.
    """

    key: str
    caption: str
    size: tuple[int, int]
    pixels: bytes
    trouble: str = ""
    is_here: bool = True


def kept_pictures(
    place: Workplace, give: Give, records: Iterable[Record], standing: Standing
) -> tuple[Picture, ...]:
    """Give the newest pictures among some records that are here, newest first, with people covered.

    Parameters
    ----------
    place
        Where they are.
    give
        Makes a picture small, or has it ready.
    records
        In the order in which they were made.
    standing
        What holds in the concern: copies of them may cover people.
    """
    copies = copies_by_photo(standing)
    photos = [record for record in records if isinstance(record, Photo)]
    tiles = (
        _tile(place, give, photo, copies.get(photo.sha256)) for photo in reversed(photos[-MOST_SHOWN:])
    )
    return tuple(tile for tile in tiles if tile.is_here)


def _tile(place: Workplace, give: Give, photo: Photo, copies: Copies | None) -> Picture:
    """Make one recorded picture small, and say what it shows."""
    picture = give(photo, copies, SMALL_PX)
    named = photo.caption or f"{photo.width_px} x {photo.height_px}"
    if picture.trouble:
        return replace(picture, caption=tr("{trouble}: {picture}", trouble=picture.trouble, picture=named))
    return replace(picture, caption=", ".join((named, *_said(place, photo, copies))))


def shown_picture(
    place: Workplace,
    photo: Photo,
    copies: Copies | None,
    longest_px: int,
    drawings: Sequence[Drawing] | None = None,
) -> Picture:
    """Give a recorded picture with people covered and its marks, or a grey field that says why not.

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
    drawings
        What is drawn over it; its marks where nothing is given.
    """
    if drawings is None:
        drawings = marks_on(place, photo).drawings
    # One damaged file must not hide the others, nor that there is a picture.
    try:
        data = shown_bytes(place.store, photo, copies)
        if data is not None:
            size, pixels = small_picture(data, longest_px, drawings=drawings)
            return Picture(key=photo.sha256, caption=photo.caption, size=size, pixels=pixels)
    except LargePhotoError:
        return no_picture(photo.sha256, tr(TOO_LARGE), photo.caption)
    except (PhotoError, OSError):
        return no_picture(photo.sha256, tr(DAMAGED), photo.caption)
    if place.store.photo_path(photo.file_name) is not None:
        return no_picture(photo.sha256, tr(DAMAGED), photo.caption)
    return replace(no_picture(photo.sha256, tr(NOT_HERE), photo.caption), is_here=False)


def no_picture(key: str, trouble: str, caption: str = "") -> Picture:
    """Give a grey field that says why there is no picture."""
    return Picture(key=key, caption=caption, size=(1, 1), pixels=_GREY, trouble=trouble)


def _said(place: Workplace, photo: Photo, copies: Copies | None) -> Iterator[str]:
    """Say what a picture is shown without, and with."""
    if place.store.photo_path(photo.file_name) is None:
        yield tr("copy without place and serial number")
    if copies is not None and copies.boxes:
        many = len(copies.boxes)
        yield trn("{count} place covered", "{count} places covered", many)
    if copies is not None and not copies.safe:
        yield tr("covered differently on two tablets")
    marks = marks_on(place, photo)
    if marks.total > len(marks.drawn):
        yield tr(
            "{drawn} of {marks} drawn",
            drawn=len(marks.drawn),
            marks=trn("{count} mark", "{count} marks", marks.total),
        )
    elif marks.total:
        yield trn("{count} mark", "{count} marks", marks.total)


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
