"""Invented readings of inspection-agreement studies, in short."""

from __future__ import annotations

from walkapp.analysis.agreement_results import Reading
from walkapp.analysis.study_plan import StudyPart


def study_parts(labels, bad="1"):
    return [StudyPart(label=label, defective=label in bad) for label in labels]


def flawless(bad, good, inspectors="AB", repeats=2):
    return [
        Reading(part=f"P{i}", defective=i < bad, inspector=who, repeat=n, called_nok=i < bad)
        for i in range(bad + good)
        for who in inspectors
        for n in range(1, repeats + 1)
    ]


def reading(part, defective, inspector, repeat, called_nok):
    return Reading(
        part=part, defective=defective, inspector=inspector, repeat=repeat, called_nok=called_nok
    )


def from_text(**by_inspector):
    """Readings by inspector; "b1:NN b2:NO g1:OO" is three parts, bad ones with b, an answer a repeat."""
    return [
        reading(part, part[0] == "b", inspector, repeat, answer == "N")
        for inspector, text in by_inspector.items()
        for part, answers in (item.split(":") for item in text.split())
        for repeat, answer in enumerate(answers, start=1)
        if answer in "NO"
    ]
