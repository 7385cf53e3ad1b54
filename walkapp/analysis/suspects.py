"""Which of the recorded changes may have caused the defect.

Two things speak for a change: that the defect starts at its station (from
:mod:`walkapp.analysis.origin`) and that it started soon after the change (from
:mod:`walkapp.analysis.onset`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from walkapp.analysis.onset import OnsetAnswer, OnsetInterval, OnsetRow, called, parse_day
from walkapp.analysis.results import SURE
from walkapp.analysis.wording import percent
from walkapp.language import decimal_text, msg, tr, trn
from walkapp.model.records import CHANGE_KINDS

_TIE = 1e-9
"""Weights that differ by less than this, relatively, are equal."""

BEFORE_ONSET = msg("may have been before the onset")
AFTER_ONSET = msg("after the onset")
TIME_UNKNOWN = msg("time unknown")


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """Something that changed at a station.

    Parameters
    ----------
    id
        Whatever tells it from the others.
    order
        Place of its station in the stream; 0 for incoming material.
    kind
        One of the six of :data:`walkapp.model.records.CHANGE_KINDS`.
    when
        ISO 8601 day or date-time, of which the day as written counts (the rows are dated by the day);
        empty when it is not known.
    transit_days
        Days from the date of a row until its parts pass this station, 0 or more: where rows are
        dated by moulding and the change was made at the last station, this is the time between.
    """

    id: str
    order: int
    kind: str
    when: str = ""
    transit_days: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """How far one change is to be suspected.

    Parameters
    ----------
    change
        The change.
    rank
        1 for the most probable; equally probable ones share a rank, and the next is counted on.
    probability
        Probability that this change is the cause, 0 to 1.
    station_probability
        Probability that the defect starts at its station, if it is present in the stream.
    station_factor, time_factor
        How many times better the station, and the time, fit this change than a cause of which
        nothing is known; `probability` goes with the product of both. `time_factor` is none when the
        time does not count.
    timing
        ``BEFORE_ONSET``, ``AFTER_ONSET`` or ``TIME_UNKNOWN``.
    days_before
        Fewest and most days from the change to the onset, from the 95 % interval; none when the time
        does not count or the change was after the onset. The most is known even when the onset may
        lie before the first row, since it cannot lie before the change.
    why
        One sentence.
    """

    change: Change
    rank: int
    probability: float
    station_probability: float
    station_factor: float
    time_factor: float | None
    timing: str
    days_before: tuple[int, int] | None
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranking:
    """The recorded changes, the most suspect first.

    Parameters
    ----------
    suspects
        One for each change.
    none_probability
        Probability that none of them is the cause. Together with the suspects' the sum is 1.
    assumptions
        What was taken for granted, as sentences for people.
    warnings
        Sentences for people, the most important first.
    """

    suspects: tuple[Suspect, ...]
    none_probability: float
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]


def rank_changes(
    changes: Sequence[Change],
    *,
    origin: Mapping[int, float],
    onset: OnsetAnswer | None,
    half_life_days: float = 7.0,
    none_weight: float = 1.0,
) -> Ranking:
    """Rank the recorded changes by how well their station and their time fit the defect.

    Each change has a station factor, which is the probability that the defect starts at its station
    times the number of stations, and a time factor, which is the mean over the days on which the onset
    may lie of twice ``0.5 ** (days since the change / half_life_days)``, 0 for days before the change.
    A factor of 1 neither speaks for a change nor against it. The product is its weight against that of
    "none of the recorded changes".

    Parameters
    ----------
    changes
        In any order; may be empty.
    origin
        Probability that the defect starts at each station, by its order, under a flat prior; every
        station of the stream. What is missing to 1 is "not present in this stream".
    onset
        From :func:`find_onset`; none when there are no dated counts. Without a named row, or with
        dates out of order, only the stations count.
    half_life_days
        Half-life of the delay from a change to the onset, in days, above 0. The 7 days are our own
        assumption, no source.
    none_weight
        How probable a cause that nobody recorded is beforehand, at any station and any time, in units of
        one recorded change; above 0. The 1 is our own assumption, no source.

    Returns
    -------
    Ranking
        Probabilities hold if the defect is present in the stream and started in the rows. A change of
        unknown time is ranked by its station only; one after the whole 95 % interval of the onset gets
        0, also where the posterior would leave it a trace.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    The delay model: from a change to the onset it takes an exponential time, never less than 0. Bayes'
    rule then weighs each change by the density of the delay, over that of a cause of which no time is
    known; such a cause is taken to fit as well as a change one half-life before the onset, hence the
    "twice" (its onset is then spread evenly over 2 / ln 2, about 3, half-lives). Given the first bad
    row, the onset lies with equal probability on each day from that of the row before it to its own.
    Before the first row it may lie on any day, so that there the factor is 1 for every change that was
    not later. Own derivation and own assumptions, no source.

    A change acts at its own station only; what a material or a transport does further down the stream
    is not modelled.

    Examples
    --------
    >>> pads = Change(id="pads", order=2, kind="machine")
    >>> resin = Change(id="resin", order=1, kind="material")
    >>> found = rank_changes([resin, pads], origin={1: 0.1, 2: 0.9}, onset=None)
    >>> [(suspect.change.id, suspect.rank, round(suspect.probability, 3)) for suspect in found.suspects]
    [('pads', 1, 0.6), ('resin', 2, 0.067)]
    >>> round(found.none_probability, 3)
    0.333
    """
    _check_ranking(changes, origin, half_life_days, none_weight)
    present = min(1.0, math.fsum(origin.values()))
    at_station = {
        order: chance / present if present else 1.0 / len(origin) for order, chance in origin.items()
    }
    interval = onset.interval if onset is not None else None
    latest = _ordinal(interval.bad_from_day) if interval and interval.bad_from_day else None
    weighed = []
    for change in changes:
        timing, time_factor = TIME_UNKNOWN, None
        changed = _changed(change)
        if onset is not None and latest is not None and changed is not None:
            timing = BEFORE_ONSET if changed <= latest else AFTER_ONSET
            time_factor = _time_factor(onset.rows, changed, half_life_days) if changed <= latest else 0.0
        station_factor = at_station[change.order] * len(origin)
        score = station_factor * (1.0 if time_factor is None else time_factor)
        weighed.append((score, change, timing, station_factor, time_factor))
    # Equal scores stand in the order of the stream, so that the order of the records does not matter.
    weighed.sort(key=lambda w: (-w[0], w[1].order, w[1].id))
    total = math.fsum([none_weight, *(w[0] for w in weighed)])
    suspects: list[Suspect] = []
    leader = math.inf
    for place, (score, change, timing, station_factor, time_factor) in enumerate(weighed, start=1):
        is_tie = bool(suspects) and score >= leader * (1.0 - _TIE)
        leader = leader if is_tie else score
        suspects.append(
            Suspect(
                change=change,
                rank=suspects[-1].rank if is_tie else place,
                probability=score / total,
                station_probability=at_station[change.order],
                station_factor=station_factor,
                time_factor=time_factor,
                timing=timing,
                days_before=_days_before(change, interval) if timing == BEFORE_ONSET else None,
                why=_why(change, timing, at_station, interval),
            )
        )
    none = none_weight / total
    return Ranking(
        suspects=tuple(suspects),
        none_probability=none,
        assumptions=_ranking_assumptions(
            half_life_days, none_weight, with_transit=any(change.transit_days for change in changes)
        ),
        warnings=_ranking_warnings(suspects, none, present, onset),
    )


def _check_ranking(
    changes: Sequence[Change], origin: Mapping[int, float], half_life_days: float, none_weight: float
) -> None:
    for name, value in (("half_life_days", half_life_days), ("none_weight", none_weight)):
        if not 0.0 < value < math.inf:
            raise ValueError(f"{name} must be a finite number above 0, not {value!r}")
    if not origin or not all(0.0 <= p <= 1.0 for p in origin.values()) or sum(origin.values()) > 1 + _TIE:
        raise ValueError("origin must hold the probability of each station, together at most 1")
    for change in changes:
        if change.order not in origin:
            raise ValueError(
                f"change {change.id!r} is at station {change.order}, which origin does not hold"
            )
        if change.kind not in CHANGE_KINDS:
            raise ValueError(f"the kind of a change must be one of {CHANGE_KINDS}, not {change.kind!r}")
        if change.transit_days < 0:
            raise ValueError(f"transit_days must be 0 or more, not {change.transit_days!r}")


def _ordinal(day: str) -> int:
    return parse_day(day).toordinal()


def _changed(change: Change) -> int | None:
    """Date of the first row whose parts can have met the change, as a day number; none when unknown."""
    # Of a time the day as written is enough, so that a leap second (23:59:60) does no harm.
    return _ordinal(change.when.partition("T")[0]) - change.transit_days if change.when else None


def _time_factor(rows: Sequence[OnsetRow], changed: int, half_life_days: float) -> float:
    """Mean of the delay's factor over the days on which the onset may lie; their order is right."""
    days = [_ordinal(row.day) for row in rows]
    factors = [1.0 if changed <= days[0] else 0.0]
    factors += [_mean_factor(a, b, changed, half_life_days) for a, b in pairwise(days)]
    fit = math.fsum(row.probability * factor for row, factor in zip(rows, factors, strict=True))
    return fit / math.fsum(row.probability for row in rows)


