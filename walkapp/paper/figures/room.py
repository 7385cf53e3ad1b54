"""The room of a figure on its page, and texts that fit into it.

Lengths are in points (1/72 inch), y goes up from the lower edge as matplotlib has it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from walkapp.paper.drawing import letters_of, printable
from walkapp.paper.flow import wrap

_SLACK = 0.75
"""By how many points ink may stand out of its area, or bounds of texts meet: less than can be seen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """A rectangle of a page.

    Parameters
    ----------
    left, bottom
        Its lower left corner, in points from that of the page.
    width, height
        Its sides, in points, above 0.
    """

    left: float
    bottom: float
    width: float
    height: float


Bounds = tuple[float, float, float, float]
"""Left, bottom, right and top in points."""


def shortened(text: str, width: float, size: float, lines: int, *, bold: bool = False) -> tuple[str, ...]:
    """Break a text into lines that fit, the last one shortened with three dots where they are too many.

    Parameters
    ----------
    text
        Any text.
    width
        Room for a line, in points.
    size
        Size of the letters, in points.
    lines
        How many lines there may be.
    bold
        Whether the letters are bold.

    Returns
    -------
    tuple of str
        At most `lines`; none where not even dots have room.
    """
    letters = letters_of(bold)
    broken = wrap(printable(text), width, lambda line: letters.width(line, size))
    if lines < 1 or letters.width("...", size) > width:
        return ()
    if len(broken) <= lines:
        return broken
    last = broken[lines - 1]
    while last and letters.width(f"{last}...", size) > width:
        last = last[:-1]
    return (*broken[: lines - 1], f"{last.rstrip()}...")


def is_inside(one: Bounds, area: Area) -> bool:
    """Say whether bounds lie in an area, as far as can be seen."""
    return (
        one[0] >= area.left - _SLACK
        and one[1] >= area.bottom - _SLACK
        and one[2] <= area.left + area.width + _SLACK
        and one[3] <= area.bottom + area.height + _SLACK
    )


def do_meet(one: Bounds, other: Bounds) -> bool:
    """Say whether two bounds lie over each other, as far as can be seen."""
    return (
        one[0] + _SLACK < other[2]
        and other[0] + _SLACK < one[2]
        and one[1] + _SLACK < other[3]
        and other[1] + _SLACK < one[3]
    )


def clip_of(area: Area, canvas: Any) -> Any:
    """Give what keeps the ink of a canvas of matplotlib inside an area."""
    from matplotlib.transforms import Bbox, TransformedBbox

    inches = [side / 72 for side in (area.left, area.bottom, max(area.width, 0), max(area.height, 0))]
    return TransformedBbox(Bbox.from_bounds(*inches), canvas.dpi_scale_trans)
