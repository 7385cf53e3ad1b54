"""From counts of older lots, and the records of walks, to dated counts at one station."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from walkapp.analysis.gather import gather_tallies
from walkapp.analysis.onset import DatedTally
from walkapp.model.checklist import Station, Stream
from walkapp.model.records import HEADER, Count, DatedCount, RatesChosen, Record, Sample


@dataclass(frozen=True, slots=True, kw_only=True)
class DatedRows:
    """What was counted at one station, by production day and lot.

    Parameters
    ----------
    rows
        In the order of production: by day, and by lot within a day.
    undated
        Parts that walks checked there of which no production day is known.
    """

    rows: tuple[DatedTally, ...]
    undated: int


def gather_dated(stream: Stream, station: Station, records: Iterable[Record], defect: str) -> DatedRows:
    """Count, for every lot and production day, the parts judged at a station.

    Parameters
    ----------
    stream
        The value stream with its checklist.
    station
        One of its stations.
    records
        The records that hold (see :func:`walkapp.model.standing.standing_of`), in any order.
    defect
        Id of the defect.

    Returns
    -------
    DatedRows
        Counts of older lots, and what each walk checked at the station itself where a sample record gives
        one production day. What counts, and with which rates, is as in
        :func:`walkapp.analysis.gather.gather_tallies`. Several counts of the same lot and day are counts
        of further parts.
    """
    everything = tuple(records)
    rates = [record for record in everything if isinstance(record, RatesChosen)]
    here = [record for record in everything if getattr(record, "station", "") == station.id]
    origin_of_walk = samples_by_walk(here)
    members: dict[tuple[str, str], list[Record]] = {}
    for record in here:
        if isinstance(record, DatedCount):
            members.setdefault((record.made_on, record.lot), []).append(as_count(record))
        elif not isinstance(record, RatesChosen):
            members.setdefault(origin_of_walk.get(record.walk, ("", "")), []).append(record)
    alone = replace(stream, stations=(station,))
    rows, undated = [], 0
    for day, lot in sorted(members, key=lambda made: (made[0], _natural(made[1]))):
        (tally,) = gather_tallies(alone, [*members[day, lot], *rates], defect)
        if not day:
            undated += tally.checked
        elif tally.checked:
            rows.append(DatedTally(label=lot or day, day=day, tallies=tally.tallies))
    return DatedRows(rows=tuple(rows), undated=undated)


def samples_by_walk(here: Iterable[Record]) -> dict[str, tuple[str, str]]:
    """Production day and lot of the parts that each walk checked, where they are not in doubt."""
    said: dict[str, set[tuple[str, str]]] = {}
    for record in here:
        if isinstance(record, Sample):
            said.setdefault(record.walk, set()).add((record.made_on, record.lot))
    return {walk: next(iter(made)) for walk, made in said.items() if len(made) == 1}


def as_count(record: DatedCount) -> Count:
    """Turn it into a count of the stream's own parts, so that the same rules say whether it counts."""
    header = {name: getattr(record, name) for name in HEADER}
    return Count(
        **header, station=record.station, check=record.check, checked=record.checked, nok=record.nok
    )


def _natural(lot: str) -> list[tuple[int, str]]:
    """Sort lot 9 before lot 10."""
    return [(int(part), "") if part.isdecimal() else (0, part) for part in re.split(r"([0-9]+)", lot)]
