"""From counts of walks and of older lots to the parts before an action and those after it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from walkapp.analysis.gather import gather_tallies
from walkapp.analysis.gather_dated import as_count, samples_by_walk
from walkapp.model.checklist import Station, Stream
from walkapp.model.records import Answer, Count, DatedCount, Measurement, Record


@dataclass(frozen=True, slots=True, kw_only=True)
class SideParts:
    """Parts from one side of the day on which an action was done.

    Parameters
    ----------
    checked, nok
        Parts judged, and NOK among them.
    first_day, last_day
        The days from which they are, ISO 8601; empty when there are none.
    undated
        Parts among them whose production day is not known, and which count by the day on which they were
        checked.
    """

    checked: int = 0
    nok: int = 0
    first_day: str = ""
    last_day: str = ""
    undated: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class BothSides:
    """Parts from before an action and from after it, judged at the same stations.

    Parameters
    ----------
    before, after
        The parts.
    stations
        Where they were judged, in stream order.
    """

    before: SideParts
    after: SideParts
    stations: tuple[Station, ...]


def gather_sides(
    stream: Stream,
    stations: Sequence[Station],
    records: Iterable[Record],
    defect: str,
    *,
    done_on: str,
    good_until: str = "",
) -> BothSides:
    """Count the parts from before an action and from after it.

    Parameters
    ----------
    stream
        The value stream with its checklist.
    stations
        Stations that show the defect, in stream order, at least one.
    records
        The records that hold, in any order.
    defect
        Id of the defect.
    done_on
        The day on which the action was done, ISO 8601. Parts of that day belong to neither side.
    good_until
        Last day before the defect started, ISO 8601; parts up to it say nothing of the action and are left
        out. Empty when it is not known.

    Returns
    -------
    BothSides
        Of the stations at which parts of both sides were judged, so that sorting or rework between two
        stations is not taken for an effect; of the first station alone where there are none. What counts
        as a judged part is as in :func:`walkapp.analysis.gather.gather_tallies`. A part is from its
        production day or, where that is not known, from the day on which it was checked.
    """
    by_station: dict[str, list[Record]] = {}
    for record in records:
        by_station.setdefault(getattr(record, "station", ""), []).append(record)
    found = {
        station.id: _sides(
            replace(stream, stations=(station,)),
            by_station.get(station.id, []),
            defect,
            done_on=done_on,
            good_until=good_until,
        )
        for station in stations
    }
    both = [station for station in stations if all(side.checked for side in found[station.id])]
    used = tuple(both or stations[:1])
    return BothSides(
        before=_joined([found[station.id][0] for station in used]),
        after=_joined([found[station.id][1] for station in used]),
        stations=used,
    )


def _sides(
    alone: Stream, here: Sequence[Record], defect: str, *, done_on: str, good_until: str
) -> tuple[SideParts, SideParts]:
    made = samples_by_walk(here)
    before: dict[tuple[str, bool], list[Record]] = {}
    after: dict[tuple[str, bool], list[Record]] = {}
    for record in here:
        if not isinstance(record, Answer | Count | DatedCount | Measurement):
            continue
        known = record.made_on if isinstance(record, DatedCount) else made.get(record.walk, ("", ""))[0]
        day = known or record.at[:10]
        judged = as_count(record) if isinstance(record, DatedCount) else record
        if good_until < day < done_on:
            before.setdefault((day, not known), []).append(judged)
        elif day > done_on:
            after.setdefault((day, not known), []).append(judged)
    return _counted(alone, before, defect), _counted(alone, after, defect)


def _counted(alone: Stream, by_day: Mapping[tuple[str, bool], list[Record]], defect: str) -> SideParts:
    found = []
    for (day, is_undated), records in by_day.items():
        (tally,) = gather_tallies(alone, records, defect)
        if tally.checked:
            found.append(
                SideParts(
                    checked=tally.checked,
                    nok=tally.nok,
                    first_day=day,
                    last_day=day,
                    undated=tally.checked if is_undated else 0,
                )
            )
    return _joined(found)


def _joined(sides: Iterable[SideParts]) -> SideParts:
    some = [side for side in sides if side.checked]
    return SideParts(
        checked=sum(side.checked for side in some),
        nok=sum(side.nok for side in some),
        first_day=min((side.first_day for side in some), default=""),
        last_day=max((side.last_day for side in some), default=""),
        undated=sum(side.undated for side in some),
    )
