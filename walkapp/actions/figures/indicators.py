"""The figures of a stream's indicators over time."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from walkapp.actions.desk import DeskFacts
from walkapp.actions.indicators.board import FactorFacts, factor_facts
from walkapp.actions.indicators.factors import factors_of
from walkapp.actions.indicators.gathering import YEAR_DAYS, StreamCases, stream_cases
from walkapp.actions.indicators.months import MonthReading, figure_name, months_of
from walkapp.actions.workplace import Workplace
from walkapp.analysis.indicators.fixed_set import DAYS, PERCENT, PPM, Indicator
from walkapp.analysis.indicators.reading import NO_DATA, NOT_SHOWN, OFF_TARGET, ON_TARGET, state_of
from walkapp.analysis.indicators.words import limits_note, point_note, target_words
from walkapp.language import current, tr, trn
from walkapp.paper.figures.over_time import MonthPoint, OverTimeFigure

MOST_TARGETS = 3
FEWEST = 4
"""Months that are always shown."""

STATES = {ON_TARGET: "clean", OFF_TARGET: "bad", NOT_SHOWN: "undecided", NO_DATA: "not_visited"}
"""Shape of how a month stands against the strictest target."""


def of_stream(place: Workplace, facts: DeskFacts) -> tuple[OverTimeFigure, ...]:
    """Give a figure for each indicator that watches a success factor, in the order of the set."""
    factors = factors_of(facts)
    if not factors:
        return ()
    cases = stream_cases(place, facts, audit_days=YEAR_DAYS)
    watched: dict[str, list[FactorFacts]] = {}
    for factor in factors:
        line = factor_facts(factor, cases)
        if line.indicator is not None and line.target is not None:
            watched.setdefault(line.indicator.id, []).append(line)
    found = (_figure(lines, cases) for _, lines in sorted(watched.items()))
    return tuple(figure for figure in found if figure is not None)


def _figure(lines: Sequence[FactorFacts], cases: StreamCases) -> OverTimeFigure | None:
    indicator = lines[0].indicator
    assert indicator is not None
    months = _from_the_first_known(months_of(indicator, cases))
    if not any(month.reading.is_known for month in months):
        return None
    targets = {line.target for line in lines if line.target is not None}
    ordered = sorted(targets, reverse=indicator.more_is_better)[:MOST_TARGETS]
    return OverTimeFigure(
        title=tr("{indicator}, month by month: {desk}", indicator=tr(indicator.name), desk=cases.desk.name),
        notes=tuple(_notes(indicator, months)),
        name=figure_name(indicator.id),
        axis=_axis(indicator),
        points=tuple(_point(indicator, month, ordered[0]) for month in months),
        targets=tuple(
            (float(one), tr("target {target}", target=target_words(indicator, one))) for one in ordered
        ),
        most=100.0 if indicator.unit == PERCENT else None,
        is_whole=not indicator.unit,
    )


def _point(indicator: Indicator, month: MonthReading, target: Fraction) -> MonthPoint:
    reading = month.reading
    name = current().short_months[month.days.first.month - 1]
    return MonthPoint(
        label=f"{name} {month.days.first.year % 100:02d}"
        if month.is_whole
        else tr("{name}, so far", name=name),
        value=float(reading.value) if reading.value is not None else None,
        low=reading.low,
        high=reading.high,
        is_open=reading.low is not None and reading.high is None,
        many=reading.many if reading.is_known else None,
        state=STATES[state_of(reading, target, more_is_better=indicator.more_is_better)],
    )


def _notes(indicator: Indicator, months: Sequence[MonthReading]) -> list[str]:
    many = sum(month.reading.many for month in months)
    counted = "" if indicator.is_level else tr("n = {counted}.", counted=trn(*indicator.noun, many))
    return [
        " ".join(filter(None, (tr(indicator.asks), counted, point_note(indicator)))),
        tr(
            "{limits_note} Ring: on target. Cross: off target. Diamond: not shown to be on target.",
            limits_note=limits_note(indicator),
        ),
        tr("It does not know: {unknown}", unknown=tr(indicator.unknown)),
    ]


def _from_the_first_known(months: Sequence[MonthReading]) -> Sequence[MonthReading]:
    """Leave out the months before anything was known; a few are always shown."""
    first = next((place for place, month in enumerate(months) if month.reading.is_known), len(months))
    return months[min(first, len(months) - FEWEST) :]


def _axis(indicator: Indicator) -> str:
    unit = {PERCENT: "%", DAYS: tr("days"), PPM: "ppm"}.get(indicator.unit) or tr("number")
    return f"{tr(indicator.name)} ({unit})"
