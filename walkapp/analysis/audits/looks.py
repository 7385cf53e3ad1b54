"""One look at audits: what is compared, how far out it is, and what would be told of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from walkapp.analysis.audits.facts import AuditDone, Prompt
from walkapp.analysis.wording import p_in_words
from walkapp.language import tr

LEAST_AUDITS = 5
"""Audits that a group needs, and all others together, before anything is told."""

Groups = Mapping[str, tuple[AuditDone, ...]]
"""The audits of each group in the order in which they were begun; groups by name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One comparison of a group with the others.

    Parameters
    ----------
    group
        Name of the group.
    p
        Chance of something at least as far out when the group is like the others, above 0, at most 1.
    least
        The smallest p that could have come out, whatever was answered.
    tell
        Gives the prompt for a corrected p and the number of looks; none when it is too small a thing to
        tell, however sure it is.
    """

    group: str
    p: float
    least: float
    tell: Callable[[float, int], Prompt | None]


def corrected_text(p: float, many: int) -> str:
    """Write a corrected p, and for how many looks it was corrected.

    Examples
    --------
    >>> corrected_text(0.0123, 6)
    'p = 0.013 after correction for all looks (Holm; looks: 6)'
    """
    return tr("{p} after correction for all looks (Holm; looks: {many})", p=p_in_words(p), many=many)
