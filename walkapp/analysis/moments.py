"""Means and variances of decimals as they were typed, without rounding on the way.

Measured values have few digits, and many are equal or differ by the same step. In floating point the
spread of equal values, or of equal differences, comes out as a tiny number instead of 0, and a test
then finds certainty in rounding errors. Here every value is the decimal that a person typed, sums are
whole numbers, and only the last result is rounded.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

Number = float | Decimal | Fraction

_MOST_DIGITS, _MOST_DECIMALS = 30, 40
"""Beyond these a value is no measurement, and products of four of them would leave the floats."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Moments:
    """Where values lie and how far they spread.

    Parameters
    ----------
    count
        How many, at least 1.
    mean
        Exact arithmetic mean.
    variance
        Exact, with ``count - 1`` below the line; none for a single value.
    low, high
        Least and greatest value.
    """

    count: int
    mean: Fraction
    variance: Fraction | None
    low: Fraction
    high: Fraction

    @property
    def standard_deviation(self) -> float | None:
        """Root of the variance; 0 only when all values are equal, none for a single value."""
        return None if self.variance is None else math.sqrt(self.variance)


def exact(value: Number) -> Fraction:
    """Read a number as the shortest decimal that stands for it: 10.1 is 101/10.

    Parameters
    ----------
    value
        Finite, with at most 30 digits before the point and 40 decimals. A fraction is taken as it is.

    Returns
    -------
    Fraction
        Compares as the typed decimals do, also where floats would be a last digit off.

    Raises
    ------
    ValueError
        If the value is out of range.

    Examples
    --------
    >>> exact(10.3) - exact(10.1) == exact(0.2)
    True
    """
    if isinstance(value, Fraction):
        return value
    typed = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
    exponent = typed.as_tuple().exponent
    if not isinstance(exponent, int) or typed.adjusted() >= _MOST_DIGITS or exponent < -_MOST_DECIMALS:
        raise ValueError(
            f"a value must be finite, with at most {_MOST_DIGITS} digits before the point and "
            f"{_MOST_DECIMALS} decimals, not {value!r}"
        )
    return Fraction(typed)


def moments_of(values: Sequence[Fraction]) -> Moments:
    """Work out mean and variance.

    Parameters
    ----------
    values
        At least one, in any order.

    Returns
    -------
    Moments
        Exact.

    Raises
    ------
    ValueError
        If there is no value.

    Examples
    --------
    >>> found = moments_of([exact(value) for value in (10.1, 10.3, 10.5)])
    >>> found.mean, found.variance
    (Fraction(103, 10), Fraction(1, 25))
    """
    if not values:
        raise ValueError("there must be at least one value")
    count = len(values)
    wholes, unit = whole_numbers(values)
    total = sum(wholes)
    squares = sum(whole * whole for whole in wholes)
    spread = count * squares - total * total
    return Moments(
        count=count,
        mean=Fraction(total, count * unit),
        variance=Fraction(spread, count * (count - 1) * unit * unit) if count > 1 else None,
        low=Fraction(min(wholes), unit),
        high=Fraction(max(wholes), unit),
    )


def whole_numbers(values: Sequence[Fraction]) -> tuple[list[int], int]:
    """Write fractions as whole numbers over one common denominator: sums of those are quick.

    Examples
    --------
    >>> whole_numbers([exact(0.5), exact(0.25)])
    ([2, 1], 4)
    """
    unit = math.lcm(*(value.denominator for value in values))
    return [value.numerator * (unit // value.denominator) for value in values], unit
