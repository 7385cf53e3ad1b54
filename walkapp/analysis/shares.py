"""What counts say of the affected share, with the share itself integrated out.

A part is called NOK with a chance that is linear in the affected share ``p``. The likelihood of counts
is a product of powers of such numbers, so its logarithm is concave: one peak. It is split at the peak,
followed on each side until it has fallen by a factor of about 1e-12 or the range ends, and integrated
there by Gauss-Legendre quadrature over ``log(p + knee)``, on which the prior is flat. The relative
error of an integral is below 1e-7, for up to a million parts.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from itertools import pairwise
from operator import mul

_GAUSS_LEGENDRE = (
    (0.04830766568773832, 0.0965400885147278),
    (0.1444719615827965, 0.09563872007927486),
    (0.23928736225213706, 0.09384439908080457),
    (0.33186860228212767, 0.09117387869576389),
    (0.42135127613063533, 0.08765209300440381),
    (0.5068999089322294, 0.08331192422694675),
    (0.5877157572407623, 0.07819389578707031),
    (0.6630442669302152, 0.0723457941088485),
    (0.7321821187402897, 0.06582222277636185),
    (0.7944837959679424, 0.058684093478535544),
    (0.84936761373257, 0.050998059262376175),
    (0.8963211557660521, 0.04283589802222668),
    (0.9349060759377397, 0.03427386291302143),
    (0.9647622555875064, 0.02539206530926206),
    (0.9856115115452684, 0.01627439473090567),
    (0.9972638618494816, 0.007018610009470096),
)
"""Abscissas above 0 and weights of the 32-point Gauss-Legendre rule on [-1, 1]."""

_GAUSS_LEGENDRE_16 = (
    (0.09501250983763744, 0.18945061045506864),
    (0.2816035507792589, 0.18260341504492364),
    (0.45801677765722737, 0.16915651939500265),
    (0.6178762444026438, 0.1495959888165767),
    (0.755404408355003, 0.12462897125553407),
    (0.8656312023878318, 0.0951585116824926),
    (0.9445750230732326, 0.062253523938647456),
    (0.9894009349916499, 0.027152459411754176),
)
"""The same of the 16-point rule."""

KNEE = 0.01
"""Affected share below which smaller shares are no more probable than larger ones."""

_NEGLIGIBLE, _FAR = 26.0, 36.0
"""Integration ends where the log-likelihood is this far below its peak: between the two."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SharePrior:
    """What is believed of the affected share beforehand.

    Parameters
    ----------
    low, high
        Range of the share, ``0 <= low <= high <= 1``. Equal values mean a known share.
    knee
        Between them the density is proportional to ``1 / (share + knee)``: every doubling of the share
        is about as probable as the next, down to the knee, below which the density is nearly flat.
        Above 0; infinite for a flat density. The form is that of the usual prior for a scale of
        unknown size (Jeffreys, Theory of Probability, 1961, section 3.1), made proper.

    Raises
    ------
    ValueError
        If a value is out of range.
    """

    low: float = 0.0
    high: float = 1.0
    knee: float = KNEE

    def __post_init__(self) -> None:
        if not 0.0 <= self.low <= self.high <= 1.0:
            raise ValueError(f"shares must be 0 <= low <= high <= 1, not {self.low!r} and {self.high!r}")
        if not self.knee > 0.0:
            raise ValueError(f"knee must be above 0, not {self.knee!r}")

    def length(self, step: float, share: float) -> float:
        """Length of a step from a share, on the scale on which the prior is flat."""
        return step if self.knee == math.inf else math.log1p(step / (share + self.knee))

    def step(self, length: float, share: float) -> float:
        """The step from a share that has this length: the inverse of :meth:`length`."""
        return length if self.knee == math.inf else (share + self.knee) * math.expm1(length)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareGrid:
    """What is believed of the affected share if the defect starts at one station.

    Parameters
    ----------
    shares
        Points of the affected share, 0 to 1.
    weights
        Probability that goes with each, in the same order; their sum is 1.
    """

    shares: tuple[float, ...]
    weights: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Counts:
    """Parts judged with one kind of check; a part is NOK with chance ``base + share * gain``."""

    nok: int
    ok: int
    base: float
    gain: float

    def plus(self, other: Counts) -> Counts:
        return Counts(self.nok + other.nok, self.ok + other.ok, self.base, self.gain)

    def minus(self, other: Counts) -> Counts:
        return Counts(self.nok - other.nok, self.ok - other.ok, self.base, self.gain)


