"""What is known of every concern, in short."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from walkapp.actions.disputes import Dispute, disputes_of, disputes_to_json
from walkapp.actions.reading import ConcernFacts, all_concerns, concern_facts
from walkapp.actions.workplace import Workplace
from walkapp.analysis.locate import answer_to_json
from walkapp.analysis.results import OriginAnswer
from walkapp.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """What is known of one concern, ready to be told.

    Parameters
    ----------
    facts
        The concern, its walks and records.
    answer
        Where the defect starts; none when the checklist is not known.
    disputes
        Entries that contradict each other, each with all its values.
    trouble
        Why there is no answer; empty when there is one.
    """

    facts: ConcernFacts
    answer: OriginAnswer | None
    disputes: tuple[Dispute, ...] = ()
    trouble: str = ""


def summarise(place: Workplace, *, thorough: bool = True, concern: str = "") -> tuple[Summary, ...]:
    """Work out the answer of every concern, newest first.

    Parameters
    ----------
    place
        Where the records are.
    thorough
        Whether to work out as well how much each answer depends on the checks.
    concern
        Id of the only concern that is asked for; all when empty.

    Raises
    ------
    InputError
        If there is no such concern.
    """
    found = []
    for facts in (concern_facts(place, concern),) if concern else all_concerns(place):
        disputes = disputes_of(place, facts)
        try:
            found.append(Summary(facts=facts, answer=facts.locate(thorough=thorough), disputes=disputes))
        except InputError as error:
            found.append(Summary(facts=facts, answer=None, disputes=disputes, trouble=str(error)))
    return tuple(found)


def summary_to_json(summary: Summary) -> dict[str, Any]:
    """Turn a summary into JSON values: the concern's own, then those of ``locate``."""
    concern = summary.facts.concern
    defect = summary.facts.stream.defect(concern.defect) if summary.facts.stream else None
    said: dict[str, Any] = {
        "concern": concern.concern,
        "what": concern.what,
        "defect": concern.defect,
        "defect_name": defect.name if defect else concern.defect,
        "stream": concern.stream,
        "severity": concern.severity,
        "walks": len(summary.facts.walks),
        "escalation_missing": summary.facts.needs_escalation,
        "conflicts": disputes_to_json(summary.disputes),
    }
    if summary.answer is not None:
        return said | answer_to_json(summary.answer)
    return said | {
        "first_bad_station": None,
        "probability": None,
        "plain_rule_station": None,
        "stations": [],
        "none_probability": None,
        "next": None,
        "assumptions": None,
        "warnings": [summary.trouble],
    }
