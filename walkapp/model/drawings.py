"""What is drawn over a picture: arrow, ring, freehand line or words, and how a record writes where.

Places are in shares of the upright picture, so that a drawing stays where it belongs at any size, on any
screen and on paper, whichever way the camera or the tablet was held.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from walkapp.errors import RecordError
from walkapp.language import tr

SHAPES = ("arrow", "ring", "line", "words")
"""What can be drawn."""

MOST_POINTS = 200
"""Points of one freehand line at most; their text stays below what a text column keeps."""

LONGEST_WORDS = 40
"""Letters of words on a picture at most: more would hide it."""

LEAST_LETTERS, LETTERS, MOST_LETTERS = 20, 50, 200
"""Height of letters in thousandths of the longer side: least, as first put, and most."""

SMALLEST = 0.02
"""A drawing is not made smaller than this share of the longer side."""

_SHARE = re.compile(r"0(\.[0-9]{1,4})?|1(\.0{1,4})?", re.ASCII)
_DIGITS = 4
_EXPECTED = {"arrow": (2, 2), "ring": (2, 2), "line": (2, MOST_POINTS), "words": (1, 1)}


class Point(NamedTuple):
    """A place on an upright picture.

    Parameters
    ----------
    across, down
        Shares of width and height from the upper left corner, 0 to 1.
    """

    across: float
    down: float


@dataclass(frozen=True, slots=True)
class Drawing:
    """One thing drawn over a picture.

    Parameters
    ----------
    shape
        One of ``SHAPES``.
    points
        Of an arrow its tail and its tip; of a ring the upper left and the lower right corner of the box
        that it fills; of a freehand line 2 to 200 points along it; of words their middle.
    words
        What is written; empty for the other shapes.
    letters
        Height of the letters in thousandths of the longer side, 20 to 200; 0 for the other shapes.
    """

    shape: str
    points: tuple[Point, ...]
    words: str = ""
    letters: int = 0

    def problem(self) -> str:
        """Say in a few words what is wrong with it; empty when nothing is."""
        least, most = _EXPECTED[self.shape]
        if not least <= len(self.points) <= most:
            many = f"{least}" if least == most else tr("{least} to {most}", least=least, most=most)
            return tr(
                "points must be {many} for {shape}, not {points}",
                many=many,
                shape=self.shape,
                points=len(self.points),
            )
        if self.shape == "arrow" and self.points[0] == self.points[1]:
            return tr("points must differ: an arrow has a length")
        if self.shape == "ring" and not (
            self.points[0].across < self.points[1].across and self.points[0].down < self.points[1].down
        ):
            return tr("points must be the upper left and the lower right corner around the ring")
        if (self.shape == "words") != bool(self.words):
            return tr("words must be there for the shape words, and for no other")
        if (self.shape == "words") != bool(self.letters):
            return tr("letters must be there for the shape words, and for no other")
        return ""

    def moved(self, across: float, down: float) -> Drawing:
        """Give it farther across and down, in shares; it stops at the edge of the picture."""
        left, top, right, bottom = bounds(self.points)
        across = min(max(across, -left), 1 - right)
        down = min(max(down, -top), 1 - bottom)
        return self._with((p.across + across, p.down + down) for p in self.points)

    def resized(self, factor: float, width: float, height: float) -> Drawing:
        """Give it larger or smaller: an arrow about its tip, all else about its middle.

        Parameters
        ----------
        factor
            Above 1 for larger.
        width, height
            Of the picture, in any unit.

        Returns
        -------
        Drawing
            The same where it cannot get larger (the picture ends) or smaller (nobody would see it).
        """
        if self.shape == "words":
            letters = min(max(round(self.letters * factor), LEAST_LETTERS), MOST_LETTERS)
            return replace(self, letters=letters)
        left, top, right, bottom = bounds(self.points)
        longest = max(width, height)
        extent = max((right - left) * width, (bottom - top) * height) / longest
        if factor < 1 and extent * factor < SMALLEST:
            return self
        if self.shape == "arrow":
            tail, tip = self.points
            ends = zip(tail, tip, strict=True)
            factor = min(factor, *((float(t > p) - p) / (t - p) for t, p in ends if t != p))
            return self._with((_from(tail, tip, factor), tip))
        factor = min(factor, 1 / max(right - left, 1e-9), 1 / max(bottom - top, 1e-9))
        middle = Point((left + right) / 2, (top + bottom) / 2)
        return self._with(_inside([_from(point, middle, factor) for point in self.points]))

    def _with(self, places: Iterable[tuple[float, float]]) -> Drawing:
        changed = replace(self, points=tuple(rounded(*place) for place in places))
        return self if changed.problem() else changed


def rounded(across: float, down: float) -> Point:
    """Give the nearest point on the picture that a record can write."""
    return Point(*(round(min(max(share, 0.0), 1.0), _DIGITS) for share in (across, down)))


def bounds(points: Sequence[Point]) -> tuple[float, float, float, float]:
    """Give left, top, right and bottom of some points; at least one."""
    acrosses, downs = [p.across for p in points], [p.down for p in points]
    return min(acrosses), min(downs), max(acrosses), max(downs)


def _from(place: Point, middle: Point, factor: float) -> Point:
    """Give a place so many times as far from a middle."""
    return Point(*(m + (c - m) * factor for c, m in zip(place, middle, strict=True)))


def _inside(places: Sequence[Point]) -> list[Point]:
    """Push places that are no wider than the picture back onto it."""
    left, top, right, bottom = bounds(places)
    across = max(-left, 0.0) - max(right - 1, 0.0)
    down = max(-top, 0.0) - max(bottom - 1, 0.0)
    return [Point(p.across + across, p.down + down) for p in places]


def points_to_text(points: Iterable[Point]) -> str:
    """Write points as text: across and down, with a semicolon between two points.

    Examples
    --------
    >>> points_to_text([Point(0.25, 0.5), Point(1, 0)])
    '0.25 0.5; 1 0'
    """
    return "; ".join(f"{_text(across)} {_text(down)}" for across, down in points)


def points_from_text(text: str) -> tuple[Point, ...]:
    """Read what :func:`points_to_text` writes.

    Raises
    ------
    RecordError
        If the text has another form, a point lies beside the picture, or there are more than 200.

    Examples
    --------
    >>> points_from_text("0.25 0.5; 1 0")
    (Point(across=0.25, down=0.5), Point(across=1.0, down=0.0))
    """
    parts = text.split("; ")
    pairs = [part.split(" ") for part in parts[: MOST_POINTS + 1]]
    if len(pairs) > MOST_POINTS or not all(
        len(pair) == 2 and all(map(_SHARE.fullmatch, pair)) for pair in pairs
    ):
        raise RecordError(
            tr(
                "points must be shares from 0 to 1 in pairs such as 0.25 0.5; 0.75 0.5, at most "
                "{most_points} pairs, not {text}",
                most_points=MOST_POINTS,
                text=repr(text[:40]),
            )
        )
    return tuple(Point(float(across), float(down)) for across, down in pairs)


def _text(share: float) -> str:
    return f"{share:.{_DIGITS}f}".rstrip("0").rstrip(".")