def _mean_factor(first: int, last: int, changed: int, half_life_days: float) -> float:
    """Mean over the days from `first` to `last` of the delay's factor."""
    start = max(first, changed)
    if start > last:
        return 0.0
    rate = math.log(2.0) / half_life_days
    # A geometric series in closed form: gaps may be long.
    series = math.expm1(-rate * (last - start + 1)) / math.expm1(-rate)
    return 2.0 * math.exp(-rate * (start - changed)) * series / (last - first + 1)


def _days_before(change: Change, interval: OnsetInterval | None) -> tuple[int, int] | None:
    """Fewest and most days from the change to the onset; the most is negative when it was after it."""
    changed = _changed(change)
    if changed is None or interval is None or interval.bad_from_day is None:
        return None
    most = _ordinal(interval.bad_from_day) - changed
    return max(0, _ordinal(interval.last_good_day) - changed) if interval.last_good_day else 0, most


def _why(
    change: Change, timing: str, at_station: Mapping[int, float], interval: OnsetInterval | None
) -> str:
    upstream = min(1.0, math.fsum(p for order, p in at_station.items() if order < change.order))
    said = tr(
        "{at_station} that the defect starts at its station", at_station=percent(at_station[change.order])
    )
    if upstream >= SURE:
        said += tr(", and {upstream} that it is there upstream of it", upstream=percent(upstream))
    span = _days_before(change, interval)
    if span is None:
        said += tr("; when it was made ") + (
            tr("does not count here") if change.when else tr("is not known")
        )
        said += tr(", so that only its station counts")
    elif timing == AFTER_ONSET:
        said += tr(
            "; made {in_days} after the latest day of the onset (95 % interval)", in_days=_in_days(-span[1])
        )
        said += tr(", so that it is no suspect while that day holds")
    elif span[1] == 0:
        said += tr("; made on the latest day of the onset")
    else:
        least = "" if span[0] == span[1] else tr("{span} to ", span=span[0])
        said += tr("; made {least}{in_days} before the onset", least=least, in_days=_in_days(span[1]))
    if change.kind == "measurement":
        said += tr("; a change of measurement can change what is called NOK, and not the parts")
    return f"{said}."


