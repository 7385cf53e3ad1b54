"""A part of the records: those of some days, one shift, one tablet, one cavity or fixture.

Only records of parts are left out, and the samples that say where such parts come from. What is known of
the concern, its walks, its checks and its actions is known of every part of the records.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, fields
from datetime import date
from typing import Any

from walkapp.analysis.gather_units import UNIT
from walkapp.analysis.wording import unit_label
from walkapp.language import msg, tr
from walkapp.model.checklist import OUTSIDE_SHIFTS, Stream
from walkapp.model.records import Answer, Count, DatedCount, Measurement, Record, Sample

NOT_KNOWN = msg("not known")
"""Stands for the parts of which no unit was recorded; no unit is called so, since its kind is before it."""

PARTS = (Answer, Count, DatedCount, Measurement)
"""The kinds of record that say something of parts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordFilter:
    """Which records of parts are looked at; one without anything looks at all of them.

    Parameters
    ----------
    since, until
        First and last day on which parts were judged, ISO 8601, both included: the day of the entry by
        its own local time. It is not the day on which the parts were made. Empty for no limit.
    shift
        Name of the shift in which they were judged, or ``OUTSIDE_SHIFTS``; empty for every one.
    tablet
        Id of the tablet that made the entry; empty for every one.
    unit
        Cavity, fixture or machine that made the parts, as :func:`unit_of` names it, or ``NOT_KNOWN``; empty
        for every one.
    """

    since: str = ""
    until: str = ""
    shift: str = ""
    tablet: str = ""
    unit: str = ""

    @property
    def is_empty(self) -> bool:
        """Whether all records are looked at."""
        return self == RecordFilter()

    def keeps(self, stream: Stream | None, record: Record) -> bool:
        """Whether a record of parts is among those looked at.

        Parameters
        ----------
        stream
            Its stream: says which shift a moment is in, and what kind of unit a station has.
        record
            An answer, a count or a measured value. A corrected entry is looked at as it was corrected: day,
            shift and tablet are those of the correction.
        """
        day = record.at[:10]
        return (
            (not self.since or day >= self.since)
            and (not self.until or day <= self.until)
            and (not self.tablet or record.device == self.tablet)
            and (not self.shift or shift_of(stream, record) == self.shift)
            and (not self.unit or unit_of(stream, record) == self.unit)
        )

    def to_text(self) -> str:
        """Write it so that a place of the app can keep it; empty when all records are looked at."""
        said = {name: value for name, value in asdict(self).items() if value}
        return json.dumps(said, ensure_ascii=False, sort_keys=True) if said else ""

    @classmethod
    def from_text(cls, text: str) -> RecordFilter:
        """Read what :meth:`to_text` wrote; what cannot be read limits nothing."""
        try:
            said: Any = json.loads(text or "{}")
        except (ValueError, RecursionError):
            return cls()
        if not isinstance(said, dict):
            return cls()
        known = {f.name: said[f.name] for f in fields(cls) if isinstance(said.get(f.name), str)}
        for name in ("since", "until"):
            if not _is_day(known.get(name, "")):
                known.pop(name, None)
        return cls(**known)


def _is_day(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def shift_of(stream: Stream | None, record: Record) -> str:
    """Name the shift in which a record was made, by the local time it carries."""
    shift = stream.shift_of(record.at) if stream else None
    return shift.name if shift else OUTSIDE_SHIFTS


def unit_of(stream: Stream | None, record: Record) -> str:
    """Name the cavity, fixture or machine that made the parts of a record.

    Parameters
    ----------
    stream
        Its stream.
    record
        An answer, a count or a measured value.

    Returns
    -------
    str
        The kind of unit of its station and the name of the unit, as "cavity 3", whether the name has the
        kind in front or not; "unit 3" where the checklist lists no units there; ``NOT_KNOWN`` where none
        was recorded. Stations with the same kind of unit are taken to mean the same units by the same
        names.
    """
    name = getattr(record, "unit", "")
    if not name:
        return NOT_KNOWN
    station = stream.station(getattr(record, "station", "")) if stream else None
    kind = station.units.kind if station and station.units else UNIT
    return name if name.startswith(f"{kind} ") else f"{kind} {name}"


def unit_words(unit: str) -> str:
    """Say what :func:`unit_of` gave, for people."""
    if unit == NOT_KNOWN:
        return tr("unit not known")
    kind, _, name = unit.partition(" ")
    return unit_label(kind, name)


def filter_records(
    stream: Stream | None, records: Iterable[Record], wanted: RecordFilter
) -> tuple[Record, ...]:
    """Leave out the records of parts that are not looked at.

    Parameters
    ----------
    stream
        The value stream with its checklist; none while nobody has it.
    records
        Records that hold, in any order.
    wanted
        What is looked at.

    Returns
    -------
    tuple of Record
        In the order given: the records of parts that are looked at, and all others but the samples of a
        walk and station of which no record of parts is left.

    Notes
    -----
    Two filters after each other keep what both keep, in either order. The filters for every tablet, or
    every shift and ``OUTSIDE_SHIFTS``, or every unit and ``NOT_KNOWN``, keep each record of parts once.
    """
    held: Sequence[Record] = tuple(records)
    if wanted.is_empty:
        return tuple(held)
    kept = {id(r) for r in held if isinstance(r, PARTS) and wanted.keeps(stream, r)}
    visited = {(r.walk, getattr(r, "station", "")) for r in held if id(r) in kept}

    def stays(record: Record) -> bool:
        if isinstance(record, PARTS):
            return id(record) in kept
        return not isinstance(record, Sample) or (record.walk, record.station) in visited

    return tuple(record for record in held if stays(record))
