"""How many audits of the plan were done: by layer, shift, station and week.

The plan is known and every audit of it is looked at, so these are plain counts: nothing is estimated and
there is no interval.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from walkapp.analysis.audits.facts import AuditDone
from walkapp.language import msg

OUTCOMES = ("in_time", "late", "made_up", "missed", "not_finished", "open")
"""How an audit that is due stands; always exactly one of these. Open: it may still be begun or signed."""

CENSUS = msg(
    "Every audit of the plan is counted, so there is no interval; shares are of those whose time is over."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DueAudit:
    """One audit of the plan whose time has begun.

    Parameters
    ----------
    layer, shift
        Whose it is; the shift is empty for a layer that does not audit every shift.
    last_on
        Last working day of its period: it is counted in the week of that day.
    outcome
        One of ``OUTCOMES``.
    is_over
        Whether its time is over; an audit that is done in time may be done before that.
    stations
        Ids of the stations that the plan lets it visit.
    visited
        Ids of the stations at which it has an answer; empty while it is not signed.
    has_reason
        Whether somebody said why it was not done.
    is_paper
        Whether it was done on paper and typed in.
    """

    layer: str
    shift: str
    last_on: date
    outcome: str
    is_over: bool
    stations: tuple[str, ...]
    visited: frozenset[str] = frozenset()
    has_reason: bool = False
    is_paper: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Completion:
    """Audits of the plan, or planned visits of one station, counted.

    Parameters
    ----------
    due
        All whose time has begun: the sum of the six outcomes.
    in_time, late, made_up, missed, not_finished, open
        How they stand.
    missed_with_reason
        Of the missed ones, those with a word on why; they are missed all the same.
    on_paper
        Of the done ones, those done on paper and typed in.
    over
        Those whose time is over; shares are of these alone.
    over_in_time
        Those of them that were done in time.
    """

    due: int
    in_time: int
    late: int
    made_up: int
    missed: int
    not_finished: int
    open: int
    missed_with_reason: int
    on_paper: int
    over: int
    over_in_time: int

    @property
    def done(self) -> int:
        """Those that were done at all: in time, late or made up."""
        return self.in_time + self.late + self.made_up

    @property
    def over_done(self) -> int:
        """Those that were done at all, of those whose time is over."""
        return self.over_in_time + self.late + self.made_up

    @property
    def share_in_time(self) -> float | None:
        """Share done in time, of those whose time is over; none while there is none."""
        return self.over_in_time / self.over if self.over else None


@dataclass(frozen=True, slots=True, kw_only=True)
class StationVisits:
    """How often a station was visited.

    Parameters
    ----------
    station
        Its id.
    planned
        Its visits of the plan. A signed audit without any answer there counts as not finished.
    visits
        Signed audits with an answer there, those that no plan has among them.
    last_on
        Day of the plan of the last of these; none without any.
    """

    station: str
    planned: Completion
    visits: int
    last_on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CompletionResults:
    """Completion of a stream over some days.

    Parameters
    ----------
    all
        Over everything.
    by_layer, by_shift, by_week
        By id of the layer, name of the shift (empty: of layers that do not audit every shift) and
        ISO 8601 week. The parts of each add up to `all`.
    by_station
        By station, in stream order. An audit visits several, so these add up to more.
    """

    all: Completion
    by_layer: Mapping[str, Completion]
    by_shift: Mapping[str, Completion]
    by_week: Mapping[str, Completion]
    by_station: tuple[StationVisits, ...]


def completion_results(
    audits: Iterable[DueAudit], done: Iterable[AuditDone], layers: Sequence[str], stations: Sequence[str]
) -> CompletionResults:
    """Count audits of the plan.

    Parameters
    ----------
    audits
        Any order.
    done
        The audits that were begun, any order; they say how often each station was really visited.
    layers, stations
        Ids in the order in which they are told; what is not among them comes last, by id.
    """
    every = list(audits)
    return CompletionResults(
        all=_counted((one, one.outcome) for one in every),
        by_layer=_by(every, lambda one: one.layer, layers),
        by_shift=_by(every, lambda one: one.shift, ()),
        by_week=_by(every, lambda one: iso_week(one.last_on), ()),
        by_station=_stations(every, done, stations),
    )


def iso_week(day: date) -> str:
    """Name the week of a day.

    References
    ----------
    ISO 8601: week 1 holds the year's first Thursday, weeks begin on Monday.

    Examples
    --------
    >>> iso_week(date(2026, 3, 9)), iso_week(date(2027, 1, 3))
    ('2026-W11', '2026-W53')
    """
    year, week, _ = day.isocalendar()
    return f"{year:04d}-W{week:02d}"


def _by(
    audits: Sequence[DueAudit], key: Callable[[DueAudit], str], order: Sequence[str]
) -> dict[str, Completion]:
    parts: dict[str, list[DueAudit]] = {}
    for one in audits:
        parts.setdefault(key(one), []).append(one)
    return {name: _counted((one, one.outcome) for one in parts[name]) for name in _in_order(parts, order)}


def _in_order(found: Iterable[str], order: Sequence[str]) -> list[str]:
    place = {name: number for number, name in enumerate(order)}
    return sorted(found, key=lambda name: (place.get(name, len(place)), name))


@dataclass(slots=True)
class _Visits:
    """What is found about one station, one audit after the other."""

    planned: list[tuple[DueAudit, str]] = field(default_factory=list)
    days: list[date] = field(default_factory=list)


def _stations(
    audits: Iterable[DueAudit], done: Iterable[AuditDone], order: Sequence[str]
) -> tuple[StationVisits, ...]:
    found: dict[str, _Visits] = {}
    for one in audits:
        for station in one.stations:
            is_done = one.outcome in ("in_time", "late", "made_up")
            outcome = "not_finished" if is_done and station not in one.visited else one.outcome
            found.setdefault(station, _Visits()).planned.append((one, outcome))
    for audit in done:
        if audit.signed is not None:
            for station in {given.station for given in audit.given}:
                found.setdefault(station, _Visits()).days.append(audit.day)
    return tuple(
        StationVisits(
            station=station,
            planned=_counted(found[station].planned),
            visits=len(found[station].days),
            last_on=max(found[station].days, default=None),
        )
        for station in _in_order(found, order)
    )


def _counted(audits: Iterable[tuple[DueAudit, str]]) -> Completion:
    """Count audits, each with its outcome."""
    counts = dict.fromkeys(OUTCOMES, 0)
    missed_with_reason = on_paper = over = over_in_time = 0
    for one, outcome in audits:
        counts[outcome] += 1
        missed_with_reason += outcome == "missed" and one.has_reason
        on_paper += outcome in ("in_time", "late", "made_up") and one.is_paper
        over += one.is_over
        over_in_time += one.is_over and outcome == "in_time"
    return Completion(
        due=sum(counts.values()),
        **counts,
        missed_with_reason=missed_with_reason,
        on_paper=on_paper,
        over=over,
        over_in_time=over_in_time,
    )
