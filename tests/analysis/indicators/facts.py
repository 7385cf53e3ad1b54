"""Facts of a stream for the tests of indicators: what is not said is not there. Invented."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from walkapp.analysis.indicators.cases import CONCERN, Counted, Event, Lasting, MonthParts, Source

ON = date(2026, 3, 31)


def ago(days: int) -> date:
    return ON - timedelta(days=days)


def source(number: int = 0) -> Source:
    return Source(kind=CONCERN, concern=f"{number}")


@dataclass(frozen=True)
class Facts:
    known_since: date | None = date(2020, 1, 1)
    audited_since: date | None = date(2020, 1, 1)
    reports: tuple = ()
    containing: tuple = ()
    finding_origin: tuple = ()
    fixing: tuple = ()
    untold: tuple = ()
    concerns_known: tuple = ()
    actions_known: tuple = ()
    overdue: tuple = ()
    actions_due: tuple = ()
    effects: tuple = ()
    fixed: tuple = ()
    audits: tuple = ()
    answers: tuple = ()
    findings: tuple = ()
    found_again: tuple = ()
    deliveries: tuple = ()


def counted(hits: int, misses: int, days_ago: int = 3) -> tuple[Counted, ...]:
    """So many hits and so many others, all of one day."""
    said = [True] * hits + [False] * misses
    return tuple(
        Counted(day=ago(days_ago), is_hit=is_hit, source=source(number))
        for number, is_hit in enumerate(said)
    )


def events(*days_ago: int) -> tuple[Event, ...]:
    return tuple(Event(day=ago(days), source=source(number)) for number, days in enumerate(days_ago))


def lasting(*spans: tuple[int, int | None]) -> tuple[Lasting, ...]:
    """Each begun so many days ago, and over so many days ago, or not yet."""
    return tuple(
        Lasting(begins=ago(begun), ends=None if ended is None else ago(ended), source=source(number))
        for number, (begun, ended) in enumerate(spans)
    )


def month(first: str, delivered: int, nok: int, *, is_least: bool = False) -> MonthParts:
    return MonthParts(
        month=date.fromisoformat(first), delivered=delivered, nok=nok, is_least=is_least, source=source()
    )
