"""Signs that answers may be filled in without looking: prompts to go and see together, never a judgement.

Three looks at each group of audits: its pace, its longest run of OK (with no NOK at all as the longest that
can be), and its longest run of N/A for one and the same reason. Each has an exact probability, and all
are corrected together for having looked several times.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from walkapp.analysis.audits.facts import AuditDone, Prompt
from walkapp.analysis.audits.looks import Groups
from walkapp.analysis.audits.pace import pace_looks
from walkapp.analysis.audits.runs import not_applicable_looks, ok_looks
from walkapp.analysis.audits.strata import Strata, in_order
from walkapp.analysis.many import holm, worth_testing

LEVEL = 0.05
"""A prompt is given below this, after correction for all that was looked at."""

MOST_GROUPS = 100
"""Groups that are looked at: those with the most audits. The others are compared with all the same."""


def signs_of(done: Sequence[AuditDone], by: Callable[[AuditDone], str]) -> tuple[Prompt, ...]:
    """Find groups of audits that are worth walking along with.

    Parameters
    ----------
    done
        Audits in any order; those on paper count for all but the pace.
    by
        Names the group that an audit belongs to: layer and shift, or role and initials.

    Returns
    -------
    tuple of Prompt
        Those with a probability first, the smallest first; then those compared with the checklist.

    Notes
    -----
    Where all groups look and answer alike, a prompt with a probability comes up in at most 5 % of such
    calls. What a group does alone for a good reason (a shift in which a station stands still) is a
    difference all the same; so each prompt says what else may explain it.
    """
    groups = _groups(done, by)
    tested = sorted(groups, key=lambda group: (-len(groups[group]), group))[:MOST_GROUPS]
    strata = Strata(done, by)
    looks, prompts = pace_looks(groups, tested)
    looks += ok_looks(groups, tested, strata)
    looks += not_applicable_looks(groups, tested, strata)
    worth = worth_testing([look.least for look in looks], LEVEL)
    looks = [look for look, is_worth in zip(looks, worth, strict=True) if is_worth]
    told = []
    for p, look in zip(holm([look.p for look in looks]), looks, strict=True):
        prompt = look.tell(p, len(looks)) if p < LEVEL else None
        if prompt is not None:
            told.append((p, prompt.kind, prompt.where, prompt))
    return (*(prompt for *_, prompt in sorted(told, key=lambda found: found[:3])), *prompts)


def _groups(done: Sequence[AuditDone], by: Callable[[AuditDone], str]) -> Groups:
    found: dict[str, list[AuditDone]] = {}
    for audit in in_order(done):
        found.setdefault(by(audit), []).append(audit)
    return {group: tuple(found[group]) for group in sorted(found)}
