"""What a checklist says: the value stream, its stations, and the checks of each station.

These are plain facts, already checked. How they are read from a folder of TOML files, and every
mistake found there, is the business of :mod:`walkapp.checklists`.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from walkapp.language import msg
from walkapp.model.auditing import AuditScheme

CHECK_KINDS = ("attribute", "count", "measurement", "setting", "photo", "question")
STATION_KINDS = (
    "incoming",
    "moulding",
    "trimming",
    "joining",
    "assembly",
    "test",
    "packing",
    "storage",
    "transport",
    "dock",
    "other",
)
UNIT_KINDS = ("cavity", "fixture", "machine", "rack", "line")

DEFAULT_DETECTION = 0.90
DEFAULT_FALSE_ALARM = 0.005
DEFAULT_SECONDS = 15.0
DEFAULT_SAMPLE = 10

CLEAN_SHARE, CLEAN_CONFIDENCE = 0.10, 0.95
"""What "clean" means unless something else is chosen: fewer affected than this, with this confidence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ParallelUnits:
    """Cavities, fixtures or machines that do the same step side by side.

    Parameters
    ----------
    kind
        One of ``UNIT_KINDS``.
    names
        Their names in the order they are shown; at least two.
    """

    kind: str
    names: tuple[str, ...]


OUTSIDE_SHIFTS = msg("outside every shift")
"""What is said in place of a shift's name where no shift is worked; no shift may be called so."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """A part of the day that comes again every day.

    Parameters
    ----------
    name
        What it is called; unique within the stream.
    begins, ends
        Local time of day, "00:00" to "23:59", not equal: the first minute that belongs to it, and the
        first that does not any more. It ends on the next day when `ends` is before `begins`.
    days
        Numbers of the weekdays on which it begins, 1 (Monday) to 7; empty for all working days.
    """

    name: str
    begins: str
    ends: str
    days: frozenset[int] = frozenset()

    def holds(self, time: str) -> bool:
        """Say whether a local time of day, "00:00" to "23:59", belongs to it.

        Examples
        --------
        >>> night = Shift(name="night", begins="22:00", ends="06:00")
        >>> night.holds("22:00"), night.holds("05:59"), night.holds("06:00")
        (True, True, False)
        """
        if self.begins < self.ends:
            return self.begins <= time < self.ends
        return time >= self.begins or time < self.ends

    def overlaps(self, other: Shift) -> bool:
        """Say whether any minute of the day belongs to both."""
        return self.holds(other.begins) or other.holds(self.begins)


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One thing to do at a station.

    Parameters
    ----------
    id
        Unique within its station.
    station
        Id of the station.
    kind
        One of ``CHECK_KINDS``.
    title
        What to do, in a few words.
    how
        How it is judged OK or NOK.
    finds
        Id of the defect that a NOK of this check means; empty when it finds none. Only checks
        that find a defect say anything about where that defect starts.
    sample
        Parts to look at, at least 1.
    detection
        Chance that a truly defective part is called NOK, 0 to 1, above `false_alarm`.
    false_alarm
        Chance that a good part is called NOK, 0 to 1.
    rates_known
        Whether both chances come from the checklist, not from the defaults.
    seconds
        Time for one part in seconds, above 0.
    unit
        Unit of measurement; empty unless kind is ``measurement`` or ``setting``.
    lsl, usl, nominal
        Lower and upper specification limit and nominal value of a measurement, or the allowed
        range and target of a setting, in `unit`; none when there is none.
    plausible_low, plausible_high
        Values outside this range are asked for once more, in `unit`.
    special
        Whether it is a special characteristic.
    characteristic
        Id of what is measured, the same at every station that measures the same thing; empty for the
        check's own id, and unless kind is ``measurement``.
    """

    id: str
    station: str
    kind: str
    title: str
    how: str = ""
    finds: str = ""
    sample: int = DEFAULT_SAMPLE
    detection: float = DEFAULT_DETECTION
    false_alarm: float = DEFAULT_FALSE_ALARM
    rates_known: bool = False
    seconds: float = DEFAULT_SECONDS
    unit: str = ""
    lsl: Decimal | None = None
    usl: Decimal | None = None
    nominal: Decimal | None = None
    plausible_low: Decimal | None = None
    plausible_high: Decimal | None = None
    special: bool = False
    characteristic: str = ""

    @property
    def measures(self) -> str:
        """Id of the characteristic that it measures; empty when it measures none."""
        return (self.characteristic or self.id) if self.kind == "measurement" else ""

    def is_within_limits(self, value: Decimal) -> bool:
        """Say whether a value lies within the limits; the limits themselves are within."""
        return (self.lsl is None or value >= self.lsl) and (self.usl is None or value <= self.usl)

    def is_within_limits_text(self, value: str) -> bool:
        """Say whether a recorded value lies within the limits."""
        return self.is_within_limits(Decimal(value))

    def is_plausible(self, value: Decimal) -> bool:
        """Say whether a value can be true at all, as far as the checklist knows."""
        return (self.plausible_low is None or value >= self.plausible_low) and (
            self.plausible_high is None or value <= self.plausible_high
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Defect:
    """One way in which a part can be wrong.

    Parameters
    ----------
    id
        Unique within the stream.
    name
        What it is called.
    how
        How a part is judged OK or NOK for it.
    """

    id: str
    name: str
    how: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """One stop on the way of the part.

    Parameters
    ----------
    order
        Place in the stream: 1, 2, ...; 0 for incoming material.
    id
        Unique within the stream.
    name, short
        Full name, and a name of at most 14 characters for narrow places.
    kind
        One of ``STATION_KINDS``.
    minutes
        Walking time from the station before, in minutes, 0 or more.
    hazards
        What can hurt somebody here; shown before anything else, once in each walk.
    units
        Parallel units, if any.
    checks
        Checks in the order they are done.
    sorts
        Whether parts can be sorted out, reworked or mixed with others here, so that a smaller share may
        be affected of what leaves.
    """

    order: int
    id: str
    name: str
    short: str
    kind: str
    minutes: float = 1.0
    hazards: tuple[str, ...] = ()
    units: ParallelUnits | None = None
    checks: tuple[Check, ...] = ()
    sorts: bool = False

    def check(self, check_id: str) -> Check | None:
        """Give the check of that id, or none."""
        return next((check for check in self.checks if check.id == check_id), None)

    def finders(self, defect: str) -> tuple[Check, ...]:
        """Give the checks whose NOK means that defect."""
        return tuple(check for check in self.checks if defect and check.finds == defect)

    def measuring(self, characteristic: str) -> Check | None:
        """Give the check that measures the characteristic, or none."""
        found = (check for check in self.checks if characteristic and check.measures == characteristic)
        return next(found, None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stream:
    """A value stream from the first station to the customer's dock.

    Parameters
    ----------
    id
        Name of its folder.
    name
        What it is called.
    product
        What is made.
    version
        Version of the checklist, as its owner writes it.
    cautions
        Cautions of the site, shown before a walk begins.
    defects
        At least one.
    stations
        In stream order, at least two.
    invented
        Whether it was made up for the demo.
    digest
        SHA-256 over the folder's files: which checklist this is, exactly.
    shifts
        The shifts of the site, in the order they are shown; none when it does not say. No two of them
        overlap; there may be gaps between them.
    audits
        The layered audits; none when the checklist has none.
    """

    id: str
    name: str
    product: str
    version: str
    cautions: tuple[str, ...]
    defects: tuple[Defect, ...]
    stations: tuple[Station, ...]
    invented: bool = False
    digest: str = ""
    shifts: tuple[Shift, ...] = ()
    audits: AuditScheme | None = None

    def station(self, station_id: str) -> Station | None:
        """Give the station of that id, or none."""
        return next((station for station in self.stations if station.id == station_id), None)

    def measured_at(self, characteristic: str) -> tuple[Station, ...]:
        """Give the stations at which the characteristic is measured."""
        return tuple(station for station in self.stations if station.measuring(characteristic))

    def defect(self, defect_id: str) -> Defect | None:
        """Give the defect of that id, or none."""
        return next((defect for defect in self.defects if defect.id == defect_id), None)

    def shift_of(self, moment: str) -> Shift | None:
        """Give the shift at a moment, or none where it lies in no shift.

        Parameters
        ----------
        moment
            RFC 3339, as records carry it. Its own local time decides, that of the offset it was recorded
            with, so the nights on which the clock changes need no rule. What a night shift does after
            midnight belongs to the shift that began the evening before, which has the same name.
        """
        time = moment[11:16]  # RFC 3339 has fixed places; a parser would refuse the leap second
        return next((shift for shift in self.shifts if shift.holds(time)), None)
