"""The control charts of a concern as figures."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from walkapp.actions.control_charts import (
    SharesOverTime,
    ValuesOverTime,
    place_of,
    shares_over_time,
    values_over_time,
)
from walkapp.actions.control_telling import (
    TWO_LIMITS,
    fix_words,
    share_cautions,
    share_counts,
    share_signals,
    shares_in_short,
    signals_in_short,
    value_cautions,
    value_counts,
    value_signals,
)
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.analysis.control.individuals import IndividualsChart
from walkapp.analysis.control.p_chart import ProportionChart
from walkapp.analysis.control.rules import Signal
from walkapp.analysis.control.words import GO_AND_SEE, individuals_notes, proportion_notes
from walkapp.analysis.wording import named
from walkapp.language import day_said, decimal_text, msg, tr
from walkapp.paper.figures.control import ControlFigure, ControlPanel, ControlPoint, RuleRow
from walkapp.visible import in_short

MOST_TOLD = 2
"""Sentences about the signals of one chart: each takes room from the picture; the summary tells more."""

LONGEST_NAME = 60
"""Letters of a station or characteristic that a title shows."""

FAR_OUT = 12
"""A tolerance that would leave less than one of so many parts of the height to values and limits is not
drawn."""


_IN_ORDER = {
    "lot": msg("lot of production, in the order of time"),
    "day": msg("day of production, in the order of time"),
}


def p_charts(_place: Workplace, facts: ConcernFacts) -> tuple[ControlFigure, ...]:
    """Give the p chart of a concern; none where no lot with a production day was counted."""
    told = shares_over_time(facts)
    return () if told is None else (_of_shares(told),)


def value_charts(_place: Workplace, facts: ConcernFacts) -> tuple[ControlFigure, ...]:
    """Give the charts of individual values and moving ranges, one for each characteristic and station."""
    return tuple(_of_values(told) for told in values_over_time(facts))


def _of_shares(told: SharesOverTime) -> ControlFigure:
    chart = told.chart
    found = shares_in_short(chart, told.what)
    return ControlFigure(
        title=tr(
            "NOK parts over time at {station}: {found}",
            station=in_short(told.station.name, LONGEST_NAME),
            found=found,
        ),
        notes=tuple(
            filter(
                None,
                (
                    " ".join((share_counts(told), *share_cautions(told))),
                    signals_note(share_signals(told, MOST_TOLD), chart.false_chance is not None),
                    *proportion_notes(chart),
                ),
            )
        ),
        name="p-chart",
        labels=tuple(
            (day_said(row.day),) if row.label == row.day else (row.label, day_said(row.day))
            for row in told.rows
        ),
        x_axis=tr(_IN_ORDER[told.what]),
        panels=(share_panel(chart),),
        rules=rule_rows(chart.signals),
        marks=_marks(told.fixes, told.days),
        mark_words=fix_words(told.fixes),
    )


def share_panel(chart: ProportionChart) -> ControlPanel:
    """Give the panel of a p chart, in percent; no limit is drawn at 0 % or 100 %: nothing lies beyond."""
    rules = _rules_by_point(chart.signals)
    return ControlPanel(
        axis="NOK",
        unit="%",
        points=tuple(
            ControlPoint(
                value=100 * point.share,
                low=100 * point.low if point.low else None,
                high=100 * point.high if point.high is not None and point.high < 1 else None,
                rules=frozenset(rules.get(index, ())),
            )
            for index, point in enumerate(chart.points)
        ),
        centre=100 * chart.centre if chart.centre is not None and chart.false_chance is not None else None,
        floor=0.0,
    )


def _of_values(told: ValuesOverTime) -> ControlFigure:
    chart, series = told.chart, told.series
    unit = in_short(series.check.unit, LONGEST_NAME)
    has_limits = chart.false_chance is not None
    found = signals_in_short((*chart.signals, *chart.range_signals), has_limits)
    tolerance = _in_sight(chart, told.tolerance)
    far = [limit for limit in told.tolerance if limit not in tolerance]
    return ControlFigure(
        title=tr(
            "{check}, {station}, one by one: {found}",
            check=in_short(series.check.title, LONGEST_NAME),
            station=in_short(series.station.name, LONGEST_NAME),
            found=found,
        ),
        notes=tuple(
            filter(
                None,
                (
                    " ".join((value_counts(told), *value_cautions(told))),
                    signals_note(value_signals(told, MOST_TOLD), has_limits),
                    *individuals_notes(chart),
                    tr(TWO_LIMITS) if has_limits and told.tolerance else "",
                    tr(
                        "Tolerance too far outside to be drawn: {what} {unit}.",
                        what=named([decimal_text(f"{limit:g}") for limit in far]),
                        unit=unit,
                    )
                    if far
                    else "",
                ),
            )
        ),
        name=f"value-chart-{series.station.id}-{series.check.id}",
        labels=tuple(
            (tr("no. {number}", number=number), day_said(day)) for number, day in enumerate(told.days, 1)
        ),
        x_axis=tr("part and its day, in the order of time"),
        panels=tuple(_value_panels(chart, unit, tolerance)),
        rules=(*rule_rows(chart.signals), *rule_rows(chart.range_signals, msg("rule {rule}, range"), 1)),
        marks=_marks(told.fixes, told.days),
        mark_words=fix_words(told.fixes),
    )


def _value_panels(
    chart: IndividualsChart, unit: str, tolerance: tuple[float, ...]
) -> Iterable[ControlPanel]:
    rules, of_ranges = _rules_by_point(chart.signals), _rules_by_point(chart.range_signals)
    yield ControlPanel(
        axis=tr("value"),
        unit=unit,
        points=tuple(
            ControlPoint(value=value, low=chart.low, high=chart.high, rules=frozenset(rules.get(index, ())))
            for index, value in enumerate(chart.values)
        ),
        centre=chart.centre,
        tolerance=tolerance,
    )
    if chart.ranges:
        yield ControlPanel(
            axis=tr("range"),
            unit=unit,
            points=tuple(
                ControlPoint(value=value, high=chart.range_high, rules=frozenset(of_ranges.get(index, ())))
                for index, value in enumerate(chart.ranges)
            ),
            centre=chart.range_centre,
            floor=0.0,
        )


def _in_sight(chart: IndividualsChart, tolerance: tuple[float, ...]) -> tuple[float, ...]:
    """The limits of the tolerance that do not press values and control limits together."""
    shown = [*chart.values, *(one for one in (chart.low, chart.high) if one is not None)]
    low, high = min(shown), max(shown)
    if low == high:
        return tolerance
    reach = FAR_OUT * (high - low)
    return tuple(one for one in tolerance if high - reach <= one <= low + reach)


def signals_note(sentences: Sequence[str], has_limits: bool) -> str:
    """Tell the signals in one note; empty where there are no limits."""
    if sentences:
        return " ".join((*sentences, tr(GO_AND_SEE)))
    return tr("No signal by the run rules.") if has_limits else ""


def rule_rows(
    signals: Sequence[Signal], label: str = msg("rule {rule}"), first: int = 0
) -> tuple[RuleRow, ...]:
    """Give a row for each rule that found something.

    Parameters
    ----------
    signals
        Of one chart.
    label
        What each is called, before it is translated.
    first
        Place of the chart's first point.
    """
    points: dict[int, set[int]] = {}
    for signal in signals:
        points.setdefault(signal.rule, set()).update(index + first for index in signal.points)
    return tuple(
        RuleRow(
            label=tr(label, rule=rule),
            rule=rule,
            points=tuple(sorted(points[rule])),
        )
        for rule in sorted(points)
    )


def _rules_by_point(signals: Sequence[Signal]) -> Mapping[int, set[int]]:
    rules: dict[int, set[int]] = {}
    for signal in signals:
        for index in signal.points:
            rules.setdefault(index, set()).add(signal.rule)
    return rules


def _marks(fixes: Sequence[str], days: Sequence[str]) -> tuple[float, ...]:
    return tuple(sorted({place_of(fix, days) - 0.5 for fix in fixes}))
