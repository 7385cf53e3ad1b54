"""Actions in words, for the window and for the terminal, and as JSON values."""

from __future__ import annotations

from datetime import date
from typing import Any

from walkapp.actions.acting import (
    DONE,
    EFFECT_DUE,
    EFFECT_OVERDUE,
    NOT_EFFECTIVE,
    OPEN,
    OVERDUE,
    ActionFacts,
    actions_of,
    strays,
)
from walkapp.actions.days import in_days
from walkapp.actions.reading import ConcernFacts
from walkapp.analysis.effect import (
    BETTER,
    MISSED,
    WORSE,
    EffectAnswer,
    PartsJudged,
    ok_parts_needed,
    share_text,
)
from walkapp.analysis.wording import AIM_WORDS, days_text, named
from walkapp.language import day_said, tr, trn, whole_text
from walkapp.model.records import EffectCheck


def status_text(now: ActionFacts) -> str:
    """Say how an action stands, in a few words.

    Parameters
    ----------
    now
        The action.

    Returns
    -------
    str
        For example "overdue by 5 days"; begins with a small letter.
    """
    if now.status == OPEN:
        return tr("open, due {in_days}", in_days=in_days(now.days_left))
    if now.status == OVERDUE:
        return tr("overdue by {days}", days=days_text(-now.days_left))
    if now.status == EFFECT_DUE:
        return tr("done, effect check due {in_days}", in_days=in_days(now.days_left))
    if now.status == EFFECT_OVERDUE:
        return tr("done, effect check overdue by {days}", days=days_text(-now.days_left))
    if now.status == DONE:
        if now.action.aim == "corrective":
            return tr("done on {done_on}, effect not checked", done_on=day_said(now.done_on))
        return tr("done on {done_on}", done_on=day_said(now.done_on))
    return _not_effective(now.effect) if now.status == NOT_EFFECTIVE else tr(now.status)


def _not_effective(effect: EffectAnswer | None) -> str:
    if effect is None or effect.verdict not in (BETTER, WORSE):
        return tr(NOT_EFFECTIVE)
    if effect.verdict == WORSE:
        return tr("worse than before")
    if effect.criterion == MISSED:
        return tr("better, criterion not met")
    return tr("better, criterion not shown yet")


def moved_text(now: ActionFacts) -> str:
    """Say how often the due date was moved, and which was the first; empty when it never was."""
    moves = len(now.due_dates) - 1
    if not moves:
        return ""
    return trn(
        "due date moved once, first {due_dates}",
        "due date moved {count} times, first {due_dates}",
        moves,
        due_dates=day_said(now.due_dates[0]),
    )


def what_text(now: ActionFacts) -> str:
    """Give what is to be done, on one line."""
    return " ".join(now.action.what.split())


def cautions_of(now: ActionFacts) -> tuple[str, ...]:
    """Say what has to be minded of an action, a sentence each."""
    said = []
    days = sorted({record.done_on for record in now.done})
    if len(days) > 1:
        said.append(
            tr(
                "Recorded as done on {days}; the last day counts.",
                days=named((day_said(days[0]), day_said(days[-1]))),
            )
        )
    if now.done_on > now.today.isoformat():
        said.append(
            tr(
                "The day on which it was done, {done_on}, is still to come; correct it.",
                done_on=day_said(now.done_on),
            )
        )
    if now.set_aside:
        many = now.set_aside
        said.append(
            trn(
                "{count} effectiveness check does not count: made before it was done.",
                "{count} effectiveness checks do not count: made before it was done.",
                many,
            )
        )
    if now.checks and len(now.criteria) > 1:
        first = now.criteria[0]
        said.append(
            tr("The criterion was changed; there was none at first.")
            if first is None
            else tr(
                "The criterion was changed; the first one was: at most {share}.", share=share_text(first)
            )
        )
    if len(now.checks) > 1:
        said.append(
            tr(
                "{checks} effectiveness checks: the more are made, the likelier one of them "
                "calls chance an effect.",
                checks=len(now.checks),
            )
        )
    return tuple(said)


