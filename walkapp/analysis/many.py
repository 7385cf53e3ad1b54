"""Looking several times: what that does to a p-value."""

from __future__ import annotations

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
