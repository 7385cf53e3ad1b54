"""A JPEG file taken apart into its segments, and put together again without metadata.

A JPEG is a row of segments. Each begins with a marker: the byte 0xFF (any number of them) and a byte that
says what it is. Most markers are followed by two bytes of length, which counts itself, and the content.
After a start-of-scan segment come the compressed pixels, in which 0xFF is followed by 0x00 or a restart
marker 0xD0 to 0xD7; anything else there is the next marker. Metadata sits in application segments.

References
----------
ITU-T T.81 (1992) = ISO/IEC 10918-1, annex B: B.1.1.2 to B.1.1.5 (markers, segments, entropy-coded data),
B.2.2 (frame header), table B.1 (marker codes). JFIF and its small picture: ITU-T T.871. Metadata: CIPA
DC-008, section 4.5.5 and 4.7 (Exif in APP1), ICC.1, annex B.4 (profile in APP2). Written from memory of
these texts; the tests hold it against files that Pillow (libjpeg) writes and reads.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from walkapp.errors import PhotoError
from walkapp.language import tr
from walkapp.photos.content import CUT_SHORT, MOST_PARTS, PIECE_BYTES, Content, check_pixels, joined, shown
from walkapp.photos.exif import UPRIGHT, CameraNotes, orientation_block, read_exif

SIGNATURE = b"\xff\xd8\xff"

_MARKER = re.compile(rb"\xff[^\x00\xff\xd0-\xd7]")
_START, _END, _SCAN = 0xD8, 0xD9, 0xDA
_JFIF, _EXIF_OR_XMP, _PROFILE, _COLOUR, _COMMENT = 0xE0, 0xE1, 0xE2, 0xEE, 0xFE
_APPLICATION = range(0xE0, 0xF0)
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_EXIF_LABEL = b"Exif\0\0"
_JFIF_NUMBERS = 12
"""Bytes of label, version and density; then come width, height and pixels of a small picture."""
_COLOUR_BYTES = 12
"""Bytes of label, version, flags and colour transform of Adobe's segment."""
_MOST_SCANS = 100
_START_OF_IMAGE = b"\xff\xd8"
_END_OF_IMAGE = b"\xff\xd9"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Segment:
    """One marker, with its content (without marker and length) and all its bytes, pixels included.

    Those of the pixels are not copied out of the file: other threads would have to wait for that.
    """

    code: int
    content: bytes
    whole: memoryview


def read_jpeg(data: bytes, name: str) -> Content:
    """Take a JPEG apart; the pixels are not decoded.

    Parameters
    ----------
    data
        The file, which begins with :data:`SIGNATURE`.
    name
        Name of the file, for the sentence of an error.

    Returns
    -------
    Content
        `copy` keeps what is needed to show the picture (tables, frame, scans, JFIF without its small
        picture, colour profile, Adobe's colour segment) and nothing else: no Exif with its small
        picture, no XMP, no IPTC, no maker's segments, no comments, and nothing that stands behind the
        end of the picture, where phones put further pictures and films. The scans are the same bytes
        as before.

    Raises
    ------
    PhotoError
        If a segment is cut short, the end marker is missing, there is no frame or scan, the picture has
        too many pixels, or more than 100 scans (a small file that would take hours to decode).
    """
    segments, end = _split(data, name)
    frames = [_frame_size(segment, name) for segment in segments if segment.code in _FRAMES]
    scans = sum(segment.code == _SCAN for segment in segments)
    if not frames or not 1 <= scans <= _MOST_SCANS:
        raise PhotoError(tr(CUT_SHORT, name=shown(name)))
    for width_px, height_px in frames:
        check_pixels(width_px, height_px, name)
    notes = _read_notes(segments, trailer=data[end:])
    kept = [_needed_part(segment) for segment in segments if _is_needed(segment)]
    return Content(
        media="image/jpeg",
        width_px=frames[0][0],
        height_px=frames[0][1],
        notes=notes,
        copy=_join(kept, _exif_segment(notes.orientation)),
    )


