"""How probable it is, for each station, that the defect starts there.

The model: from the origin on, a part is called NOK with probability ``q = p d + (1 - p) f``, before
it with probability ``f``; ``d`` is the detection and ``f`` the false alarm of the check, ``p`` the
affected share, the same from the origin on. ``p`` is integrated out for each origin. "Not present in
this stream" is one further answer with the prior weight of one station.

What is believed of ``p`` beforehand decides how many OK parts it takes to believe a station clean. A
flat density expects large shares: at a true share of 0.05 its "95 %" was right in 92 to 93 of 100
simulated walks. The density used here is proportional to ``1 / (p + knee)``: every doubling of the
share is about as probable as the next, down to the knee, below which it is flat. With the knee at
0.01 what is called 95 % was right in at least 95 of 100 walks for every share from 0.02 up, at the
price of more parts where the share is large (``tests/benchmarks/calibration.py``). The value of the
knee is our own, found by simulation; for the form see :class:`walkapp.analysis.shares.SharePrior`.

Where parts can be sorted out, reworked or mixed with others, fewer may be affected from there on: the
station says so (``sorts``). Then beside "the share stays" (prior one half) stands, for each such station
after the origin, "from here on the share is lower", with the lower share integrated out as well. At most
one such fall is considered.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from walkapp.analysis.results import StationTally
from walkapp.analysis.shares import Counts, LoweredShare, ShareGrid, SharePrior, integrate, log_likelihood
from walkapp.errors import CountsError
from walkapp.language import tr

_NEGLIGIBLE = 36.0
"""An answer whose likelihood is lower than the best by this, as a logarithm, is left at that."""

_TIE = 1e-9
"""Probabilities that differ by less than this, relatively, are equal."""

LOWERED = 0.5
"""Prior probability that the affected share is lower after the stations at which parts are sorted out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Posterior:
    """Where the defect starts.

    Parameters
    ----------
    origin
        Probability that it starts at each station, in stream order.
    none
        Probability that it is not present in this stream. Together with `origin` the sum is 1.
    zones
        For each station, how many stations at which parts are sorted out lie before it, itself
        included: within a zone the affected share stays the same.
    grids
        For each station and each zone, the affected share there if the defect starts at that station;
        of no meaning for zones before it. Equal grids are one object.
    """

    origin: tuple[float, ...]
    none: float
    zones: tuple[int, ...]
    grids: tuple[tuple[ShareGrid, ...], ...]

    @property
    def present(self) -> tuple[float, ...]:
        """Probability that the defect is in what leaves each station, in stream order."""
        return tuple(min(1.0, math.fsum(self.origin[: i + 1])) for i in range(len(self.origin)))


