"""Where to check next, and how many parts.

The uncertainty is the entropy, in bits, of the answers "starts at station j" and "not present".
Checking m parts at a station and finding k NOK is expected to lower it by the mutual information of
k and the answer, which is the entropy of k less its mean entropy once the answer is known (D. V.
Lindley, "On a measure of the information provided by an experiment", Annals of Mathematical Statistics
27, 1956, 986-1005; the criterion per minute is common practice, no source). The sum over k is exact;
the affected share is summed over the grid of the posterior. Best is the largest expected loss of
uncertainty per minute of walking and checking.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from walkapp.analysis.origin import Posterior
from walkapp.analysis.results import SURE, Advice, BatchPlan, StationTally
from walkapp.analysis.shares import ShareGrid
from walkapp.analysis.special import binomial_log_pmf
from walkapp.analysis.wording import parts_in_words, percent, percent_at_most
from walkapp.language import tr

BATCHES = (1, 2, 3, 5, 8, 10, 15, 20, 30)
"""Numbers of parts that are considered."""

GOOD_ENOUGH = 0.8
"""The largest batch whose rate reaches this part of the station's best rate is advised.

Each further part brings less than the one before, so that the best rate alone would send the walker
to the tablet after every single part. In simulated walks this value takes about as many minutes as
the best rate and a quarter of the instructions (``tests/benchmarks/guided_walks.py``).
"""

_LEAST_BITS = 1e-6


def advise(
    stations: Sequence[StationTally],
    posterior: Posterior,
    upper_limits: Sequence[float | None],
    here: int | None = None,
    sure: float = SURE,
) -> Advice | None:
    """Choose the station and the number of parts that shrink the uncertainty fastest.

    Parameters
    ----------
    stations
        In stream order.
    posterior
        What is known so far.
    upper_limits
        For each station the one-sided 95 % upper limit for the share called NOK, or none; used in
        the reason given.
    here
        Order of the station at which the walker stands. When it is none, the mean walking time
        between two stations is counted for each, so that none is favoured.
    sure
        Probability from which an answer is sure, between 0 and 1.

    Returns
    -------
    Advice or None
        None when one answer is sure, nothing can be checked, or nothing would be learned.

    Raises
    ------
    ValueError
        If there is no station of the order `here`.
    """
    stop = best_stop(stations, posterior, here, sure)
    if stop is None:
        return None
    i, walking, gains = stop.index, stop.walking_minutes, stop.gains
    station = stations[i]
    return Advice(
        station=station.name,
        order=station.order,
        parts=stop.parts,
        minutes=_minutes(station, walking, stop.parts),
        bits_per_minute=gains[stop.parts] / _minutes(station, walking, stop.parts),
        why=_reason(stations, posterior, upper_limits, i),
        plans=tuple(
            BatchPlan(
                parts=m,
                minutes=_minutes(station, walking, m),
                bits=gains[m],
                chance_sure=chance_sure(stations, posterior, i, m, sure),
            )
            for m in BATCHES
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """Where to check next.

    Parameters
    ----------
    index
        Index (from 0) of the station.
    parts
        How many parts to check there.
    walking_minutes
        Walking time to it.
    gains
        Expected loss of uncertainty there, in bits, by number of parts.
    """

    index: int
    parts: int
    walking_minutes: float
    gains: Mapping[int, float]


def best_stop(
    stations: Sequence[StationTally], posterior: Posterior, here: int | None = None, sure: float = SURE
) -> Stop | None:
    """Choose the station and the number of parts, without the words of :func:`advise`.

    Parameters, errors and what none means are those of :func:`advise`.
    """
    if max(*posterior.origin, posterior.none) >= sure:
        return None
    walking = walking_minutes(stations, here)
    gains = expected_gains(stations, posterior)
    best: tuple[float, int] | None = None
    for i, station in enumerate(stations):
        if station.can_be_checked:
            rate = max(gains[i][m] / _minutes(station, walking[i], m) for m in BATCHES)
            if best is None or rate > best[0]:
                best = (rate, i)
    if best is None or max(gains[best[1]].values()) < _LEAST_BITS:
        return None
    best_rate, i = best
    rates = {m: gains[i][m] / _minutes(stations[i], walking[i], m) for m in BATCHES}
    parts = max(m for m in BATCHES if rates[m] >= GOOD_ENOUGH * best_rate)
    return Stop(index=i, parts=parts, walking_minutes=walking[i], gains=gains[i])


def chance_sure(
    stations: Sequence[StationTally], posterior: Posterior, place: int, parts: int, sure: float = SURE
) -> float:
    """Chance that one answer is sure after checking some parts at one station.

    Parameters
    ----------
    stations
        In stream order, each with the rates of its next check.
    posterior
        What is known so far.
    place
        Index (from 0) of the station.
    parts
        How many parts would be checked there, at least 1.
    sure
        Probability from which an answer is sure, between 0 and 1.

    Returns
    -------
    float
        Sum of the chances of all counts of NOK after which the most probable answer has at least
        `sure`; 0 to 1.
    """
    station = stations[place]
    detection, false_alarm = station.next_detection, station.next_false_alarm
    zone = posterior.zones[place]
    good = [math.exp(binomial_log_pmf(k, parts, false_alarm)) for k in range(parts + 1)]
    forecasts: dict[int, list[float]] = {}
    joint = [[posterior.none * chance for chance in good]]
    for i, chance in enumerate(posterior.origin):
        if i > place:
            joint.append([chance * g for g in good])
            continue
        grid = posterior.grids[i][zone]
        if id(grid) not in forecasts:
            forecasts[id(grid)] = _predictive(grid, detection, false_alarm, parts)
        joint.append([chance * b for b in forecasts[id(grid)]])
    total = 0.0
    for outcomes in zip(*joint, strict=True):
        chance = math.fsum(outcomes)
        if max(outcomes) >= sure * chance:
            total += chance
    return min(1.0, total)


def walking_minutes(stations: Sequence[StationTally], here: int | None) -> tuple[float, ...]:
    """Walking time to each station, in minutes.

    Parameters
    ----------
    stations
        In stream order; the `minutes` of each are those from the one before it.
    here
        Order of the station at which the walker stands, or none.

    Returns
    -------
    tuple of float
        From `here`, up or down the stream; without it, the mean over all pairs for each station.

    Raises
    ------
    ValueError
        If there is no station of the order `here`.

    Examples
    --------
    >>> stream = [StationTally(order=i, name=f"station {i}", minutes=2.0) for i in (1, 2, 3)]
    >>> walking_minutes(stream, 2)
    (2.0, 0.0, 2.0)
    """
    places = [0.0]
    for _, station in pairwise(stations):
        places.append(places[-1] + station.minutes)
    if here is not None:
        standing = next((p for p, s in zip(places, stations, strict=True) if s.order == here), None)
        if standing is None:
            raise ValueError(f"there is no station of order {here!r}")
        return tuple(abs(place - standing) for place in places)
    many = len(places)
    # In sorted places the k-th (from 0) is the later one of k pairs and the earlier of the others.
    whole = math.fsum(place * (2 * k - many + 1) for k, place in enumerate(places))
    mean = whole / (many * (many - 1) / 2) if many > 1 else 0.0
    return (mean,) * many


def expected_gains(stations: Sequence[StationTally], posterior: Posterior) -> tuple[dict[int, float], ...]:
    """Expected loss of uncertainty for each station and batch.

    Parameters
    ----------
    stations
        In stream order, each with the rates of its next check.
    posterior
        What is known so far.

    Returns
    -------
    tuple of dict
        For each station, bits by number of parts; 0 or more. Empty where nothing can be checked.
    """
    gains: list[dict[int, float]] = [{} for _ in stations]
    checks = {(s.next_detection, s.next_false_alarm) for s in stations if s.can_be_checked}
    for detection, false_alarm in checks:
        table = _gain_table(posterior, detection, false_alarm)
        for i, station in enumerate(stations):
            if station.can_be_checked and (station.next_detection, station.next_false_alarm) == (
                detection,
                false_alarm,
            ):
                gains[i] = table[i]
    return tuple(gains)


def _gain_table(posterior: Posterior, detection: float, false_alarm: float) -> list[dict[int, float]]:
    """Expected gains at each station if it is checked with these rates."""
    most = max(BATCHES)
    good = _smaller_batches([math.exp(binomial_log_pmf(k, most, false_alarm)) for k in range(most + 1)])
    entropy_good = {m: _entropy(good[m]) for m in BATCHES}
    forecasts: dict[int, dict[int, list[float]]] = {}
    entropies: dict[int, dict[int, float]] = {}
    for grid in (grid for by_zone in posterior.grids for grid in by_zone):
        if id(grid) not in forecasts:
            forecast = _smaller_batches(_predictive(grid, detection, false_alarm, most))
            forecasts[id(grid)] = forecast
            entropies[id(grid)] = {m: _entropy(forecast[m]) for m in BATCHES}
    table: list[dict[int, float]] = [{} for _ in posterior.origin]
    many = len(posterior.origin)
    for zone in sorted(set(posterior.zones)):
        first = posterior.zones.index(zone)
        last = many - posterior.zones[::-1].index(zone)
        keys = [id(by_zone[zone]) for by_zone in posterior.grids[:last]]
        for m in BATCHES:
            # Known answer: parts from the origin on follow its own forecast, all others are good.
            mixed = good[m]
            mean_entropy = entropy_good[m]
            for i in range(last):
                chance, bad = posterior.origin[i], forecasts[keys[i]][m]
                mixed = [x + chance * (b - g) for x, b, g in zip(mixed, bad, good[m], strict=True)]
                mean_entropy += chance * (entropies[keys[i]][m] - entropy_good[m])
                if i >= first:
                    table[i][m] = max(0.0, _entropy(mixed) - mean_entropy)
    return table


def _predictive(grid: ShareGrid, detection: float, false_alarm: float, parts: int) -> list[float]:
    """Chance of 0, 1, ... NOK parts at or after the origin."""
    gain = detection - false_alarm
    chances = [0.0] * (parts + 1)
    for share, weight in zip(grid.shares, grid.weights, strict=True):
        if weight < 1e-13:
            continue
        nok = false_alarm + share * gain
        # Upwards or downwards from the likelier end, so that nothing underflows on the way.
        mirrored = nok > 0.5
        odds = (1.0 - nok) / nok if mirrored else nok / (1.0 - nok)
        term = weight * (nok if mirrored else 1.0 - nok) ** parts
        for k in range(parts + 1):
            chances[parts - k if mirrored else k] += term
            term *= odds * (parts - k) / (k + 1)
    return chances


def _smaller_batches(chances: Sequence[float]) -> dict[int, list[float]]:
    """Chances for every smaller number of parts: leave out one part at random, again and again."""
    current = list(chances)
    found = {len(current) - 1: current}
    for m in range(len(current) - 1, 0, -1):
        current = [((m - k) * current[k] + (k + 1) * current[k + 1]) / m for k in range(m)]
        found[m - 1] = current
    return found


def _entropy(chances: Sequence[float]) -> float:
    return -sum(chance * math.log2(chance) for chance in chances if chance > 0.0)


def _minutes(station: StationTally, walking: float, parts: int) -> float:
    return walking + parts * station.seconds_per_part / 60.0


def _reason(
    stations: Sequence[StationTally],
    posterior: Posterior,
    upper_limits: Sequence[float | None],
    i: int,
) -> str:
    """Say in one sentence why station `i` is worth the walk."""
    station = stations[i]
    present = posterior.present[i]
    here = tr(
        "{present} that the defect is already in what leaves {station}",
        present=percent(present),
        station=station.name,
    )
    upper = upper_limits[i]
    if station.checked == 0:
        if any(s.checked for s in stations[:i]) and any(s.checked for s in stations[i + 1 :]):
            return tr(
                "{station} was skipped: {origin} that the defect starts there.",
                station=station.name,
                origin=percent(posterior.origin[i]),
            )
        if 1 / 3 <= present <= 2 / 3:
            return tr("It halves the stream: {here}.", here=here)
        return tr(
            "It was not checked yet, and it shrinks the uncertainty fastest per minute: {here}.", here=here
        )
    if station.nok == 0 and upper is not None:
        return tr(
            "With only {checked} OK so far, up to {upper} at {station} could be NOK: more "
            "parts show whether it is clean.",
            checked=parts_in_words(station.checked),
            upper=percent_at_most(upper),
            station=station.name,
        )
    return tr(
        "{nok} NOK of {checked} at {station} do not settle it: {here}.",
        nok=station.nok,
        checked=station.checked,
        station=station.name,
        here=here,
    )
