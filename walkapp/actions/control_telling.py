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
from walkapp.analysis.wording import named
from walkapp.language import day_said, msg, msgn, tr, trn, whole_text

TWO_LIMITS = msg(
    "Control limits tell what the process does, the tolerance what the part needs: never "
    "mistake one for the other."
)

MOST_DAYS = 3
"""Days of corrective actions that a sentence names."""


_BUT_THEY_DIFFER = {
    "lot": msg("{found}, but the lots differ"),
    "day": msg("{found}, but the days differ"),
    "week": msg("{found}, but the weeks differ"),
}

_COUNTS = {
    "lot": msgn(
        "n = {checked} parts, {nok} of them NOK, in {count} lot.",
        "n = {checked} parts, {nok} of them NOK, in {count} lots.",
    ),
    "day": msgn(
        "n = {checked} parts, {nok} of them NOK, on {count} day.",
        "n = {checked} parts, {nok} of them NOK, on {count} days.",
    ),
}

_OLDER = {
    "lot": msgn("{count} older lot left out.", "{count} older lots left out."),
    "day": msgn("{count} older day left out.", "{count} older days left out."),
}


def share_signals(told: SharesOverTime, most: int = MOST_TOLD) -> tuple[str, ...]:
    """Tell the signals of the p chart, at most so many sentences and one on the others; empty without."""
    labels = [
        day_said(row.day)
        if row.label == row.day
        else tr("{row} of {day}", row=row.label, day=day_said(row.day))
        for row in told.rows
    ]
    return signal_sentences(told.chart.signals, labels, most)


def value_signals(told: ValuesOverTime, most: int = MOST_TOLD) -> tuple[str, ...]:
    """Tell the signals of a chart of individual values and of its moving ranges; likewise."""
    ranges = [
        tr("value {number} to {number2} on {day}", number=number, number2=number + 1, day=day_said(day))
        for number, day in enumerate(told.days[1:], 1)
    ]
    return (
        *signal_sentences(told.chart.signals, tuple(map(day_said, told.days)), most),
        *(
            tr("Moving ranges: {sentence}", sentence=sentence)
            for sentence in signal_sentences(told.chart.range_signals, ranges)
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
    return tr(_BUT_THEY_DIFFER[what], found=found) if chart.differs and not chart.signals else found


def share_counts(told: SharesOverTime) -> str:
    """Say how many parts the p chart rests on (n)."""
    checked = sum(point.checked for point in told.chart.points)
    nok = sum(point.nok for point in told.chart.points)
    return trn(*_COUNTS[told.what], len(told.rows), checked=whole_text(checked), nok=whole_text(nok))


def value_counts(told: ValuesOverTime) -> str:
    """Say how many values a chart rests on (n), and how many are out of tolerance."""
    outside = told.out_of_tolerance
    if outside is None:
        return trn("n = {count} part.", "n = {count} parts.", len(told.values))
    return trn(
        "n = {count} part, {outside} of them out of tolerance.",
        "n = {count} parts, {outside} of them out of tolerance.",
        len(told.values),
        outside=outside,
    )


def share_cautions(told: SharesOverTime) -> Iterator[str]:
    """Say what has to be minded of the p chart, a sentence each."""
    if told.older:
        yield trn(*_OLDER[told.what], told.older)
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
        yield trn("{count} older part left out.", "{count} older parts left out.", told.older)
    if len(series.units) > 1:
        units = named([*series.units[:4], *([tr("others")] if len(series.units) > 4 else [])])
        yield tr(
            "The values of {units} lie in one chart; where they differ, its limits are too wide.",
            units=units,
        )
    if series.undated:
        yield trn(
            "{count} part placed by the day of measuring: production day not recorded.",
            "{count} parts placed by the day of measuring: production day not recorded.",
            series.undated,
        )
    if series.repeated:
        yield trn(
            "{count} part measured more than once: the mean counts.",
            "{count} parts measured more than once: the mean counts.",
            series.repeated,
        )
    if series.left_out:
        yield trn(
            "{count} value in another unit left out.",
            "{count} values in another unit left out.",
            series.left_out,
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
    days = ", ".join(map(day_said, fixes[:MOST_DAYS]))
    if more > 0:
        return trn(
            "corrective action done: {days}, {count} more day",
            "corrective action done: {days}, {count} more days",
            more,
            days=days,
        )
    return tr("corrective action done: {days}", days=days)


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
            (*proportion_notes(shares.chart), *share_cautions(shares)),
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
    yield f"  {tr(GO_AND_SEE) if signals else tr('No signal by the run rules.')}"
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
        "notes": [*proportion_notes(chart), *share_cautions(told)],
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
        "name": tr(RULE_NAMES[signal.rule]),
        "side": {1: "above", -1: "below"}.get(signal.side, "") if signal.rule != 5 else "",
        "points": [index + 1 for index in signal.points],
    }
