"""The reasons that the program itself writes into records that correct others or take them back."""

from __future__ import annotations

from walkapp.language import msg, tr

UNDO = msg("undo")
"""Written when an entry is taken back, and what was before it holds again."""

SETTLED = "settled: "
"""Begins the reason of a record by which a person decided between entries that contradict each other."""

TAKEN_BACK = msg("taken back")
"""Written when a certain entry is taken back, whichever came after it."""

COVERED = msg("covered a place")
"""Written into the record of a copy when one more place was covered."""

UNCOVERED = msg("took a covered place back")
"""Written when the place that was covered last was taken back."""

COVERS_ALL = msg("covers all that any copy covers")
REDRAWN = msg("drawn anew")
"""Written when a mark on a picture was moved, made larger or smaller, or given other words."""

ANEW = msg("made anew by this version")
CORRECTED = msg("corrected by the walker")
COUNTED_ON = msg("counted on")
CHOSEN_ANEW = msg("chosen anew from an inspection study")
NOT_WANTED = msg("the rates of the checklist are to count again")
RECORDED_TWICE = msg("the same run was recorded twice")
NEWER = msg("newer word on this station")

TAKES_BACK = frozenset({UNDO, TAKEN_BACK, UNCOVERED})
"""Those of records that only take something back."""

OWN_REASONS = frozenset(
    {
        UNDO, TAKEN_BACK, COVERED, UNCOVERED, COVERS_ALL, ANEW, CORRECTED, COUNTED_ON, CHOSEN_ANEW,
        NOT_WANTED, RECORDED_TWICE, NEWER, REDRAWN,
    }
)  # fmt: skip
"""Those that nobody typed a word of; what follows ``SETTLED`` was typed."""


def said_reason(why: str) -> str:
    """Say a reason: what a person typed as it stands, what the program wrote in words of the language.

    Parameters
    ----------
    why
        As it is recorded.
    """
    if why in OWN_REASONS:
        return tr(why)
    if why.startswith(SETTLED):
        return tr("settled: {why}", why=why.removeprefix(SETTLED))
    return why
