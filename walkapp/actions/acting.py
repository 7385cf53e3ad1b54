"""The actions of a concern: how each stands on a day, worked out from its records and never typed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import groupby
from typing import TypeVar

from walkapp.actions import days
from walkapp.actions.reading import ConcernFacts, all_concerns, concern_facts
from walkapp.actions.reasons import UNDO
from walkapp.actions.workplace import Workplace
from walkapp.analysis.effect import EFFECTIVE as WORKED
from walkapp.analysis.effect import EffectAnswer, PartsJudged, judge_effect
from walkapp.errors import InputError
from walkapp.language import msg, tr
from walkapp.model.records import (
    Action,
    ActionDone,
    EffectCheck,
    Photo,
    Record,
    WatchQuestion,
    what_is_said,
)

OPEN, OVERDUE, DONE, EFFECT_DUE, EFFECT_OVERDUE, EFFECTIVE, NOT_EFFECTIVE = (
    msg("open"),
    msg("overdue"),
    msg("done"),
    msg("effect check due"),
    msg("effect check overdue"),
    msg("effective"),
    msg("not shown to be effective"),
)
"""How an action stands; always exactly one of these."""

GONE = msg("This action is not here: it was taken back, or its bundle is still to be merged.")

LATE = (OVERDUE, EFFECT_OVERDUE)
CLOSED = (DONE, EFFECTIVE)


@dataclass(frozen=True)
class ActionFacts:
    """Everything known of one action on one day.

    Parameters
    ----------
    action
        What is to be done, as corrected.
    today
        The day.
    done
        The records that say that it was done, by day; several when two tablets said so.
    checks
        The effectiveness checks that count, by day; none of them before it was done.
    set_aside
        Effectiveness checks that do not count: the action is not recorded as done, or was done after them.
    questions
        The verification questions that it gave, by their first day.
    pictures
        Pictures that are evidence of it.
    history
        What was said of it, through all corrections, the first word first and the one that holds last;
        without what was undone.
    """

    action: Action
    today: date
    done: tuple[ActionDone, ...]
    checks: tuple[EffectCheck, ...]
    set_aside: int
    questions: tuple[WatchQuestion, ...]
    pictures: tuple[Photo, ...]
    history: tuple[Action, ...]

    @property
    def id(self) -> str:
        """Id of the action, the same through all corrections."""
        return self.action.action

    @cached_property
    def status(self) -> str:
        """How it stands: one of the words of this module."""
        today = self.today.isoformat()
        if not self.done:
            return OVERDUE if self.action.due_on < today else OPEN
        if self.effect is not None:
            return EFFECTIVE if self.effect.verdict == WORKED else NOT_EFFECTIVE
        if not self.action.check_on:
            return DONE
        return EFFECT_OVERDUE if self.action.check_on < today else EFFECT_DUE

    @property
    def is_late(self) -> bool:
        """Whether it should have been done, or its effect checked, before today."""
        return self.status in LATE

    @property
    def is_closed(self) -> bool:
        """Whether nothing is left to do that is known here."""
        return self.status in CLOSED

    @property
    def day(self) -> str:
        """The day that counts next: until when it is to be done or, once done, its effect checked."""
        return self.action.check_on if self.done and self.action.check_on else self.action.due_on

    @property
    def days_left(self) -> int:
        """Days until :attr:`day`; below 0 when it has passed."""
        return (date.fromisoformat(self.day) - self.today).days

    @property
    def done_on(self) -> str:
        """When it was done: the last day that was said; empty when it is not."""
        return self.done[-1].done_on if self.done else ""

    @cached_property
    def effect(self) -> EffectAnswer | None:
        """What the newest effectiveness check says; none before the first."""
        return self.effect_of(self.checks[-1]) if self.checks else None

    def effect_of(self, check: EffectCheck) -> EffectAnswer:
        """Say what a check of this action means by the criterion as it is now."""
        return judge_effect(
            PartsJudged(checked=check.before_checked, nok=check.before_nok),
            PartsJudged(checked=check.after_checked, nok=check.after_nok),
            self.at_most,
        )

    @property
    def at_most(self) -> float | None:
        """The criterion as a share, 0 to below 1; none when none is stated."""
        return float(self.action.at_most) if self.action.at_most else None

    @property
    def due_dates(self) -> tuple[str, ...]:
        """Every day that it was due on, the first one first."""
        return tuple(day for day, _ in groupby(said.due_on for said in self.history))

    @property
    def criteria(self) -> tuple[float | None, ...]:
        """Every criterion that it had, as a share or none, the first one first."""
        shares = (float(said.at_most) if said.at_most else None for said in self.history)
        return tuple(share for share, _ in groupby(shares))

    @property
    def gives_question(self) -> bool:
        """Whether layered audits should ask whether it is still in place."""
        return self.action.aim == "corrective" and bool(self.done)


@dataclass(frozen=True, slots=True, kw_only=True)
class Overdue:
    """What is overdue of one concern.

    Parameters
    ----------
    facts
        The concern.
    actions
        Its overdue actions, at least one, the one that is overdue longest first.
    """

    facts: ConcernFacts
    actions: tuple[ActionFacts, ...]

    @property
    def worst(self) -> ActionFacts:
        """The action that is overdue longest."""
        return self.actions[0]


def actions_of(facts: ConcernFacts, today: date) -> tuple[ActionFacts, ...]:
    """Give all actions of a concern, as they stand on a day.

    Parameters
    ----------
    facts
        The concern.
    today
        The day.

    Returns
    -------
    tuple of ActionFacts
        The overdue ones first, then those that are not closed, then the closed ones; each by the day that
        counts next, then by id. Where two records open the same action apart from each other, the one
        with the greater id holds. What belongs to an action that is not here counts nowhere (see
        :func:`strays`).
    """
    held = facts.standing.current
    opened = {record.action: record for record in held if isinstance(record, Action)}
    done, checks = _by_action(held, ActionDone), _by_action(held, EffectCheck)
    questions = _by_action(held, WatchQuestion)
    pictures: dict[str, list[Photo]] = {}
    for record in held:
        if isinstance(record, Photo) and record.about in opened:
            pictures.setdefault(record.about, []).append(record)
    history: dict[str, list[Action]] = {}
    for record in facts.everything:
        if isinstance(record, Action):
            history.setdefault(record.action, []).append(record)
    found = []
    for action in opened.values():
        finished = sorted(done.get(action.action, ()), key=lambda r: (r.done_on, r.id))
        made = sorted(checks.get(action.action, ()), key=lambda r: (r.checked_on, r.id))
        counted = [c for c in made if finished and c.checked_on >= finished[-1].done_on]
        asked = sorted(questions.get(action.action, ()), key=lambda r: (r.from_on, r.id))
        found.append(
            ActionFacts(
                action=action,
                today=today,
                done=tuple(finished),
                checks=tuple(counted),
                set_aside=len(made) - len(counted),
                questions=tuple(asked),
                pictures=tuple(pictures.get(action.action, ())),
                history=_history(action, history.get(action.action, ())),
            )
        )
    return tuple(sorted(found, key=lambda a: (not a.is_late, a.is_closed, a.day, a.id)))


Told = TypeVar("Told", ActionDone, EffectCheck, WatchQuestion)


def _by_action(held: Iterable[Record], kind: type[Told]) -> dict[str, list[Told]]:
    found: dict[str, list[Told]] = {}
    for record in held:
        if isinstance(record, kind):
            found.setdefault(record.action, []).append(record)
    return found


def _history(action: Action, everything: Iterable[Action]) -> tuple[Action, ...]:
    """Follow the corrections of an action back to its first word; what was undone is left out."""
    known: dict[str, Action] = {}
    meant: dict[str, Action] = {}

    def corrected(record: Action) -> Action | None:
        return max(
            (known[one] for one in record.replaces if one in known), key=lambda r: r.id, default=None
        )

    for record in sorted(everything, key=lambda r: (r.id, r.number)):
        undone = corrected(record) if record.why == UNDO else None
        before = corrected(meant[undone.id]) if undone else None
        # Whoever merely gives "undo" as the reason of another change hides nothing by it.
        is_undo = before is not None and what_is_said(before) == what_is_said(record)
        known[record.id], meant[record.id] = record, meant[before.id] if before and is_undo else record
    found: list[Action] = []
    here: Action | None = meant.get(action.id)
    seen: set[str] = set()
    while here is not None and here.id not in seen:
        seen.add(here.id)
        found.append(here)
        before = corrected(here)
        here = meant[before.id] if before else None
    return tuple(reversed(found)) or (action,)


def strays(facts: ConcernFacts) -> tuple[Record, ...]:
    """Find what belongs to actions that are not here: taken back, or in a bundle that is still to come."""
    held = facts.standing.current
    opened = {record.action for record in held if isinstance(record, Action)}
    kinds = (ActionDone, EffectCheck, WatchQuestion)
    return tuple(r for r in held if isinstance(r, kinds) and r.action not in opened)


def action_facts(place: Workplace, concern: str, action: str) -> ActionFacts:
    """Read one action as it stands today.

    Raises
    ------
    InputError
        If the store has no such action.
    """
    return find_action(actions_of(concern_facts(place, concern), days.today(place)), action)


def find_action(found: Iterable[ActionFacts], action: str) -> ActionFacts:
    """Pick one action out of all.

    Raises
    ------
    InputError
        If it is not there.
    """
    for one in found:
        if one.id == action:
            return one
    raise InputError(tr(GONE))


def overdue_among(concerns: Iterable[ConcernFacts], today: date) -> tuple[Overdue, ...]:
    """Find what is overdue, the concern with the action that is overdue longest first.

    Parameters
    ----------
    concerns
        The concerns to look at.
    today
        The day.
    """
    found = []
    for facts in concerns:
        late = sorted((a for a in actions_of(facts, today) if a.is_late), key=_longest_first)
        if late:
            found.append(Overdue(facts=facts, actions=tuple(late)))
    return tuple(sorted(found, key=lambda o: (*_longest_first(o.worst), o.facts.concern.concern)))


def _longest_first(one: ActionFacts) -> tuple[int, str]:
    return one.days_left, one.id


def watch_questions(place: Workplace, stream: str) -> tuple[WatchQuestion, ...]:
    """Give the verification questions of all concerns of a stream, by first day, then id.

    Parameters
    ----------
    place
        Where the records are.
    stream
        Id of the value stream.

    Returns
    -------
    tuple of WatchQuestion
        Those that hold and whose action is here and done; on which days each is asked, it says itself.
    """
    today = days.today(place)
    found: Sequence[WatchQuestion] = [
        question
        for facts in all_concerns(place)
        if facts.concern.stream == stream
        for action in actions_of(facts, today)
        if action.done
        for question in action.questions
    ]
    return tuple(sorted(found, key=lambda question: (question.from_on, question.id)))
