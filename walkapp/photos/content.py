"""What the file of a picture holds, whichever of the two formats it has."""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import dataclass

from walkapp.errors import LargePhotoError, PhotoError
from walkapp.language import msg, tr
from walkapp.photos.exif import CameraNotes
from walkapp.visible import visible

MOST_PIXELS = 50_000_000
MOST_BYTES = 25_000_000

MOST_PARTS = 100_000
"""Segments or chunks in one file; a real picture has some thousands at most."""

PIECE_BYTES = 500_000
"""Of a large file, so many bytes at a time: Python's other threads wait while it copies or searches."""

CUT_SHORT = msg("{name} is damaged or was not copied completely; copy it again or take the picture again.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """A picture file taken apart.

    Parameters
    ----------
    media
        ``image/jpeg`` or ``image/png``.
    width_px, height_px
        Size as stored, before turning upright.
    notes
        What its metadata says.
    copy
        The same picture as a file whose only metadata is the orientation: pixels unchanged.
    """

    media: str
    width_px: int
    height_px: int
    notes: CameraNotes
    copy: bytes


def joined(parts: Iterable[bytes | memoryview]) -> bytes:
    """Put a file together, in pieces between which other threads may go on: it has many megabytes."""
    file = io.BytesIO()
    for part in parts:
        for begin in range(0, len(part), PIECE_BYTES):
            file.write(part[begin : begin + PIECE_BYTES])
    return file.getvalue()


def check_pixels(width_px: int, height_px: int, name: str) -> None:
    """Refuse a size that would take more memory than a tablet has to spare, or none at all.

    Raises
    ------
    PhotoError
        Unless both sides are at least 1.
    LargePhotoError
        If the picture has more than 50 million pixels.
    """
    if width_px < 1 or height_px < 1:
        raise PhotoError(tr(CUT_SHORT, name=shown(name)))
    if width_px * height_px > MOST_PIXELS:
        raise LargePhotoError(
            tr(
                "{shown} has {width_px} x {height_px} pixels, more than {most_pixels} million; "
                "set the camera to a smaller picture size.",
                shown=shown(name),
                width_px=width_px,
                height_px=height_px,
                most_pixels=MOST_PIXELS // 1000000,
            )
        )


def check_bytes(size_bytes: int, name: str) -> None:
    """Refuse a file of more than 25 million bytes.

    Raises
    ------
    LargePhotoError
        If `size_bytes` is above the limit.
    """
    if size_bytes > MOST_BYTES:
        raise LargePhotoError(
            tr(
                "{shown} is larger than {most_bytes} MB; set the camera to a smaller picture size.",
                shown=shown(name),
                most_bytes=MOST_BYTES // 1000000,
            )
        )


def shown(name: str) -> str:
    """Name of a file as a sentence may show it: one line, at most 80 characters, never empty.

    Examples
    --------
    >>> shown("a\\nb.jpg"), shown("")
    ('a b.jpg', 'The picture')
    """
    clean = visible(name).strip()
    if len(clean) > 80:
        clean = clean[:38] + "..." + clean[-39:]
    return clean or tr("The picture")
