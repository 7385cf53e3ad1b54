"""Streams for the tests of the computation."""

from __future__ import annotations

from typing import Any

from walkapp.analysis.results import StationTally, Tally


def station(
    order: int,
    checked: int = 0,
    nok: int = 0,
    *,
    detection: float = 0.9,
    false_alarm: float = 0.005,
    **more: Any,
) -> StationTally:
    """Make a station at which `checked` parts were judged with one check."""
    tally = Tally(checked=checked, nok=nok, detection=detection, false_alarm=false_alarm)
    facts: dict[str, Any] = {
        "name": f"Station {order}",
        "tallies": (tally,) if checked else (),
        "next_detection": detection,
        "next_false_alarm": false_alarm,
    }
    return StationTally(order=order, **{**facts, **more})


def stream(*counts: tuple[int, int], **rates: float) -> tuple[StationTally, ...]:
    """Make a stream from (checked, nok), station by station."""
    return tuple(station(i, checked, nok, **rates) for i, (checked, nok) in enumerate(counts, start=1))
