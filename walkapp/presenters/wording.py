"""Numbers and dates in words for people; the only place in the window that makes ``12.5 %``."""

from __future__ import annotations

import re

from walkapp.analysis.wording import (
    ANSWER_WORDS,
    SEVERITY_WORDS,
    VERDICT_MARKS,
    counts_text,
    moment_text,
    parts_in_words,
    percent,
    plans_in_words,
    share_range,
)
from walkapp.language import msg
from walkapp.model.checklist import Check, Stream
from walkapp.model.ids import short_id
from walkapp.model.records import Concern

__all__ = [
    "ANSWER_WORDS",
    "SAMPLE_WORDS",
    "SEVERITY_WORDS",
    "VERDICT_MARKS",
    "counts_text",
    "how_text",
    "moment_text",
    "parts_in_words",
    "percent",
    "plans_in_words",
    "share_range",
    "short_id",
]


SAMPLE_WORDS = {"ok": msg("OK sample"), "not_ok": msg("NOK sample")}
"""The limit samples of each side, said with :func:`walkapp.language.tr`."""


def short_names(sentence: str) -> str:
    """Shorten the ids and SHA-256 in a sentence, which no line of a tablet holds.

    Examples
    --------
    >>> short_names("journals/own/019cad2b-0b12-7000-8000-0000000014ab.journal, line 3 is damaged")
    'journals/own/..0014ab.journal, line 3 is damaged'
    """
    return _LONG_NAME.sub(lambda found: f"..{short_id(found[0])}", sentence)


_LONG_NAME = re.compile(r"\b(?:[0-9a-f]{64}|[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})\b", re.ASCII)


def how_text(check: Check, stream: Stream, concern: Concern) -> str:
    """Say how a part is judged: as the check says, else the concern, else the defect."""
    defect = stream.defect(check.finds)
    judged_for_concern = bool(check.finds) and check.finds == concern.defect
    return (
        check.how or (concern.how_to_judge if judged_for_concern else "") or (defect.how if defect else "")
    )
