"""Median days of what began in some days, with what is not over yet."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from walkapp.analysis.indicators.cases import Cases, Days, Lasting, days_until
from walkapp.analysis.indicators.forms import HALF_YEAR, before_of, share_trend, sources_of
from walkapp.analysis.indicators.reading import NO_BEFORE, Reading, Trend
from walkapp.analysis.waiting import Wait, median_wait
from walkapp.language import msg


@dataclass(frozen=True, slots=True, kw_only=True)
class MedianForm:
    """Median days of what began in some days, with what is not over yet.

    Parameters
    ----------
    of
        What lasts.
    length, span
        As for :class:`ShareForm`; counted by the day on which it began.
    """

    of: Callable[[Cases], Sequence[Lasting]]
    length: int = HALF_YEAR
    span: str = msg("the last 26 weeks")
    is_estimate: bool = False

    def now(self, cases: Cases, on: date) -> Days:
        """Give the days that are looked at."""
        return days_until(on, self.length)

    def covers(self, cases: Cases, days: Days) -> bool:
        """Only what is recorded counts."""
        return True

    def read(self, cases: Cases, days: Days, on: date) -> Reading:
        """Work out the median (:func:`walkapp.analysis.waiting.median_wait`)."""
        found = [one for one in self.of(cases) if one.begins in days and one.begins <= on]
        wait = median_wait(_wait(one, on) for one in found)
        if wait is None:
            return Reading()
        is_settled = wait.low == wait.high
        longest = sorted(found, key=lambda one: (one.is_over_on(on), -_wait(one, on).days))
        return Reading(
            value=None if wait.median is None else Fraction(wait.median),
            low=None if is_settled else float(wait.low),
            high=None if is_settled or wait.high is None else float(wait.high),
            many=wait.many,
            hits=wait.many - wait.still_open,
            still_open=wait.still_open,
            sources=sources_of(one.source for one in longest),
        )

    def trend(self, cases: Cases, on: date, target: Fraction | None, *, more_is_better: bool) -> Trend:
        """Compare how many were over within the target, of those that began longer ago than that.

        Those that began later are left out, over or not: of these only the fast ones can be over.
        """
        days = self.now(cases, on)
        earlier = before_of(days)
        if earlier is None or target is None:
            return Trend(word=NO_BEFORE)
        before = self.read(cases, earlier, on)
        if not before.is_known:
            return Trend(word=NO_BEFORE)
        within = share_trend(
            _within(self.of(cases), days, on, target),
            _within(self.of(cases), earlier, on, target),
            more_is_better=True,
        )
        return Trend(word=within.word, p=within.p, before=before)


def _within(found: Iterable[Lasting], days: Days, on: date, target: Fraction) -> Reading:
    """The share that was over within so many days, of those that began longer ago."""
    waits = [
        _wait(one, on) for one in found if one.begins in days and Fraction((on - one.begins).days) > target
    ]
    hits = sum(one.is_over and one.days <= target for one in waits)
    return Reading(
        value=Fraction(100 * hits, len(waits)) if waits else None, many=len(waits), hits=hits
    )  # fmt: skip


def _wait(one: Lasting, on: date) -> Wait:
    is_over = one.is_over_on(on)
    ends = one.ends if is_over and one.ends is not None else on
    return Wait(days=(ends - one.begins).days, is_over=is_over)
