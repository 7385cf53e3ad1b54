"""When the defect started, from dated counts.

The onset is an origin in time: rows (lots or production days) in the order of production take the
place of the stations in the order of the stream, so the model, the prior of the affected share and
the quadrature with its errors are those of :mod:`walkapp.analysis.origin` and
:mod:`walkapp.analysis.shares`. New here are a share of bad parts that may have been there before the
onset, and the interval of rows and of days. :mod:`walkapp.analysis.suspects` sets the recorded changes
against it.
"""

from __future__ import annotations

import math
import re
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import accumulate, pairwise

from walkapp.analysis.cautions import DROP_LEVEL, rates_used
from walkapp.analysis.origin import check_stations, most_probable, normalised, running_counts
from walkapp.analysis.proportions import fisher_exact
from walkapp.analysis.results import SURE, StationTally, Tally
from walkapp.analysis.shares import SharePrior, integrate
from walkapp.analysis.special import binomial_tail
from walkapp.analysis.wording import either, expected_parts, named, parts_in_words, percent
from walkapp.language import day_said, tr, trn

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
    likeliest = most_probable(stations, posterior.first_bad, posterior.none)
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
        parse_day(row.day)
    return tuple(
        StationTally(order=i, name=row.label, tallies=row.tallies, made_on=(row.day,))
        for i, row in enumerate(rows, start=1)
    )


def parse_day(text: str) -> date:
    """Read a day written as ISO 8601.

    Raises
    ------
    ValueError
        If it is written in another way, or there is no such day.
    """
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


def called(row: OnsetRow) -> str:
    """Name a row by its lot and its day."""
    day = day_said(row.day)
    return day if row.label == row.day else tr("{row} of {day}", row=row.label, day=day)


def _label(row: OnsetRow) -> str:
    """Name a row by its lot alone, or by its day where no lot is known."""
    return day_said(row.day) if row.label == row.day else row.label


def _named_in_words(
    rows: Sequence[OnsetRow], likeliest: Sequence[int], none: float, doubted: int | None
) -> str:
    first = rows[likeliest[0]]
    chance = percent(first.probability)
    if doubted is not None:
        return tr(
            "Most likely {called} is the first bad one ({chance}), but the NOK from "
            "{called2} up to it are too many for that: the defect may have started there "
            "with a smaller share.",
            called=called(first),
            chance=chance,
            called2=called(rows[doubted]),
        )
    if len(likeliest) > 1:
        equal = [called(rows[i]) for i in sorted(likeliest)]
        listed = either(equal)
        if len(equal) > 4:
            listed = tr(
                "one of the {equal} rows from {equal2} to {equal3}",
                equal=len(equal),
                equal2=equal[0],
                equal3=equal[-1],
            )
        return tr(
            "Most likely {listed} is the first bad one ({chance} each of them); the parts checked so "
            "far cannot tell them apart.",
            listed=listed,
            chance=chance,
        )
    if first.probability >= SURE:
        return tr("{called} is the first bad one ({chance}).", called=called(first), chance=chance)
    others = [
        (r.probability, tr("{called} is", called=called(r)))
        for i, r in enumerate(rows)
        if i not in likeliest
    ]
    second, what = max([*others, (none, tr("there is none in these rows"))])
    return tr(
        "Most likely {called} is the first bad one ({chance}); next most likely {what} ({second}).",
        called=called(first),
        chance=chance,
        what=what,
        second=percent(second),
    )


def _day_in_words(first: OnsetRow, day: str, of_day: float) -> list[str]:
    """The most probable day, where the row named does not say it all."""
    chance = percent(min(1.0, of_day))
    if first.probability >= SURE or (day, chance) == (first.day, percent(first.probability)):
        return []
    return [tr("The most probable day is {day} ({chance}).", day=day_said(day), chance=chance)]


