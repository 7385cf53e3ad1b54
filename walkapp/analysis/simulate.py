"""Simulated walks on a given stream: how often the answer is right there, and what it costs.

Invented walks: in each the defect starts at a station drawn at random, a fixed share of the parts is
affected from there on, and the checks call parts OK or NOK at the rates of the stream. One walker follows
the guide until one answer has at least 95 %; another checks the same number of parts everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from walkapp.analysis.chance import Chance
from walkapp.analysis.guide import best_stop
from walkapp.analysis.origin import Posterior, origin_posterior
from walkapp.analysis.proportions import proportion_interval
from walkapp.analysis.results import SURE, Interval, StationTally, Tally
from walkapp.analysis.shares import SharePrior

SHARES = (0.05, 0.1, 0.3, 0.6, 0.95)
"""Affected shares that are simulated."""

EVERYWHERE = 30
"""Parts that the other walker checks at every station."""

MOST_PARTS = 2_000
"""A guided walk that is not sure after so many parts stops without an answer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SimulatedRow:
    """What walks with one affected share came to.

    Parameters
    ----------
    share
        The affected share.
    walks
        How many walks were simulated.
    named, right
        How many guided walks named a station with at least 95 %, and how many of these named the true
        one.
    right_interval
        Exact two-sided 95 % interval of the share right among those named; none when none was.
    parts, minutes
        Means over the guided walks.
    everywhere_parts
        Parts of the walk with the same number at every station.
    everywhere_named, everywhere_right
        As `named` and `right`, for those walks.
    plain_right
        How many of those walks the plain rule (first station with a NOK) was right in.
    """

    share: float
    walks: int
    named: int
    right: int
    right_interval: Interval | None
    parts: float
    minutes: float
    everywhere_parts: int
    everywhere_named: int
    everywhere_right: int
    plain_right: int


def simulate_walks(
    stations: Sequence[StationTally],
    *,
    chance: Chance,
    walks: int,
    share: SharePrior | None = None,
    shares: Sequence[float] = SHARES,
    progress: Callable[[int, int], None] = lambda _done, _all: None,
) -> tuple[SimulatedRow, ...]:
    """Simulate walks on a stream.

    Parameters
    ----------
    stations
        The stream; what was counted so far is left out. Parts can be checked at one station at least.
    chance
        Where chance comes from.
    walks
        How many for each share, at least 1.
    share
        What the walkers believe of the affected share; ``SharePrior()`` when none.
    shares
        The true affected shares, each above 0 and at most 1.
    progress
        Told how many walks are done, and of how many.

    Returns
    -------
    tuple of SimulatedRow
        One for each share. Where parts are sorted out, the simulated share stays all the same.

    Raises
    ------
    ValueError
        If an argument is out of range.
    """
    if walks < 1:
        raise ValueError(f"walks must be at least 1, not {walks!r}")
    if not all(0.0 < s <= 1.0 for s in shares):
        raise ValueError("shares must be above 0 and at most 1")
    prior = share or SharePrior()
    empty = tuple(replace(station, tallies=()) for station in stations)
    rows = []
    for number, true_share in enumerate(shares):
        guided, everywhere = [], []
        for walk in range(walks):
            origin = int(chance.random() * len(empty))
            shop = _Shop(empty, origin, true_share, chance)
            guided.append(_guided(shop, prior))
            everywhere.append(_everywhere(shop, prior))
            progress(number * walks + walk + 1, walks * len(shares))
        named = sum(w.named is not None for w in guided)
        right = sum(w.is_right for w in guided)
        rows.append(
            SimulatedRow(
                share=true_share,
                walks=walks,
                named=named,
                right=right,
                right_interval=proportion_interval(right, named) if named else None,
                parts=math.fsum(w.parts for w in guided) / walks,
                minutes=math.fsum(w.minutes for w in guided) / walks,
                everywhere_parts=everywhere[0].parts,
                everywhere_named=sum(w.named is not None for w in everywhere),
                everywhere_right=sum(w.is_right for w in everywhere),
                plain_right=sum(w.is_plain_right for w in everywhere),
            )
        )
    return tuple(rows)


@dataclass(frozen=True, slots=True)
class _Walk:
    named: int | None
    is_right: bool
    parts: int
    minutes: float
    is_plain_right: bool = False


class _Shop:
    """A stream in which the defect starts at one station."""

    def __init__(self, stations: Sequence[StationTally], origin: int, share: float, chance: Chance) -> None:
        self.stations = stations
        self.origin = origin
        self._share = share
        self._chance = chance

    def check(self, station: StationTally, index: int, parts: int) -> StationTally:
        """Check parts at a station; give the station with their count added."""
        d, f = station.next_detection, station.next_false_alarm
        called_nok = f + self._share * (d - f) if index >= self.origin else f
        nok = sum(self._chance.random() < called_nok for _ in range(parts))
        tally = Tally(checked=parts, nok=nok, detection=d, false_alarm=f)
        return replace(station, tallies=(*station.tallies, tally))

    def judged(self, posterior: Posterior) -> tuple[int | None, bool]:
        """The station named with at least 95 %, and whether it is the true one."""
        best = max(range(len(posterior.origin)), key=posterior.origin.__getitem__)
        if posterior.origin[best] < SURE:
            return None, False
        return best, best == self.origin


def _guided(shop: _Shop, prior: SharePrior) -> _Walk:
    stations = list(shop.stations)
    here: int | None = None
    parts, minutes = 0, 0.0
    while True:
        posterior = origin_posterior(stations, share=prior)
        stop = best_stop(stations, posterior, here) if parts < MOST_PARTS else None
        if stop is None:
            named, is_right = shop.judged(posterior)
            return _Walk(named, is_right, parts, minutes)
        stations[stop.index] = shop.check(stations[stop.index], stop.index, stop.parts)
        here = stations[stop.index].order
        parts += stop.parts
        minutes += stop.walking_minutes + stop.parts * stations[stop.index].seconds_per_part / 60.0


def _everywhere(shop: _Shop, prior: SharePrior) -> _Walk:
    stations = [
        shop.check(station, i, EVERYWHERE) if station.can_be_checked else station
        for i, station in enumerate(shop.stations)
    ]
    named, is_right = shop.judged(origin_posterior(stations, share=prior))
    plain = next((i for i, station in enumerate(stations) if station.nok), None)
    return _Walk(named, is_right, sum(s.checked for s in stations), 0.0, plain == shop.origin)
