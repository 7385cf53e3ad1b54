"""How probable it is, for each station, that the defect starts there.

The model: from the origin on, a part is called NOK with probability ``q = p d + (1 - p) f``, before
it with probability ``f``; ``d`` is the detection and ``f`` the false alarm of the check, ``p`` the
affected share, the same from the origin on and flat on a range. ``p`` is integrated out for each
origin. "Not present in this stream" is one further answer with the prior weight of one station.

The likelihood is a product of powers of numbers that are linear in ``p``, so its logarithm is
concave: one peak. It is split at the peak, followed on each side until it has fallen by a factor of
about 1e-16 or the range ends, and integrated there by Gauss-Legendre quadrature. The relative error
of a probability is below 1e-10 for thousands of parts and below 1e-8 for a million.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from walkapp.analysis.results import StationTally
from walkapp.errors import CountsError

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

_NEGLIGIBLE, _FAR = 36.0, 50.0
"""Integration ends where the log-likelihood is this far below its peak: between the two."""


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Posterior:
    """Where the defect starts.

    Parameters
    ----------
    origin
        Probability that it starts at each station, in stream order.
    none
        Probability that it is not present in this stream. Together with `origin` the sum is 1.
    grids
        For each station, the affected share if it starts there. Stations with the same parts
        downstream share one grid.
    """

    origin: tuple[float, ...]
    none: float
    grids: tuple[ShareGrid, ...]

    @property
    def present(self) -> tuple[float, ...]:
        """Probability that the defect is in what leaves each station, in stream order."""
        return tuple(min(1.0, math.fsum(self.origin[: i + 1])) for i in range(len(self.origin)))


@dataclass(frozen=True, slots=True)
class _Counts:
    """Parts judged with one kind of check; a part is NOK with chance ``base + share * gain``."""

    nok: int
    ok: int
    base: float
    gain: float

    def plus(self, other: _Counts) -> _Counts:
        return _Counts(self.nok + other.nok, self.ok + other.ok, self.base, self.gain)

    def minus(self, other: _Counts) -> _Counts:
        return _Counts(self.nok - other.nok, self.ok - other.ok, self.base, self.gain)


def origin_posterior(
    stations: Sequence[StationTally],
    *,
    share_low: float = 0.0,
    share_high: float = 1.0,
    weights: Sequence[float] | None = None,
) -> Posterior:
    """Work out how probable each origin is.

    Parameters
    ----------
    stations
        In stream order, at least one; checks with different detection and false alarm may be mixed.
    share_low, share_high
        Range of the affected share, ``0 <= share_low <= share_high <= 1``; flat between. Equal
        values mean a known share.
    weights
        Prior weight of each station, 0 or more and not all 0; flat when none. "Not present" always
        counts as much as one station of mean weight.

    Returns
    -------
    Posterior
        Stations that the counts cannot tell apart get exactly the same probability.

    Raises
    ------
    ValueError
        If an argument is out of range.
    CountsError
        If no origin at all can explain the counts: possible only where an assumption is absolute
        (no false alarm ever, a known share, a station ruled out).

    Examples
    --------
    >>> from walkapp.analysis.results import Tally
    >>> def station(order, nok):
    ...     tally = Tally(checked=20, nok=nok, detection=0.9, false_alarm=0.005)
    ...     return StationTally(order=order, name=f"station {order}", tallies=(tally,))
    >>> found = origin_posterior([station(1, 0), station(2, 0), station(3, 9), station(4, 11)])
    >>> [round(p, 3) for p in found.origin]
    [0.0, 0.0, 1.0, 0.0]
    """
    _check_arguments(stations, share_low, share_high)
    prior = _log_prior(weights, len(stations))
    kinds = tuple(dict.fromkeys((t.detection, t.false_alarm) for s in stations for t in s.tallies))
    own = [_count(station, kinds) for station in stations]
    # Sums of whole numbers, so that stations without parts between them stay exactly equal.
    upstream = _count(StationTally(order=0, name=""), kinds)
    downstream = upstream
    for counts in own:
        downstream = tuple(d.plus(c) for d, c in zip(downstream, counts, strict=True))
    known: dict[tuple[_Counts, ...], tuple[float, ShareGrid]] = {}
    logs: list[float] = []
    grids: list[ShareGrid] = []
    for log_weight, counts in zip(prior, own, strict=True):
        if downstream not in known:
            known[downstream] = _integrate(downstream, share_low, share_high)
        log_evidence, grid = known[downstream]
        logs.append(log_weight + _log_likelihood(upstream, 0.0) + log_evidence)
        grids.append(grid)
        upstream = tuple(u.plus(c) for u, c in zip(upstream, counts, strict=True))
        downstream = tuple(d.minus(c) for d, c in zip(downstream, counts, strict=True))
    logs.append(_log_likelihood(upstream, 0.0))
    probabilities = _normalised(logs)
    return Posterior(origin=probabilities[:-1], none=probabilities[-1], grids=tuple(grids))


def _check_arguments(stations: Sequence[StationTally], share_low: float, share_high: float) -> None:
    if not stations:
        raise ValueError("there must be at least one station")
    if any(a.order >= b.order for a, b in pairwise(stations)):
        raise ValueError("stations must be in stream order, each order once")
    if not 0.0 <= share_low <= share_high <= 1.0:
        raise ValueError(f"shares must be 0 <= low <= high <= 1, not {share_low!r} and {share_high!r}")
    for tally in (tally for station in stations for tally in station.tallies):
        if not 0 <= tally.nok <= tally.checked:
            raise ValueError(f"nok must be 0 to checked, not {tally.nok!r} of {tally.checked!r}")
        if not 0.0 <= tally.false_alarm < tally.detection <= 1.0:
            raise ValueError("false_alarm must be at least 0 and below detection, detection at most 1")


def _log_prior(weights: Sequence[float] | None, many: int) -> list[float]:
    if weights is None:
        return [0.0] * many
    if len(weights) != many or any(not 0.0 <= w < math.inf for w in weights) or not any(weights):
        raise ValueError(f"weights must be {many} finite numbers of 0 or more, not all 0")
    mean = math.fsum(weights) / many
    return [math.log(w / mean) if w else -math.inf for w in weights]


def _count(station: StationTally, kinds: Sequence[tuple[float, float]]) -> tuple[_Counts, ...]:
    counted = []
    for detection, false_alarm in kinds:
        same = [t for t in station.tallies if (t.detection, t.false_alarm) == (detection, false_alarm)]
        nok = sum(t.nok for t in same)
        ok = sum(t.checked for t in same) - nok
        counted.append(_Counts(nok, ok, false_alarm, detection - false_alarm))
    return tuple(counted)


def _log_likelihood(counts: Sequence[_Counts], share: float) -> float:
    """Logarithm of the chance of the parts in the order in which they were judged."""
    total = 0.0
    for c in counts:
        called_nok = c.base + share * c.gain
        if c.nok:
            total += c.nok * math.log(called_nok) if called_nok > 0.0 else -math.inf
        if c.ok:
            total += c.ok * math.log1p(-called_nok) if called_nok < 1.0 else -math.inf
    return total


def _normalised(logs: Sequence[float]) -> tuple[float, ...]:
    largest = max(logs)
    if largest == -math.inf:
        raise CountsError(
            "These counts cannot happen with the assumptions made, wherever the defect starts; "
            "allow for false alarms, widen the expected affected share, or rule out no station."
        )
    chances = [math.exp(log - largest) for log in logs]
    total = math.fsum(chances)
    return tuple(chance / total for chance in chances)


def _integrate(counts: Sequence[_Counts], low: float, high: float) -> tuple[float, ShareGrid]:
    """Logarithm of the mean likelihood over the range, and the share's own posterior."""
    used = tuple(c for c in counts if c.nok or c.ok)
    if low == high:
        return _log_likelihood(used, low), ShareGrid(shares=(low,), weights=(1.0,))
    peak = _peak(used, low, high)
    terms = _terms_at(used, peak)
    shares: list[float] = []
    masses: list[float] = []
    for direction, room in ((-1.0, peak - low), (1.0, high - peak)):
        reach = _reach(terms, direction, room)
        for abscissa, weight in _GAUSS_LEGENDRE if reach > 0.0 else ():
            for t in (0.5 - 0.5 * abscissa, 0.5 + 0.5 * abscissa):
                step = direction * reach * t
                shares.append(peak + step)
                masses.append(0.5 * weight * reach * math.exp(_change(terms, step)))
    area = math.fsum(masses)
    log_mean = _log_likelihood(used, peak) + math.log(area / (high - low))
    return log_mean, ShareGrid(shares=tuple(shares), weights=tuple(mass / area for mass in masses))


def _peak(counts: Sequence[_Counts], low: float, high: float) -> float:
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


def _terms_at(counts: Sequence[_Counts], share: float) -> list[tuple[int, float]]:
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
