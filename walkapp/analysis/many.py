"""Looking several times: what that does to a p-value."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence


def holm(chances: Sequence[float]) -> tuple[float, ...]:
    """Correct p-values for having looked several times.

    Parameters
    ----------
    chances
        p-values, 0 to 1, in any order.

    Returns
    -------
    tuple of float
        In the same order, each at least the p-value itself and at most 1. Calling those at or below
        5 % a change goes wrong, in any of them, in at most 5 % of such looks.

    Raises
    ------
    ValueError
        If a p-value is not between 0 and 1.

    References
    ----------
    S. Holm (1979), "A simple sequentially rejective multiple test procedure", Scandinavian Journal of
    Statistics 6, 65-70.

    Examples
    --------
    >>> holm([0.01, 0.04, 0.03])
    (0.03, 0.06, 0.06)
    """
    if not all(0.0 <= p <= 1.0 for p in chances):
        raise ValueError("p-values must be between 0 and 1")
    corrected = [0.0] * len(chances)
    reached = 0.0
    for done, place in enumerate(sorted(range(len(chances)), key=chances.__getitem__)):
        reached = max(reached, min(1.0, (len(chances) - done) * chances[place]))
        corrected[place] = reached
    return tuple(corrected)


def worth_testing(least: Sequence[float], level: float) -> tuple[bool, ...]:
    """Choose which tests to do at all, from what each could show at best.

    Parameters
    ----------
    least
        For each test the smallest p-value that it could give, whatever is seen; 0 to 1. It may depend on
        nothing but what the test takes as given (its margins).
    level
        The level that is asked for after correction, above 0 and below 1.

    Returns
    -------
    tuple of bool
        In the same order. Tests that are left out could show nothing anyhow; since they are not counted,
        the others need less correction.

    Raises
    ------
    ValueError
        If a p-value or the level is out of range.

    References
    ----------
    R. E. Tarone (1990), "A modified Bonferroni method for discrete data", Biometrics 46, 515-522.

    Examples
    --------
    >>> worth_testing([0.001, 0.2, 0.03, 0.5], 0.05)
    (True, False, False, False)
    """
    if not all(0.0 <= p <= 1.0 for p in least) or not 0.0 < level < 1.0:
        raise ValueError("p-values must be between 0 and 1 and the level within")
    ordered = sorted(least)
    counted = 1
    while bisect_right(ordered, level / counted) > counted:
        counted += 1
    return tuple(p <= level / counted for p in least)
