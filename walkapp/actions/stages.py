"""How far a concern is: contained, origin found, cause proved, fixed, verified, read across."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from walkapp.actions.acting import EFFECTIVE, ActionFacts, actions_of
from walkapp.actions.confirmations import confirmations_of
from walkapp.actions.containment import containment_of
from walkapp.actions.days import today
from walkapp.actions.read_across import read_across_of
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.analysis.results import OriginAnswer
from walkapp.analysis.stages import (
    CONTAINED,
    FIXED,
    FOUND,
    PROVED,
    READ_ACROSS,
    VERIFIED,
    Stage,
    stages_in_words,
)
from walkapp.language import day_said, tr, trn
from walkapp.model.records import Escape


def stages_of(place: Workplace, facts: ConcernFacts) -> tuple[Stage, ...]:
    """Work out the six stages of a concern.

    Parameters
    ----------
    place
        Where the records and checklists are, and what day it is.
    facts
        The concern.

    Returns
    -------
    tuple of Stage
        In the order of the work.
    """
    corrective = tuple(a for a in actions_of(facts, today(place)) if a.action.aim == "corrective")
    return (
        _contained(place, facts),
        _found(facts.quick_answer),
        _proved(facts),
        _fixed(corrective),
        _verified(facts, corrective),
        _read_across(place, facts),
    )


def _contained(place: Workplace, facts: ConcernFacts) -> Stage:
    found = containment_of(place, facts)
    return Stage(name=CONTAINED, is_reached=found.is_contained, is_begun=found.is_begun, why=found.why)


def _found(answer: OriginAnswer | None) -> Stage:
    if answer is None:
        why = tr("The checklist of the value stream is not here, so the origin cannot be worked out.")
        return Stage(name=FOUND, is_reached=False, is_begun=False, why=why)
    begun = any(station.checked for station in answer.stations)
    return Stage(name=FOUND, is_reached=answer.is_sure, is_begun=begun, why=answer.sentence)


def _proved(facts: ConcernFacts) -> Stage:
    tried = facts.once(confirmations_of)
    proof = next((one for one in tried if one.proves), None)
    if proof is not None:
        return Stage(name=PROVED, is_reached=True, is_begun=True, why=proof.sentence)
    why = tried[-1].sentence if tried else tr("The suspected cause was not switched on and off yet.")
    return Stage(name=PROVED, is_reached=False, is_begun=bool(tried), why=why)


def _fixed(corrective: Sequence[ActionFacts]) -> Stage:
    is_open = [one for one in corrective if not one.done]
    if not corrective:
        why = tr("No corrective action is recorded.")
    elif is_open:
        why = tr(
            "{actions} not done yet: {what}.", actions=_actions(len(is_open)), what=is_open[0].action.what
        )
    else:
        why = tr("{actions} done.", actions=_actions(len(corrective)))
    reached = bool(corrective) and not is_open
    return Stage(name=FIXED, is_reached=reached, is_begun=bool(corrective), why=why)


def _verified(facts: ConcernFacts, corrective: Sequence[ActionFacts]) -> Stage:
    """Every corrective action was found effective, and no part made after the last of them escaped."""
    shown = [one for one in corrective if one.status == EFFECTIVE]
    waiting = [one for one in corrective if one.status != EFFECTIVE]
    came_again = _made_after_the_fix(facts, corrective)
    if not corrective:
        why = tr("There is no corrective action whose effect could be checked.")
    elif waiting:
        why = tr(
            "{actions} not found effective yet: {what}.",
            actions=_actions(len(waiting)),
            what=waiting[0].action.what,
        )
    elif came_again is not None:
        why = tr(
            "Bad parts made on {made_on}, after the fix, were found on {found_on}: {where}.",
            made_on=day_said(came_again.made_on),
            found_on=day_said(came_again.found_on),
            where=came_again.where,
        )
    else:
        why = tr("{actions} found effective.", actions=_actions(len(shown)))
    reached = bool(corrective) and not waiting and came_again is None
    return Stage(name=VERIFIED, is_reached=reached, is_begun=bool(shown), why=why)


def _made_after_the_fix(facts: ConcernFacts, corrective: Sequence[ActionFacts]) -> Escape | None:
    """The newest escape of parts made after the day on which the last corrective action was done."""
    done = [one.done_on for one in corrective if one.done_on]
    escapes = (r for r in facts.standing.current if isinstance(r, Escape))
    later = [r for r in escapes if done and r.made_on > max(done)]
    return max(later, key=lambda r: (r.made_on, r.id), default=None)


def _read_across(place: Workplace, facts: ConcernFacts) -> Stage:
    found = read_across_of(place, facts)
    begun = any(one.latest is not None for one in found.candidates)
    return Stage(name=READ_ACROSS, is_reached=found.is_complete, is_begun=begun, why=found.why)


def _actions(many: int) -> str:
    return trn("{count} corrective action", "{count} corrective actions", many)


def stage_lines(stages: Sequence[Stage]) -> tuple[str, ...]:
    """Tell it for a terminal."""
    return (
        tr("How far it is: {stages}", stages=stages_in_words(stages)),
        *(f"  {stage.word}: {stage.why}" for stage in stages),
    )


def stages_to_json(stages: Sequence[Stage]) -> Mapping[str, Any]:
    """Turn the stages into JSON values, by name."""
    return {stage.name: {"reached": stage.is_reached, "why": stage.why} for stage in stages}
