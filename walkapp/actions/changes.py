"""Change points of a concern beyond the moment they are recorded: found again, corrected, taken back."""

from __future__ import annotations

from collections import Counter
from typing import Any

from walkapp.actions.days import refuse_to_come
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.reasons import SETTLED, TAKEN_BACK, UNDO
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.language import msg, tr
from walkapp.model.records import ChangePoint, Record, Withdrawal, what_is_said

WHEN = msg("When")
"""What the day of a change is called on its pages."""


def change_points(facts: ConcernFacts) -> tuple[ChangePoint, ...]:
    """Give the change points of a concern that hold, sorted by id."""
    return tuple(record for record in facts.standing.current if isinstance(record, ChangePoint))


def find_change(place: Workplace, facts: ConcernFacts, entry: str) -> ChangePoint:
    """Find a change point, also by the id that it had before it was corrected.

    Parameters
    ----------
    place
        Where the records are.
    facts
        The concern.
    entry
        Id of the change point, or of one that it corrects.

    Raises
    ------
    InputError
        If there is none, or it was taken back.
    """
    current = {point.id: point for point in change_points(facts)}
    concern = facts.concern.concern
    followed_by: dict[str, list[str]] = {}
    for scope in (concern, *place.store.walks(concern)):
        for record in place.store.records(scope):
            for replaced in record.replaces:
                followed_by.setdefault(replaced, []).append(record.id)
    waiting, seen = [entry], {entry}
    while waiting:
        here = waiting.pop()
        if here in current:
            return current[here]
        # Two tablets may have corrected it differently; one of their records is the one that holds.
        news = [other for other in followed_by.get(here, ()) if other not in seen]
        waiting += news
        seen.update(news)
    raise InputError(tr("This change point is not here, or was taken back; go back to the list."))


def correct_change(
    place: Workplace, facts: ConcernFacts, entry: str, *, why: str, **said: Any
) -> ChangePoint:
    """Correct a change point by a new record, which lies where the first one does.

    Parameters
    ----------
    place
        Where to write.
    facts
        The concern.
    entry
        As for :func:`find_change`.
    why
        Why it is corrected.
    said
        All fields of :class:`walkapp.model.records.ChangePoint`.

    Raises
    ------
    InputError
        If there is no such change point, its day is still to come, or nothing is different.
    RecordError
        If a value is not allowed.
    """
    point = find_change(place, facts, entry)
    refuse_to_come(place, tr(WHEN), said["changed_on"])
    if said == what_is_said(point):
        raise InputError(tr("Nothing is different from what is recorded; change something, or go back."))
    return place.add(
        ChangePoint, **said, concern=point.concern, walk=point.walk, replaces=(point.id,), why=why
    )


def may_be_taken_back(point: ChangePoint, device: str) -> bool:
    """Whether this tablet can take a change point, or its newest correction, back.

    Not what another tablet said or a person settled, and not what taking back brought back: that would
    never end.
    """
    own = point.device == device
    return own and point.why not in (UNDO, TAKEN_BACK) and not point.why.startswith(SETTLED)


def take_back_change(place: Workplace, point: ChangePoint) -> Record:
    """Take a change point back; of a correction, what it corrected holds again.

    Parameters
    ----------
    place
        Where to write.
    point
        One of which :func:`may_be_taken_back` is true.
    """
    before = next((r for r in place.store.records(point.scope) if r.id in point.replaces), None)
    ids: dict[str, Any] = {"concern": point.concern, "walk": point.walk, "replaces": (point.id,)}
    if isinstance(before, ChangePoint):
        return place.add(ChangePoint, **what_is_said(before), **ids, why=TAKEN_BACK)
    return place.add(Withdrawal, **ids, why=TAKEN_BACK)


def roles_used(facts: ConcernFacts) -> tuple[str, ...]:
    """Give the roles that approved changes of this concern, the most frequent first."""
    counted = Counter(point.approved_by for point in change_points(facts) if point.approved_by)
    return tuple(sorted(counted, key=lambda role: (-counted[role], role)))
