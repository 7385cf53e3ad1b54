"""On which days things happened to a concern and its actions, by its records."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from walkapp.actions.acting import ActionFacts
from walkapp.actions.days import day_of
from walkapp.actions.reading import ConcernFacts
from walkapp.analysis.indicators.cases import Lasting, Source
from walkapp.model.records import Concern, Escape, Record

MOST_DAYS = 60
"""Days of counting of a concern of which it is looked what was known then; of more, these many of them."""


def first_words(facts: ConcernFacts) -> Mapping[str, date]:
    """Give the day on which each entry that holds was said first, before all its corrections."""
    by_id = {record.id: record for record in facts.everything}
    found = {}
    for record in facts.standing.current:
        seen, here = {record.id}, record
        while before := next(
            (by_id[one] for one in here.replaces if one in by_id and one not in seen), None
        ):
            seen.add(before.id)
            here = before
        found[record.id] = day_in(here.at)
    return found


def named_on(facts: ConcernFacts) -> date | None:
    """Give the first day on which the counts surely named the station that they name now; none before."""
    answer = facts.quick_answer
    if answer is None or not answer.is_sure or answer.first_bad_station is None:
        return None
    said = first_words(facts)
    days = sorted({said[record.id] for record in facts.origin_records})
    for day in _spread(days):
        held = tuple(record for record in facts.standing.current if said[record.id] <= day)
        known = replace(facts, standing=replace(facts.standing, current=held)).quick_answer
        if known is not None and known.is_sure and known.first_bad_station == answer.first_bad_station:
            return day
    return days[-1] if days else None


def _spread(days: Sequence[date]) -> Iterator[date]:
    step = max(1, -(-len(days) // MOST_DAYS))
    yield from days[step - 1 :: step]


def report_days(facts: ConcernFacts) -> Iterator[date]:
    """Give the day on which the customer reported a concern, and those on which bad parts escaped."""
    if (reported := day_of(facts.concern.reported_on)) is not None:
        yield reported
    yield from (date.fromisoformat(r.found_on) for r in facts.standing.current if isinstance(r, Escape))


def late_times(one: ActionFacts, source: Source, latest: date) -> Iterator[Lasting]:
    """Give when an action was overdue, and when the check of its effect was.

    Parameters
    ----------
    one
        The action.
    source
        Where it stands.
    latest
        Today: what is dated after it, by a wrong clock or a slip, counts as of that day.
    """
    opened, done = min(day_in(one.history[0].at), latest), done_on(one, latest)
    days = [min(date.fromisoformat(check.checked_on), latest) for check in one.checks]
    checked = min(days, default=None)
    checks = () if done is None else ((one.action.check_on, done, checked),)
    for due, begun, ends in ((one.action.due_on, opened, done), *checks):
        day = day_of(due)
        if day is None or day == date.max:
            continue
        begins = max(day + timedelta(days=1), begun)
        if ends is None or begins < ends:
            yield Lasting(begins=begins, ends=ends, source=source)


def done_on(one: ActionFacts, latest: date) -> date | None:
    """Give when an action was done, the last day of several and `latest` at the latest; none before."""
    return min(date.fromisoformat(one.done_on), latest) if one.done else None


def opened_on(facts: ConcernFacts) -> date:
    """Give the day on which a concern was opened."""
    words: Iterable[Record] = (r for r in facts.everything if isinstance(r, Concern))
    return min((day_in(record.at) for record in words), default=day_in(facts.concern.at))


def day_in(moment: str) -> date:
    """Give the day of a moment, as the tablet that recorded it had it."""
    return date.fromisoformat(moment[:10])