def log_likelihood(counts: Sequence[Counts], share: float) -> float:
    """Logarithm of the chance of the parts in the order in which they were judged."""
    total = 0.0
    for c in counts:
        called_nok = c.base + share * c.gain
        if c.nok:
            total += c.nok * math.log(called_nok) if called_nok > 0.0 else -math.inf
        if c.ok:
            total += c.ok * math.log1p(-called_nok) if called_nok < 1.0 else -math.inf
    return total


def integrate(counts: Sequence[Counts], prior: SharePrior) -> tuple[float, ShareGrid]:
    """Integrate the likelihood of counts over the affected share.

    Parameters
    ----------
    counts
        Parts judged, one for each kind of check.
    prior
        What is believed of the share.

    Returns
    -------
    log_mean : float
        Natural logarithm of the mean likelihood under the prior.
    grid : ShareGrid
        The share's own posterior.
    """
    used = _used(counts)
    if prior.low == prior.high:
        return log_likelihood(used, prior.low), ShareGrid(shares=(prior.low,), weights=(1.0,))
    hill = _Hill(used, prior)
    shares = tuple(side.share(t) for side in hill.sides for t in _NODES)
    masses = [
        0.5 * weight * abs(side.far) * value
        for side in hill.sides
        for weight, value in zip(_WEIGHTS, side.values, strict=True)
    ]
    area = math.fsum(masses)
    grid = ShareGrid(shares=shares, weights=tuple(mass / area for mass in masses))
    return hill.log_peak + math.log(area / prior.length(prior.high - prior.low, prior.low)), grid


class LoweredShare:
    """Counts from a place on where some of the defective parts may have been taken out.

    Before that place the affected share is ``p``, from there on ``p2 <= p``; given ``p``, the prior of
    ``p2`` is that of the share, cut off at ``p`` and with 0 as its lower end.

    Parameters
    ----------
    counts
        Parts judged from that place on.
    prior
        What is believed of the share before it.
    """

    def __init__(self, counts: Sequence[Counts], prior: SharePrior) -> None:
        self._prior = prior
        self._from_zero = SharePrior(low=0.0, high=prior.high, knee=prior.knee)
        self._hill = _Hill(_used(counts), self._from_zero)

    def at_most(self, counts: Sequence[Counts]) -> float:
        """Logarithm of a number that the mean likelihood of :meth:`integrate` does not exceed."""
        used = _used(counts)
        return log_likelihood(used, _peak(used, self._prior.low, self._prior.high)) + self._hill.log_peak

    def integrate(self, counts: Sequence[Counts]) -> tuple[float, ShareGrid, ShareGrid]:
        """Integrate the likelihood of the counts before that place and from it on.

        Parameters
        ----------
        counts
            Parts judged from the origin up to that place.

        Returns
        -------
        log_mean : float
            Natural logarithm of the mean likelihood of all counts; its relative error is below 1e-5.
        before, after : ShareGrid
            The share's posterior before that place and from it on. That from it on is only good to a
            few parts in a hundred: it serves the forecast of the next check.
        """
        prior, hill = self._prior, self._hill
        if prior.high == 0.0:
            nothing = ShareGrid(shares=(0.0,), weights=(1.0,))
            return log_likelihood(_used(counts), 0.0) + hill.log_peak, nothing, nothing
        used = _used(counts)
        if prior.low == prior.high:
            log_before, nodes = log_likelihood(used, prior.low), [(prior.low, 1.0)]
        else:
            upper = _Hill(used, prior)
            nodes = _cut_nodes(upper, [side.end for side in hill.sides] + [hill.peak])
            log_before = upper.log_peak - math.log(prior.length(prior.high - prior.low, prior.low))
        # Given a share before, the mean likelihood of all shares after from 0 up to it.
        lengths = [self._from_zero.length(share, 0.0) for share, _ in nodes]
        areas = [hill.area_up_to(share) for share, _ in nodes]
        densities = [
            mass / length if length > 0.0 else 0.0 for (_, mass), length in zip(nodes, lengths, strict=True)
        ]
        masses = [density * area for density, area in zip(densities, areas, strict=True)]
        area = math.fsum(masses)
        if area == 0.0:
            return -math.inf, self._nothing(nodes), self._nothing(nodes)
        before = ShareGrid(shares=tuple(s for s, _ in nodes), weights=tuple(m / area for m in masses))
        return log_before + hill.log_peak + math.log(area), before, self._after(nodes, densities)

    def _nothing(self, nodes: Sequence[tuple[float, float]]) -> ShareGrid:
        return ShareGrid(shares=(nodes[0][0],), weights=(1.0,))

    def _after(self, nodes: Sequence[tuple[float, float]], densities: Sequence[float]) -> ShareGrid:
        ordered = sorted((share, density) for (share, _), density in zip(nodes, densities, strict=True))
        shares = [share for share, _ in ordered]
        # A share after goes with all shares before that are not below it.
        rest = [0.0]
        for _, density in reversed(ordered):
            rest.append(rest[-1] + density)
        rest.reverse()
        found, weights = [], []
        for side in self._hill.sides:
            for t, weight, value in zip(_NODES, _WEIGHTS, side.values, strict=True):
                found.append(side.share(t))
                weights.append(weight * abs(side.far) * value * rest[bisect_left(shares, found[-1])])
        total = math.fsum(weights)
        if total == 0.0:
            # So improbable that the products are below the smallest number: nothing rests on it.
            return self._nothing(nodes)
        return ShareGrid(shares=tuple(found), weights=tuple(w / total for w in weights))