def advice_before(before: PartsJudged | None, at_most: float | None) -> str:
    """Say, before the parts after an action are checked, how many are needed.

    Examples
    --------
    >>> advice_before(None, 0.05)
    'Check at least 59 parts made after it: none NOK shows at most 5 % (95 % confidence).'
    """
    needed = ok_parts_needed(before, at_most)
    if needed is not None:
        shows = (
            tr("fewer NOK than before")
            if at_most is None
            else tr("at most {share}", share=share_text(at_most))
        )
        return tr(
            "Check at least {needed} parts made after it: none NOK shows {shows} (95 % confidence).",
            needed=whole_text(needed),
            shows=shows,
        )
    if at_most == 0:
        return tr("No number of parts can show 0 %; correct the criterion to a share above 0.")
    if before is None:
        return tr("No criterion is stated: fewer NOK parts than before decide alone.")
    if not before.nok:
        return tr("No part was NOK before: no number of parts can show that it got better.")
    return tr("More than a million parts would be needed to show it.")


def action_lines(facts: ConcernFacts, today: date) -> tuple[str, ...]:
    """Tell the actions of a concern for a terminal, the overdue ones first; nothing without any."""
    found, lost = actions_of(facts, today), len(strays(facts))
    if not found and not lost:
        return ()
    late = sum(now.is_late for now in found)
    head = (
        tr("Actions ({late} of {found} overdue):", late=late, found=len(found))
        if late
        else tr("Actions ({found}):", found=len(found))
    )
    lines = [head, *(f"  {_line(now)}" for now in found)]
    if lost:
        lines.append(f"  {tr('Mind: {words}', words=stray_text(lost))}")
    return tuple(lines)


def stray_text(many: int) -> str:
    """Say of so many records that their action is not here."""
    return trn(
        "{count} record belongs to actions that are not here.",
        "{count} records belong to actions that are not here.",
        many,
    )


def _line(now: ActionFacts) -> str:
    asked = trn("{count} verification question", "{count} verification questions", len(now.questions))
    details = (
        tr(AIM_WORDS[now.action.aim]),
        now.action.owner,
        tr("due {due_on}", due_on=day_said(now.action.due_on)),
        moved_text(now),
        asked if now.questions else "",
    )
    return f"{what_text(now)} ({', '.join(filter(None, details))}): {status_text(now)}"


def actions_to_json(facts: ConcernFacts, today: date) -> dict[str, Any]:
    """Turn the actions of a concern into JSON values; numbers unrounded, none where nothing is known."""
    found = actions_of(facts, today)
    return {
        "actions": [_to_json(now) for now in found],
        "actions_overdue": sum(now.is_late for now in found),
    }


def _to_json(now: ActionFacts) -> dict[str, Any]:
    action = now.action
    return {
        "id": now.id,
        "aim": action.aim,
        "what": action.what,
        "owner": action.owner,
        "station": action.station or None,
        "due_on": action.due_on,
        "due_dates": list(now.due_dates),
        "status": now.status,
        "days_overdue": -now.days_left if now.is_late else 0,
        "done_on": now.done_on or None,
        "evidence": [record.evidence for record in now.done],
        "pictures": len(now.pictures),
        "criterion": action.criterion or None,
        "at_most": now.at_most,
        "check_on": action.check_on or None,
        "effect": _effect_to_json(now.checks[-1], now.effect) if now.effect else None,
        "verification_questions": [
            {
                "station": question.station,
                "question": question.question,
                "from_on": question.from_on,
                "until_on": question.until_on,
            }
            for question in now.questions
        ],
    }


def _effect_to_json(check: EffectCheck, effect: EffectAnswer) -> dict[str, Any]:
    return {
        "checked_on": check.checked_on,
        "before_checked": check.before_checked,
        "before_nok": check.before_nok,
        "after_checked": check.after_checked,
        "after_nok": check.after_nok,
        "verdict": effect.verdict,
        "criterion": effect.criterion or None,
        "p_fewer_nok": effect.p_fewer,
        "drop_low95": effect.drop.low,
        "drop_high95": effect.drop.high,
        "after_at_most_95_one_sided": effect.after_limit.high,
        "more_ok_parts": effect.more_ok,
        "sentence": effect.sentence,
    }
