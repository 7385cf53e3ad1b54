"""How often a process of which the share NOK stays the same gives a signal all the same."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from walkapp.analysis.control.rules import is_long_run
from walkapp.analysis.special import binomial_log_pmf, binomial_tail


@dataclass(frozen=True, slots=True, kw_only=True)
class Inside:
    """What is inside the limits for one number of parts.

    Parameters
    ----------
    least, most
        Fewest and most NOK inside.
    low, high
        The limits as shares, 0 to 1.
    """

    least: int
    most: int
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SideChances:
    """Where a point of a stable process lies.

    Parameters
    ----------
    above, below
        Chance that it lies on that side of the centre line, outside the limits or not.
    inside_above, inside_below
        The same, inside the limits.
    on
        Chance that it lies on the centre line.
    """

    above: float
    below: float
    inside_above: float
    inside_below: float
    on: float

    def of(self, side: int) -> float:
        """Give the chance of a side: 1 above, -1 below, 0 on the line."""
        return self.above if side > 0 else self.below if side < 0 else self.on


def side_chances(n: int, nok: int, checked: int, inside: Inside) -> SideChances:
    """Work out where a point of `n` parts lies when the share is ``nok / checked``.

    Parameters
    ----------
    n
        Parts of the point.
    nok, checked
        The share, as parts; above 0 and below 1.
    inside
        The limits of that point; the centre line lies inside.
    """
    p = nok / checked
    centre, beside = divmod(n * nok, checked)  # the whole NOK just below the centre line, or on it
    above = binomial_tail(centre + 1, n, p)
    below = binomial_tail(n - centre + (1 if beside == 0 else 0), n, 1 - p)
    return SideChances(
        above=above,
        below=below,
        inside_above=max(0.0, above - binomial_tail(inside.most + 1, n, p)),
        inside_below=max(0.0, below - binomial_tail(n - inside.least + 1, n, 1 - p)),
        on=0.0 if beside else math.exp(binomial_log_pmf(centre, n, p)),
    )


def chance_of_signal(points: Sequence[SideChances]) -> float:
    """Give the chance of at least one signal of the two rules for counts.

    Parameters
    ----------
    points
        Of each point, in order.

    Returns
    -------
    float
        0 to 1. Exact for independent points of the share of the centre line, by a recursion over the runs
        that are under way; that the centre line is itself an estimate is not part of it.
    """
    # For each run that is under way, by its side and first point: chance to be there without a signal so
    # far, and chance of the run itself, by which the rule judges it.
    under_way: dict[tuple[int, int], tuple[float, float]] = {(0, -1): (1.0, 1.0)}
    for index, point in enumerate(points):
        quiet = math.fsum(chance for chance, _ in under_way.values())
        after = {(0, index): (quiet * point.on, 1.0)}
        for side, inside in ((1, point.inside_above), (-1, point.inside_below)):
            fresh = math.fsum(chance for (other, _), (chance, _) in under_way.items() if other != side)
            after[side, index] = (fresh * inside, point.of(side))
            for (other, start), (chance, run) in under_way.items():
                longer = run * point.of(side)
                if other == side and not is_long_run(index - start + 1, longer):
                    after[side, start] = (chance * inside, longer)
        under_way = after
    return min(1.0, max(0.0, 1.0 - math.fsum(chance for chance, _ in under_way.values())))
