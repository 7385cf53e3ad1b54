"""NOK parts of a million delivered, as an indicator."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from walkapp.analysis.indicators.cases import Cases, Days, MonthParts, month_before, month_of
from walkapp.analysis.indicators.forms import sources_of
from walkapp.analysis.indicators.reading import (
    LEVEL,
    NO_BEFORE,
    NO_TREND,
    TOO_FEW,
    Reading,
    Trend,
    direction,
)
from walkapp.analysis.ppm import MILLION, PpmRate, compare_rates, joined, ppm_rate
from walkapp.language import msg

_YEAR, _QUARTER = 12, 3
"""Months."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PpmForm:
    """NOK parts of a million delivered.

    Parameters
    ----------
    of
        The months with parts delivered.
    """

    of: Callable[[Cases], Sequence[MonthParts]]
    span: str = msg("12 months")
    is_estimate: bool = True

    def now(self, cases: Cases, on: date) -> Days:
        """Give the twelve months up to the newest one with deliveries, of the last two years."""
        since = _months_until(on, 2 * _YEAR)
        newest = max(
            (one.month for one in self.of(cases) if one.month in since and one.month <= on), default=on
        )
        return _months_until(newest, _YEAR)

    def covers(self, cases: Cases, days: Days) -> bool:
        """Whether anything was delivered in these days."""
        return any(one.month in days for one in self.of(cases))

    def read(self, cases: Cases, days: Days, on: date) -> Reading:
        """Put the months together; exact limits, one-sided 95 % each (:mod:`walkapp.analysis.ppm`)."""
        found = sorted(
            (one for one in self.of(cases) if one.month in days and one.month <= on),
            key=lambda one: one.month,
        )
        rate = _rate_of(found)
        if rate is None:
            return Reading()
        return Reading(
            value=Fraction(rate.nok * MILLION, rate.delivered),
            low=rate.lower.low if rate.lower else None,
            high=rate.upper.high if rate.upper else None,
            many=rate.delivered,
            hits=rate.nok,
            last=f"{found[-1].month:%Y-%m}",
            sources=sources_of(one.source for one in found),
        )

    def trend(self, cases: Cases, on: date, target: Fraction | None, *, more_is_better: bool) -> Trend:
        """Compare the newest three months with the three before (conditional exact test, two-sided)."""
        quarter = _months_until(self.now(cases, on).last, _QUARTER)
        month = month_before(quarter.first)
        if month is None:
            return Trend(word=NO_BEFORE)
        earlier = _months_until(month, _QUARTER)
        now, before = (
            _rate_of(one for one in self.of(cases) if one.month in days and one.month <= on)
            for days in (quarter, earlier)
        )
        told = self.read(cases, earlier, on)
        if now is None or before is None:
            return Trend(word=NO_BEFORE)
        compared = compare_rates(now, before)
        both = now.nok + before.nok
        utmost = (
            compare_rates(ppm_rate(one, now.delivered), ppm_rate(both - one, before.delivered))
            for one in (0, both)
        )
        if compared is None or all(one is None or one.p >= LEVEL for one in utmost):
            return Trend(word=TOO_FEW, before=told)
        rates = Fraction(now.nok, now.delivered), Fraction(before.nok, before.delivered)
        word = direction(*rates, more_is_better=False) if compared.p < LEVEL else NO_TREND
        return Trend(word=word, p=compared.p, before=told)


def _rate_of(months: Iterable[MonthParts]) -> PpmRate | None:
    return joined(ppm_rate(one.nok, one.delivered, is_least=one.is_least) for one in months)


def _months_until(day: date, many: int) -> Days:
    """So many whole months, that of a day last; fewer where the calendar begins."""
    last = day.year * 12 + day.month - 1
    year, month = divmod(max(last - many + 1, 12), 12)
    return Days(first=date(year, month + 1, 1), last=month_of(day).last)
