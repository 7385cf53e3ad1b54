"""How a drawing over a picture looks: the one geometry for the screen, for small pictures and for paper.

Everything is in pixels of a picture of a given size, from its upper left corner, downwards. All sizes are
shares of the longer side, so that a drawing looks the same at every size.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from heapq import heapify, heappop, heappush
from itertools import pairwise
from typing import NamedTuple

from walkapp.model.drawings import LETTERS, MOST_POINTS, Drawing, Point, rounded

LIGHT, EDGE = 0.006, 0.003
"""Thickness of the light line and of the dark edge on each of its sides, in shares of the longer side.

On a picture printed as wide as a page of A4 (180 mm) that is about 1 mm of light between 0.5 mm of dark.
"""

LEAST_LIGHT_PX, LEAST_EDGE_PX = 2.0, 1.0
"""In a small picture a line is not thinner than this."""

LIGHT_INK, DARK_INK = (255, 232, 64), (0, 0, 0)
"""Red, green and blue, 0 to 255: on any picture at least one of the two stands out."""

PADDING = 0.3
"""Room before and behind words on their plate, in heights of their letters."""

_LINE = 1.5
"""Height of the plate, in heights of the letters."""

_HEAD, _HEAD_ANGLE = 0.05, math.radians(32)
_RING_SIDES = 64
_TAPPED_ARROW, _TAPPED_RING = 0.16, 0.07
_THINNEST_RING = 0.03
_FLAT = 1e-5
"""A corner of a freehand line is left out when its triangle is no larger than this share of the square of
the longer side."""

Place = tuple[float, float]
Polyline = tuple[Place, ...]


class Plate(NamedTuple):
    """Where words stand, in pixels: the dark plate behind them, and the height of their letters."""

    left: float
    top: float
    right: float
    bottom: float
    letters: float


def thickness(longest_px: float) -> tuple[float, float]:
    """Give the thickness of the dark line and of the light line upon it, in pixels.

    Parameters
    ----------
    longest_px
        Longer side of the picture.

    Examples
    --------
    >>> thickness(1600), thickness(320)
    ((19.2, 9.6), (4.0, 2.0))
    """
    light = max(LIGHT * longest_px, LEAST_LIGHT_PX)
    return light + 2 * max(EDGE * longest_px, LEAST_EDGE_PX), light


def strokes(drawing: Drawing, width: float, height: float) -> tuple[Polyline, ...]:
    """Give the lines of a drawing; words have none."""
    places = tuple((p.across * width, p.down * height) for p in drawing.points)
    match drawing.shape:
        case "arrow":
            return _arrow(places[0], places[1], max(width, height))
        case "ring":
            return (_ellipse(places[0], places[1]),)
        case "line":
            return (places,)
        case _:
            return ()


def plate(drawing: Drawing, ems: float, width: float, height: float) -> Plate:
    """Give where the words of a drawing stand; always wholly on the picture.

    Parameters
    ----------
    drawing
        Words.
    ems
        Width of the words, in heights of their letters, at least 0.
    width, height
        Of the picture.
    """
    room = ems + 2 * PADDING
    letters = min(drawing.letters / 1000 * max(width, height), width / room, height / _LINE)
    wide, high = room * letters, _LINE * letters
    (middle,) = drawing.points
    left = min(max(middle.across * width - wide / 2, 0.0), width - wide)
    top = min(max(middle.down * height - high / 2, 0.0), height - high)
    return Plate(left, top, left + wide, top + high, letters)


def distance(drawing: Drawing, at: Point, ems: float, width: float, height: float) -> float:
    """Give how far a place is from a drawing, in pixels; 0 on it. Within a ring counts half.

    Parameters
    ----------
    drawing, ems, width, height
        As for :func:`plate`.
    at
        The place.
    """
    x, y = at.across * width, at.down * height
    if drawing.shape == "words":
        box = plate(drawing, ems, width, height)
        return math.hypot(max(box.left - x, 0, x - box.right), max(box.top - y, 0, y - box.bottom))
    lines = strokes(drawing, width, height)
    found = min(_to_segment((x, y), a, b) for line in lines for a, b in pairwise(line))
    is_within = drawing.shape == "ring" and _is_within((x, y), drawing.points, width, height)
    return found / 2 if is_within else found


def arrow_to(tail: Point, tip: Point) -> Drawing:
    """Draw an arrow; the two must differ."""
    return Drawing("arrow", (rounded(*tail), rounded(*tip)))


def arrow_at(tip: Point, width: float, height: float) -> Drawing:
    """Draw an arrow of usual length that points at a place, from where there is more room."""
    longest = max(width, height)
    slant = _TAPPED_ARROW / math.sqrt(2) * longest
    across = (slant if tip.across < 0.5 else -slant) / width
    down = (slant if tip.down < 0.5 else -slant) / height
    return arrow_to(Point(tip.across + across, tip.down + down), tip)


def ring_around(one: Point, other: Point, width: float, height: float) -> Drawing:
    """Draw a ring that fills the box between two corners; never so thin that it is no ring."""
    least = _THINNEST_RING * max(width, height)
    left, right = _span(one.across, other.across, least / width)
    top, bottom = _span(one.down, other.down, least / height)
    return Drawing("ring", (rounded(left, top), rounded(right, bottom)))


def ring_at(middle: Point, width: float, height: float) -> Drawing:
    """Draw a round ring of usual size around a place."""
    radius = _TAPPED_RING * max(width, height)
    across, down = radius / width, radius / height
    corner = Point(middle.across - across, middle.down - down)
    return ring_around(corner, Point(middle.across + across, middle.down + down), width, height)


def words_at(middle: Point, words: str, letters: int = LETTERS) -> Drawing:
    """Write words at a place."""
    return Drawing("words", (rounded(*middle),), words, letters)


def line_along(points: Sequence[Point], width: float, height: float) -> Drawing:
    """Draw a freehand line with as few points as show it.

    Parameters
    ----------
    points
        Where the finger was, at least two; shares, those beside the picture are put on its edge.
    width, height
        Of the picture.

    Notes
    -----
    Points are left out one by one, always the one that makes the smallest triangle with its neighbours
    (Visvalingam and Whyatt 1993, from memory): what is left is at most 200 points however long the finger
    drew, and the time grows little faster than with the number of points.
    """
    places = [(p.across * width, p.down * height) for p in (rounded(*point) for point in points)]
    kept = _simplified(places, _FLAT * max(width, height) ** 2)
    return Drawing("line", tuple(rounded(*points[i]) for i in kept))


def _arrow(tail: Place, tip: Place, longest: float) -> tuple[Polyline, ...]:
    length = math.dist(tail, tip)
    head = min(_HEAD * longest, 0.6 * length)
    back = math.atan2(tail[1] - tip[1], tail[0] - tip[0])
    barbs = [
        (tip[0] + head * math.cos(back + turn), tip[1] + head * math.sin(back + turn))
        for turn in (-_HEAD_ANGLE, _HEAD_ANGLE)
    ]
    return (tail, tip), (barbs[0], tip, barbs[1])


def _ellipse(one: Place, other: Place) -> Polyline:
    x, y = (one[0] + other[0]) / 2, (one[1] + other[1]) / 2
    a, b = abs(other[0] - one[0]) / 2, abs(other[1] - one[1]) / 2
    turns = (2 * math.pi * side / _RING_SIDES for side in range(_RING_SIDES + 1))
    return tuple((x + a * math.cos(turn), y + b * math.sin(turn)) for turn in turns)


def _is_within(place: Place, corners: Sequence[Point], width: float, height: float) -> bool:
    (left, top), (right, bottom) = corners
    across = (2 * place[0] / width - left - right) / (right - left)
    down = (2 * place[1] / height - top - bottom) / (bottom - top)
    return across * across + down * down <= 1


def _span(one: float, other: float, least: float) -> tuple[float, float]:
    """Give two ends in order, at least so far apart, and within 0 to 1 as far as they fit."""
    low, high = sorted((one, other))
    length = min(max(high - low, least), 1.0)
    low = min(max((low + high - length) / 2, 0.0), 1 - length)
    return low, low + length


def _to_segment(place: Place, a: Place, b: Place) -> float:
    along = (b[0] - a[0], b[1] - a[1])
    square = along[0] ** 2 + along[1] ** 2
    if not square:
        return math.dist(place, a)
    share = ((place[0] - a[0]) * along[0] + (place[1] - a[1]) * along[1]) / square
    share = min(max(share, 0.0), 1.0)
    return math.dist(place, (a[0] + share * along[0], a[1] + share * along[1]))


def _simplified(places: Sequence[Place], flat: float) -> list[int]:
    """Give the indexes of the points to keep: few, and no corner is flatter than the area `flat`."""
    last = len(places) - 1
    before, after = list(range(-1, last)), list(range(1, last + 2))
    corners = [(_corner(places, at - 1, at, at + 1), at, at - 1, at + 1) for at in range(1, last)]
    heapify(corners)
    left = len(places)
    while corners and (left > MOST_POINTS or corners[0][0] <= flat):
        area, at, left_of, right_of = heappop(corners)
        if (before[at], after[at]) != (left_of, right_of):
            continue  # A neighbour went meanwhile, and the corner stands in the heap once more.
        before[at] = after[at] = -1
        after[left_of], before[right_of] = right_of, left_of
        left -= 1
        for near in (left_of, right_of):
            if 0 < near < last:
                ends = before[near], after[near]
                # Never less than what went: else a slow bend would be eaten up point by point.
                heappush(corners, (max(area, _corner(places, ends[0], near, ends[1])), near, *ends))
    return [at for at in range(last + 1) if at in (0, last) or before[at] >= 0]


def _corner(places: Sequence[Place], one: int, middle: int, other: int) -> float:
    """Give the area of the triangle of three points."""
    (ax, ay), (bx, by), (cx, cy) = places[one], places[middle], places[other]
    return abs((bx - ax) * (cy - ay) - (cx - ax) * (by - ay)) / 2
