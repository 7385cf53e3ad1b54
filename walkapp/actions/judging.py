"""Pictures of a concern outside any walk: limit samples to judge by, and evidence of what was done."""

from __future__ import annotations

from walkapp.actions.books import Facts
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.language import tr
from walkapp.model.records import LIMITS, Photo, Withdrawal


def limit_samples(facts: Facts, limit: str) -> tuple[Photo, ...]:
    """Give the pictures of one side of the limit, the newest first.

    Parameters
    ----------
    facts
        The concern.
    limit
        ``ok`` or ``not_ok``.
    """
    return tuple(photo for photo in reversed(_outside_walks(facts)) if photo.limit == limit)


def on_both_sides(facts: ConcernFacts) -> frozenset[str]:
    """Give the SHA-256 of the pictures that are shown as OK and as NOK: tablets contradict each other."""
    ok, not_ok = ({photo.sha256 for photo in limit_samples(facts, limit)} for limit in LIMITS)
    return frozenset(ok & not_ok)


def evidence_of(facts: Facts, entry_id: str) -> tuple[Photo, ...]:
    """Give the pictures that are evidence of an entry, the oldest first.

    Parameters
    ----------
    facts
        The concern, or the audit book.
    entry_id
        Id of the action, trial, finding of an audit or other entry.
    """
    return tuple(photo for photo in _outside_walks(facts) if entry_id and photo.about == entry_id)


def drop_sample(place: Workplace, facts: ConcernFacts, photo_id: str, why: str) -> Withdrawal:
    """Say that a picture is no limit sample any more, whoever took it in.

    What is covered in it stays covered, should this be undone.

    Parameters
    ----------
    place
        Where to write.
    facts
        The concern.
    photo_id
        Id of its record.
    why
        Why.

    Raises
    ------
    InputError
        If it is none now.
    """
    photo = next((r for limit in LIMITS for r in limit_samples(facts, limit) if r.id == photo_id), None)
    if photo is None:
        raise InputError(tr("This picture is no longer a limit sample; choose another one."))
    return place.add(Withdrawal, concern=photo.concern, replaces=(photo.id,), why=why)


def judging_text(facts: ConcernFacts) -> str:
    """Say how a part is judged: as the concern says, else as the checklist does; empty for neither."""
    defect = facts.stream.defect(facts.concern.defect) if facts.stream else None
    return facts.concern.how_to_judge or (defect.how if defect else "")


def _outside_walks(facts: Facts) -> tuple[Photo, ...]:
    return tuple(r for r in facts.standing.current if isinstance(r, Photo) and not r.walk)
