"""Success factors and their indicators in words, a sentence each, and as JSON values."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from walkapp.actions.indicators.board import NOT_READABLE, ORDER, FactorFacts, IndicatorBoard
from walkapp.analysis.indicators.reading import NO_DATA, NOT_SHOWN, OFF_TARGET, ON_TARGET, Reading
from walkapp.analysis.indicators.words import (
    NOTES,
    STATE_WORDS,
    basis_text,
    target_words,
    trend_text,
    value_text,
)
from walkapp.analysis.wording import in_one_line
from walkapp.language import day_text, decimal_text, msg, tr, trn

WORDS = {**STATE_WORDS, NOT_READABLE: msg("cannot be read")}
"""How a factor stands, in words."""

_HEADS = {
    ON_TARGET: msg("On target: {factor}"),
    OFF_TARGET: msg("Off target: {factor}"),
    NOT_SHOWN: msg("Not shown to be on target: {factor}"),
    NO_DATA: msg("Nothing to work it out from: {factor}"),
    NOT_READABLE: msg("Cannot be read: {factor}"),
}

_COUNTED = {
    ON_TARGET: msg("{many} on target"),
    OFF_TARGET: msg("{many} off target"),
    NOT_SHOWN: msg("{many} not shown to be on target"),
    NO_DATA: msg("{many} with nothing to work it out from"),
    NOT_READABLE: msg("{many} that cannot be read"),
}

MOST_NAMED = 5
"""Concerns that a caution names."""

NOTHING_STATED = msg("No success factor is stated yet: say what has to go right, and what watches it.")

OFFERED = msg("Offered to begin with: common practice, no source. Nothing is recorded before you tap.")


def head_words(line: FactorFacts) -> str:
    """Say how a factor stands, and what has to go right."""
    return tr(_HEADS[line.state], factor=in_one_line(line.factor.factor))


def figure_words(line: FactorFacts) -> str:
    """Say the value, what it rests on, the target and the trend; begins with the name of the indicator."""
    indicator, judged, target = line.indicator, line.judged, line.target
    if indicator is None or judged is None or target is None:
        return tr(
            "{problem} Its target says {target}",
            problem=line.problem,
            target=decimal_text(line.factor.target),
        )
    basis = basis_text(indicator, judged.reading)
    value = value_text(indicator, judged.reading) or tr("not known")
    told = (
        f"{tr(indicator.name)}: {value}" + (f" ({basis})" if basis else ""),
        tr("target {target}", target=target_words(indicator, target)),
        trend_text(indicator, judged.trend) if judged.reading.is_known else "",
    )
    return ", ".join(filter(None, told))


def to_do_words(line: FactorFacts) -> str:
    """Say what is done when it is off, and who sees to it."""
    what = in_one_line(line.factor.when_off).removesuffix(".")
    if line.factor.owner:
        what = f"{what} ({in_one_line(line.factor.owner)})"
    return (
        tr("now: {what}", what=what)
        if line.state == OFF_TARGET
        else tr("when it is off: {what}", what=what)
    )


def sentence_of(line: FactorFacts) -> str:
    """Say all of a factor in one sentence: how it stands, the figure, the target, the trend, what to do."""
    return f"{head_words(line)} – {figure_words(line)}; {to_do_words(line)}."


def headline(board: IndicatorBoard) -> str:
    """Say how all of them stand.

    For example ``2 of 5 off target, 1 not shown to be on target, 2 on target.``
    """
    if not board.lines:
        return tr(NOTHING_STATED)
    told = [tr(_COUNTED[state], many=many) for state in ORDER if (many := board.count(state))]
    return tr("Of {lines}: {told}.", lines=len(board.lines), told=", ".join(told))


def board_lines(board: IndicatorBoard) -> Iterator[str]:
    """Tell the board of a stream for a terminal."""
    yield f"{board.desk.name}, {day_text(board.on)}: {headline(board)}"
    yield from (tr("Mind: {words}", words=words) for words in cautions_of(board))
    for line in board.lines:
        yield f"  {sentence_of(line)}"


def cautions_of(board: IndicatorBoard) -> Iterator[str]:
    """Say what has to be minded, a sentence each: safety first."""
    if board.untold:
        named = [in_one_line(facts.what) for facts in board.untold[:MOST_NAMED]]
        more = len(board.untold) - len(named)
        told = "; ".join(named)
        yield tr(
            "Safety or regulatory class, and it is not recorded who was told: {concerns}. Tell the "
            "responsible people by your site's rules and the customer's requirements.",
            concerns=tr("{names}, and {more} more", names=told, more=more) if more else told,
        )
    if many := len(board.conflicts):
        yield trn(
            "{count} success factor was corrected differently on two tablets; all are kept, and one counts "
            "until a person settles it.",
            "{count} success factors were corrected differently on two tablets; all are kept, and one "
            "counts until a person settles it.",
            many,
        )


def board_to_json(board: IndicatorBoard) -> dict[str, Any]:
    """Turn the board of a stream into JSON values: the same names always, null where nothing is known."""
    return {
        "stream": board.desk.stream,
        "stream_name": board.desk.name,
        "on": board.on.isoformat(),
        "sentence": headline(board),
        "counts": {state: board.count(state) for state in ORDER},
        "all_on_target": board.are_all_on_target,
        "factors": [_line_to_json(line) for line in board.lines],
        "cautions": list(cautions_of(board)),
        "notes": [tr(note) for note in NOTES],
    }


def _line_to_json(line: FactorFacts) -> dict[str, Any]:
    factor, indicator, judged = line.factor, line.indicator, line.judged
    trend = judged.trend if judged else None
    return {
        "id": factor.id,
        "factor": factor.factor,
        "indicator": factor.indicator,
        "indicator_name": tr(indicator.name) if indicator else None,
        "unit": indicator.unit if indicator else None,
        "more_is_better": indicator.more_is_better if indicator else None,
        "target": factor.target,
        "state": line.state,
        **_reading_to_json(judged.reading if judged else None),
        "trend": trend.word if trend else None,
        "trend_p": trend.p if trend else None,
        "before": float(trend.before.value)
        if trend and trend.before and trend.before.value is not None
        else None,
        "when_off": factor.when_off,
        "owner": factor.owner or None,
        "rule": tr(indicator.counts) if indicator else None,
        "does_not_know": tr(indicator.unknown) if indicator else None,
        "sentence": sentence_of(line),
    }


def _reading_to_json(reading: Reading | None) -> dict[str, Any]:
    known = reading or Reading()
    return {
        "value": float(known.value) if known.value is not None else None,
        "low": known.low,
        "high": known.high,
        "n": known.many,
        "hits": known.hits,
        "still_open": known.still_open,
    }