def _interval_in_words(rows: Sequence[OnsetRow], none: float, interval: OnsetInterval) -> str:
    begin = tr("If it started in these rows, the defect") if none > 1.0 - SURE else tr("The defect")
    if interval.bad_from_day is None:
        first, last = called(rows[interval.first]), called(rows[interval.last])
        between = (
            tr("is {first}", first=first)
            if first == last
            else tr("lies between {first} and {last}", first=first, last=last)
        )
        return tr(
            "The first bad row {between} (95 % interval); no dates are given, since they are out of order.",
            between=between,
        )
    if interval.last_good_day is None:
        return tr(
            "{begin} started at the latest with the parts of {bad_from_day} (95 % interval); "
            "it may have started before the first row, at any time.",
            begin=begin,
            bad_from_day=day_said(interval.bad_from_day),
        )
    if interval.last_good_day == interval.bad_from_day:
        return tr(
            "{begin} started on {bad_from_day} (95 % interval).",
            begin=begin,
            bad_from_day=day_said(interval.bad_from_day),
        )
    return tr(
        "{begin} started after the parts of {last_good_day} were made and at the latest with "
        "those of {bad_from_day} (95 % interval).",
        begin=begin,
        last_good_day=day_said(interval.last_good_day),
        bad_from_day=day_said(interval.bad_from_day),
    )


def _nothing_named(rows: Sequence[OnsetRow], none: float) -> str:
    nok, checked = _counted(rows)
    if not checked:
        return tr("Nothing was checked yet, so nothing is known about when the defect started.")
    seen = trn(
        "{parts} in {count} row", "{parts} in {count} rows", len(rows), parts=parts_in_words(checked)
    )
    if not nok:
        return tr(
            "No NOK in {seen}: {none} that the defect did not start in them; no first bad day is named.",
            seen=seen,
            none=percent(none),
        )
    best = max(rows, key=lambda row: row.probability)
    return tr(
        "No first bad row is named: {nok} NOK in {seen} may be there without the defect; "
        "{none} that it did not start in them, {probability} that {called} is the first bad "
        "one.",
        nok=nok,
        seen=seen,
        none=percent(none),
        probability=percent(best.probability),
        called=called(best),
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
            tr(
                "{row} is dated {day}, before {above} ({day2}) in the row above it: the order of "
                "the rows was taken as the order of production; mend the date or the order.",
                row=_label(row),
                day=day_said(row.day),
                above=_label(above),
                day2=day_said(above.day),
            )
        )
    if first is None or interval is None:
        if not any(row.nok for row in rows):
            found.append(tr("No part was NOK, so these rows cannot show when the defect started."))
        return tuple(found)
    if not any(row.checked for row in rows[:first]):
        found.append(
            tr(
                "Nothing made before {called} was checked: the defect started then or at any time before.",
                called=called(rows[first]),
            )
        )
    if interval.unchecked:
        said = [(day_said(a), day_said(b)) for a, b in interval.unchecked]
        stretches = [a if a == b else tr("{a} to {b}", a=a, b=b) for a, b in said]
        listed = named(stretches)
        if len(stretches) > 3:
            first_day, last_day = said[0][0], said[-1][1]
            listed = tr(
                "{stretches} stretches of days from {first_day} to {last_day}",
                stretches=len(stretches),
                first_day=first_day,
                last_day=last_day,
            )
        found.append(
            tr("Nothing made on {listed} was checked: the defect may have started there.", listed=listed)
        )
    found += _share_changes(rows, stations, first)
    nok, checked = _counted(rows[:first])
    if nok and not background_high:
        alarms = math.fsum(t.checked * t.false_alarm for s in stations[:first] for t in s.tallies)
        found.append(
            tr(
                "{nok} of {checked} NOK before {called}: if it is the first bad one, these are "
                "false alarms ({alarms} expected).",
                nok=nok,
                checked=parts_in_words(checked),
                called=called(rows[first]),
                alarms=expected_parts(alarms),
            )
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
            rates = rates_used(stations[start:first])
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
    values = {
        "called": called(rows[cut]),
        "later_nok": later_nok,
        "later": parts_in_words(later),
        "nok": nok,
        "checked": parts_in_words(checked),
    }
    if later_nok * checked < nok * later:
        told = tr(
            "The share of NOK drops from {called} on ({later_nok} of {later} after {nok} of {checked}): "
            "the defect may have stopped, or parts were sorted, reworked or mixed; leave out the rows from "
            "there on and compare.",
            **values,
        )
    else:
        told = tr(
            "The share of NOK rises from {called} on ({later_nok} of {later} after {nok} of {checked}): "
            "the defect may grow slowly, and may then have started before.",
            **values,
        )
    if rates_used(stations[first:cut]) != rates_used(stations[cut:]):
        told = " ".join((told, tr("The checks differ, too.")))
    return [told]


def _counted(rows: Sequence[OnsetRow]) -> tuple[int, int]:
    """Parts NOK and parts checked."""
    return sum(row.nok for row in rows), sum(row.checked for row in rows)