def _split(data: bytes, name: str) -> tuple[list[_Segment], int]:
    """All segments between start and end marker, and where the bytes behind the end marker begin."""
    segments: list[_Segment] = []
    at = len(_START_OF_IMAGE)
    view = memoryview(data)
    while (start := _next_marker(data, at)) >= 0 and len(segments) < MOST_PARTS:
        code = data[start + 1]
        if code == _END:
            return segments, start + 2
        length = int.from_bytes(data[start + 2 : start + 4], "big")
        at = content_end = start + 2 + length
        if code == _START or length < 2 or content_end > len(data):
            break
        if code == _SCAN and (following := _next_marker(data, content_end)) >= 0:
            at = following
        segments.append(_Segment(code=code, content=data[start + 4 : content_end], whole=view[start:at]))
    raise PhotoError(tr(CUT_SHORT, name=shown(name)))


def _next_marker(data: bytes, at: int) -> int:
    """Find the next marker; -1 where there is none. In pieces, between which other threads may go on."""
    for begin in range(at, len(data), PIECE_BYTES):
        if found := _MARKER.search(data, begin, begin + PIECE_BYTES + 1):
            return found.start()
    return -1


def _frame_size(segment: _Segment, name: str) -> tuple[int, int]:
    """Width and height in pixels: bytes 3 and 4, 1 and 2 of a frame header."""
    if len(segment.content) < 6:
        raise PhotoError(tr(CUT_SHORT, name=shown(name)))
    height_px = int.from_bytes(segment.content[1:3], "big")
    return int.from_bytes(segment.content[3:5], "big"), height_px


def _read_notes(segments: list[_Segment], trailer: bytes) -> CameraNotes:
    """Orientation from the first Exif segment; a position may be in any segment, or in the trailer."""
    exif: list[CameraNotes] = []
    may_tell_place = bool(trailer.strip(b"\0"))
    for segment in segments:
        if segment.code == _EXIF_OR_XMP and segment.content.startswith(_EXIF_LABEL):
            exif.append(read_exif(segment.content.removeprefix(_EXIF_LABEL)))
        elif segment.code in _APPLICATION or segment.code == _COMMENT:
            may_tell_place |= b"GPS" in segment.content
    return CameraNotes(
        orientation=exif[0].orientation if exif else UPRIGHT,
        # Metadata too long for one segment goes on in the next, which the reader does not follow.
        may_tell_place=may_tell_place or len(exif) > 1 or any(notes.may_tell_place for notes in exif),
    )


def _is_needed(segment: _Segment) -> bool:
    """Whether a segment is needed to show the picture in its colours."""
    match segment.code:
        case code if code == _JFIF:
            return segment.content.startswith(b"JFIF\0")
        case code if code == _PROFILE:
            return segment.content.startswith(b"ICC_PROFILE\0")
        case code if code == _COLOUR:
            return segment.content.startswith(b"Adobe")
        case code:
            return code not in _APPLICATION and code != _COMMENT


def _needed_part(segment: _Segment) -> bytes | memoryview:
    """A segment without what it may hold beyond its purpose: JFIF can carry a small picture."""
    if segment.code == _JFIF:
        numbers = segment.content[:_JFIF_NUMBERS].ljust(_JFIF_NUMBERS, b"\0")
        return _make_segment(_JFIF, numbers + b"\0\0")
    if segment.code == _COLOUR:
        return _make_segment(_COLOUR, segment.content[:_COLOUR_BYTES])
    return segment.whole


def _make_segment(code: int, content: bytes) -> bytes:
    return bytes((0xFF, code)) + (len(content) + 2).to_bytes(2, "big") + content


def _exif_segment(orientation: int) -> bytes:
    """An Exif segment that says the orientation; nothing for an upright picture."""
    if orientation == UPRIGHT:
        return b""
    return _make_segment(_EXIF_OR_XMP, _EXIF_LABEL + orientation_block(orientation))


def _join(kept: list[bytes | memoryview], exif: bytes) -> bytes:
    """Put the file together; Exif comes behind JFIF, which has to be the first segment."""
    ahead = 1 if kept[0][1] == _JFIF else 0
    return joined((_START_OF_IMAGE, *kept[:ahead], exif, *kept[ahead:], _END_OF_IMAGE))
