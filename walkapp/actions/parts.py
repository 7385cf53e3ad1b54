"""What a summary tells of a concern beyond where its defect starts, part by part."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from walkapp.actions.action_words import action_lines, actions_to_json
from walkapp.actions.concerns import facts_lines, facts_to_json
from walkapp.actions.confirmation_telling import confirmation_lines, confirmations_to_json
from walkapp.actions.containment import containment_of
from walkapp.actions.containment_telling import containment_lines, containment_to_json
from walkapp.actions.control_telling import control_lines, control_to_json
from walkapp.actions.days import today
from walkapp.actions.lessons import lesson_lines, lessons_of, lessons_to_json
from walkapp.actions.narrowing import narrow, narrowing_lines, narrowing_to_json
from walkapp.actions.onset import date_onset
from walkapp.actions.onset_words import onset_lines, onset_to_json
from walkapp.actions.parts_followed import followed_lines, followed_to_json
from walkapp.actions.read_across import read_across_lines, read_across_of, read_across_to_json
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.stages import stage_lines, stages_of, stages_to_json
from walkapp.actions.summaries import Summary
from walkapp.actions.trial_telling import trial_lines, trials_to_json
from walkapp.actions.trials import trials_of
from walkapp.actions.workplace import Workplace


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part of what is told of a concern.

    Parameters
    ----------
    lines
        Tells it for a terminal; nothing while there is nothing to tell.
    to_json
        Gives it as JSON values, always with the same names.
    without_stream
        What `to_json` gives while the checklist of the stream is not known; none for a part that does
        not need it.
    """

    lines: Callable[[Workplace, ConcernFacts], Sequence[str]]
    to_json: Callable[[Workplace, ConcernFacts], Mapping[str, Any]]
    without_stream: Mapping[str, Any] | None = None


PARTS: tuple[Part, ...] = (
    Part(
        lines=lambda _, facts: facts_lines(facts),
        to_json=lambda _, facts: {"facts": facts_to_json(facts)},
    ),
    Part(
        lines=lambda place, facts: stage_lines(stages_of(place, facts)),
        to_json=lambda place, facts: {"stages": stages_to_json(stages_of(place, facts))},
    ),
    Part(
        lines=lambda place, facts: action_lines(facts, today(place)),
        to_json=lambda place, facts: actions_to_json(facts, today(place)),
    ),
    Part(
        lines=lambda _, facts: narrowing_lines(narrow(facts)),
        to_json=lambda _, facts: narrowing_to_json(narrow(facts)),
        without_stream={"units": [], "measured": []},
    ),
    Part(
        lines=lambda _, facts: tuple(followed_lines(facts)),
        to_json=lambda _, facts: {"parts_followed": followed_to_json(facts)},
        without_stream={"parts_followed": None},
    ),
    Part(
        lines=lambda _, facts: onset_lines(date_onset(facts)),
        to_json=lambda _, facts: {"onset": onset_to_json(date_onset(facts))},
        without_stream={"onset": None},
    ),
    Part(
        lines=lambda _, facts: control_lines(facts),
        to_json=lambda _, facts: {"control_charts": control_to_json(facts)},
        without_stream={"control_charts": {"shares": None, "values": []}},
    ),
    Part(
        lines=lambda place, facts: containment_lines(containment_of(place, facts)),
        to_json=lambda place, facts: {"containment": containment_to_json(containment_of(place, facts))},
    ),
    Part(
        lines=lambda _, facts: trial_lines(trials_of(facts)),
        to_json=lambda _, facts: {"trials": trials_to_json(trials_of(facts))},
    ),
    Part(
        lines=lambda _, facts: confirmation_lines(facts),
        to_json=lambda _, facts: {"confirmations": confirmations_to_json(facts)},
    ),
    Part(
        lines=lambda place, facts: tuple(read_across_lines(read_across_of(place, facts))),
        to_json=lambda place, facts: {"read_across": read_across_to_json(read_across_of(place, facts))},
    ),
    Part(
        lines=lambda _, facts: tuple(lesson_lines(lessons_of(facts))),
        to_json=lambda _, facts: {"lessons": lessons_to_json(lessons_of(facts))},
    ),
)
"""The parts, in the order in which they are told."""


def part_lines(place: Workplace, summary: Summary) -> Iterator[str]:
    """Tell all parts of a concern, each after an empty line.

    Parameters
    ----------
    place
        Where the records and the checklists are.
    summary
        The concern.
    """
    for part in PARTS:
        if part.without_stream is not None and summary.answer is None:
            continue
        if lines := part.lines(place, summary.facts):
            yield ""
            yield from lines


def parts_to_json(place: Workplace, summary: Summary) -> dict[str, Any]:
    """Turn all parts of a concern into JSON values; parameters as for :func:`part_lines`."""
    said: dict[str, Any] = {}
    for part in PARTS:
        if part.without_stream is not None and summary.answer is None:
            said |= part.without_stream
        else:
            said |= part.to_json(place, summary.facts)
    return said
