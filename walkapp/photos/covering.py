"""Covering places of a picture, faces and name plates above all, so that nobody can uncover them."""

from __future__ import annotations

import io
from collections.abc import Sequence

from PIL import Image, ImageDraw

from walkapp.model.boxes import Box
from walkapp.photos.picture import upright_picture

JPEG_QUALITY = 90
"""Of Pillow's scale to 95; colour is kept at full size, so that edges beside a box stay sharp."""

_HATCH_STEPS = 8
_MIDDLE_GREY = 128


def cover(data: bytes, boxes: Sequence[Box], name: str = "") -> bytes:
    """Copy a picture with places covered, upright and without any metadata.

    Parameters
    ----------
    data
        A JPEG or PNG file; the original stays untouched.
    boxes
        What to cover, in pixels of the upright picture; each must lie on it.
    name
        Name of the file, only for the sentence of an error.

    Returns
    -------
    bytes
        The same kind of file. A PNG keeps every pixel outside the boxes; a JPEG is packed anew with
        quality 90, since its pixels cannot be changed otherwise. The colour profile is kept, except that
        four-colour JPEGs become RGB and 16-bit grey becomes 8-bit.

    Raises
    ------
    PhotoError
        As in :func:`walkapp.photos.examine`.
    ValueError
        If a box does not lie on the picture.

    Notes
    -----
    Each box is filled with one colour, the mean of what it hides, and with hatching, so that nobody takes
    the place for what the camera saw. Three numbers a box remain of what was there. A blur spreads the
    picture out and can be undone in good part, since nothing is thrown away; coarse pixels keep tens of
    numbers, enough to tell which of a few known faces or texts it was (general knowledge of the field,
    no source). So neither is offered.
    """
    kind, image = upright_picture(data, name)
    for box in boxes:
        if not box.fits(*image.size):
            raise ValueError(f"{box} does not lie on a picture of {image.size[0]} x {image.size[1]} pixels")
    for box in boxes:
        image.paste(_plate(image.crop(box)), box)
    target = io.BytesIO()
    profile = image.info.get("icc_profile")
    # Only what is named is written: Pillow would put further info of the picture into the file.
    clean = Image.frombytes(image.mode, image.size, image.tobytes())
    if kind == "JPEG":
        clean.save(target, "JPEG", quality=JPEG_QUALITY, subsampling=0, icc_profile=profile)
    else:
        clean.save(target, "PNG", icc_profile=profile)
    return target.getvalue()


def _plate(hidden: Image.Image) -> Image.Image:
    """What is laid over a place: its mean colour, hatched in black or white."""
    mean = hidden.convert("RGB").resize((1, 1), Image.Resampling.BOX)
    plate = mean.resize(hidden.size)
    is_light = mean.convert("L").getpixel((0, 0)) > _MIDDLE_GREY  # type: ignore[operator]
    ink = "black" if is_light else "white"
    draw = ImageDraw.Draw(plate)
    width, height = hidden.size
    step = max(min(width, height) // _HATCH_STEPS, 4)
    for start in range(-height, width, step):
        draw.line((start, height, start + height, 0), fill=ink, width=step // 4)
    draw.rectangle((0, 0, width - 1, height - 1), outline=ink, width=step // 4)
    return plate.convert(hidden.mode)
