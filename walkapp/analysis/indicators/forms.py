"""The ways in which an indicator is worked out: a share, a number, a level, a median, days since."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Protocol

from walkapp.analysis.indicators.cases import (
    Cases,
    Counted,
    Days,
    Event,
    Lasting,
    Source,
    days_until,
)
from walkapp.analysis.indicators.reading import (
    LEVEL,
    NO_BEFORE,
    NO_TREND,
    TOO_FEW,
    Reading,
    Trend,
    direction,
)
from walkapp.analysis.proportions import fisher_exact, proportion_interval
from walkapp.analysis.special import binomial_tail
from walkapp.language import msg

EIGHT_WEEKS, QUARTER, HALF_YEAR = 56, 91, 182
"""Days that are looked at, today among them."""


class Form(Protocol):
    """How an indicator is worked out."""

    @property
    def is_estimate(self) -> bool:
        """Whether the cases are a sample, so that the value has limits."""

    @property
    def span(self) -> str:
        """The days that are looked at, in words, to stand behind what is counted."""

    def read(self, cases: Cases, days: Days, on: date) -> Reading:
        """Work out its value of some days, as it is known on a day."""

    def now(self, cases: Cases, on: date) -> Days:
        """Give the days that are looked at."""

    def trend(self, cases: Cases, on: date, target: Fraction | None, *, more_is_better: bool) -> Trend:
        """Say which way it goes."""

    def covers(self, cases: Cases, days: Days) -> bool:
        """Whether all of these days were counted, so that nothing counted means that nothing was."""


def before_of(days: Days) -> Days | None:
    """Give as many days that end where others begin; none where the calendar has no so many."""
    many = days.last.toordinal() - days.first.toordinal() + 1
    last = days.first.toordinal() - 1
    return (
        Days(first=date.fromordinal(last - many + 1), last=date.fromordinal(last)) if last >= many else None
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareForm:
    """A share of what is counted in some days, in percent.

    Parameters
    ----------
    of
        What is counted.
    length
        Days that are looked at.
    span
        The same in words.
    since
        First day from which on all of it is counted, where what is not recorded counts as no hit; none
        where only what is recorded counts.
    is_estimate
        Whether it is a sample of what could have been looked at.
    shows_hits
        Whether the hits are those that a person would go and see; otherwise all others.
    """

    of: Callable[[Cases], Sequence[Counted]]
    length: int = EIGHT_WEEKS
    span: str = msg("the last 8 weeks")
    since: Callable[[Cases], date | None] | None = None
    is_estimate: bool = False
    shows_hits: bool = False

    def now(self, cases: Cases, on: date) -> Days:
        """Give the days that are looked at."""
        return days_until(on, self.length)

    def covers(self, cases: Cases, days: Days) -> bool:
        """Whether all of these days were counted."""
        return self.since is None or _is_covered(self.since(cases), days)

    def read(self, cases: Cases, days: Days, on: date) -> Reading:
        """Work out the share; exact limits (Clopper-Pearson, two-sided 95 %) where it is a sample."""
        found = [one for one in self.of(cases) if one.day in days and one.day <= on]
        if not found:
            return Reading()
        hits = sum(one.is_hit for one in found)
        limits = proportion_interval(hits, len(found)) if self.is_estimate else None
        shown = sorted((one for one in found if one.is_hit == self.shows_hits), key=lambda one: one.day)
        return Reading(
            value=Fraction(100 * hits, len(found)),
            low=100 * limits.low if limits else None,
            high=100 * limits.high if limits else None,
            many=len(found),
            hits=hits,
            sources=sources_of(one.source for one in reversed(shown)),
        )

    def trend(self, cases: Cases, on: date, target: Fraction | None, *, more_is_better: bool) -> Trend:
        """Compare the two shares (Fisher's exact test, two-sided)."""
        days = self.now(cases, on)
        earlier = before_of(days)
        if earlier is None or not self.covers(cases, earlier):
            return Trend(word=NO_BEFORE)
        return share_trend(
            self.read(cases, days, on), self.read(cases, earlier, on), more_is_better=more_is_better
        )


def share_trend(now: Reading, before: Reading, *, more_is_better: bool) -> Trend:
    """Compare two shares by the exact test of Fisher, two-sided.

    Too few to tell: even if all of one time and none of the other were hits, chance alone would make
    that more often than 1 in 20.
    """
    misses, earlier = now.many - now.hits, before.many - before.hits
    if not before.many:
        return Trend(word=NO_BEFORE)
    if fisher_exact(now.many, 0, 0, before.many) >= LEVEL:
        return Trend(word=TOO_FEW, before=before)
    p = fisher_exact(now.hits, misses, before.hits, earlier)
    assert now.value is not None and before.value is not None
    word = direction(now.value, before.value, more_is_better=more_is_better) if p < LEVEL else NO_TREND
    return Trend(word=word, p=p, before=before)


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberForm:
    """How often something happened in some days.

    Parameters
    ----------
    of
        What is counted.
    length, span
        As for :class:`ShareForm`.
    """

    of: Callable[[Cases], Sequence[Event]]
    length: int = QUARTER
    span: str = msg("the last 13 weeks")
    is_estimate: bool = False

    def now(self, cases: Cases, on: date) -> Days:
        """Give the days that are looked at."""
        return days_until(on, self.length)

    def covers(self, cases: Cases, days: Days) -> bool:
        """Whether anything was recorded in some of these days."""
        return cases.known_since is not None and cases.known_since <= days.last

    def read(self, cases: Cases, days: Days, on: date) -> Reading:
        """Count them; of days before the first record there may be more than those that are told."""
        since = cases.known_since
        if since is None or since > min(days.last, on):
            return Reading()
        found = sorted(
            (one for one in self.of(cases) if one.day in days and one.day <= on), key=lambda one: one.day
        )
        many = len(found)
        return Reading(
            value=Fraction(many),
            low=float(many) if since > days.first else None,
            many=many,
            hits=many,
            last=since.isoformat() if since > days.first else "",
            sources=sources_of(one.source for one in found[::-1]),
        )

    def trend(self, cases: Cases, on: date, target: Fraction | None, *, more_is_better: bool) -> Trend:
        """Compare the two numbers (exact binomial test with one half, two-sided)."""
        days = self.now(cases, on)
        earlier = before_of(days)
        if earlier is None or not _is_covered(cases.known_since, earlier):
            return Trend(word=NO_BEFORE)
        return number_trend(
            self.read(cases, days, on), self.read(cases, earlier, on), more_is_better=more_is_better
        )


def number_trend(now: Reading, before: Reading, *, more_is_better: bool) -> Trend:
    """Compare how often something happened in two times of the same length, two-sided.

    If nothing changed, each of all that happened fell into the one or the other time with one half
    (Przyborowski and Wilenski 1940, Biometrika 31, 313-323, from memory). Too few to tell: so few that
    chance alone would put all of them into one time more often than 1 in 20.
    """
    both = now.hits + before.hits
    if 2 * 0.5**both >= LEVEL:
        return Trend(word=TOO_FEW, before=before)
    p = min(1.0, 2 * binomial_tail(max(now.hits, before.hits), both, 0.5))
    word = NO_TREND
    if p < LEVEL:
        word = direction(Fraction(now.hits), Fraction(before.hits), more_is_better=more_is_better)
    return Trend(word=word, p=p, before=before)


@dataclass(frozen=True, slots=True, kw_only=True)
class SinceForm:
    """Days since something happened last.

    Parameters
    ----------
    of
        What may happen.
    length, span
        How often it happened in so many days, and in as many before, tells which way it goes.
    """

    of: Callable[[Cases], Sequence[Event]]
    length: int = HALF_YEAR
    span: str = msg("today")
    is_estimate: bool = False

    def now(self, cases: Cases, on: date) -> Days:
        """Give the day."""
        return Days(first=on, last=on)

    def covers(self, cases: Cases, days: Days) -> bool:
        """Whether anything had happened."""
        return any(one.day <= days.last for one in self.of(cases))

    def read(self, cases: Cases, days: Days, on: date) -> Reading:
        """Count the days from the newest one to the last of `days`; nothing while there is none.

        Where it lies before the first record, one since may not have been recorded: only the days since
        that record are sure.
        """
        day = min(days.last, on)
        found = [one for one in self.of(cases) if one.day <= day]
        if not found:
            return Reading()
        newest = max(one.day for one in found)
        value, sure = (day - newest).days, None
        if cases.known_since is not None and newest < cases.known_since:
            sure = min(max((day - cases.known_since).days, 0), value)
        return Reading(
            value=Fraction(value),
            low=None if sure is None else float(sure),
            high=None if sure is None else float(value),
            many=len(found),
            hits=len(found),
            last=newest.isoformat(),
            sources=sources_of(one.source for one in found if one.day == newest),
        )

    def trend(self, cases: Cases, on: date, target: Fraction | None, *, more_is_better: bool) -> Trend:
        """Compare how often it happened, not the days since the last one: fewer is better."""
        numbers = NumberForm(of=self.of, length=self.length)
        return numbers.trend(cases, on, None, more_is_better=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelForm:
    """How many are so on a day, or for how many days the oldest one has been so.

    Parameters
    ----------
    of
        What may be so, and from when until when.
    among
        The days on which those began that could be so.
    is_age
        Whether the days of the oldest one are told, 0 while none is so; otherwise how many are so.
    length, span
        A day so many days before tells which way it goes.
    """

    of: Callable[[Cases], Sequence[Lasting]]
    among: Callable[[Cases], Sequence[date]]
    is_age: bool = False
    length: int = EIGHT_WEEKS
    span: str = msg("today")
    is_estimate: bool = False

    def now(self, cases: Cases, on: date) -> Days:
        """Give the day."""
        return Days(first=on, last=on)

    def covers(self, cases: Cases, days: Days) -> bool:
        """Whether there was any that could be so."""
        return any(day <= days.last for day in self.among(cases))

    def read(self, cases: Cases, days: Days, on: date) -> Reading:
        """Look at the last of `days`; nothing is said while none could be so."""
        day = min(days.last, on)
        many = sum(begun <= day for begun in self.among(cases))
        if not many:
            return Reading()
        found = sorted(
            (one for one in self.of(cases) if one.lasts_on(day)),
            key=lambda one: (one.begins, one.source.entry, one.source.concern),
        )
        sources = sources_of(one.source for one in found)
        oldest = (day - found[0].begins).days if found else 0
        return Reading(
            value=Fraction(oldest if self.is_age else len(sources)),
            many=len(sources) if self.is_age else many,
            hits=len(sources),
            sources=sources,
        )

    def trend(self, cases: Cases, on: date, target: Fraction | None, *, more_is_better: bool) -> Trend:
        """Compare two days as they are: all are counted, and the same ones may be so on both."""
        if on.toordinal() <= self.length:
            return Trend(word=NO_BEFORE)
        day = date.fromordinal(on.toordinal() - self.length)
        now, before = (self.read(cases, Days(first=one, last=one), on) for one in (on, day))
        if now.value is None or before.value is None:
            return Trend(word=NO_BEFORE)
        word = direction(now.value, before.value, more_is_better=more_is_better)
        return Trend(word=word, before=before)


def _is_covered(since: date | None, days: Days) -> bool:
    return since is not None and since <= days.first


def sources_of(found: Iterable[Source]) -> tuple[Source, ...]:
    """Give each once, in the order in which they come."""
    return tuple(dict.fromkeys(found))
