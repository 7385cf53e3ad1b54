"""What the figures on audits are worked out from: audits with their answers, free of records and clocks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """One answer of an audit.

    Parameters
    ----------
    id
        Id of the record.
    station, ref
        Id of the station, and what was asked: station, then question.
    asked
        The question as it was asked.
    answer
        ``ok``, ``not_ok`` or ``not_applicable``.
    reason
        Why it did not apply; empty otherwise.
    at
        When it was answered first; a later correction does not move it.
    seconds
        Time since the answer before it, or since the audit was begun, in seconds; none where nothing is
        known of it: on paper, and where the clock went back.
    expected
        Time that the checklist gives for it, in seconds; none where that is not known.
    """

    id: str
    station: str
    ref: str
    asked: str
    answer: str
    reason: str
    at: datetime
    seconds: float | None
    expected: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditDone:
    """One audit that was begun, with its answers.

    Parameters
    ----------
    id
        Its id.
    layer, day, shift
        Which audit of the plan it is; the shift is empty for a layer that does not audit every shift.
    by
        Role and initials of who did it.
    begun, signed
        When; none while it is not signed. Of one on paper as the paper says.
    is_paper
        Whether it was done on paper and typed in.
    given
        Its answers that hold, in the order in which they were first given.
    unanswered
        How many of its questions have no answer.
    """

    id: str
    layer: str
    day: date
    shift: str
    by: str
    begun: datetime
    signed: datetime | None
    is_paper: bool
    given: tuple[Given, ...]
    unanswered: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Prompt:
    """Something that is worth going to see: never a judgement of anybody.

    Parameters
    ----------
    kind
        What was looked at, in a few words.
    where
        Where to go: a station, a layer, a shift, a question; in words.
    sentence
        What stands out, with its figures.
    lines
        How it was worked out, and what else may explain it, a line each.
    p
        Probability of something at least as far out if nothing is behind it, corrected for all that was
        looked at; none where there is no such figure.
    """

    kind: str
    where: str
    sentence: str
    lines: tuple[str, ...] = ()
    p: float | None = None
