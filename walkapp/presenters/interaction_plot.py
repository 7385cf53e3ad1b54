"""The interaction plot of two factors, as plain values from 0 to 1; the window only draws them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from walkapp.analysis.factorial import Group, TrialResult
from walkapp.analysis.factorial_words import TrialNames, four_texts
from walkapp.language import decimal_text, msg, tr, trn
from walkapp.presenters.wording import parts_in_words

STYLES = {-1: "dashed", 1: "solid"}
LABELS = {-1: msg("{name} (dashed)"), 1: msg("{name} (solid)")}
"""How the lines of the low and the high level are drawn, so that they differ without colour."""

MOST_TICKS = 5

LEFT, RIGHT = 0.2, 0.7
"""Where the two levels along the axis lie; room is left for the names of the lines."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlotLine:
    """One line of the plot.

    Parameters
    ----------
    name
        Factor and level that it stands for.
    style
        ``solid`` or ``dashed``.
    label
        Its name, and how it is drawn.
    points
        Place of its two ends: across and up, 0 to 1 each.
    label_at
        Height of its name beside the right end, so that two names never lie over each other.
    """

    name: str
    style: str
    label: str
    points: tuple[tuple[float, float], tuple[float, float]]
    label_at: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlotView:
    """The plot, ready to be drawn.

    Parameters
    ----------
    axis
        What is drawn upwards, with its unit.
    ticks
        Height (0 to 1) and text of each line of the scale, from below.
    across
        The two levels along the axis, with the name of their factor.
    lines
        One for each level of the other factor, low first.
    groups
        What each of the four combinations gave, in words.
    says
        How many runs and parts stand behind each point.
    """

    axis: str
    ticks: tuple[tuple[float, str], ...]
    across: tuple[str, str]
    lines: tuple[PlotLine, ...]
    groups: tuple[str, ...]
    says: str


def interaction_plot(
    result: TrialResult, names: TrialNames, across: int, lines: int, response: str
) -> PlotView:
    """Lay out the means of the four combinations of two factors' levels.

    Parameters
    ----------
    result
        A finished trial.
    names
        What its factors are called.
    across
        Place of the factor along the axis, from 0.
    lines
        Place of the other factor, whose two levels are two lines.
    response
        What is drawn upwards, for example ``NOK share``.

    Raises
    ------
    ValueError
        If both are the same factor.
    """
    if across == lines:
        raise ValueError("an interaction plot takes two factors")
    groups = result.four_groups(across, lines)
    is_counted = all(group.tally is not None for group in groups.values())
    scale = 100 if is_counted else 1
    means = {at: group.mean * scale for at, group in groups.items()}
    lowest = Fraction(0) if is_counted else min(means.values())
    ticks = nice_ticks(float(lowest), float(max(means.values())))
    low, high = ticks[0], ticks[-1]

    def height(at: tuple[int, int]) -> float:
        return (float(means[at]) - low) / (high - low)

    decimals = max(0, -math.floor(math.log10(ticks[1] - ticks[0]) + 1e-9))
    ends = {sign: height((1, sign)) for sign in (-1, 1)}
    unit = "%" if is_counted else names.unit
    return PlotView(
        axis=f"{response}, {unit}" if unit else response,
        ticks=tuple(((tick - low) / (high - low), decimal_text(f"{tick:.{decimals}f}")) for tick in ticks),
        across=(
            f"{names.factors[across].name}: {names.factors[across].low}",
            f"{names.factors[across].name}: {names.factors[across].high}",
        ),
        lines=tuple(
            PlotLine(
                name=(name := f"{names.factors[lines].name}: {names.factors[lines].level(sign)}"),
                style=STYLES[sign],
                label=tr(LABELS[sign], name=name),
                points=((LEFT, height((-1, sign))), (RIGHT, height((1, sign)))),
                label_at=_apart(ends)[sign],
            )
            for sign in (-1, 1)
        ),
        groups=four_texts(result, (across, lines), names),
        says=_says(tuple(groups.values())),
    )


def nice_ticks(low: float, high: float) -> tuple[float, ...]:
    """Give round numbers that reach from at most `low` to at least `high`.

    Parameters
    ----------
    low, high
        In order; they may be equal.

    Returns
    -------
    tuple of float
        Two or more, evenly apart by 1, 2 or 5 times a power of ten.

    Examples
    --------
    >>> nice_ticks(0, 85)
    (0.0, 20.0, 40.0, 60.0, 80.0, 100.0)
    """
    farthest = max(abs(low), abs(high))
    # So small a width beside so large a number cannot be told apart by a float.
    width = max(high - low, farthest * _LEAST_WIDTH) if high > low else max(farthest / 10, 1.0)
    step = 10.0 ** math.floor(math.log10(width / MOST_TICKS))
    factor = next(f for f in (1, 2, 5, 10) if f * step * MOST_TICKS >= width * (1 - 1e-9))
    step *= factor
    first = math.floor(low / step + 1e-9)
    last = max(math.ceil(high / step - 1e-9), first + 1)
    return tuple(number * step for number in range(first, last + 1))


_LEAST_WIDTH = 1e-9

_LABEL_HEIGHT = 0.24
"""Part of the height that a name and its figures take beside the right end."""


def _apart(ends: dict[int, float]) -> dict[int, float]:
    """Move two names apart where they would lie over each other; none leaves the drawing."""
    half = _LABEL_HEIGHT / 2
    first, second = sorted(ends, key=lambda sign: (ends[sign], sign))
    low, high = ends[first], ends[second]
    if high - low < _LABEL_HEIGHT:
        middle = (low + high) / 2
        low, high = middle - half, middle + half
    low = max(low, half)
    high = min(max(high, low + _LABEL_HEIGHT), 1 - half)
    return {first: min(low, high - _LABEL_HEIGHT), second: high}


def _says(groups: tuple[Group, ...]) -> str:
    runs = groups[0].runs

    parts = sorted({group.tally[1] for group in groups if group.tally is not None})
    if not parts:
        return trn(
            "Each point is the mean of {count} run.", "Each point is the mean of {count} runs.", runs
        )
    told = (
        tr("{first} to {last} parts", first=parts[0], last=parts[-1])
        if len(parts) > 1
        else parts_in_words(parts[0])
    )
    return trn(
        "Each point is the mean of {count} run, {parts}.",
        "Each point is the mean of {count} runs, {parts}.",
        runs,
        parts=told,
    )
