"""What is chosen in a field, for people; its key in a record and a bundle is for programs."""

from __future__ import annotations

from walkapp.actions.audits.book import REACTION_WORDS
from walkapp.actions.containment import PLACE_WORDS
from walkapp.actions.read_across import STATUS_WORDS
from walkapp.analysis.on_off_words import STATE_WORDS
from walkapp.analysis.wording import (
    AIM_WORDS,
    ANSWER_WORDS,
    CHANGE_WORDS,
    DIRECTION_WORDS,
    FRACTION_WORDS,
    RESPONSE_WORDS,
    SEVERITY_WORDS,
    TOLD_WORDS,
)
from walkapp.language import msg, tr

CHOICE_WORDS = {
    "severity": SEVERITY_WORDS,
    "direction": DIRECTION_WORDS,
    "answer": ANSWER_WORDS,
    "called": ANSWER_WORDS,
    "limit": ANSWER_WORDS,
    "change": CHANGE_WORDS,
    "customer_told": TOLD_WORDS,
    "read_by": {"code": msg("read from a code"), "typed": msg("typed")},
    "media": {"image/jpeg": "JPEG", "image/png": "PNG"},
    "invented": {"true": TOLD_WORDS["yes"], "false": TOLD_WORDS["no"]},
    "known": {"bad": ANSWER_WORDS["not_ok"], "good": ANSWER_WORDS["ok"]},
    "place": PLACE_WORDS,
    "response": RESPONSE_WORDS,
    "fraction": FRACTION_WORDS,
    "state": STATE_WORDS,
    "aim": AIM_WORDS,
    "status": STATUS_WORDS,
    "reaction": REACTION_WORDS,
    "shape": {
        "arrow": msg("arrow"),
        "ring": msg("ring"),
        "line": msg("freehand line"),
        "words": msg("text"),
    },
}
"""Words of every choice by the name of its field, whichever kind of record has it."""


def said_choice(field: str, cell: str) -> str:
    """Say what is chosen in a field; a choice of a newer app by its key.

    Parameters
    ----------
    field
        Its name.
    cell
        What was chosen, as it stands in a table; empty where nothing was.
    """
    return tr(CHOICE_WORDS.get(field, {}).get(cell, cell)) if cell else ""
