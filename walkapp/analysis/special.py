"""The few special functions that exact statistics of counts needs, on :mod:`math` alone.

Densities are built on Loader's deviance form, which keeps its digits where differences of
log-gamma values lose them (counts up to a million). Errors are relative and were compared with
SciPy and mpmath: below 1e-10 for everything here as long as the result is above 1e-290.

References
----------
C. Loader (2000), "Fast and accurate computation of binomial probabilities".
NIST Digital Library of Mathematical Functions, 8.17.22 (continued fraction of the incomplete beta
function) and 5.11.1 (Stirling's series).
"""

from __future__ import annotations

import math

_STEPS = 200_000
_TINY = 1e-300


def beta_cdf(x: float, a: float, b: float) -> float:
    """Regularised incomplete beta function I_x(a, b): the beta distribution up to `x`.

    Parameters
    ----------
    x
        0 to 1; outside, the nearer end counts.
    a, b
        Shape, at least 0.5 each.

    Returns
    -------
    float
        0 to 1.

    Raises
    ------
    ValueError
        If a shape is not at least 0.5 and finite.

    Examples
    --------
    >>> round(beta_cdf(0.5, 2, 3), 12)
    0.6875
    """
    _check_shape(a, b)
    if x <= 0.0:
        return 0.0
    if x >= 1.0:
        return 1.0
    return math.exp(_log_tails(x, 1.0 - x, a, b)[0])


def beta_quantile(p: float, a: float, b: float) -> float:
    """Point up to which the beta distribution holds the probability `p`.

    Parameters
    ----------
    p
        0 to 1.
    a, b
        Shape, at least 0.5 each.

    Returns
    -------
    float
        0 to 1.

    Raises
    ------
    ValueError
        If `p` is not between 0 and 1, or a shape is not at least 0.5 and finite.

    Notes
    -----
    Newton's method for the logarithm of the smaller tail as a function of ``log(x / (1 - x))``.
    That function is concave, because the log-odds of a beta variable have a log-concave density;
    so the steps overshoot at most once and then close in from one side.

    Examples
    --------
    The exact upper 95 % limit after 4 defective parts of 20 (two-sided, 90 %).

    >>> round(beta_quantile(0.95, 5, 16), 6)
    0.401028
    """
    _check_shape(a, b)
    if not 0.0 <= p <= 1.0:
        raise ValueError(f"p must be between 0 and 1, not {p!r}")
    if p in (0.0, 1.0):
        return p
    if a == 1.0:
        return -math.expm1(math.log1p(-p) / b)
    if b == 1.0:
        return math.exp(math.log(p) / a)
    # lower = True: the smaller tail is the one below x, which grows with the log-odds.
    lower = p <= 0.5
    wanted = math.log(p) if lower else math.log1p(-p)
    log_odds = math.log(a / b)
    for _ in range(200):
        x, y = _from_log_odds(log_odds)
        below, above = _log_tails(x, y, a, b)
        tail = below if lower else above
        slope = math.exp(_log_front(x, y, a, b) - tail)
        step = (wanted - tail) / (slope if lower else -slope)
        log_odds += step
        if abs(step) <= 4e-16 * max(1.0, abs(log_odds)) or abs(wanted - tail) <= 2e-16:
            break
    return _from_log_odds(log_odds)[0]


def binomial_log_pmf(k: int, n: int, p: float) -> float:
    """Logarithm of the chance of exactly `k` events in `n` trials with chance `p` each.

    Returns
    -------
    float
        At most 0; minus infinity for what cannot happen.

    Examples
    --------
    >>> round(math.exp(binomial_log_pmf(3, 15, 0.1)), 9)
    0.128505439
    """
    if not 0 <= k <= n:
        return -math.inf
    if p <= 0.0:
        return 0.0 if k == 0 else -math.inf
    if p >= 1.0:
        return 0.0 if k == n else -math.inf
    if k == 0:
        return n * math.log1p(-p)
    if k == n:
        return n * math.log(p)
    return _log_binomial(k, n, p, 1.0 - p)


def binomial_tail(k: int, n: int, p: float) -> float:
    """Chance of `k` or more events in `n` trials with chance `p` each.

    Examples
    --------
    Three or more defective parts of 15 when one in ten is defective.

    >>> round(binomial_tail(3, 15, 0.1), 9)
    0.184061069
    """
    if k <= 0:
        return 1.0
    if k > n:
        return 0.0
    return beta_cdf(p, k, n - k + 1)


