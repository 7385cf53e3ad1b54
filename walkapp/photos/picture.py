"""Judge a picture by its content, copy it without the place, and make a small one to show."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Sequence
from dataclasses import dataclass

from PIL import Image, ImageFile

from walkapp.errors import PhotoError
from walkapp.language import tr
from walkapp.model.drawings import Drawing
from walkapp.photos import jpeg, png
from walkapp.photos.content import CUT_SHORT, Content, check_bytes, shown
from walkapp.photos.exif import TURNED_A_QUARTER
from walkapp.photos.marking import draw_marks

LARGEST_SIDE_PX = 2048
"""Longest side of a small picture: older graphics chips show nothing beyond 4096, and none needs it."""

SMALL_QUALITY = 85
"""Of a small JPEG, on Pillow's scale to 95."""

# What Pillow has been seen to raise on damaged files, beyond what it documents (OSError).
_DECODER_ERRORS = (
    OSError, SyntaxError, ValueError, TypeError, LookupError, EOFError, ArithmeticError, AttributeError,
    AssertionError, struct.error, zlib.error, Image.DecompressionBombError,
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureFacts:
    """What a picture file holds.

    Parameters
    ----------
    media
        ``image/jpeg`` or ``image/png``, whatever the name of the file says.
    width_px, height_px
        Size of the upright picture, each at least 1.
    orientation
        How the stored pixels must be turned to stand upright: 1 to 8 as Exif counts them, 1 for not at
        all, for "not said" and for metadata that cannot be read.
    has_location
        Whether the file tells where it was taken, or holds something in which that cannot be ruled out
        (unreadable camera metadata, packed text, further data behind the picture).
    """

    media: str
    width_px: int
    height_px: int
    orientation: int
    has_location: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class WholePicture:
    """A picture that was decoded to the last pixel, with what is made of it at the same time.

    Parameters
    ----------
    facts
        What the file holds.
    copy
        As :func:`without_location` gives it.
    size
        Width and height of `rgb` in pixels, each at least 1.
    rgb
        A small upright picture, three bytes a pixel, top row first; what is transparent is white.
    """

    facts: PictureFacts
    copy: bytes
    size: tuple[int, int]
    rgb: bytes


def examine(data: bytes, name: str) -> PictureFacts:
    """Decode a whole picture and say what it is.

    Parameters
    ----------
    data
        The file: JPEG or PNG, at most 25 million bytes and 50 million pixels.
    name
        Name of the file, only for the sentence of an error.

    Returns
    -------
    PictureFacts
        Metadata that cannot be read does not spoil a picture that can be seen.

    Raises
    ------
    PhotoError
        If the file is empty, too large, neither JPEG nor PNG, or cannot be decoded to the last pixel.

    Notes
    -----
    The size in the header is checked before anything is decoded. Pillow is given the picture without its
    metadata, so that damaged metadata cannot make it fail or warn. Its ``verify`` is not used: it accepts
    JPEGs that were cut short. A JPEG of which bytes inside the compressed pixels were changed, all
    markers intact, decodes to a distorted picture; the format has no checksum that would tell.
    """
    content = _take_apart(data, name)
    _decode(content, name)
    return _facts_of(content)


def examine_whole(data: bytes, longest_px: int, name: str = "") -> WholePicture:
    """Do what :func:`examine`, :func:`small_picture` and :func:`without_location` do, and decode once.

    Parameters
    ----------
    data
        The file: JPEG or PNG, at most 25 million bytes and 50 million pixels.
    longest_px
        Longest side of the small picture, 1 to 2048. A smaller picture is not enlarged.
    name
        Name of the file, only for the sentence of an error.

    Returns
    -------
    WholePicture
        The small picture is made of all pixels; :func:`small_picture` lets the decoder leave some out, so
        that the two differ by a little.

    Raises
    ------
    PhotoError
        As in :func:`examine`.
    ValueError
        If `longest_px` is out of range.
    """
    _check_side(longest_px)
    content = _take_apart(data, name)
    image = _decode(content, name)
    try:
        small = _turn(_shrink(image, longest_px), content.notes.orientation)
    except MemoryError as error:
        raise _out_of_memory(name) from error
    return WholePicture(facts=_facts_of(content), copy=content.copy, size=small.size, rgb=small.tobytes())


def _facts_of(content: Content) -> PictureFacts:
    width_px, height_px = content.width_px, content.height_px
    if content.notes.orientation in TURNED_A_QUARTER:
        width_px, height_px = height_px, width_px
    return PictureFacts(
        media=content.media,
        width_px=width_px,
        height_px=height_px,
        orientation=content.notes.orientation,
        has_location=content.notes.may_tell_place,
    )


def without_location(data: bytes, name: str = "") -> bytes:
    """Copy a picture without the place, the camera's serial number and every other metadata.

    Parameters
    ----------
    data
        A JPEG or PNG file. The original stays untouched in the store; the copy is for what leaves the
        tablet.
    name
        Name of the file, only for the sentence of an error.

    Returns
    -------
    bytes
        The same kind of file with the same compressed pixels, byte for byte, and the same orientation.
        Only what is needed to show the picture is kept; see :func:`walkapp.photos.jpeg.read_jpeg` and
        :func:`walkapp.photos.png.read_png`. Doing it twice changes nothing more.

    Raises
    ------
    PhotoError
        If the file is empty, too large, neither JPEG nor PNG, or its parts are cut short. The pixels
        are not decoded.
    """
    return _take_apart(data, name).copy


def small_picture(
    data: bytes, longest_px: int, name: str = "", drawings: Sequence[Drawing] = ()
) -> tuple[tuple[int, int], bytes]:
    """Make a small upright picture for the screen.

    Parameters
    ----------
    data
        A JPEG or PNG file.
    longest_px
        Longest side of the result, 1 to 2048. A smaller picture is not enlarged.
    name
        Name of the file, only for the sentence of an error.
    drawings
        Marks to draw over it, however small it is.

    Returns
    -------
    size
        Width and height in pixels, each at least 1.
    rgb
        Width x height x 3 bytes: red, green, blue, rows from top to bottom. What is transparent is white.

    Raises
    ------
    PhotoError
        As in :func:`examine`.
    ValueError
        If `longest_px` is out of range.

    Notes
    -----
    Shrink first and turn last: JPEG is decoded at a fraction of its size, which is several times faster.
    """
    _check_side(longest_px)
    return picture_pixels(data, longest_px, name, drawings)


def picture_pixels(
    data: bytes, longest_px: int, name: str = "", drawings: Sequence[Drawing] = ()
) -> tuple[tuple[int, int], bytes]:
    """Give the upright pixels of a picture, to be worked on; as :func:`small_picture`, of any size."""
    content = _take_apart(data, name)
    small = _turn(_decode(content, name, longest_px), content.notes.orientation)
    draw_marks(small, drawings)
    return small.size, small.tobytes()


def _check_side(longest_px: int) -> None:
    if not 1 <= longest_px <= LARGEST_SIDE_PX:
        raise ValueError(f"longest_px must be 1 to {LARGEST_SIDE_PX}, not {longest_px}")


def small_jpeg(
    data: bytes, longest_px: int, name: str = "", drawings: Sequence[Drawing] = ()
) -> tuple[tuple[int, int], bytes]:
    """Make a small upright JPEG without any metadata; parameters and errors as for :func:`small_picture`.

    Returns
    -------
    size
        Width and height in pixels, each at least 1.
    jpeg
        The file; what is transparent is white.
    """
    size, rgb = small_picture(data, longest_px, name, drawings)
    return size, packed(size, rgb)


def packed(size: tuple[int, int], rgb: bytes) -> bytes:
    """Pack the pixels that :func:`small_picture` gives as a JPEG without any metadata."""
    target = io.BytesIO()
    Image.frombytes("RGB", size, rgb).save(target, "JPEG", quality=SMALL_QUALITY)
    return target.getvalue()


def upright_picture(data: bytes, name: str = "") -> tuple[str, Image.Image]:
    """Decode a whole picture and turn it upright.

    Parameters
    ----------
    data
        A JPEG or PNG file.
    name
        Name of the file, only for the sentence of an error.

    Returns
    -------
    kind
        ``JPEG`` or ``PNG``.
    image
        In mode L, RGB or RGBA, with its colour profile, if it has one, in ``info["icc_profile"]``. What
        has other modes is converted: 16-bit grey to 8-bit, four colours (and then without the profile,
        which no longer fits), palettes and two-level pictures to true colours or grey.

    Raises
    ------
    PhotoError
        As in :func:`examine`.
    """
    content = _take_apart(data, name)
    image = _decode(content, name)
    profile = image.info.get("icc_profile")
    if image.mode in ("CMYK", "YCbCr"):
        image, profile = image.convert("RGB"), None
    elif image.mode == "1":
        image = image.convert("L")
    else:
        image = _true_colours(image)
    turned = _turn(image, content.notes.orientation)
    turned.info = {"icc_profile": profile} if profile else {}
    return _pillow_kind(content), turned


def _take_apart(data: bytes, name: str) -> Content:
    """Tell the format by the first bytes and take the file apart."""
    if not data:
        raise PhotoError(
            tr("{shown} is empty; copy it again or take the picture again.", shown=shown(name))
        )
    check_bytes(len(data), name)
    if data.startswith(jpeg.SIGNATURE):
        return jpeg.read_jpeg(data, name)
    if data.startswith(png.SIGNATURE):
        return png.read_png(data, name)
    raise PhotoError(
        tr(
            "{shown} is neither a JPEG nor a PNG picture; set the camera to JPEG or choose another file.",
            shown=shown(name),
        )
    )


def _decode(content: Content, name: str, longest_px: int | None = None) -> Image.Image:
    """Decode every pixel, not turned; with `longest_px` shrunk and in RGB."""
    try:
        with Image.open(io.BytesIO(content.copy), formats=[_pillow_kind(content)]) as image:
            # In one piece, during which other threads run: after each piece the worker has to wait for the
            # thread that draws.
            image.decodermaxblock = max(len(content.copy), ImageFile.MAXBLOCK)
            if longest_px is None:
                image.load()
                return image
            image.draft("RGB", (longest_px, longest_px))
            return _shrink(image, longest_px)
    except MemoryError as error:
        raise _out_of_memory(name) from error
    except _DECODER_ERRORS as error:
        raise PhotoError(tr(CUT_SHORT, name=shown(name))) from error


def _out_of_memory(name: str) -> PhotoError:
    return PhotoError(
        tr(
            "{shown} needs more memory than is free; close other programs or take a smaller picture.",
            shown=shown(name),
        )
    )


def _pillow_kind(content: Content) -> str:
    return "JPEG" if content.media == "image/jpeg" else "PNG"


def _true_colours(image: Image.Image) -> Image.Image:
    """Turn palettes and transparency into true colours, and 16-bit grey into 8-bit."""
    if image.mode.startswith("I"):
        # Pillow would clip 16-bit grey to white instead of scaling it.
        return image.convert("I").point(lambda grey: grey * (1 / 256)).convert("L")
    if image.mode not in ("L", "RGB", "CMYK", "YCbCr") or "transparency" in image.info:
        return image.convert("RGBA")
    return image


def _shrink(image: Image.Image, longest_px: int) -> Image.Image:
    """Shrink to RGB; palettes first become true colours, since mixing palette indexes means nothing."""
    image = _true_colours(image)
    image.thumbnail((longest_px, longest_px))
    if image.mode == "RGBA":
        return Image.alpha_composite(Image.new("RGBA", image.size, "white"), image).convert("RGB")
    return image.convert("RGB")


def _turn(image: Image.Image, orientation: int) -> Image.Image:
    """Turn stored pixels upright (CIPA DC-008, tag Orientation, from memory; checked against Pillow)."""
    turns = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_270,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_90,
    }
    return image.transpose(turns[orientation]) if orientation in turns else image
