"""What was learned from a concern: recording, correcting and telling it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.language import day_said, msg, tr
from walkapp.model.records import Lesson

QUESTIONS = {
    "worked": msg("What worked"),
    "did_not_work": msg("What did not work"),
    "to_change": msg("What to change in how we work"),
}
"""The questions of the look back, by the field of the record that answers them."""


def lessons_of(facts: ConcernFacts) -> tuple[Lesson, ...]:
    """Give the lessons that hold, oldest first."""
    return tuple(record for record in facts.standing.current if isinstance(record, Lesson))


def record_lesson(
    place: Workplace, facts: ConcernFacts, *, corrects: str = "", why: str = "", **answers: str
) -> Lesson:
    """Record a lesson, or correct one.

    Parameters
    ----------
    place
        Where to record it.
    facts
        The concern.
    corrects
        Id of the lesson that is corrected; empty for a new one.
    why
        Why it is corrected; needed with `corrects`.
    **answers
        Answers by the names of ``QUESTIONS``; at least one is not empty.

    Raises
    ------
    InputError
        If nothing was answered, or the lesson to correct no longer holds.
    """
    if not any(text.strip() for text in answers.values()):
        raise InputError(tr("Nothing is filled in: answer at least one of the three questions."))
    if not corrects:
        return place.add(Lesson, concern=facts.concern.concern, **answers)
    if all(lesson.id != corrects for lesson in lessons_of(facts)):
        raise InputError(
            tr("This lesson was corrected or taken back meanwhile; go back and look at the list.")
        )
    return place.add(Lesson, concern=facts.concern.concern, replaces=(corrects,), why=why, **answers)


def lesson_lines(lessons: Sequence[Lesson]) -> Iterator[str]:
    """Tell lessons for a terminal."""
    if not lessons:
        return
    yield tr("Lessons:")
    for lesson in lessons:
        for name, question in QUESTIONS.items():
            if answer := getattr(lesson, name):
                yield f"    {tr(question)}: {answer} ({lesson.by}, {day_said(lesson.at[:10])})"


def lessons_to_json(lessons: Sequence[Lesson]) -> list[dict[str, Any]]:
    """Turn lessons into JSON values."""
    return [
        {
            "id": lesson.id,
            "at": lesson.at,
            "by": lesson.by,
            **{name: getattr(lesson, name) for name in QUESTIONS},
        }
        for lesson in lessons
    ]
