"""Drawings over a picture, made ready for the screen, which knows shares of the picture and no geometry."""

from __future__ import annotations

from dataclasses import dataclass

from walkapp.actions.marks import width_of, words_as_drawn
from walkapp.model.drawings import Drawing
from walkapp.model.strokes import DARK_INK, LIGHT_INK, PADDING, plate, strokes, thickness

Share = tuple[float, float]
"""A place in shares of a picture's width and height, from its upper left corner."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WordPlate:
    """Words on their plate.

    Parameters
    ----------
    words
        In letters that can be drawn.
    left, top, right, bottom
        The plate, in shares of width and height.
    letters
        Height of the letters in shares of the height.
    padding
        Room before the words in shares of the width.
    """

    words: str
    left: float
    top: float
    right: float
    bottom: float
    letters: float
    padding: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkView:
    """One drawing.

    Parameters
    ----------
    key
        By what it is chosen; empty while it is not kept.
    lines
        Its lines, point by point.
    plate
        Its words; none where it has none.
    """

    key: str = ""
    lines: tuple[tuple[Share, ...], ...] = ()
    plate: WordPlate | None = None


def view_of(drawing: Drawing, size: tuple[float, float], key: str = "") -> MarkView:
    """Make a drawing ready to be drawn over a picture of a size, in any unit."""
    width, height = size
    lines = tuple(
        tuple((x / width, y / height) for x, y in line) for line in strokes(drawing, width, height)
    )
    if drawing.shape != "words":
        return MarkView(key=key, lines=lines)
    box = plate(drawing, width_of(drawing.words), width, height)
    return MarkView(
        key=key,
        plate=WordPlate(
            words=words_as_drawn(drawing.words),
            left=box.left / width,
            top=box.top / height,
            right=box.right / width,
            bottom=box.bottom / height,
            letters=box.letters / height,
            padding=PADDING * box.letters / width,
        ),
    )


__all__ = ["DARK_INK", "LIGHT_INK", "MarkView", "Share", "WordPlate", "thickness", "view_of"]
