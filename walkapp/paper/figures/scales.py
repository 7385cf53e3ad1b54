"""What figures over time have in common: labels below the axis that fit, and a key above it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from walkapp.paper.drawing import letters_of
from walkapp.paper.figures.drawn import Plane

_LEAST_LABEL = 6.0
"""Letters that a label below the axis has room for, at least."""

_MOST_LABEL = 14.0


def label_places(plane: Plane, ax: Any, labels: Sequence[Sequence[str]], *, beside: float = 0.0) -> None:
    """Write what the points are called below the axis: as many as there is room for, evenly spaced.

    Parameters
    ----------
    plane
        Where the figure draws.
    ax
        Axes whose points stand at 0, 1, 2, ...
    labels
        For each point one or two lines, such as its lot and its day.
    beside
        Width of what stands on the left of the axes, in points.
    """
    small = plane.size * 0.85
    many = len(labels)
    ax.set_xlim(-0.5, max(many, 1) - 0.5)
    if not many:
        ax.set_xticks([])
        return
    room = max(plane.area.width - beside - 2 * plane.size, 1.0) / many
    measure = letters_of(False).width
    widest = max(measure(line, small) for label in labels for line in label)
    wanted = min(max(widest, _LEAST_LABEL * small * 0.6), _MOST_LABEL * small * 0.6) + small
    step = max(1, -int(-wanted // room))
    places = range(0, many, step)
    width = step * room - small * 0.6
    shown = ["\n".join(plane.label(line, width, lines=1) for line in labels[place]) for place in places]
    ax.set_xticks(list(places), shown, fontsize=small)


def write_key(
    plane: Plane, ax: Any, entries: Sequence[tuple[Mapping[str, Any], str]], *, over: float = 0.0
) -> None:
    """Write above axes what each line and shape means.

    Parameters
    ----------
    plane
        Where the figure draws.
    ax
        The upper axes of the figure.
    entries
        For each how it is drawn (of ``Line2D``, or with ``facecolor`` of ``Patch``) and what it means.
    over
        How far above the axes, in heights of its letters.
    """
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    small = plane.size * 0.85
    shown, columns = _laid_out(plane, [words for _, words in entries])
    handles = [
        Patch(**style) if "facecolor" in style else Line2D([], [], **style) for style, _ in entries
    ]  # fmt: skip
    ax.legend(
        # no text: matplotlib's words
        handles, shown, loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=columns, frameon=False,
        fontsize=small, borderpad=0.1, borderaxespad=0.2 + over, handlelength=2.4, handletextpad=0.6,
        columnspacing=1.2, labelspacing=0.3,
    )  # fmt: skip


def key_height(plane: Plane, words: Sequence[str]) -> float:
    """Give the height of a key with these words, in points."""
    return -(-len(words) // _laid_out(plane, words)[1]) * plane.size * 0.85 * 1.5


def _laid_out(plane: Plane, words: Sequence[str]) -> tuple[list[str], int]:
    """The words of a key as they are shown, and in how many columns."""
    small = plane.size * 0.85
    shown = [plane.label(one, plane.area.width * 0.8, lines=1) for one in words]
    wide = max((letters_of(False).width(one, small) for one in shown), default=0.0) + 4.5 * small
    return shown, max(1, min(len(shown), int(plane.area.width * 0.86 / wide)))
