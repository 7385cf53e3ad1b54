"""On/off confirmations as the summary tells them: lines for a terminal, and JSON values."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from walkapp.actions.confirmations import (
    ConfirmationFacts,
    TurnFacts,
    confirmations_of,
    lost_text,
    without_confirmation,
)
from walkapp.actions.reading import ConcernFacts
from walkapp.analysis.on_off import StateFigures
from walkapp.language import tr


def confirmation_lines(facts: ConcernFacts) -> tuple[str, ...]:
    """Tell all on/off confirmations for a terminal; nothing while there is none."""
    return tuple(_lines(facts))


def _lines(facts: ConcernFacts) -> Iterator[str]:
    for found in confirmations_of(facts):
        what = found.record.what
        yield (
            tr("Switched on and off: {what} (invented)", what=what)
            if found.record.invented
            else tr("Switched on and off: {what}", what=what)
        )
        yield f"  {found.sentence}"
        yield from (f"    {line}" for line in found.lines)
        yield from (f"  {tr('Mind: {problem}', problem=problem)}" for problem in found.problems)
    if lost := without_confirmation(facts):
        yield lost_text(lost)


def confirmations_to_json(facts: ConcernFacts) -> list[dict[str, Any]]:
    """Turn them into JSON values; numbers unrounded, none where nothing is known."""
    return [_to_json(found) for found in confirmations_of(facts)]


def _to_json(found: ConfirmationFacts) -> dict[str, Any]:
    record, answer = found.record, found.answer
    return {
        "id": record.id,
        "station": record.station,
        "what": record.what,
        "on": record.on,
        "off": record.off,
        "response": record.response,
        "measured": record.measured,
        "unit_of_measure": record.unit_of_measure,
        "invented": record.invented,
        "verdict": found.verdict,
        "proves": found.proves,
        "sentence": found.sentence,
        "p_by_parts": answer.within,
        "p_is_exact": answer.draws == 0,
        "p_fisher": answer.pooled,
        "chance_by_turns": None if answer.by_turns is None else float(answer.by_turns),
        "further_turns": answer.further,
        "other_cause_may_remain": answer.may_remain,
        "state_on": _figures_to_json(answer.on),
        "state_off": _figures_to_json(answer.off),
        "turns": [_turn_to_json(turn) for turn in found.turns],
        "warnings": list(found.problems),
    }


def _figures_to_json(figures: StateFigures) -> Mapping[str, Any]:
    interval = figures.interval
    return {
        "turns": figures.turns,
        "checked": figures.checked,
        "nok": figures.nok,
        "share": figures.share,
        "low95": interval.low if interval else None,
        "high95": interval.high if interval else None,
        "mean": None if figures.mean is None else float(figures.mean),
    }


def _turn_to_json(turn: TurnFacts) -> Mapping[str, Any]:
    count = turn.count
    return {
        "turn": turn.number,
        "state": turn.state,
        "counts": not turn.problem,
        "checked": count.checked if count else None,
        "nok": count.nok if count else None,
        "values": [float(value) for value in turn.values],
    }
