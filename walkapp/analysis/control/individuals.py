"""The chart of individual values and the chart of their moving ranges."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from walkapp.analysis.control.rules import (
    ALL_RULES,
    FIRM_POINTS,
    OUTSIDE,
    Placed,
    Signal,
    signals_of,
)
from walkapp.analysis.control.value_chance import chance_of_signal
from walkapp.analysis.moments import Number, exact
from walkapp.language import tr

D2 = 2.0 / math.sqrt(math.pi)
"""Mean range of two values, in sigma: 1.12838. Tables print 1.128."""

D4 = 1.0 + 3.0 * math.sqrt(math.pi / 2.0 - 1.0)
"""Upper limit of the range of two values, in mean ranges: 3.26653. Tables print 3.267."""

FEWEST_VALUES = 8
"""Values from which limits are made at all: our own choice."""

_PI = Fraction(math.pi)


@dataclass(frozen=True, slots=True, kw_only=True)
class IndividualsChart:
    """A chart of individual values with the chart of their moving ranges.

    Parameters
    ----------
    values
        In the order of time.
    ranges
        Distance of each value, from the second on, to the one before it.
    baseline
        How many values, from the first on, the lines are made of.
    centre, sigma, low, high
        Mean, spread from the mean moving range, and control limits; none where there are no limits.
    range_centre, range_high
        Mean moving range and upper limit of the ranges; the lower one is 0. None likewise.
    signals
        What the eight rules find in the values.
    range_signals
        Ranges above their limit, by index of `ranges`. No other rule is used: two ranges that follow each
        other have a value in common.
    false_chance
        Chance that values of a stable process give at least one signal on either chart
        (:func:`walkapp.analysis.control.value_chance.chance_of_signal`); none without limits.
    why_none
        Why there are no limits, in words; empty where there are.
    """

    values: tuple[float, ...]
    ranges: tuple[float, ...]
    baseline: int
    centre: float | None = None
    sigma: float | None = None
    low: float | None = None
    high: float | None = None
    range_centre: float | None = None
    range_high: float | None = None
    signals: tuple[Signal, ...] = ()
    range_signals: tuple[Signal, ...] = ()
    false_chance: float | None = None
    why_none: str = ""

    @property
    def is_provisional(self) -> bool:
        """Whether there are limits, from so few values that they are only a first idea."""
        return self.centre is not None and self.baseline < FIRM_POINTS


def individuals_chart(values: Sequence[Number], *, baseline: int | None = None) -> IndividualsChart:
    """Make the charts of individual values and of their moving ranges.

    Parameters
    ----------
    values
        In the order of time, of one characteristic; one for each part.
    baseline
        How many values, from the first on, make the lines, which are then held for the others, so that a
        later change shows; all when none or when they would be fewer than ``FEWEST_VALUES``.

    Raises
    ------
    ValueError
        If a value is no finite number that can be read exactly (:func:`walkapp.analysis.moments.exact`).

    Notes
    ----- Sigma is the mean moving range divided by ``2 / sqrt(pi)``, the exact constant and not the 1.128
    of tables; the limits are three of it on each side of the mean (NIST/SEMATECH e-Handbook of Statistical
    Methods, 6.3.2.2, which uses 1.128). Sides and zones are told with exact fractions, so that a value on
    the mean is on neither side.

    Examples
    --------
    The flow rates of the handbook: it prints 45.8159 and 55.8041.

    >>> rates = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
    >>> found = individuals_chart(rates)
    >>> round(found.low, 4), round(found.high, 4), found.signals
    (45.8176, 55.8024, ())
    """
    typed = [exact(value) for value in values]
    ranges = [abs(b - a) for a, b in pairwise(typed)]
    used = len(typed) if baseline is None or baseline < FEWEST_VALUES else min(baseline, len(typed))
    plain = IndividualsChart(
        values=tuple(float(value) for value in typed),
        ranges=tuple(float(one) for one in ranges),
        baseline=used,
    )
    if used < FEWEST_VALUES:
        return replace(
            plain, why_none=tr("they need {fewest_values} values at least", fewest_values=FEWEST_VALUES)
        )
    mean = sum(typed[:used], Fraction(0)) / used
    mean_range = sum(ranges[: used - 1], Fraction(0)) / (used - 1)
    if not mean_range:
        return replace(
            plain,
            why_none=tr(
                "all values that would make them are equal: the gauge is too coarse, or they "
                "were not measured one by one"
            ),
        )
    centre, mean_of_ranges = float(mean), float(mean_range)
    sigma = mean_of_ranges / D2
    highest = Fraction(D4) * mean_range
    return replace(
        plain,
        centre=centre,
        sigma=sigma,
        low=centre - 3.0 * sigma,
        high=centre + 3.0 * sigma,
        range_centre=mean_of_ranges,
        range_high=D4 * mean_of_ranges,
        signals=signals_of([_placed(value, mean, mean_range) for value in typed], ALL_RULES),
        range_signals=tuple(
            Signal(rule=OUTSIDE, side=1, points=(index,))
            for index, one in enumerate(ranges)
            if one > highest
        ),
        false_chance=chance_of_signal(used, len(typed)),
    )


def _placed(value: Fraction, mean: Fraction, mean_range: Fraction) -> Placed:
    away = value - mean
    # |away| > zone * sigma, with sigma = mean range * sqrt(pi) / 2, squared.
    zone = sum(4 * away * away > zone * zone * _PI * mean_range * mean_range for zone in (1, 2, 3))
    return Placed(value=value, side=(away > 0) - (away < 0), zone=zone)
