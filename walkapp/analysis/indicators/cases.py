"""What indicators are worked out from: single facts of a value stream, each with its day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Protocol

CONCERN, ACTION, FINDING, AUDITS, DELIVERIES = "concern", "action", "finding", "audits", "deliveries"
"""What a fact may come from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where a fact comes from.

    Parameters
    ----------
    kind
        ``concern``, ``action`` or ``finding``; ``audits`` or ``deliveries`` for all of the stream.
    concern
        Id of the concern, or of the audit book; empty for all of the stream.
    entry
        Id of the action or finding; empty for none.
    what
        What it is, in words of whoever recorded it.
    since
        The day of it that matters, ISO 8601: reported, due, found; empty for none.
    """

    kind: str
    concern: str = ""
    entry: str = ""
    what: str = ""
    since: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """Something that happened on a day."""

    day: date
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """One of those that are counted, on its day.

    Parameters
    ----------
    day
        The day.
    is_hit
        Whether it is one of those whose share is asked for.
    source
        Where it comes from.
    """

    day: date
    is_hit: bool
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Lasting:
    """Something that lasts.

    Parameters
    ----------
    begins
        Its first day.
    ends
        The day on which it was over, `begins` or later; none while it is not.
    source
        Where it comes from.
    """

    begins: date
    ends: date | None
    source: Source

    def lasts_on(self, day: date) -> bool:
        """Whether it had begun on a day and was not over."""
        return self.begins <= day and not self.is_over_on(day)

    def is_over_on(self, day: date) -> bool:
        """Whether it was over on a day."""
        return self.ends is not None and self.ends <= day


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthParts:
    """Parts of a month that went to the customer.

    Parameters
    ----------
    month
        Its first day.
    delivered, nok
        Parts delivered, above 0, and NOK parts of that month, 0 or more.
    is_least
        Whether there are at least so many NOK parts, since a quantity is not known.
    source
        Where it comes from.
    """

    month: date
    delivered: int
    nok: int
    is_least: bool
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Days:
    """Some days, both ends included."""

    first: date
    last: date

    def __contains__(self, day: date) -> bool:
        return self.first <= day <= self.last


def days_until(last: date, many: int) -> Days:
    """Give so many days that end with a day; fewer where the calendar begins.

    Examples
    --------
    >>> days_until(date(2026, 3, 8), 7).first
    datetime.date(2026, 3, 2)
    """
    return Days(first=date.fromordinal(max(last.toordinal() - many + 1, 1)), last=last)


def month_of(day: date) -> Days:
    """Give the month of a day.

    Examples
    --------
    >>> month_of(date(2028, 2, 11)).last
    datetime.date(2028, 2, 29)
    """
    first = day.replace(day=1)
    if (first.year, first.month) == (date.max.year, date.max.month):
        return Days(first=first, last=date.max)
    return Days(first=first, last=(first + timedelta(days=31)).replace(day=1) - timedelta(days=1))


def month_before(first: date) -> date | None:
    """Give the first day of the month before; none where the calendar begins."""
    return None if first <= date(1, 1, 31) else (first.replace(day=1) - timedelta(days=1)).replace(day=1)


class Cases(Protocol):
    """The facts of one value stream as they are known on a day; each is gathered when it is asked for."""

    @property
    def known_since(self) -> date | None:
        """First day on which anything of the stream was recorded; none while nothing is."""

    @property
    def audited_since(self) -> date | None:
        """Day of the first audit that was begun; none while there is none."""

    @property
    def reports(self) -> Sequence[Event]:
        """Concerns that the customer reported, and escapes."""

    @property
    def containing(self) -> Sequence[Lasting]:
        """Each concern from the report until it was contained."""

    @property
    def finding_origin(self) -> Sequence[Lasting]:
        """Each concern from the report until its first bad station was named."""

    @property
    def fixing(self) -> Sequence[Lasting]:
        """Each concern from the report until all its corrective actions were done."""

    @property
    def untold(self) -> Sequence[Lasting]:
        """Each safety-class concern from the report until somebody was told."""

    @property
    def concerns_known(self) -> Sequence[date]:
        """The day of each concern."""

    @property
    def actions_known(self) -> Sequence[date]:
        """The day on which each action was opened."""

    @property
    def overdue(self) -> Sequence[Lasting]:
        """Each time that an action, or the check of its effect, was overdue."""

    @property
    def actions_due(self) -> Sequence[Counted]:
        """Actions by the day on which they were first due; a hit was done by then."""

    @property
    def effects(self) -> Sequence[Counted]:
        """Effect checks made or overdue; a hit showed that the action worked."""

    @property
    def fixed(self) -> Sequence[Counted]:
        """Concerns that were fixed; a hit had its cause proved."""

    @property
    def audits(self) -> Sequence[Counted]:
        """Audits of the plan whose time is over; a hit was done in time."""

    @property
    def answers(self) -> Sequence[Counted]:
        """Answers OK and NOK of audits; a hit is OK."""

    @property
    def findings(self) -> Sequence[Lasting]:
        """Findings of audits until they were put right."""

    @property
    def found_again(self) -> Sequence[Counted]:
        """Findings of audits; a hit was found before."""

    @property
    def deliveries(self) -> Sequence[MonthParts]:
        """Months with parts delivered."""