def origin_posterior(
    stations: Sequence[StationTally],
    *,
    share: SharePrior | None = None,
) -> Posterior:
    """Work out how probable each origin is.

    Parameters
    ----------
    stations
        In stream order, at least one; checks with different detection and false alarm may be mixed.
        Their weights are the prior; "not present" always counts as much as one station of mean weight.
    share
        What is believed of the affected share beforehand; ``SharePrior()`` when none.

    Returns
    -------
    Posterior
        Stations that the counts cannot tell apart get exactly the same probability (where parts are
        sorted out between them, they are not the same in the model).

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
    check_stations(stations)
    prior = _log_prior([station.weight for station in stations])
    evidence = _Evidence(stations, share or SharePrior())
    logs, grids = [], []
    for origin, log_weight in enumerate(prior):
        log_evidence, by_zone = evidence.of_origin(origin)
        logs.append(log_weight + log_evidence)
        grids.append(by_zone)
    logs.append(evidence.of_none())
    probabilities = normalised(logs)
    return Posterior(
        origin=probabilities[:-1], none=probabilities[-1], zones=evidence.zones, grids=tuple(grids)
    )


def most_probable(
    stations: Sequence[StationTally], chances: Sequence[float], none: float
) -> tuple[int, ...]:
    """Find the origins to be named.

    Parameters
    ----------
    stations
        In stream order, or rows in the order of production.
    chances
        Probability of each as the origin.
    none
        Probability that it is none of them.

    Returns
    -------
    tuple of int
        Indices (from 0) of the most probable origins, the one to be named first; empty when none is
        named: no NOK was seen, or "not present" is more probable than each station.
    """
    if not any(station.nok for station in stations):
        return ()
    best = max(chances)
    if none > best * (1.0 + _TIE):
        return ()
    equal = [i for i, chance in enumerate(chances) if chance >= best * (1.0 - _TIE)]
    if none >= best * (1.0 - _TIE) and not any(stations[i].nok for i in equal):
        # Stations after all that was checked are as probable as "not present": nothing speaks for them.
        return ()
    # Stable: stream order among those with NOK, then those with parts, then the others.
    return tuple(sorted(equal, key=lambda i: (not stations[i].nok, not stations[i].checked)))


class _Evidence:
    """The likelihood of the counts for each origin, with all shares integrated out."""

    def __init__(self, stations: Sequence[StationTally], share: SharePrior) -> None:
        self._share = share
        # Sums of whole numbers, so that stations without parts between them stay exactly equal.
        self._before = running_counts(stations)
        self._sorts = [i for i, station in enumerate(stations) if station.sorts and i > 0]
        self.zones = tuple(accumulate(int(i in self._sorts) for i in range(len(stations))))
        self._known: dict[tuple[Counts, ...], tuple[float, ShareGrid]] = {}
        self._lowered: dict[int, LoweredShare] = {}
        # The likelihood of the best answer without any sorting out: what is far below it needs no care.
        many = len(self.zones)
        self._best = max(
            self.of_none(),
            *(log_likelihood(self._before[i], 0.0) + self._same(i)[0] for i in range(many)),
        )

    def of_none(self) -> float:
        """Logarithm of the likelihood if the defect is not present."""
        return log_likelihood(self._before[-1], 0.0)

    def of_origin(self, origin: int) -> tuple[float, tuple[ShareGrid, ...]]:
        """Logarithm of the likelihood if it starts at a station, and the share there zone by zone."""
        log_before = log_likelihood(self._before[origin], 0.0)
        log_same, same = self._same(origin)
        places = [place for place in self._sorts if place > origin]
        zones = range(self.zones[-1] + 1)
        if not places:
            return log_before + log_same, (same,) * len(zones)
        found = [(math.log1p(-LOWERED) + log_same, same, same, len(self.zones))]
        for place in places:
            between = self._between(origin, place)
            lowered = self._lower(place)
            if log_before + lowered.at_most(between) < self._best - _NEGLIGIBLE:
                continue
            log_lower, upper, lower = lowered.integrate(between)
            found.append((math.log(LOWERED / len(places)) + log_lower, upper, lower, place))
        largest = max(log for log, *_ in found)
        chances = [math.exp(log - largest) for log, *_ in found]
        total = math.fsum(chances)
        by_zone = tuple(
            _mixture(
                [
                    (chance / total, lower if zone >= self._zone_of(place) else upper)
                    for chance, (_, upper, lower, place) in zip(chances, found, strict=True)
                ]
            )
            for zone in zones
        )
        return log_before + largest + math.log(total), by_zone

    def _zone_of(self, place: int) -> int:
        return self.zones[place] if place < len(self.zones) else len(self.zones)

    def _between(self, start: int, end: int) -> tuple[Counts, ...]:
        pairs = zip(self._before[end], self._before[start], strict=True)
        return tuple(late.minus(early) for late, early in pairs)

    def _same(self, origin: int) -> tuple[float, ShareGrid]:
        counts = self._between(origin, len(self.zones))
        if counts not in self._known:
            self._known[counts] = integrate(counts, self._share)
        return self._known[counts]

    def _lower(self, place: int) -> LoweredShare:
        if place not in self._lowered:
            self._lowered[place] = LoweredShare(self._between(place, len(self.zones)), self._share)
        return self._lowered[place]


def _mixture(parts: Sequence[tuple[float, ShareGrid]]) -> ShareGrid:
    kept = [(chance, grid) for chance, grid in parts if chance > 1e-12]
    return ShareGrid(
        shares=tuple(share for _, grid in kept for share in grid.shares),
        weights=tuple(chance * weight for chance, grid in kept for weight in grid.weights),
    )


def check_stations(stations: Sequence[StationTally]) -> None:
    """Refuse stations that make no sense.

    Raises
    ------
    ValueError
        If there are none, they are out of order, or a count or a rate is out of range.
    """
    if not stations:
        raise ValueError("there must be at least one station")
    if any(a.order >= b.order for a, b in pairwise(stations)):
        raise ValueError("stations must be in stream order, each order once")
    if any(not 0.0 <= s.weight < math.inf for s in stations) or not any(s.weight for s in stations):
        raise ValueError("weights must be finite numbers of 0 or more, not all 0")
    for tally in (tally for station in stations for tally in station.tallies):
        if not 0 <= tally.nok <= tally.checked:
            raise ValueError(f"nok must be 0 to checked, not {tally.nok!r} of {tally.checked!r}")
        if not 0.0 <= tally.false_alarm < tally.detection <= 1.0:
            raise ValueError("false_alarm must be at least 0 and below detection, detection at most 1")


def running_counts(stations: Sequence[StationTally]) -> list[tuple[Counts, ...]]:
    """Count the parts before each station and, as the last entry, those of the whole stream.

    Returns
    -------
    list of tuple of Counts
        One entry more than there are stations; in each, one for every kind of check that was used.
    """
    kinds = tuple(dict.fromkeys((t.detection, t.false_alarm) for s in stations for t in s.tallies))
    running = [
        tuple(Counts(0, 0, false_alarm, detection - false_alarm) for detection, false_alarm in kinds)
    ]
    for station in stations:
        pairs = zip(running[-1], _count(station, kinds), strict=True)
        running.append(tuple(before.plus(own) for before, own in pairs))
    return running


def _log_prior(weights: Sequence[float]) -> list[float]:
    mean = math.fsum(weights) / len(weights)
    return [math.log(w / mean) if w else -math.inf for w in weights]


def _count(station: StationTally, kinds: Sequence[tuple[float, float]]) -> tuple[Counts, ...]:
    counted = []
    for detection, false_alarm in kinds:
        same = [t for t in station.tallies if (t.detection, t.false_alarm) == (detection, false_alarm)]
        nok = sum(t.nok for t in same)
        ok = sum(t.checked for t in same) - nok
        counted.append(Counts(nok, ok, false_alarm, detection - false_alarm))
    return tuple(counted)


def normalised(logs: Sequence[float]) -> tuple[float, ...]:
    """Turn logarithms of chances into chances whose sum is 1.

    Raises
    ------
    CountsError
        If all of them are 0.
    """
    largest = max(logs)
    if largest == -math.inf:
        raise CountsError(
            tr(
                "These counts cannot happen with the assumptions made, wherever the defect "
                "starts; allow for false alarms, widen the expected affected share, or rule out "
                "no station."
            )
        )
    chances = [math.exp(log - largest) for log in logs]
    total = math.fsum(chances)
    return tuple(chance / total for chance in chances)
