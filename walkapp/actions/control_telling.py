"""What the control charts of a concern say: in words, and as JSON values."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from walkapp.actions.control_charts import (
    SharesOverTime,
    ValuesOverTime,
    shares_over_time,
    values_over_time,
)
from walkapp.actions.reading import ConcernFacts
from walkapp.analysis.control.p_chart import ProportionChart
from walkapp.analysis.control.rules import Signal
from walkapp.analysis.control.words import (
    GO_AND_SEE,
    MOST_TOLD,
    RULE_NAMES,
    individuals_notes,
    proportion_notes,
    rules_in_words,
    signal_sentences,
)
from walkapp.analysis.wording import counted, named
from walkapp.language import msg, tr, trn, whole_text

TWO_LIMITS = msg(
    "Control limits tell what the process does, the tolerance what the part needs: never "
    "mistake one for the other."
)

MOST_DAYS = 3
"""Days of corrective actions that a sentence names."""


def share_signals(told: SharesOverTime, most: int = MOST_TOLD) -> tuple[str, ...]:
    """Tell the signals of the p chart, at most so many sentences and one on the others; empty without."""
    labels = [
        row.label if row.label == row.day else tr("{row} of {day}", row=row.label, day=row.day)
        for row in told.rows
    ]
    return signal_sentences(told.chart.signals, labels, told.what, most)


def value_signals(told: ValuesOverTime, most: int = MOST_TOLD) -> tuple[str, ...]:
    """Tell the signals of a chart of individual values and of its moving ranges; likewise."""
    ranges = [
        tr("value {number} to {number2} on {day}", number=number, number2=number + 1, day=day)
        for number, day in enumerate(told.days[1:], 1)
    ]
    return (
        *signal_sentences(told.chart.signals, told.days, "value", most),
        *(
            tr("Moving ranges: {sentence}", sentence=sentence)
            for sentence in signal_sentences(told.chart.range_signals, ranges, "range")
        ),
    )


def signals_in_short(signals: Sequence[Signal], has_limits: bool) -> str:
    """Say for a title by which rules there are signals.

    Examples
    --------
    >>> signals_in_short([], True), signals_in_short([], False)
    ('no signal', 'no control limits yet')
    """
    return rules_in_words(signals) if has_limits else tr("no control limits yet")


def shares_in_short(chart: ProportionChart, what: str) -> str:
    """Say for a title what a p chart found."""
    found = signals_in_short(chart.signals, chart.false_chance is not None)
    return (
        tr("{found}, but the {what}s differ", found=found, what=what)
        if chart.differs and not chart.signals
        else found
    )


def share_counts(told: SharesOverTime) -> str:
    """Say how many parts the p chart rests on (n)."""
    checked = sum(point.checked for point in told.chart.points)
    nok = sum(point.nok for point in told.chart.points)
    return tr(
        "n = {checked} parts, {nok} of them NOK, in {rows}.",
        checked=whole_text(checked),
        nok=whole_text(nok),
        rows=counted(len(told.rows), told.what),
    )


def value_counts(told: ValuesOverTime) -> str:
    """Say how many values a chart rests on (n), and how many are out of tolerance."""
    said = "n = " + trn("{count} part", "{count} parts", len(told.values))
    outside = told.out_of_tolerance
    return (
        f"{said}."
        if outside is None
        else tr("{said}, {outside} of them out of tolerance.", said=said, outside=outside)
    )


def share_cautions(told: SharesOverTime) -> Iterator[str]:
    """Say what has to be minded of the p chart, a sentence each."""
    if told.older:
        yield tr("{older} left out.", older=counted(told.older, tr("older {what}", what=told.what)))
    if told.mixed:
        yield (
            tr(
                "The parts were judged by checks that find different shares of the bad ones: a "
                "change of check looks like a change of the parts."
            )
        )


def value_cautions(told: ValuesOverTime) -> Iterator[str]:
    """Say what has to be minded of a chart of values, a sentence each."""
    series = told.series
    if told.older:
        yield tr("{parts} left out.", parts=trn("{count} older part", "{count} older parts", told.older))
    if len(series.units) > 1:
        units = named([*series.units[:4], *(["others"] if len(series.units) > 4 else [])])
        yield tr(
            "The values of {units} lie in one chart; where they differ, its limits are too wide.",
            units=units,
        )
    if series.undated:
        undated = trn("{count} part", "{count} parts", series.undated)
        yield tr("{undated} placed by the day of measuring: production day not recorded.", undated=undated)
    if series.repeated:
        yield tr(
            "{parts} measured more than once: the mean counts.",
            parts=trn("{count} part", "{count} parts", series.repeated),
        )
    if series.left_out:
        yield tr(
            "{values} in another unit left out.",
            values=trn("{count} value", "{count} values", series.left_out),
        )


def fix_words(fixes: Sequence[str]) -> str:
    """Say on which days corrective actions were done; empty for none.

    Examples
    --------
    >>> fix_words(["2026-03-10", "2026-03-12"])
    'corrective action done: 2026-03-10, 2026-03-12'
    """
    if not fixes:
        return ""
    more = len(fixes) - MOST_DAYS
    return tr("corrective action done: ") + ", ".join(
        (*fixes[:MOST_DAYS], *((tr("{more} more days", more=more),) if more > 0 else ()))
    )


def control_lines(facts: ConcernFacts) -> tuple[str, ...]:
    """Tell the charts of a concern that have limits for a terminal; nothing while none has.

    Raises
    ------
    InputError
        If the checklist of the stream is not known.
    """
    return tuple(_lines(facts))


def _lines(facts: ConcernFacts) -> Iterator[str]:
    shares = shares_over_time(facts)
    if shares is not None and shares.chart.false_chance is not None:
        yield tr("Over time: NOK parts at {station}", station=shares.station.name)
        yield from _told(
            share_counts(shares),
            share_signals(shares),
            (*proportion_notes(shares.chart, shares.what), *share_cautions(shares)),
        )
    for values in values_over_time(facts):
        if values.chart.false_chance is not None:
            yield tr(
                "Over time: {check}, {station}",
                check=values.series.check.title,
                station=values.series.station.name,
            )
            yield from _told(
                value_counts(values),
                value_signals(values),
                (*individuals_notes(values.chart), *value_cautions(values)),
            )


def _told(counts: str, signals: Sequence[str], notes: Sequence[str]) -> Iterator[str]:
    yield f"  {counts}"
    yield from (f"  {sentence}" for sentence in signals)
    yield f"  {GO_AND_SEE}" if signals else tr("  No signal by the run rules.")
    yield from (f"  {note}" for note in notes)


def control_to_json(facts: ConcernFacts) -> dict[str, Any]:
    """Turn the charts of a concern into JSON values: ``shares``, null for none, and ``values``, one for
    each characteristic and station that was measured.

    Raises
    ------
    InputError
        If the checklist of the stream is not known.
    """
    shares = shares_over_time(facts)
    return {
        "shares": None if shares is None else _shares_to_json(shares),
        "values": [_values_to_json(values) for values in values_over_time(facts)],
    }


def _shares_to_json(told: SharesOverTime) -> dict[str, Any]:
    chart = told.chart
    return {
        "station_order": told.station.order,
        "station": told.station.name,
        "points": [
            {
                "label": row.label,
                "day": row.day,
                "checked": point.checked,
                "nok": point.nok,
                "low": point.low,
                "high": point.high,
            }
            for row, point in zip(told.rows, chart.points, strict=True)
        ],
        "centre": chart.centre,
        "limits": chart.limits,
        "limits_from": chart.baseline,
        "corrective_action_done_on": list(told.fixes),
        "false_signal_chance": chart.false_chance,
        "alike_p": chart.alike.p if chart.alike else None,
        "signals": [_signal_to_json(one) for one in chart.signals],
        "sentences": list(share_signals(told)),
        "left_out": told.older,
        "notes": [*proportion_notes(chart, told.what), *share_cautions(told)],
    }


def _values_to_json(told: ValuesOverTime) -> dict[str, Any]:
    chart = told.chart
    return {
        "characteristic": told.series.check.measures,
        "title": told.series.check.title,
        "unit_of_measure": told.series.check.unit,
        "station_order": told.series.station.order,
        "station": told.series.station.name,
        "points": [
            {"day": day, "value": value} for day, value in zip(told.days, chart.values, strict=True)
        ],
        "centre": chart.centre,
        "low": chart.low,
        "high": chart.high,
        "range_centre": chart.range_centre,
        "range_high": chart.range_high,
        "limits_from": chart.baseline,
        "out_of_tolerance": told.out_of_tolerance,
        "corrective_action_done_on": list(told.fixes),
        "false_signal_chance": chart.false_chance,
        "signals": [_signal_to_json(one) for one in chart.signals],
        "range_signals": [_signal_to_json(one) for one in chart.range_signals],
        "sentences": list(value_signals(told)),
        "left_out": told.older,
        "notes": [*individuals_notes(chart), *value_cautions(told)],
    }


def _signal_to_json(signal: Signal) -> Mapping[str, Any]:
    return {
        "rule": signal.rule,
        "name": RULE_NAMES[signal.rule],
        "side": {1: "above", -1: "below"}.get(signal.side, "") if signal.rule != 5 else "",
        "points": [index + 1 for index in signal.points],
    }