def _in_days(many: int) -> str:
    return trn("{count} day", "{count} days", many)


def _ranking_assumptions(
    half_life_days: float, none_weight: float, *, with_transit: bool
) -> tuple[str, ...]:
    later = tr(", later by the days of transit that are given") if with_transit else ""
    return (
        tr("Each change is taken to act at its own station only, also one of material or transport."),
        tr(
            "In half of the cases the defect is taken to start within {half_life_days} days "
            "of its cause, and never before it; a change of unknown time counts like one "
            "{half_life_days} days before the onset (our own assumption).",
            half_life_days=decimal_text(f"{half_life_days:g}"),
        ),
        tr(
            "A cause that nobody recorded counts beforehand as much as {none_weight} "
            "recorded (our own assumption).",
            none_weight=decimal_text(f"{none_weight:g}"),
        ),
        tr("Parts are taken to pass the station of a change on the date of their row{later}.", later=later),
    )


def _ranking_warnings(
    suspects: Sequence[Suspect], none: float, present: float, onset: OnsetAnswer | None
) -> tuple[str, ...]:
    found = []
    if present < 0.5:
        found.append(
            tr(
                "The counts along the stream speak against the defect being in it ({what} that "
                "it is not): the ranking holds only if it is.",
                what=percent(1.0 - present),
            )
        )
    if onset is None or onset.interval is None:
        found.append(tr("No onset is known, so the changes are ranked by their stations only."))
    elif onset.interval.bad_from_day is None:
        found.append(tr("The dates are out of order, so the changes are ranked by their stations only."))
    elif onset.none_probability > 1.0 - SURE:
        found.append(
            tr(
                "{none_probability} that the defect did not start in the dated rows: the ranking "
                "holds only if it did.",
                none_probability=percent(onset.none_probability),
            )
        )
    if onset is not None and onset.doubted_from is not None:
        found.append(
            tr(
                "The defect may have started with {called} already, with a smaller share: "
                "changes before it may be more suspect, and those after it less, than said here.",
                called=called(onset.rows[onset.doubted_from]),
            )
        )
    if suspects and none > suspects[0].probability * (1.0 + _TIE):
        found.append(
            tr(
                "That none of the recorded changes is the cause ({none}) is more probable than "
                "each of them: ask what else changed.",
                none=percent(none),
            )
        )
    return tuple(found)
