"""Short ways to say what matters of audits."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from walkapp.analysis.audits.facts import AuditDone, Given

MONDAY = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)

WORDS = {"o": "ok", "n": "not_ok", "-": "not_applicable"}


def audit(number, group, answers, *, day=0, refs=None, times=None, reason="stands still", is_paper=False):
    """Make one audit.

    Parameters
    ----------
    number
        Its number; the id follows from it.
    group
        Its layer.
    answers
        A letter for each answer: o (OK), n (NOK) or - (N/A).
    day
        Days after Monday 2026-03-02.
    refs
        Station and question of each answer, such as "a/1"; otherwise a/1, a/2, ...
    times
        Seconds of each answer; otherwise 20 each.
    """
    refs = refs or [f"a/{place}" for place in range(1, len(answers) + 1)]
    times = times or [20.0] * len(answers)
    begun = MONDAY + timedelta(days=day, minutes=number)
    at, given = begun, []
    for answer, ref, seconds in zip(answers, refs, times, strict=True):
        at += timedelta(seconds=seconds if seconds and 0 < seconds < 1e6 else 0)
        given.append(
            Given(
                id=f"{number:05}-{ref}",
                station=ref.split("/")[0],
                ref=ref,
                asked=f"Is {ref} right?",
                answer=WORDS[answer],
                reason=reason if answer == "-" else "",
                at=at,
                seconds=None if is_paper else seconds,
                expected=30.0,
            )
        )
    return AuditDone(
        id=f"{number:05}",
        layer=group,
        day=begun.date(),
        shift="",
        by=f"{group}-AB",
        begun=begun,
        signed=at,
        is_paper=is_paper,
        given=tuple(given),
        unanswered=0,
    )


def layer_of(done):
    """Group audits by layer."""
    return done.layer
