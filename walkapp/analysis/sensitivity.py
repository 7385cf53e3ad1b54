"""Whether the answer stays the same if the checks are better or worse than assumed.

Detection and false alarm are rarely known well. The whole computation is done again with each of a few
other values for all checks, and what it names is compared. Nothing between the tried values is claimed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from walkapp.analysis.origin import most_probable, origin_posterior
from walkapp.analysis.results import SURE, Sensitivity, SensitivityRow, StationTally
from walkapp.analysis.shares import SharePrior
from walkapp.analysis.wording import share_from
from walkapp.errors import CountsError

MISSES = (0.0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7)
"""Shares of truly defective parts called OK that are tried; detection is 1 less the miss."""

FALSE_ALARMS = (0.0, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1)
"""Shares of good parts called NOK that are tried."""


def find_sensitivity(
    stations: Sequence[StationTally],
    named: int,
    share: SharePrior,
) -> Sensitivity:
    """Work the answer out again with other rates of the checks.

    Parameters
    ----------
    stations
        In stream order, at least one, as given to :func:`walkapp.analysis.locate.locate`.
    named
        Index (from 0) of the station that is named with the assumed rates.
    share
        What is believed of the affected share beforehand.

    Returns
    -------
    Sensitivity
        One row for each value tried, and a sentence. Values that cannot be (a detection that is not
        above the false alarm) or with which the counts cannot happen are left out.
    """

    def rows(
        values: Sequence[float], change: Callable[[float, float, float], tuple[float, float]]
    ) -> list[SensitivityRow]:
        found = []
        for value in values:
            row = _try(stations, value, change, share)
            if row is not None:
                found.append(row)
        return found

    by_detection = rows([1.0 - miss for miss in MISSES], lambda _d, f, value: (value, f))
    by_false_alarm = rows(FALSE_ALARMS, lambda d, _f, value: (d, value))
    name = stations[named].name
    return Sensitivity(
        by_detection=tuple(by_detection),
        by_false_alarm=tuple(by_false_alarm),
        sentence=_sentence(name, by_detection, by_false_alarm),
    )


def _try(
    stations: Sequence[StationTally],
    value: float,
    change: Callable[[float, float, float], tuple[float, float]],
    share: SharePrior,
) -> SensitivityRow | None:
    changed = []
    for station in stations:
        tallies = []
        for tally in station.tallies:
            detection, false_alarm = change(tally.detection, tally.false_alarm, value)
            if not false_alarm < detection:
                return None
            tallies.append(replace(tally, detection=detection, false_alarm=false_alarm))
        changed.append(replace(station, tallies=tuple(tallies)))
    try:
        posterior = origin_posterior(changed, share=share)
    except CountsError:
        return None
    named = most_probable(changed, posterior)
    if not named:
        return SensitivityRow(value=value, station=None, probability=posterior.none)
    return SensitivityRow(
        value=value, station=stations[named[0]].name, probability=posterior.origin[named[0]]
    )


def _sentence(
    name: str, by_detection: Sequence[SensitivityRow], by_false_alarm: Sequence[SensitivityRow]
) -> str:
    misses = [(1.0 - row.value, row) for row in by_detection]
    alarms = [(row.value, row) for row in by_false_alarm]
    return " ".join(
        filter(
            None,
            (
                _about(name, misses, "of truly defective parts were missed"),
                _about(name, alarms, "of good parts were called NOK"),
            ),
        )
    )


def _about(name: str, tried: Sequence[tuple[float, SensitivityRow]], what: str) -> str:
    """Say for which of the tried values the same station is named, and what is named otherwise."""
    if not tried:
        return ""
    same = [value for value, row in tried if row.station == name]
    others = [(value, row) for value, row in tried if row.station != name]
    if not same:
        return f"With none of the values tried is {name} named if {_listed([v for v, _ in tried])} {what}."
    sure = all(row.probability >= SURE for _, row in tried if row.station == name)
    span = f"up to {_listed(same[-1:])}" if same[0] == 0.0 else _listed(same)
    text = f"Still {name}{' (95 % or more)' if sure else ''} if {span} {what}"
    if not others:
        return f"{text} (no more was tried)."
    value, row = others[0] if others[0][0] > same[0] else others[-1]
    return f"{text}; {row.station or 'not present in this stream'} with {_listed([value])}."


def _listed(values: Sequence[float]) -> str:
    low, high = (share_from(round(value, 6)) for value in (min(values), max(values)))
    return low if low == high else f"{low} to {high}"
