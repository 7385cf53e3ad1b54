"""The control charts of a concern: the share of NOK parts lot by lot, and measured values one by one."""

from __future__ import annotations

import random
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from walkapp.actions.narrowing import SEED
from walkapp.actions.onset import date_onset
from walkapp.actions.reading import ConcernFacts
from walkapp.analysis.after_fix import corrective_days
from walkapp.analysis.control.individuals import IndividualsChart, individuals_chart
from walkapp.analysis.control.p_chart import ProportionChart, proportion_chart
from walkapp.analysis.gather_dated import gather_dated
from walkapp.analysis.gather_series import Series, SeriesValue, gather_series
from walkapp.analysis.moments import exact
from walkapp.analysis.onset import DatedTally
from walkapp.model.checklist import Station

MOST_POINTS = 200
"""Points of one chart; older ones are left out, and that is said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SharesOverTime:
    """The share of NOK parts at one station, lot by lot.

    Parameters
    ----------
    station
        Where the parts were judged: the station that dates the onset
        (:func:`walkapp.actions.onset.date_onset`).
    rows
        Lots or days in the order of production.
    chart
        Its points stand for the rows.
    fixes
        Days on which corrective actions were done, the first one first; the limits are those of the rows
        before it, where there are enough.
    older
        Rows that are left out.
    mixed
        Whether parts were judged by checks that find different shares of the bad ones.
    """

    station: Station
    rows: tuple[DatedTally, ...]
    chart: ProportionChart
    fixes: tuple[str, ...]
    older: int
    mixed: bool

    @property
    def days(self) -> tuple[str, ...]:
        """The day of each row."""
        return tuple(row.day for row in self.rows)

    @property
    def what(self) -> str:
        """What a row is: a lot, or a day."""
        return "lot" if any(row.label != row.day for row in self.rows) else "day"


@dataclass(frozen=True, slots=True, kw_only=True)
class ValuesOverTime:
    """The values of one characteristic at one station, one part after the other.

    Parameters
    ----------
    series
        Where and what was measured.
    values
        The parts that the chart shows.
    chart
        Its values stand for them.
    fixes
        As for :class:`SharesOverTime`.
    older
        Parts that are left out.
    """

    series: Series
    values: tuple[SeriesValue, ...]
    chart: IndividualsChart
    fixes: tuple[str, ...]
    older: int

    @property
    def days(self) -> tuple[str, ...]:
        """The day of each part."""
        return tuple(value.day for value in self.values)

    @property
    def out_of_tolerance(self) -> int | None:
        """Parts outside the tolerance, one on a limit not among them; none without a tolerance."""
        limits = self.series.limits
        low, high = (None if one is None else exact(one) for one in (limits.lsl, limits.usl))
        if low is None and high is None:
            return None
        return sum(
            (low is not None and one.value < low) or (high is not None and one.value > high)
            for one in self.values
        )

    @property
    def tolerance(self) -> tuple[float, ...]:
        """The limits of the tolerance that there are, in the unit of the values, the lower one first."""
        limits = self.series.limits
        return tuple(float(one) for one in (limits.lsl, limits.usl) if one is not None)


def shares_over_time(facts: ConcernFacts) -> SharesOverTime | None:
    """Make the p chart of a concern.

    Parameters
    ----------
    facts
        The concern.

    Returns
    -------
    SharesOverTime or None
        Of all dated counts at the station, those from after a corrective action among them. None where no
        lot with a production day was counted.

    Raises
    ------
    InputError
        If the checklist of the stream is not known.
    """
    return facts.once(_shares_over_time)


def _shares_over_time(facts: ConcernFacts) -> SharesOverTime | None:
    stream, station = facts.known_stream(), date_onset(facts).station
    if station is None:
        return None
    found = gather_dated(stream, station, facts.standing.current, facts.concern.defect).rows
    if not found:
        return None
    rows = found[-MOST_POINTS:]
    fixes = corrective_days(facts.standing.current)
    return SharesOverTime(
        station=station,
        rows=rows,
        chart=proportion_chart(
            [
                (sum(tally.nok for tally in row.tallies), sum(tally.checked for tally in row.tallies))
                for row in rows
            ],
            random.Random(SEED),
            baseline=place_of(fixes[0], [row.day for row in rows]) if fixes else None,
        ),
        fixes=fixes,
        older=len(found) - len(rows),
        mixed=len({(t.detection, t.false_alarm) for row in rows for t in row.tallies}) > 1,
    )


def values_over_time(facts: ConcernFacts) -> tuple[ValuesOverTime, ...]:
    """Make the charts of individual values of a concern; parameters and errors as for
    :func:`shares_over_time`.

    Returns
    -------
    tuple of ValuesOverTime
        One for each characteristic and station with a value, those from after a corrective action among
        them.
    """
    return facts.once(_values_over_time)


def _values_over_time(facts: ConcernFacts) -> tuple[ValuesOverTime, ...]:
    fixes = corrective_days(facts.standing.current)
    charts = []
    for series in gather_series(facts.known_stream(), facts.standing.current):
        values = series.values[-MOST_POINTS:]
        before = place_of(fixes[0], [value.day for value in values]) if fixes else None
        charts.append(
            ValuesOverTime(
                series=series,
                values=values,
                chart=individuals_chart([value.value for value in values], baseline=before),
                fixes=fixes,
                older=len(series.values) - len(values),
            )
        )
    return tuple(charts)


def place_of(day: str, days: Sequence[str]) -> int:
    """Count the points from before a day; those of the day itself may be from either side.

    Parameters
    ----------
    day
        ISO 8601.
    days
        Of each point, in order.
    """
    return bisect_left(days, day)
