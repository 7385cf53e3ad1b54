"""How long a run of the same answer comes by chance alone, where each answer has its own chance."""

from __future__ import annotations

import math
from collections.abc import Sequence


def chance_of_run(chances: Sequence[float], least: int) -> float:
    """Give the chance of a run of at least so many hits in a row.

    Parameters
    ----------
    chances
        For each trial, in order, the chance of a hit, 0 to 1; the trials are independent.
    least
        Length of the run, at least 1.

    Returns
    -------
    float
        0 to 1; 0 when there are fewer trials than `least`. It falls, or stays, as `least` rises.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    A first run of that length ends at one trial and at no other: before it lies a miss (or the beginning),
    and before that no such run. The chances of all these ends are added; nothing is subtracted, so that a
    small chance is as exact as a large one. With equal chances it is the recurrence of W. Feller (1968), An
    Introduction to Probability Theory and Its Applications, volume 1, chapter XIII.7 (from memory).

    Examples
    --------
    Of the 256 sequences of eight tosses of a coin, 48 hold four heads in a row.

    >>> chance_of_run([0.5] * 8, 4) == 48 / 256
    True
    """
    if least < 1 or not all(0.0 <= chance <= 1.0 for chance in chances):
        raise ValueError(f"chances must be 0 to 1 and the run at least 1 long, not {least!r}")
    total = 0.0
    # Chance that no run has ended up to each trial, first for none at all.
    none = [1.0]
    logs, impossible = [0.0], [0]
    for done, chance in enumerate(chances, 1):
        logs.append(logs[-1] + (math.log(chance) if chance > 0.0 else 0.0))
        impossible.append(impossible[-1] + (chance == 0.0))
        start = done - least
        if start >= 0 and impossible[done] == impossible[start]:
            run = math.exp(min(0.0, logs[done] - logs[start]))
            before = none[start - 1] * (1.0 - chances[start - 1]) if start else 1.0
            total += before * run
        none.append(max(0.0, 1.0 - total))
    return min(1.0, total)


def longest_run(hits: Sequence[bool]) -> tuple[int, int]:
    """Find the longest run of hits.

    Parameters
    ----------
    hits
        In order.

    Returns
    -------
    tuple of int
        Place of its first hit and its length; the first of several that are as long, length 0 without any.

    Examples
    --------
    >>> longest_run([True, False, True, True])
    (2, 2)
    """
    best = start = length = 0
    for place, hit in enumerate(hits):
        length = length + 1 if hit else 0
        if length > best:
            best, start = length, place - length + 1
    return start, best
