"""A PNG file taken apart into its chunks, and put together again without metadata.

A PNG is an eight-byte signature and a row of chunks: four bytes of length, four letters, the content, and
a CRC-32 over letters and content. Text sits in ``tEXt``, ``zTXt`` and ``iTXt``, camera metadata in
``eXIf``.

References
----------
W3C, "Portable Network Graphics (PNG) Specification", third edition: section 5 (datastream structure),
11.2.1 (image header), 11.3 (further chunks, ``eXIf`` among them). Written from memory; the tests hold it
against files that Pillow writes and reads.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable

from walkapp.errors import PhotoError
from walkapp.language import tr
from walkapp.photos.content import CUT_SHORT, MOST_PARTS, Content, check_pixels, joined, shown
from walkapp.photos.exif import UPRIGHT, CameraNotes, orientation_block, read_exif

SIGNATURE = b"\x89PNG\r\n\x1a\n"

_NEEDED = frozenset(
    (b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"cICP", b"sBIT", b"pHYs")
)
_TEXTS = frozenset((b"tEXt", b"zTXt", b"iTXt"))
_HEADER_BYTES = 13

Chunk = tuple[bytes, bytes]
"""Four letters and the content."""


def read_png(data: bytes, name: str) -> Content:
    """Take a PNG apart; the pixels are not decoded.

    Parameters
    ----------
    data
        The file, which begins with :data:`SIGNATURE`.
    name
        Name of the file, for the sentence of an error.

    Returns
    -------
    Content
        `copy` keeps header, palette, transparency, pixels, colour and pixel density and nothing else: no
        texts, no camera metadata, no time, no animation, no private chunks, nothing behind the end.
        The compressed pixels are the same bytes as before.

    Raises
    ------
    PhotoError
        If a chunk is cut short or does not match its checksum, there is not exactly one header and that
        first, the end is missing, or the picture has too many pixels.
    """
    chunks, end = _split(data, name)
    headers = [content for letters, content in chunks if letters == b"IHDR"]
    if len(headers) != 1 or chunks[0][0] != b"IHDR" or len(headers[0]) != _HEADER_BYTES:
        raise PhotoError(tr(CUT_SHORT, name=shown(name)))
    width_px = int.from_bytes(headers[0][:4], "big")
    height_px = int.from_bytes(headers[0][4:8], "big")
    check_pixels(width_px, height_px, name)
    notes = _read_notes(chunks, trailer=data[end:])
    kept = [chunk for chunk in chunks if chunk[0] in _NEEDED]
    if notes.orientation != UPRIGHT:
        kept.insert(1, (b"eXIf", orientation_block(notes.orientation)))
    return Content(
        media="image/png",
        width_px=width_px,
        height_px=height_px,
        notes=notes,
        copy=_join(kept),
    )


def _split(data: bytes, name: str) -> tuple[list[Chunk], int]:
    """All chunks before the end chunk, and where the bytes behind the end chunk begin."""
    chunks: list[Chunk] = []
    at = len(SIGNATURE)
    while at + 12 <= len(data) and len(chunks) < MOST_PARTS:
        end = at + 12 + int.from_bytes(data[at : at + 4], "big")
        letters, content = data[at + 4 : at + 8], data[at + 8 : end - 4]
        if end > len(data) or zlib.crc32(data[at + 4 : end - 4]) != int.from_bytes(
            data[end - 4 : end], "big"
        ):
            break
        if letters == b"IEND":
            return chunks, end
        chunks.append((letters, content))
        at = end
    raise PhotoError(tr(CUT_SHORT, name=shown(name)))


def _read_notes(chunks: list[Chunk], trailer: bytes) -> CameraNotes:
    """Orientation from the ``eXIf`` chunk; a position may be in any metadata, or in the trailer."""
    exif = [read_exif(content) for letters, content in chunks if letters == b"eXIf"]
    return CameraNotes(
        orientation=exif[0].orientation if exif else UPRIGHT,
        may_tell_place=len(exif) > 1
        or any(notes.may_tell_place for notes in exif)
        or any(letters in _TEXTS and _may_tell_place(letters, content) for letters, content in chunks)
        or bool(trailer.strip(b"\0")),
    )


def _may_tell_place(letters: bytes, content: bytes) -> bool:
    """Whether a text tells a position, or is packed or coded so that it cannot be ruled out."""
    keyword, _, rest = content.partition(b"\0")
    is_packed = letters == b"zTXt" or (letters == b"iTXt" and rest[:1] == b"\x01")
    return is_packed or b"GPS" in content or keyword.startswith(b"Raw profile type")


def _join(chunks: Iterable[Chunk]) -> bytes:
    parts = [SIGNATURE]
    for letters, content in (*chunks, (b"IEND", b"")):
        body = letters + content
        parts += (len(content).to_bytes(4, "big"), body, zlib.crc32(body).to_bytes(4, "big"))
    return joined(parts)
