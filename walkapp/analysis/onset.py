"""When the defect started, from dated counts, and which recorded change may have caused it.

The onset is an origin in time: rows (lots or production days) in the order of production take the
place of the stations in the order of the stream, so the model, the prior of the affected share and
the quadrature with its errors are those of :mod:`walkapp.analysis.origin` and
:mod:`walkapp.analysis.shares`. New here are a share of bad parts that may have been there before the
onset, the interval of rows and of days, and the suspects.
"""

from __future__ import annotations

import math
import re
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import accumulate, pairwise

from walkapp.analysis.cautions import DROP_LEVEL
from walkapp.analysis.origin import check_stations, normalised, running_counts
from walkapp.analysis.proportions import fisher_exact
from walkapp.analysis.results import SURE, StationTally, Tally
from walkapp.analysis.shares import SharePrior, integrate
from walkapp.analysis.special import binomial_tail
from walkapp.analysis.wording import expected_parts, named, parts_in_words, percent
from walkapp.model.records import CHANGE_KINDS

_TIE = 1e-9
"""Probabilities that differ by less than this, relatively, are equal."""

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
_ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class DatedTally:
    """What was counted of one lot or one production day.

    Parameters
    ----------
    label
        The lot, or the day once more.
    day
        Production date, ISO 8601 (``2026-02-24``); several rows may share it.
    tallies
        One for each kind of check that was used; empty when nothing was checked.
    """

    label: str
    day: str
    tallies: tuple[Tally, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OnsetRow:
    """What is said of one lot or production day.

    Parameters
    ----------
    label, day
        As given.
    checked, nok
        The counts that the rest stands on.
    probability
        Probability that this row is the first bad one, 0 to 1. The first row stands for "at or
        before the first row" as well: the counts cannot tell these apart.
    """

    label: str
    day: str
    checked: int
    nok: int
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OnsetInterval:
    """Where the onset lies with at least 95 %, if it lies in these rows at all.

    Parameters
    ----------
    first, last
        Index (from 0) of the first and of the last row that may be the first bad one.
    probability
        Probability of the interval if the onset lies in these rows; at least 0.95.
    last_good_day
        Day of the last row that is good in every case; the onset may still lie on that day, after
        these parts were made. None when the interval begins with the first row, and the onset may
        then lie at any time before; none, too, when the dates are out of order.
    bad_from_day
        Day of the row from which on all are bad in every case; none when the dates are out of order.
    unchecked
        First and last day of each stretch of calendar days between these two of which nothing was
        checked: the onset may lie there.
    """

    first: int
    last: int
    probability: float
    last_good_day: str | None
    bad_from_day: str | None
    unchecked: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OnsetAnswer:
    """When the defect started, and how sure that is.

    Parameters
    ----------
    rows
        In the order given.
    first_bad
        Index (from 0) of the most probable first bad row; none when "not seen in these rows" is at
        least as probable as each row, or when no part was NOK.
    none_probability
        Probability that the defect did not start in these rows.
    first_bad_day, day_probability
        Most probable first bad day, all its rows taken together, and its probability; none when no
        row is named.
    interval
        None when no row is named.
    doubted_from
        Index of the row from which on the NOK before the named one are too many to be there without the
        defect; none when they are not. See :func:`find_onset`.
    warnings
        Sentences for people, the most important first.
    sentence
        The answer in words.
    """

    rows: tuple[OnsetRow, ...]
    first_bad: int | None
    none_probability: float
    first_bad_day: str | None
    day_probability: float | None
    interval: OnsetInterval | None
    doubted_from: int | None
    warnings: tuple[str, ...]
    sentence: str

    @property
    def probability(self) -> float | None:
        """Probability of the row that is named; none when no row is."""
        return None if self.first_bad is None else self.rows[self.first_bad].probability

    @property
    def is_sure(self) -> bool:
        """Whether a row is named with at least 95 % and nothing before it speaks against that."""
        return self.doubted_from is None and self.probability is not None and self.probability >= SURE


@dataclass(frozen=True, slots=True, kw_only=True)
class OnsetPosterior:
    """How probable each row is as the first bad one.

    Parameters
    ----------
    first_bad
        Probability of each row, in the order given; the first stands for "at or before the first row"
        as well.
    none
        Probability that the defect did not start in these rows. Together with `first_bad` the sum is 1.
    """

    first_bad: tuple[float, ...]
    none: float


def onset_posterior(
    rows: Sequence[DatedTally],
    *,
    share: SharePrior | None = None,
    background_high: float = 0.0,
) -> OnsetPosterior:
    """Work out how probable each row is as the first bad one.

    From the onset on a part is called NOK with probability ``p d + (1 - p) f``, before it with
    ``b d + (1 - b) f``: `d` and `f` are the detection and the false alarm of the check, `p` the share
    of bad parts from the onset on and `b` the one before. Both are integrated out. Beforehand every
    row is equally probable, and "not seen in these rows" as much as one row.

    Parameters
    ----------
    rows
        In the order of production, at least one; rows without parts belong into it as well.
    share
        What is believed of `p` beforehand, with ``share.low`` not below `background_high`; when none,
        the usual belief from `background_high` up.
    background_high
        `b` is flat from 0 to this; 0 when no part was bad before the onset.

    Returns
    -------
    OnsetPosterior
        A row without parts has exactly the probability of the row after it.

    Raises
    ------
    ValueError
        If an argument is out of range.
    CountsError
        If the counts cannot happen under absolute assumptions.

    Notes
    -----
    That the ranges of `b` and `p` do not overlap keeps a fall of the share from being taken for an
    onset, and each hypothesis a product of two integrals. A change point of binomial counts with the
    shares integrated out: common practice, no source.

    With a flat prior of `p` the 95 % interval of :func:`find_onset` held the onset in only 87 to 91 of
    100 simulated cases at a share of 0.02 (12 rows of 5 or 20 parts), with the prior used here in 97.

    Splitting a row into two leaves the odds between all other rows, "not seen" and the first half (which
    stands for what the row stood for) as they were: each probability is multiplied by 1 less that of
    the second half. A further row without parts does the same.

    Examples
    --------
    >>> def lot(day, nok):
    ...     tally = Tally(checked=20, nok=nok, detection=0.9, false_alarm=0.005)
    ...     return DatedTally(label=day, day=day, tallies=(tally,))
    >>> found = onset_posterior([lot("2026-02-23", 0), lot("2026-02-24", 8), lot("2026-02-25", 9)])
    >>> [round(p, 3) for p in found.first_bad]
    [0.0, 1.0, 0.0]
    """
    return _posterior(_as_stations(rows), share, background_high)


def find_onset(
    rows: Sequence[DatedTally],
    *,
    share: SharePrior | None = None,
    background_high: float = 0.0,
) -> OnsetAnswer:
    """Find the first bad lot or day, and say how sure that is.

    Parameters
    ----------
    rows, share, background_high
        As in :func:`onset_posterior`. The order of the rows counts, not their dates; dates out of
        order are warned of, and no interval of days is then given.

    Returns
    -------
    OnsetAnswer
        Of rows that are equally probable one with NOK is named, and the sentence names all of them.
        The interval is the shortest run of rows that holds the named one and at least 95 % of the
        probability of all rows: shortest because the probability often piles up at one end (the
        first row), where a central interval would leave it out. It is widened by the rows without
        parts that belong to its ends. "Not seen" is no part of it and is said beside it.

        The model knows one share from the onset on. Where it grows, the row named may be a later one, and
        the NOK before it too many for false alarms (exact binomial test, one-sided, 5 %, Bonferroni; our
        own choice). The interval is then widened down to the row from which on they are, and the answer
        is not sure, whatever its probability.

    Raises
    ------
    ValueError
        If an argument is out of range.
    CountsError
        If the counts cannot happen under absolute assumptions.

    Examples
    --------
    >>> def lot(label, day, nok):
    ...     tally = Tally(checked=20, nok=nok, detection=0.9, false_alarm=0.005)
    ...     return DatedTally(label=label, day=day, tallies=(tally,))
    >>> answer = find_onset([lot("L1", "2026-02-20", 0), lot("L2", "2026-02-24", 8)])
    >>> print(answer.sentence)
    L2 of 2026-02-24 is the first bad one (99.8 %). The defect started after the parts of 2026-02-20 \
were made and at the latest with those of 2026-02-24 (95 % interval).
    """
    stations = _as_stations(rows)
    posterior = _posterior(stations, share, background_high)
    said = tuple(
        OnsetRow(label=row.label, day=row.day, checked=s.checked, nok=s.nok, probability=chance)
        for row, s, chance in zip(rows, stations, posterior.first_bad, strict=True)
    )
    likeliest = _likeliest(said, posterior.none)
    first = likeliest[0] if likeliest else None
    by_day = _chance_by_day(said)
    if first is None:
        day = interval = doubted = None
        sentence = _nothing_named(said, posterior.none)
    else:
        day = max(by_day, key=lambda d: (by_day[d], d == said[first].day))
        doubted = _doubted_from(said, stations, first, background_high)
        interval = _interval(said, first, first if doubted is None else doubted)
        sentence = " ".join(
            (
                _named_in_words(said, likeliest, posterior.none, doubted),
                *_day_in_words(said[first], day, by_day[day]),
                _interval_in_words(said, posterior.none, interval),
            )
        )
    return OnsetAnswer(
        rows=said,
        first_bad=first,
        none_probability=posterior.none,
        first_bad_day=day,
        day_probability=None if day is None else min(1.0, by_day[day]),
        interval=interval,
        doubted_from=doubted,
        warnings=_onset_warnings(said, stations, first, interval, background_high),
        sentence=sentence,
    )


# The posterior over rows.


def _as_stations(rows: Sequence[DatedTally]) -> tuple[StationTally, ...]:
    if not rows:
        raise ValueError("there must be at least one row")
    for row in rows:
        _parse_day(row.day)
    return tuple(
        StationTally(order=i, name=row.label, tallies=row.tallies, made_on=(row.day,))
        for i, row in enumerate(rows, start=1)
    )


def _parse_day(text: str) -> date:
    if not _DAY.fullmatch(text):
        raise ValueError(f"a day must be written as 2026-02-24, not {text!r}")
    return date.fromisoformat(text)


def _posterior(
    stations: Sequence[StationTally], share: SharePrior | None, background_high: float
) -> OnsetPosterior:
    check_stations(stations)
    share = share or SharePrior(low=background_high)
    background = SharePrior(high=background_high, knee=math.inf)
    if share.low < background_high:
        raise ValueError(f"background_high must be at most share.low, not {background_high!r}")
    running = running_counts(stations)
    logs = []
    for before in running[:-1]:
        after = tuple(late.minus(early) for late, early in zip(running[-1], before, strict=True))
        logs.append(integrate(before, background)[0] + integrate(after, share)[0])
    logs.append(integrate(running[-1], background)[0])
    chances = normalised(logs)
    return OnsetPosterior(first_bad=chances[:-1], none=chances[-1])


def _likeliest(rows: Sequence[OnsetRow], none: float) -> tuple[int, ...]:
    """Indices of the most probable rows, the one to be named first; empty when none is named."""
    best = max(row.probability for row in rows)
    # Rows without parts at the end are as probable as "not seen": nothing speaks for them.
    if not any(row.nok for row in rows) or none >= best * (1.0 - _TIE):
        return ()
    equal = [i for i, row in enumerate(rows) if row.probability >= best * (1.0 - _TIE)]
    return tuple(sorted(equal, key=lambda i: (not rows[i].nok, not rows[i].checked)))


def _chance_by_day(rows: Sequence[OnsetRow]) -> dict[str, float]:
    by_day: dict[str, list[float]] = {}
    for row in rows:
        by_day.setdefault(row.day, []).append(row.probability)
    return {day: math.fsum(chances) for day, chances in by_day.items()}


# The interval.


def _interval(rows: Sequence[OnsetRow], named_row: int, from_row: int) -> OnsetInterval:
    """Shortest interval that holds the named row, widened to begin with `from_row` at the latest."""
    chances = [row.probability for row in rows]
    first, last = _shortest(chances, named_row)
    first = min(first, from_row)
    # A row without parts has the probability of the row after it: none of the two may stand alone.
    while first > 0 and not rows[first - 1].checked:
        first -= 1
    while last < len(rows) - 1 and not rows[last].checked:
        last += 1
    good_day = bad_day = None
    if not _out_of_order(rows):
        good_day = rows[first - 1].day if first > 0 else None
        bad_day = rows[last].day
    return OnsetInterval(
        first=first,
        last=last,
        probability=min(1.0, math.fsum(chances[first : last + 1]) / math.fsum(chances)),
        last_good_day=good_day,
        bad_from_day=bad_day,
        unchecked=() if bad_day is None else _unchecked_days(rows[max(0, first - 1) : last + 1]),
    )


def _shortest(chances: Sequence[float], inside: int) -> tuple[int, int]:
    """Shortest run that holds `inside` and enough of the probability; of equally short ones the best."""
    sums = [0.0, *accumulate(chances)]
    runs = []
    for first in range(inside + 1):
        end = bisect_left(sums, sums[first] + SURE * sums[-1], lo=inside + 1)
        if end < len(sums):
            runs.append((end - first, sums[first] - sums[end], first, end - 1))
    _, _, first, last = min(runs)
    return first, last


def _out_of_order(rows: Sequence[OnsetRow]) -> tuple[OnsetRow, OnsetRow] | None:
    """Find the first row whose date is before that of the row above it; ISO days sort as texts."""
    return next(((above, row) for above, row in pairwise(rows) if row.day < above.day), None)


def _unchecked_days(rows: Sequence[OnsetRow]) -> tuple[tuple[str, str], ...]:
    # The ends count as checked: the stretches lie between them.
    days = sorted({row.day for row in (rows[0], *(r for r in rows if r.checked), rows[-1])})
    return tuple(
        ((a + _ONE_DAY).isoformat(), (b - _ONE_DAY).isoformat())
        for a, b in pairwise(map(date.fromisoformat, days))
        if b - a > _ONE_DAY
    )


# The onset in words.


def _called(row: OnsetRow) -> str:
    return row.day if row.label == row.day else f"{row.label} of {row.day}"


def _named_in_words(
    rows: Sequence[OnsetRow], likeliest: Sequence[int], none: float, doubted: int | None
) -> str:
    first = rows[likeliest[0]]
    chance = percent(first.probability)
    if doubted is not None:
        return (
            f"Most likely {_called(first)} is the first bad one ({chance}), but the NOK from "
            f"{_called(rows[doubted])} up to it are too many for that: the defect may have started there "
            "with a smaller share."
        )
    if len(likeliest) > 1:
        equal = [_called(rows[i]) for i in sorted(likeliest)]
        listed = named(equal, "or")
        if len(equal) > 4:
            listed = f"one of the {len(equal)} rows from {equal[0]} to {equal[-1]}"
        return (
            f"Most likely {listed} is the first bad one ({chance} each); the parts checked so far cannot "
            "tell them apart."
        )
    if first.probability >= SURE:
        return f"{_called(first)} is the first bad one ({chance})."
    others = [(r.probability, f"{_called(r)} is") for i, r in enumerate(rows) if i not in likeliest]
    second, what = max([*others, (none, "there is none in these rows")])
    return (
        f"Most likely {_called(first)} is the first bad one ({chance}); next most likely {what} "
        f"({percent(second)})."
    )


def _day_in_words(first: OnsetRow, day: str, of_day: float) -> list[str]:
    """The most probable day, where the row named does not say it all."""
    chance = percent(min(1.0, of_day))
    if first.probability >= SURE or (day, chance) == (first.day, percent(first.probability)):
        return []
    return [f"The most probable day is {day} ({chance})."]


def _interval_in_words(rows: Sequence[OnsetRow], none: float, interval: OnsetInterval) -> str:
    begin = "If it started in these rows, the defect" if none > 1.0 - SURE else "The defect"
    if interval.bad_from_day is None:
        first, last = _called(rows[interval.first]), _called(rows[interval.last])
        between = f"is {first}" if first == last else f"lies between {first} and {last}"
        return (
            f"The first bad row {between} (95 % interval); no dates are given, since they are out of order."
        )
    if interval.last_good_day is None:
        return (
            f"{begin} started at the latest with the parts of {interval.bad_from_day} (95 % interval); "
            "it may have started before the first row, at any time."
        )
    if interval.last_good_day == interval.bad_from_day:
        return f"{begin} started on {interval.bad_from_day} (95 % interval)."
    return (
        f"{begin} started after the parts of {interval.last_good_day} were made and at the latest with "
        f"those of {interval.bad_from_day} (95 % interval)."
    )


def _nothing_named(rows: Sequence[OnsetRow], none: float) -> str:
    nok, checked = _counted(rows)
    if not checked:
        return "Nothing was checked yet, so nothing is known about when the defect started."
    seen = f"{parts_in_words(checked)} in {len(rows)} row{'' if len(rows) == 1 else 's'}"
    if not nok:
        return (
            f"No NOK in {seen}: {percent(none)} that the defect did not start in them; no first bad day "
            "is named."
        )
    best = max(rows, key=lambda row: row.probability)
    return (
        f"No first bad row is named: {nok} NOK in {seen} may be there without the defect; {percent(none)} "
        f"that it did not start in them, {percent(best.probability)} that {_called(best)} is the first bad "
        "one."
    )


def _onset_warnings(
    rows: Sequence[OnsetRow],
    stations: Sequence[StationTally],
    first: int | None,
    interval: OnsetInterval | None,
    background_high: float,
) -> tuple[str, ...]:
    found = []
    disorder = _out_of_order(rows)
    if disorder:
        above, row = disorder
        found.append(
            f"{row.label} is dated {row.day}, before {above.label} ({above.day}) in the row above it: the "
            "order of the rows was taken as the order of production; mend the date or the order."
        )
    if first is None or interval is None:
        if not any(row.nok for row in rows):
            found.append("No part was NOK, so these rows cannot show when the defect started.")
        return tuple(found)
    if not any(row.checked for row in rows[:first]):
        found.append(
            f"Nothing made before {_called(rows[first])} was checked: the defect started then or at any "
            "time before."
        )
    if interval.unchecked:
        stretches = [a if a == b else f"{a} to {b}" for a, b in interval.unchecked]
        listed = named(stretches)
        if len(stretches) > 3:
            first_day, last_day = interval.unchecked[0][0], interval.unchecked[-1][1]
            listed = f"{len(stretches)} stretches of days from {first_day} to {last_day}"
        found.append(f"Nothing made on {listed} was checked: the defect may have started there.")
    found += _share_changes(rows, stations, first)
    nok, checked = _counted(rows[:first])
    if nok and not background_high:
        alarms = math.fsum(t.checked * t.false_alarm for s in stations[:first] for t in s.tallies)
        found.append(
            f"{nok} of {parts_in_words(checked)} NOK before {_called(rows[first])}: if it is the first bad "
            f"one, these are false alarms ({expected_parts(alarms)} expected)."
        )
    return tuple(found)


def _doubted_from(
    rows: Sequence[OnsetRow], stations: Sequence[StationTally], first: int, background_high: float
) -> int | None:
    """Row from which on the NOK before the named one are too many to be there without the defect.

    Exact binomial test, one-sided, with the largest chance of a NOK that the checks used allow; the
    level is divided by the number of rows (Bonferroni).
    """
    tested = []
    for start in range(first):
        if rows[start].nok:
            rates = _rates(stations[start:first])
            allowed = max(f + background_high * (d - f) for d, f in rates)
            tested.append((binomial_tail(*_counted(rows[start:first]), allowed), start))
    return min(tested)[1] if tested and min(tested)[0] * first < DROP_LEVEL else None


def _share_changes(rows: Sequence[OnsetRow], stations: Sequence[StationTally], first: int) -> list[str]:
    """Where the share from the onset on, which the model holds constant, falls or rises most clearly.

    Fisher's exact test, two-sided, of the rows up to each place against those from it on; the level is
    divided by the number of places (Bonferroni).
    """
    tested = []
    for cut in range(first + 1, len(rows)):
        nok, checked = _counted(rows[first:cut])
        later_nok, later = _counted(rows[cut:])
        if rows[cut].checked and checked:
            p = fisher_exact(nok, checked - nok, later_nok, later - later_nok)
            tested.append((p, cut, nok, checked, later_nok, later))
    if not tested or min(tested)[0] * len(tested) >= DROP_LEVEL:
        return []
    _, cut, nok, checked, later_nok, later = min(tested)
    if later_nok * checked < nok * later:
        does = "drops"
        why = (
            "the defect may have stopped, or parts were sorted, reworked or mixed; leave out the rows from "
            "there on and compare"
        )
    else:
        does, why = "rises", "the defect may grow slowly, and may then have started before"
    if _rates(stations[first:cut]) != _rates(stations[cut:]):
        why += "; the checks differ, too"
    return [
        (
            f"The share of NOK {does} from {_called(rows[cut])} on ({later_nok} of {parts_in_words(later)} "
            f"after {nok} of {parts_in_words(checked)}): {why}."
        )
    ]


def _counted(rows: Sequence[OnsetRow]) -> tuple[int, int]:
    """Parts NOK and parts checked."""
    return sum(row.nok for row in rows), sum(row.checked for row in rows)


def _rates(stations: Sequence[StationTally]) -> set[tuple[float, float]]:
    return {(t.detection, t.false_alarm) for s in stations for t in s.tallies if t.checked}


# The suspects: which recorded change may be the cause.

BEFORE_ONSET = "may have been before the onset"
AFTER_ONSET = "after the onset"
TIME_UNKNOWN = "time unknown"


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
        assumptions=_ranking_assumptions(half_life_days, none_weight),
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
    return _parse_day(day).toordinal()


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
    said = f"{percent(at_station[change.order])} that the defect starts at its station"
    if upstream >= SURE:
        said += f", and {percent(upstream)} that it is there upstream of it"
    span = _days_before(change, interval)
    if span is None:
        said += "; when it was made " + ("does not count here" if change.when else "is not known")
        said += ", so that only its station counts"
    elif timing == AFTER_ONSET:
        said += f"; made {_in_days(-span[1])} after the latest day of the onset (95 % interval)"
    elif span[1] == 0:
        said += "; made on the latest day of the onset"
    else:
        least = "" if span[0] == span[1] else f"{span[0]} to "
        said += f"; made {least}{_in_days(span[1])} before the onset"
    if change.kind == "measurement":
        said += "; a change of measurement can change what is called NOK, and not the parts"
    return f"{said}."


def _in_days(many: int) -> str:
    return "1 day" if many == 1 else f"{many} days"


def _ranking_assumptions(half_life_days: float, none_weight: float) -> tuple[str, ...]:
    return (
        "Each change is taken to act at its own station only, also one of material or transport.",
        (
            f"In half of the cases the defect is taken to start within {half_life_days:g} days of its "
            f"cause, and never before it; a change of unknown time counts like one {half_life_days:g} days "
            "before the onset (our own assumption)."
        ),
        (
            f"A cause that nobody recorded counts beforehand as much as {none_weight:g} recorded "
            "(our own assumption)."
        ),
        (
            "The dates of the rows are taken as the dates on which the parts passed the station of the "
            "change, but for the days of transit that are given."
        ),
    )


def _ranking_warnings(
    suspects: Sequence[Suspect], none: float, present: float, onset: OnsetAnswer | None
) -> tuple[str, ...]:
    found = []
    if present < 0.5:
        found.append(
            f"The counts along the stream speak against the defect being in it ({percent(1.0 - present)} "
            "that it is not): the ranking holds only if it is."
        )
    if onset is None or onset.interval is None:
        found.append("No onset is known, so the changes are ranked by their stations only.")
    elif onset.interval.bad_from_day is None:
        found.append("The dates are out of order, so the changes are ranked by their stations only.")
    elif onset.none_probability > 1.0 - SURE:
        found.append(
            f"{percent(onset.none_probability)} that the defect did not start in the dated rows: the "
            "ranking holds only if it did."
        )
    if onset is not None and onset.doubted_from is not None:
        found.append(
            f"The defect may have started with {_called(onset.rows[onset.doubted_from])} already, with a "
            "smaller share: changes before it may be more suspect, and those after it less, than said here."
        )
    if suspects and none > suspects[0].probability:
        found.append(
            f"That none of the recorded changes is the cause ({percent(none)}) is more probable than each "
            "of them: ask what else changed."
        )
    return tuple(found)
