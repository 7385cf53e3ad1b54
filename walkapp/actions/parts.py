"""What a summary tells of a concern beyond where its defect starts, part by part."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from walkapp.actions.narrowing import narrow, narrowing_lines, narrowing_to_json
from walkapp.actions.onset import date_onset
from walkapp.actions.onset_words import onset_lines, onset_to_json
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.summaries import Summary
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
        lines=lambda _, facts: narrowing_lines(narrow(facts)),
        to_json=lambda _, facts: narrowing_to_json(narrow(facts)),
        without_stream={"units": [], "measured": []},
    ),
    Part(
        lines=lambda _, facts: onset_lines(date_onset(facts)),
        to_json=lambda _, facts: {"onset": onset_to_json(date_onset(facts))},
        without_stream={"onset": None},
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
