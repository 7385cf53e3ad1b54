"""Drawing marks over a picture that is shown or printed; the picture file stays as it is."""

from __future__ import annotations

import os
from collections.abc import Sequence
from functools import cache, lru_cache
from importlib.util import find_spec
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from walkapp.model.drawings import Drawing
from walkapp.model.strokes import DARK_INK, LIGHT_INK, PADDING, Polyline, plate, strokes, thickness
from walkapp.visible import visible

FONT = "DejaVuSans.ttf"
"""The font with most letters that Kivy brings; the window draws the same words with it."""

_FINEST, _FINE_PX = 4, 3200
"""Lines are drawn so many times larger, up to so many pixels, and shrunk, so that they are smooth."""

_MEASURED_PX = 100
_NO_LETTER = "\U0010fffe"
"""No character, so the font's sign for a missing one is drawn."""


def draw_marks(image: Image.Image, drawings: Sequence[Drawing]) -> None:
    """Draw marks over an upright picture in mode RGB.

    Parameters
    ----------
    image
        Changed in place.
    drawings
        What to draw, words last; whoever calls bounds their number.
    """
    if not drawings:
        return
    lines = [line for one in drawings for line in strokes(one, *image.size)]
    if lines:
        for ink, width in zip((DARK_INK, LIGHT_INK), thickness(max(image.size)), strict=True):
            image.paste(ink, (0, 0), _mask(image.size, lines, width))
    for one in drawings:
        if one.shape == "words":
            _write(image, one)


def words_as_drawn(words: str) -> str:
    """Put words into letters that can be seen; one that the font does not have is shown by its number."""
    return "".join(
        letter if _has(letter) else f"<U+{ord(letter):04X}>" for letter in " ".join(visible(words).split())
    )


@lru_cache(maxsize=1000)
def width_of(words: str) -> float:
    """Give the width of words as they are drawn, in heights of their letters."""
    return _font(_MEASURED_PX).getlength(words_as_drawn(words)) / _MEASURED_PX


def _mask(size: tuple[int, int], lines: Sequence[Polyline], width: float) -> Image.Image:
    """Give how much of each pixel some lines with round ends and corners cover."""
    fine = min(max(_FINE_PX // max(size), 1), _FINEST)
    mask = Image.new("L", (size[0] * fine, size[1] * fine))
    draw = ImageDraw.Draw(mask)
    radius = width * fine / 2
    for line in lines:
        # Pillow counts from the middle of a pixel.
        places = [(x * fine - 0.5, y * fine - 0.5) for x, y in line]
        draw.line(places, fill=255, width=round(2 * radius))
        for x, y in places:
            draw.ellipse((x - radius, y - radius, x + radius, y + radius), fill=255)
    return mask.reduce(fine)


def _write(image: Image.Image, words: Drawing) -> None:
    shown = words_as_drawn(words.words)
    box = plate(words, width_of(words.words), *image.size)
    draw = ImageDraw.Draw(image)
    left, top, right, bottom = (round(side) for side in box[:4])
    draw.rectangle((left, top, max(right - 1, left), max(bottom - 1, top)), fill=DARK_INK)
    start = (box.left + PADDING * box.letters, (box.top + box.bottom) / 2)
    draw.text(start, shown, LIGHT_INK, _font(max(box.letters, 1)), "lm")


@cache
def _font_file() -> Path | None:
    """Find the font beside Kivy, which is not imported for it, wherever the program was put together."""
    folders = [Path(folder) for folder in [os.environ.get("KIVY_DATA_DIR")] if folder]
    if (kivy := find_spec("kivy")) is not None:
        folders += [Path(folder) / "data" for folder in kivy.submodule_search_locations or ()]
    return next((p for folder in folders if (p := folder / "fonts" / FONT).is_file()), None)


@lru_cache(maxsize=32)
def _font(size_px: float) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    path = _font_file()
    if path is None:
        return ImageFont.load_default(size_px)
    return ImageFont.truetype(path, size_px, layout_engine=ImageFont.Layout.BASIC)


@lru_cache(maxsize=4000)
def _has(letter: str) -> bool:
    """Whether the font has a letter: it draws something else than its sign for a missing one."""
    if letter == " ":
        return True
    font = _font(_MEASURED_PX)
    return bytes(font.getmask(letter)) != bytes(font.getmask(_NO_LETTER))
