"""What an indicator said month by month, of the last twelve."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from walkapp.actions.indicators.board import FactorFacts
from walkapp.actions.indicators.gathering import StreamCases
from walkapp.analysis.indicators.cases import Days, month_before, month_of
from walkapp.analysis.indicators.fixed_set import Indicator
from walkapp.analysis.indicators.reading import Reading
from walkapp.analysis.indicators.words import month_basis, value_text
from walkapp.language import month_text, tr

MONTHS = 12
"""Months that are told, the present one among them."""


def figure_name(indicator: str) -> str:
    """Name the figure of an indicator over time."""
    return f"indicator-{indicator}"


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthReading:
    """What an indicator said of one month.

    Parameters
    ----------
    days
        The days of the month that are over or today.
    is_whole
        Whether the month is over.
    reading
        The value; nothing known where nothing was recorded yet.
    """

    days: Days
    is_whole: bool
    reading: Reading


def months_of(indicator: Indicator, cases: StreamCases, many: int = MONTHS) -> tuple[MonthReading, ...]:
    """Work out an indicator month by month, the oldest first.

    Parameters
    ----------
    indicator
        Which one.
    cases
        The facts of the stream, with the audits of these months.
    many
        How many months, the present one among them; fewer where the calendar begins.

    Returns
    -------
    tuple of MonthReading
        A level is that of the last day; a median that of what began in the month, as it is known now. A
        month in which records only began says nothing where nothing counted would mean nothing happened.
    """
    found = []
    first = month_of(cases.on).first
    for _ in range(many):
        month = month_of(first)
        days = Days(first=month.first, last=min(month.last, cases.on))
        reading = (
            indicator.form.read(cases, days, cases.on) if indicator.form.covers(cases, days) else Reading()
        )
        found.append(MonthReading(days=days, is_whole=month.last <= cases.on, reading=reading))
        before = month_before(first)
        if before is None:
            break
        first = before
    return tuple(reversed(found))


def month_lines(line: FactorFacts, cases: StreamCases) -> Iterator[str]:
    """Tell the months of a factor, the newest first, those of which nothing is known left out."""
    if line.indicator is None:
        return
    for month in reversed(months_of(line.indicator, cases)):
        if month.reading.is_known:
            values = {
                "month": month_text(month.days.first),
                "value": value_text(line.indicator, month.reading),
                "basis": month_basis(line.indicator, month.reading),
            }
            yield (
                tr("{month}: {value} ({basis})", **values)
                if month.is_whole
                else tr("{month} so far: {value} ({basis})", **values)
            )
