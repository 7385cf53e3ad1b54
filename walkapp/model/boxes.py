"""Boxes on a picture, in pixels, and how a record writes them as text."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple

from walkapp.errors import RecordError
from walkapp.language import tr

MOST_BOXES = 100
"""Boxes on one picture at most; their text stays well below what a text column keeps."""

_BOX = re.compile(r"[0-9]{1,6} [0-9]{1,6} [0-9]{1,6} [0-9]{1,6}", re.ASCII)


class Box(NamedTuple):
    """A box on an upright picture, in whole pixels from its upper left corner.

    Parameters
    ----------
    left, top
        First column and row inside, from 0.
    right, bottom
        First column and row outside again.
    """

    left: int
    top: int
    right: int
    bottom: int

    def fits(self, width_px: int, height_px: int) -> bool:
        """Say whether the box has pixels and all of them lie on a picture of that size."""
        return 0 <= self.left < self.right <= width_px and 0 <= self.top < self.bottom <= height_px


def boxes_to_text(boxes: Iterable[Box]) -> str:
    """Write boxes as text: left, top, right and bottom, with a semicolon between two boxes.

    Examples
    --------
    >>> boxes_to_text([Box(10, 20, 30, 40), Box(0, 0, 5, 5)])
    '10 20 30 40; 0 0 5 5'
    """
    return "; ".join(" ".join(map(str, box)) for box in boxes)


def boxes_from_text(text: str) -> tuple[Box, ...]:
    """Read what :func:`boxes_to_text` writes.

    Raises
    ------
    RecordError
        If the text has another form, a box comes twice, or there are more than 100.

    Examples
    --------
    >>> boxes_from_text("10 20 30 40")
    (Box(left=10, top=20, right=30, bottom=40),)
    """
    if not text:
        return ()
    parts = text.split("; ")
    if len(parts) > MOST_BOXES or len(set(parts)) < len(parts) or not all(map(_BOX.fullmatch, parts)):
        raise RecordError(
            tr(
                "covered must be boxes such as 10 20 30 40, each once, at most {most_boxes}, not {text}",
                most_boxes=MOST_BOXES,
                text=repr(text[:40]),
            )
        )
    return tuple(Box(*map(int, part.split(" "))) for part in parts)