def _on_unit_interval(
    rule: Sequence[tuple[float, float]],
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Nodes on [0, 1], and their weights, which still add up to 2."""
    nodes = tuple(0.5 + 0.5 * sign * abscissa for abscissa, _ in rule for sign in (-1.0, 1.0))
    return nodes, tuple(weight for _, weight in rule for _ in range(2))


_NODES, _WEIGHTS = _on_unit_interval(_GAUSS_LEGENDRE)
_NODES_16, _WEIGHTS_16 = _on_unit_interval(_GAUSS_LEGENDRE_16)


class _Hill:
    """The likelihood of counts as a function of the share: its peak and its two sides.

    Values are relative to that of the peak.
    """

    def __init__(self, used: Sequence[Counts], prior: SharePrior) -> None:
        self.prior = prior
        self.peak = _peak(used, prior.low, prior.high)
        self.terms = _terms_at(used, self.peak)
        self.log_peak = log_likelihood(used, self.peak)
        self.sides = tuple(
            _Side(self, direction * _reach(self.terms, direction, room))
            for direction, room in ((-1.0, self.peak - prior.low), (1.0, prior.high - self.peak))
        )

    def value(self, share: float) -> float:
        return math.exp(_change(self.terms, share - self.peak))

    def area_up_to(self, share: float) -> float:
        """Integral from the lower end of the range to a share, over the scale of the prior."""
        down, up = self.sides
        if share < self.peak:
            return max(0.0, down.area - down.area_to(share)) if share > down.end else 0.0
        return down.area + (up.area_to(share) if share < up.end else up.area)


class _Side:
    """One side of a hill, from the peak to where the likelihood is negligible or the range ends."""

    def __init__(self, hill: _Hill, step: float) -> None:
        self._hill = hill
        self.far = hill.prior.length(step, hill.peak)
        self.end = hill.peak + step
        self._series: tuple[float, ...] | None = None

    @cached_property
    def values(self) -> tuple[float, ...]:
        """The likelihood at the nodes."""
        hill, far = self._hill, self.far
        return tuple(math.exp(_change(hill.terms, hill.prior.step(far * t, hill.peak))) for t in _NODES)

    @cached_property
    def area(self) -> float:
        """Its integral over the whole side."""
        return abs(self.far) * 0.5 * math.fsum(map(mul, _WEIGHTS, self.values))

    def share(self, t: float) -> float:
        """Share at a place from 0 (the peak) to 1 (the end)."""
        return self._hill.peak + self._hill.prior.step(self.far * t, self._hill.peak)

    def area_to(self, share: float) -> float:
        """Integral from the peak to a share on this side: that of the Legendre series of the values."""
        if self.far == 0.0:
            return 0.0
        if self._series is None:
            weighted = [w * v for w, v in zip(_WEIGHTS, self.values, strict=True)]
            series = [0.5 * sum(map(mul, weighted, row)) for row in _legendre_at_nodes()]
            # What is left out is far below the error of the integral that this is used in.
            while len(series) > 1 and abs(series[-1]) < 1e-9 * series[0]:
                series.pop()
            self._series = tuple(series)
        x = 2.0 * self._hill.prior.length(share - self._hill.peak, self._hill.peak) / self.far - 1.0
        x = min(1.0, max(-1.0, x))
        # The integral of P_k from -1 is (P_(k+1) - P_(k-1)) / (2 k + 1), and P_(-1) stands for -1.
        before, now, total = -1.0, 1.0, 0.0
        after = x
        for k, coefficient in enumerate(self._series):
            total += coefficient * (after - before)
            before, now, after = now, after, ((2 * k + 3) * x * after - (k + 1) * now) / (k + 2)
        return 0.5 * abs(self.far) * total


@cache
def _legendre_at_nodes() -> tuple[tuple[float, ...], ...]:
    """Legendre polynomials of the degrees 0 to 31 at the nodes."""
    rows = []
    before, now = [0.0] * len(_NODES), [1.0] * len(_NODES)
    for k in range(len(_NODES)):
        rows.append(tuple(now))
        xs = (2.0 * t - 1.0 for t in _NODES)
        before, now = (
            now,
            [((2 * k + 1) * x * p - k * b) / (k + 1) for x, p, b in zip(xs, now, before, strict=True)],
        )
    return tuple(rows)


def _cut_nodes(hill: _Hill, cuts: Sequence[float]) -> list[tuple[float, float]]:
    """Shares and masses of a hill, with its sides cut where another function bends."""
    nodes = []
    for side in hill.sides:
        if side.far == 0.0:
            continue
        places = sorted(
            {0.0, 1.0}
            | {
                t
                for cut in cuts
                if 0.0 < (t := hill.prior.length(cut - hill.peak, hill.peak) / side.far) < 1.0
            }
        )
        for start, end in pairwise(places):
            for t, weight in zip(_NODES_16, _WEIGHTS_16, strict=True):
                share = side.share(start + (end - start) * t)
                nodes.append((share, 0.5 * weight * (end - start) * abs(side.far) * hill.value(share)))
    return nodes


def _used(counts: Sequence[Counts]) -> tuple[Counts, ...]:
    return tuple(c for c in counts if c.nok or c.ok)


def _peak(counts: Sequence[Counts], low: float, high: float) -> float:
    """Share of the greatest likelihood in the range, to within 1 % of the peak's width."""
    if not counts:
        return 0.5 * (low + high)
    # Each kind of check alone has its peak where the chance of a NOK equals the share of NOK; the
    # peak of all lies between the first and the last of these.
    alone = [(c.nok / (c.nok + c.ok) - c.base) / c.gain for c in counts]
    first, last = (min(high, max(low, share)) for share in (min(alone), max(alone)))
    share = 0.5 * (first + last)
    for _ in range(100):
        if last - first <= 1e-15:
            break
        slope, curvature = _derivatives(_terms_at(counts, share))
        if slope * slope <= 1e-4 * curvature:
            break
        first, last = (share, last) if slope > 0.0 else (first, share)
        newton = share + slope / curvature
        share = newton if first < newton < last else 0.5 * (first + last)
    return share


def _terms_at(counts: Sequence[Counts], share: float) -> list[tuple[int, float]]:
    """Factors of the likelihood as (power, r): each is its value here times 1 + r (share - here)."""
    terms = []
    for c in counts:
        called_nok = c.base + share * c.gain
        if c.nok:
            terms.append((c.nok, c.gain / called_nok))
        if c.ok:
            terms.append((c.ok, -c.gain / (1.0 - called_nok)))
    return terms


def _derivatives(terms: Sequence[tuple[int, float]]) -> tuple[float, float]:
    """Slope of the log-likelihood, and its curvature as a positive number."""
    return sum(n * r for n, r in terms), sum(n * r * r for n, r in terms)


def _change(terms: Sequence[tuple[int, float]], step: float) -> float:
    """Change of the log-likelihood on going `step` away; exact where it is small, too."""
    total = 0.0
    for power, rate in terms:
        relative = rate * step
        if relative <= -1.0:
            return -math.inf
        total += power * math.log1p(relative)
    return total


def _reach(terms: Sequence[tuple[int, float]], direction: float, room: float) -> float:
    """How far from the peak, at most `room`, the likelihood is worth integrating."""
    slope, curvature = _derivatives(terms)
    width = 1.0 / max(abs(slope), math.sqrt(curvature)) if terms else room
    near, far = 0.0, min(room, 8.0 * width)
    # The fall is convex: at twice the distance it is at least twice as deep.
    while far < room and _change(terms, direction * far) > -_NEGLIGIBLE:
        near, far = far, min(room, 2.0 * far)
    for _ in range(12):
        if _change(terms, direction * far) >= -_FAR:
            break
        middle = 0.5 * (near + far)
        if _change(terms, direction * middle) > -_NEGLIGIBLE:
            near = middle
        else:
            far = middle
    return far
