"""Whether the answer stays the same if the checks are better or worse than assumed.

Detection and false alarm are rarely known well. The whole computation is done again with each of a few
other values for all checks, and what it names is compared. Nothing between the tried values is claimed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from walkapp.analysis.origin import most_probable, origin_posterior
from walkapp.analysis.results import SURE, Sensitivity, SensitivityRow, StationTally
from walkapp.analysis.shares import SharePrior
from walkapp.analysis.wording import share_from
from walkapp.errors import CountsError
from walkapp.language import tr

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
    by_detection = _rows(stations, share, "detection", [1.0 - miss for miss in MISSES])
    by_false_alarm = _rows(stations, share, "false_alarm", FALSE_ALARMS)
    name = stations[named].name
    return Sensitivity(
        by_detection=by_detection,
        by_false_alarm=by_false_alarm,
        sentence=_sentence(name, by_detection, by_false_alarm),
    )


def _rows(
    stations: Sequence[StationTally], share: SharePrior, rate: str, values: Sequence[float]
) -> tuple[SensitivityRow, ...]:
    """One row for each value of a rate (a field of ``Tally``) that can be tried."""
    rows = (_try(stations, share, rate, value) for value in values)
    return tuple(row for row in rows if row is not None)


def _try(
    stations: Sequence[StationTally], share: SharePrior, rate: str, value: float
) -> SensitivityRow | None:
    tried: dict[str, Any] = {rate: value}
    changed = [
        replace(station, tallies=tuple(replace(tally, **tried) for tally in station.tallies))
        for station in stations
    ]
    if not all(t.false_alarm < t.detection for station in changed for t in station.tallies):
        return None
    try:
        posterior = origin_posterior(changed, share=share)
    except CountsError:
        return None
    named = most_probable(changed, posterior.origin, posterior.none)
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
                _about(name, misses, tr("of truly defective parts were missed")),
                _about(name, alarms, tr("of good parts were called NOK")),
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
        return tr(
            "With none of the values tried is {name} named if {listed} {what}.",
            name=name,
            listed=_listed([v for v, _ in tried]),
            what=what,
        )
    sure = all(row.probability >= SURE for _, row in tried if row.station == name)
    span = tr("up to {listed}", listed=_listed(same[-1:])) if same[0] == 0.0 else _listed(same)
    text = (
        tr("Still {station} (95 % or more) if {span} {what}", station=name, span=span, what=what)
        if sure
        else tr("Still {station} if {span} {what}", station=name, span=span, what=what)
    )
    if not others:
        return tr("{text} (no more was tried).", text=text)
    value, row = others[0] if others[0][0] > same[0] else others[-1]
    return tr(
        "{text}; {other} with {value}.",
        text=text,
        other=row.station or tr("not present in this stream"),
        value=_listed([value]),
    )


def _listed(values: Sequence[float]) -> str:
    low, high = (share_from(round(value, 6)) for value in (min(values), max(values)))
    return low if low == high else tr("{low} to {high}", low=low, high=high)
