"""Reproduction trials, told for a terminal and as JSON values."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from walkapp.actions.trials import TrialFacts
from walkapp.analysis.factorial import Combination, Contrast, Effect
from walkapp.analysis.factorial_plan import LETTERS
from walkapp.analysis.factorial_words import both_text, chance_text, parts_text, verdict
from walkapp.language import day_said, tr


def trial_lines(trials: tuple[TrialFacts, ...]) -> tuple[str, ...]:
    """Tell the trials of a concern for a terminal; nothing where there is none."""
    if not trials:
        return ()
    return (tr("Reproduction trials:"), *(f"  {line}" for trial in trials for line in _lines(trial)))


def _lines(now: TrialFacts) -> Iterator[str]:
    yield tr(
        "{at}, {what} ({done} of {planned} runs): {sentence}",
        at=day_said(now.trial.at[:10]),
        what=now.trial.what,
        done=now.done,
        planned=len(now.planned),
        sentence=now.sentence,
    )
    if now.result is not None:
        yield from (f"  {effect_text(now, effect)}" for effect in now.result.effects)
    for remark in now.remarks:
        yield f"  {tr('Mind: {remark}', remark=remark)}"


def effect_text(now: TrialFacts, effect: Effect) -> str:
    """Say how large an effect of a finished trial is, how likely by chance, and what that shows."""
    contrast = effect.contrast
    figures = ", ".join(filter(None, (chance_text(contrast), parts_text(contrast))))
    return (
        f"{effect.term.letters} {now.names.term(effect.term)}: {now.names.size(contrast)}, "
        f"{figures}: {verdict(contrast)}"
    )


def trials_to_json(trials: tuple[TrialFacts, ...]) -> list[dict[str, Any]]:
    """Turn the trials of a concern into JSON values, always with the same names; numbers unrounded."""
    return [_to_json(trial) for trial in trials]


def _to_json(now: TrialFacts) -> dict[str, Any]:
    trial, design, result = now.trial, now.design, now.result
    return {
        "id": trial.id,
        "what": trial.what,
        "station": trial.station,
        "response": trial.response,
        "measured": trial.measured,
        "unit_of_measure": trial.unit_of_measure,
        "parts_per_run": trial.parts,
        "fraction": trial.fraction,
        "replicates": trial.replicates,
        "centres": trial.centres,
        "seed": trial.seed,
        "invented": trial.invented,
        "factors": [
            {
                "letter": LETTERS[factor.order - 1],
                "name": factor.name,
                "low": factor.low,
                "high": factor.high,
                "centre": factor.centre,
                "change": factor.change,
            }
            for factor in now.factors
        ],
        "aliases": list(design.alias_words) if design else [],
        "runs_planned": len(now.planned),
        "runs_done": now.done,
        "runs_missing": list(now.missing),
        "runs_recorded_twice": list(now.doubled),
        "effects": [_effect_to_json(now, effect) for effect in result.effects] if result else [],
        "curvature": _contrast_to_json(result.curvature) if result and result.curvature else None,
        "combination": (
            _combination_to_json(now, result.combination) if result and result.combination else None
        ),
        "makes_a_difference": list(now.what_differs),
        "sentence": now.sentence,
        "remarks": list(now.remarks),
    }


def _effect_to_json(now: TrialFacts, effect: Effect) -> dict[str, Any]:
    return {
        "effect": effect.term.letters,
        "name": now.names.term(effect.term),
        "aliases": list(effect.term.aliases),
        **_contrast_to_json(effect.contrast),
    }


def _combination_to_json(now: TrialFacts, combination: Combination) -> dict[str, Any]:
    return {
        "name": both_text(combination, now.names),
        "is_alone": combination.is_alone,
        **_contrast_to_json(combination.contrast),
    }


def _contrast_to_json(contrast: Contrast) -> dict[str, Any]:
    return {
        "size": float(contrast.size),
        "mean_high": float(contrast.high.mean),
        "mean_low": float(contrast.low.mean),
        "p": contrast.chance.p,
        "method": contrast.chance.method,
        "p_corrected": contrast.p_adjusted,
        "p_single_parts": contrast.p_parts,
        "p_single_parts_corrected": contrast.p_parts_adjusted,
        "verdict": verdict(contrast),
    }
