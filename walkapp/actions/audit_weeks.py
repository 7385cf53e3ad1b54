"""The audits of a stream week by week: how many of the plan were done, and what they found."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TypeVar

from walkapp.actions.audits.figures import Span, audits_over, last_weeks
from walkapp.actions.desk import DeskFacts
from walkapp.actions.narrowing import SEED
from walkapp.actions.workplace import Workplace
from walkapp.analysis.audits.completion import Completion, DueAudit, completion_results, iso_week
from walkapp.analysis.audits.conformity import Conformity, conformity_of
from walkapp.analysis.audits.facts import AuditDone
from walkapp.analysis.control.p_chart import ProportionChart, proportion_chart
from walkapp.model.checklist import Stream

A = TypeVar("A")
C = TypeVar("C")

WEEKS = 26
"""Weeks that are told: half a year."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditWeeks:
    """The audits of a stream, week by week.

    Parameters
    ----------
    stream
        The stream, with its checklist as it is now.
    span
        The days that are told.
    weeks
        ISO 8601 weeks without a gap, from the first in which an audit was due or begun.
    layers, shifts
        Name of each layer and its audits of the plan by week; and the same by shift, of those layers that
        audit every shift. In the order of the checklist.
    answers
        Answers of the audits begun in each week.
    answers_by_layer
        Name of each layer and its answers by week.
    """

    stream: Stream
    span: Span
    weeks: tuple[str, ...]
    layers: tuple[tuple[str, Mapping[str, Completion]], ...]
    shifts: tuple[tuple[str, Mapping[str, Completion]], ...]
    answers: Mapping[str, Conformity]
    answers_by_layer: tuple[tuple[str, Mapping[str, Conformity]], ...]

    def chart(self) -> tuple[tuple[str, ...], ProportionChart]:
        """Make the p chart of the share NOK of the answers OK and NOK, and name its weeks."""
        judged = [week for week in self.weeks if week in self.answers and self.answers[week].judged]
        counts = [(self.answers[week].nok, self.answers[week].judged) for week in judged]
        return tuple(judged), proportion_chart(counts, random.Random(SEED))


def audit_weeks(place: Workplace, facts: DeskFacts) -> AuditWeeks | None:
    """Gather the audits of half a year.

    Parameters
    ----------
    place
        Where the records are; its clock says what is over.
    facts
        The stream.

    Returns
    -------
    AuditWeeks or None
        None where the stream has no audits, its checklist is not here, or none was due or begun yet.
    """
    stream = facts.known
    if stream is None or stream.audits is None:
        return None
    span = last_weeks(place, stream, WEEKS)
    found = audits_over(place, stream, span)
    if not found.due and not found.done:
        return None
    # One of a week or month that still runs would make empty weeks to come.
    due = [replace(one, last_on=min(one.last_on, span.last)) for one in found.due]
    names = {layer.id: layer.name for layer in stream.audits.layers}
    shifts = {shift.name: shift.name for shift in stream.shifts}
    days = {one.id: _begun_on(one, span) for one in found.done}
    return AuditWeeks(
        stream=stream,
        span=span,
        weeks=_without_gap([*(one.last_on for one in due), *days.values()]),
        layers=_parted(due, lambda one: one.layer, names, _completion),
        shifts=_parted((one for one in due if one.shift), lambda one: one.shift, shifts, _completion),
        answers=_conformity(found.done, days),
        answers_by_layer=_parted(
            found.done, lambda one: one.layer, names, lambda done: _conformity(done, days)
        ),
    )


def _parted(
    audits: Iterable[A],
    key: Callable[[A], str],
    names: Mapping[str, str],
    count: Callable[[Sequence[A]], Mapping[str, C]],
) -> tuple[tuple[str, Mapping[str, C]], ...]:
    """Count each part by itself, in the order of the names; what has no name there comes last, by id."""
    parts: dict[str, list[A]] = {}
    for one in audits:
        parts.setdefault(key(one), []).append(one)
    order = [*(name for name in names if name in parts), *sorted(set(parts) - set(names))]
    return tuple((names.get(part, part), count(parts[part])) for part in order)


def _completion(due: Sequence[DueAudit]) -> Mapping[str, Completion]:
    return completion_results(due, (), (), ()).by_week


def _conformity(done: Iterable[AuditDone], days: Mapping[str, date]) -> dict[str, Conformity]:
    answers: dict[str, list[str]] = {}
    for audit in done:
        week = answers.setdefault(iso_week(days[audit.id]), [])
        week += [given.answer for given in audit.given]
    return {week: conformity_of(said) for week, said in answers.items()}


def _begun_on(audit: AuditDone, span: Span) -> date:
    """The day on which it was begun; the day of the plan where the clock of the tablet was far out."""
    begun = audit.begun.date()
    return begun if span.first <= begun <= span.last else audit.day


def _without_gap(days: Sequence[date]) -> tuple[str, ...]:
    first, last = min(days), max(days)
    monday = first.toordinal() - first.weekday()
    return tuple(iso_week(date.fromordinal(day)) for day in range(monday, last.toordinal() + 1, 7))