def hypergeometric_log_pmf(k: int, marked: int, plain: int, drawn: int) -> float:
    """Logarithm of the chance that `drawn` parts hold exactly `k` of the marked ones.

    Parameters
    ----------
    k
        Marked parts among those drawn.
    marked, plain
        Marked and other parts in the lot.
    drawn
        Parts taken without putting back, at most ``marked + plain``.

    Returns
    -------
    float
        At most 0; minus infinity for what cannot happen.

    Examples
    --------
    >>> round(math.exp(hypergeometric_log_pmf(3, 4, 4, 4)), 9)
    0.228571429
    """
    if not 0 <= k <= marked or not 0 <= drawn - k <= plain:
        return -math.inf
    total = marked + plain
    if drawn in (0, total):
        return 0.0
    # Binomial chances with any common p cancel to the hypergeometric one; drawn / total keeps all
    # three near their modes, where they are most accurate.
    p = drawn / total
    return (
        binomial_log_pmf(k, marked, p)
        + binomial_log_pmf(drawn - k, plain, p)
        - binomial_log_pmf(drawn, total, p)
    )


def _check_shape(a: float, b: float) -> None:
    if not (0.5 <= a < math.inf and 0.5 <= b < math.inf):
        raise ValueError(f"shapes must be at least 0.5 and finite, not {a!r} and {b!r}")


def _from_log_odds(log_odds: float) -> tuple[float, float]:
    """Share and its complement, both with all their digits."""
    bounded = max(-700.0, min(700.0, log_odds))
    return 1.0 / (1.0 + math.exp(-bounded)), 1.0 / (1.0 + math.exp(bounded))


def _log_tails(x: float, y: float, a: float, b: float) -> tuple[float, float]:
    """Logarithms of I_x(a, b) and of its complement; `y` is 1 - `x`."""
    front = _log_front(x, y, a, b)
    if x * (a + b + 2.0) <= a + 1.0:
        below = min(0.0, front + math.log(_continued_fraction(x, a, b) / a))
        return below, _log_complement(below)
    above = min(0.0, front + math.log(_continued_fraction(y, b, a) / b))
    return _log_complement(above), above


def _log_complement(log_p: float) -> float:
    return math.log(-math.expm1(log_p)) if log_p < 0.0 else -math.inf


def _log_front(x: float, y: float, a: float, b: float) -> float:
    """Logarithm of x^a y^b / B(a, b)."""
    return math.log(a) + math.log(b / (a + b)) + _log_binomial(a, a + b, x, y)


def _continued_fraction(x: float, a: float, b: float) -> float:
    """DLMF 8.17.22 by the modified Lentz method; needs x <= (a + 1) / (a + b + 2)."""
    c = 1.0
    d = 1.0 / _away_from_zero(1.0 - (a + b) * x / (a + 1.0))
    value = d
    for m in range(1, _STEPS):
        even = m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m))
        d = 1.0 / _away_from_zero(1.0 + even * d)
        c = _away_from_zero(1.0 + even / c)
        value *= d * c
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0))
        d = 1.0 / _away_from_zero(1.0 + odd * d)
        c = _away_from_zero(1.0 + odd / c)
        change = d * c
        value *= change
        if abs(change - 1.0) <= 3e-16:
            return value
    raise ArithmeticError(f"the incomplete beta function did not settle at {x!r}, {a!r}, {b!r}")


def _away_from_zero(value: float) -> float:
    return value if abs(value) > _TINY else _TINY


def _log_binomial(k: float, n: float, p: float, q: float) -> float:
    """Logarithm of Gamma(n+1) / (Gamma(k+1) Gamma(n-k+1)) p^k q^(n-k), for 0 < k < n."""
    rest = n - k
    return (
        _stirling_error(n)
        - _stirling_error(k)
        - _stirling_error(rest)
        - _deviance(k, n * p)
        - _deviance(rest, n * q)
        + 0.5 * math.log(n / (2.0 * math.pi * k * rest))
    )


def _stirling_error(n: float) -> float:
    """What Stirling's formula leaves out of the logarithm of Gamma(n + 1)."""
    if n < 16.0:
        return math.lgamma(n + 1.0) - (n + 0.5) * math.log(n) + n - 0.5 * math.log(2.0 * math.pi)
    square = n * n
    series = 1 / 360 - (1 / 1260 - (1 / 1680 - 1 / 1188 / square) / square) / square
    return (1 / 12 - series / square) / n


def _deviance(seen: float, expected: float) -> float:
    """Half the deviance, seen log(seen / expected) + expected - seen, also where it is small."""
    gap = seen - expected
    total = seen + expected
    if abs(gap) >= 0.1 * total:
        return seen * math.log(seen / expected) - gap
    ratio = gap / total
    value = gap * ratio
    power = 2.0 * seen * ratio
    for j in range(1, 1000):
        power *= ratio * ratio
        longer = value + power / (2 * j + 1)
        if longer == value:
            break
        value = longer
    return value
