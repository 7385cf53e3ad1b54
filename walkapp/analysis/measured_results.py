"""What the measurements of one characteristic are given as, and what they say."""

from __future__ import annotations

from dataclasses import dataclass

from walkapp.analysis.capability import Capability
from walkapp.analysis.means import Shift, SpreadChange
from walkapp.analysis.moments import Number
from walkapp.analysis.results import Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One measured value of one part.

    Parameters
    ----------
    value
        A float stands for the shortest decimal that it prints as; a `Decimal` keeps every digit typed.
    part
        Tag of the part where it is followed along the stream; empty for an untagged part.
    group
        Lot, production day or cavity, for the spread within groups; empty when not known.
    """

    value: Number
    part: str = ""
    group: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What the values are held against.

    Parameters
    ----------
    lsl, usl, nominal
        Lower and upper limit and nominal value, in the unit of the values; each may be missing. `lsl`
        is below `usl`; a value on a limit is inside.
    """

    lsl: Number | None = None
    usl: Number | None = None
    nominal: Number | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredStation:
    """What was measured at one station.

    Parameters
    ----------
    order
        Place in the stream: 1, 2, ...; 0 for incoming material.
    name
        The station's name.
    readings
        In the order taken; empty when nothing was measured here.
    limits
        Limits of this station alone; none for those of the whole stream.
    """

    order: int
    name: str
    readings: tuple[Reading, ...] = ()
    limits: Limits | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StationValues:
    """What the values of one station say. A part counts once.

    Parameters
    ----------
    order, station
        Place in the stream and name.
    readings, count
        Values measured, and parts: readings of one tag are one part, whose value is their mean.
    tagged, repeated
        Parts with a tag, and among them those measured more than once here.
    mean, low, high
        Of the parts; none when nothing was measured.
    standard_deviation
        Of the parts; none for fewer than two.
    mean_interval
        Two-sided t interval of the mean; none for fewer than two parts and without spread.
    from_nominal
        Mean less nominal value; none without one of them.
    below, above, outside
        Parts below the lower limit, above the upper limit, and both together; a value on a limit is
        inside. None without limits.
    outside_interval
        Exact two-sided interval for the share outside; none without limits or parts.
    readings_outside
        Single readings outside: more than `outside` where a mean of several hides one.
    capability
        Indices and their intervals; none without limits.
    """

    order: int
    station: str
    readings: int
    count: int
    tagged: int
    repeated: int
    mean: float | None = None
    low: float | None = None
    high: float | None = None
    standard_deviation: float | None = None
    mean_interval: Interval | None = None
    from_nominal: float | None = None
    below: int | None = None
    above: int | None = None
    outside: int | None = None
    outside_interval: Interval | None = None
    readings_outside: int | None = None
    capability: Capability | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """What has changed from one measured station to the next one.

    Parameters
    ----------
    earlier_order, earlier, later_order, later
        The two stations.
    not_measured_between
        Stations between them at which nothing was measured; the change may stem from any of them.
    is_paired
        Whether the same tagged parts were compared; otherwise all parts, as separate samples.
    common_parts
        Tagged parts measured at both. A single one counts in both samples.
    unused_earlier, unused_later
        Parts that a comparison by pairs leaves out.
    shift, spread
        Change of the mean and of the standard deviation, each with its own p.
    shift_interval, spread_interval
        Two-sided intervals of this one comparison; none where nothing can be said.
    shift_interval_joint, spread_interval_joint
        Wider ones (Bonferroni): those of all neighbours hold the true values together with the
        confidence asked for. The confidence written in them is that of each alone.
    shift_p_corrected, spread_p_corrected
        Holm's correction over all neighbours; none where there is no p.
    why
        How the two were compared, in a few words.
    """

    earlier_order: int
    earlier: str
    later_order: int
    later: str
    not_measured_between: tuple[str, ...]
    is_paired: bool
    common_parts: int
    unused_earlier: int
    unused_later: int
    shift: Shift
    spread: SpreadChange
    shift_interval: Interval | None
    spread_interval: Interval | None
    shift_interval_joint: Interval | None = None
    spread_interval_joint: Interval | None = None
    shift_p_corrected: float | None = None
    spread_p_corrected: float | None = None
    why: str = ""

    @property
    def candidates(self) -> tuple[str, ...]:
        """Stations that the change may stem from, in stream order; the later one is the last."""
        return (*self.not_measured_between, self.later)


@dataclass(frozen=True, slots=True, kw_only=True)
class Departure:
    """The first station at which a measured part was out of tolerance.

    Parameters
    ----------
    order, station
        Place in the stream and name.
    outside, count
        Parts outside and parts measured there; at least one is outside.
    parts
        Tags of those outside, as far as they have one.
    inside_before
        Parts measured at the stations before it that have limits, all of them inside; a part that was
        measured at two stations counts twice.
    not_measured_before
        Stations right before it at which nothing was measured: parts may leave tolerance there
        already.
    why
        The same in one line.
    """

    order: int
    station: str
    outside: int
    count: int
    parts: tuple[str, ...]
    inside_before: int
    not_measured_before: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A value at one station on the way of a part.

    Parameters
    ----------
    order, station
        Place in the stream and name.
    value
        The part's value, or the mean of several parts.
    is_outside
        Whether it is outside the limits; none without limits and for a mean.
    """

    order: int
    station: str
    value: float
    is_outside: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PartPath:
    """How one tagged part moved.

    Parameters
    ----------
    part
        Its tag.
    steps
        The stations at which it was measured, in stream order, at least one.
    moved
        Last value less first; none for a single station.
    left_tolerance
        First station at which it was outside; none when it never was, or without limits.
    """

    part: str
    steps: tuple[Step, ...]
    moved: float | None
    left_tolerance: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanPath:
    """How the same parts moved on average.

    Parameters
    ----------
    parts
        Tagged parts that were measured at every one of the stations, at least one; the same parts
        stand behind each mean.
    steps
        At least two stations, in stream order.
    """

    parts: int
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredAnswer:
    """What the measurements of one characteristic say.

    Parameters
    ----------
    stations
        One for each station, in stream order, also those without readings.
    moves
        One for each pair of neighbouring stations with readings, in stream order.
    first_outside
        Where a part was out of tolerance first; none when none was, or without limits.
    first_shift, largest_shift
        First move, and that with the largest change of the mean, among those whose corrected p is
        at most 1 - `confidence`; none when there is no such move.
    first_spread_change, largest_spread_change
        Likewise for the standard deviation; the largest is the one with the greatest factor.
    paths
        One for each tagged part, in the order of first appearance along the stream.
    mean_path
        None when no tagged part was measured at every station where followed parts were.
    confidence
        Of all intervals.
    notes
        What was left out or taken together, one line each.
    """

    stations: tuple[StationValues, ...]
    moves: tuple[Move, ...]
    first_outside: Departure | None
    first_shift: Move | None
    largest_shift: Move | None
    first_spread_change: Move | None
    largest_spread_change: Move | None
    paths: tuple[PartPath, ...]
    mean_path: MeanPath | None
    confidence: float
    notes: tuple[str, ...]
