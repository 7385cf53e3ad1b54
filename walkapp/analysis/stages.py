"""How far a concern is, derived from what is known and never typed.

The six stages do not wait for each other: parts may be contained before the origin is found. Nothing is
kept, so a stage that no longer holds, because bad parts came again, is gone at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from walkapp.language import msg, tr

CONTAINED, FOUND, PROVED, FIXED, VERIFIED, READ_ACROSS = STAGES = (
    "contained",
    "origin_found",
    "cause_proved",
    "fixed",
    "verified",
    "read_across",
)
"""Names of the stages, in the order of the work."""

WORDS = {
    CONTAINED: msg("contained"),
    FOUND: msg("origin found"),
    PROVED: msg("cause proved"),
    FIXED: msg("fixed"),
    VERIFIED: msg("verified"),
    READ_ACROSS: msg("read across"),
}
"""What is said of a stage that is reached."""

NOT_WORDS = {
    CONTAINED: msg("not contained"),
    FOUND: msg("origin not found"),
    PROVED: msg("cause not proved"),
    FIXED: msg("not fixed"),
    VERIFIED: msg("not verified"),
    READ_ACROSS: msg("not read across"),
}
"""What is said of a stage that is not reached."""

NEXT_WORDS = {
    CONTAINED: msg("contain the suspect parts"),
    FOUND: msg("find the first bad station"),
    PROVED: msg("prove the cause"),
    FIXED: msg("take the cause away"),
    VERIFIED: msg("check that it worked"),
    READ_ACROSS: msg("look at like stations"),
}
"""What is to be done for it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One stage of a concern.

    Parameters
    ----------
    name
        One of ``STAGES``.
    is_reached
        Whether the records show it.
    is_begun
        Whether anything was recorded towards it; a stage that is reached was begun.
    why
        What shows it, or what is missing, in one sentence.
    """

    name: str
    is_reached: bool
    is_begun: bool
    why: str

    @property
    def word(self) -> str:
        """What is said of it, reached or not."""
        return tr(WORDS[self.name]) if self.is_reached else tr(NOT_WORDS[self.name])


def stages_in_words(stages: Sequence[Stage]) -> str:
    """Say how far a concern is, and what comes next.

    Parameters
    ----------
    stages
        All six, in the order of the work.

    Returns
    -------
    str
        For example ``Shown: origin found, cause proved. Next: contain the suspect parts.``

    Examples
    --------
    >>> made = [Stage(name=n, is_reached=n == FOUND, is_begun=True, why="") for n in STAGES]
    >>> stages_in_words(made)
    'Shown: origin found. Next: contain the suspect parts.'
    """
    reached = ", ".join(stage.word for stage in stages if stage.is_reached)
    told = tr("Shown: {stages}.", stages=reached) if reached else tr("Nothing is shown yet.")
    open_stage = next((stage for stage in stages if not stage.is_reached), None)
    return (
        told
        if open_stage is None
        else tr("{told} Next: {next_words}.", told=told, next_words=tr(NEXT_WORDS[open_stage.name]))
    )
