"""How often values of a stable process give a signal all the same, on the charts of individual values.

The limits are estimates, and neighbouring moving ranges have a value in common, so this has no short
formula. It does not depend on mean and spread, and was simulated once: 200,000 charts of normal values for
each row of the table, standard error at most 0.0012 (``tests/analysis/false_signals.py`` makes the table
and the tests do some of it again)."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

_GRID = (8, 10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200)
_CHANCES = {
    8: (0.043, 0.131, 0.322, 0.464, 0.566, 0.639, 0.741, 0.809, 0.903, 0.947, 0.983, 0.994),
    10: (0.070, 0.251, 0.401, 0.513, 0.593, 0.706, 0.781, 0.887, 0.938, 0.980, 0.993),
    15: (0.147, 0.285, 0.407, 0.503, 0.637, 0.728, 0.857, 0.921, 0.974, 0.990),
    20: (0.228, 0.338, 0.440, 0.590, 0.690, 0.837, 0.909, 0.969, 0.989),
    25: (0.307, 0.399, 0.558, 0.666, 0.823, 0.901, 0.966, 0.988),
    30: (0.375, 0.529, 0.644, 0.811, 0.893, 0.964, 0.986),
    40: (0.499, 0.612, 0.794, 0.885, 0.960, 0.985),
    50: (0.598, 0.785, 0.880, 0.959, 0.985),
    75: (0.770, 0.872, 0.957, 0.985),
    100: (0.868, 0.957, 0.985),
    150: (0.957, 0.985),
    200: (0.986,),
}
"""By how many values make the limits: the chance for so many values in all, from the first of the grid that
is no less."""


def chance_of_signal(baseline: int, points: int) -> float:
    """Give the chance that a stable process gives at least one signal of any rule on either chart.

    Parameters
    ----------
    baseline
        How many values, the first ones, make the limits; at least 8.
    points
        How many values there are in all, at least `baseline`.

    Returns
    -------
    float
        0 to 1, for independent normal values; between the numbers of the table by straight lines, above 200
        that of 200.

    Examples
    --------
    >>> chance_of_signal(20, 20), chance_of_signal(30, 30)
    (0.228, 0.375)
    """
    if not _GRID[0] <= baseline <= points:
        raise ValueError(f"baseline must be at least {_GRID[0]} and at most points, not {baseline!r}")
    held, many = min(baseline, _GRID[-1]), min(points, _GRID[-1])
    low = _GRID[bisect_right(_GRID, held) - 1]
    if low == held:
        return _for(low, many)
    high = _GRID[_GRID.index(low) + 1]
    part = (held - low) / (high - low)
    if many >= high:
        return (1 - part) * _for(low, many) + part * _for(high, many)
    # Fewer values than the next row begins with: along the line of charts whose values all make the limits.
    whole = (1 - part) * _for(low, low) + part * _for(high, high)
    return whole + _for(low, many) - _for(low, held)


def _for(row: int, points: int) -> float:
    grid: Sequence[int] = _GRID[_GRID.index(row) :]
    chances = _CHANCES[row]
    place = bisect_right(grid, points) - 1
    if grid[place] == points:
        return chances[place]
    part = (points - grid[place]) / (grid[place + 1] - grid[place])
    return (1 - part) * chances[place] + part * chances[place + 1]
