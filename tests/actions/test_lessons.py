"""Lessons: recorded, corrected, taken back and told."""

from __future__ import annotations

import pytest

from walkapp.actions.lessons import lesson_lines, lessons_of, lessons_to_json, record_lesson
from walkapp.actions.reading import concern_facts
from walkapp.actions.undoing import take_back
from walkapp.errors import InputError
from walkapp.model.records import Lesson


def facts(desk, concern):
    return concern_facts(desk.place, concern)


def test_a_lesson_is_recorded_corrected_and_what_was_before_comes_back(desk):
    concern = desk.concern()
    first = record_lesson(desk.place, facts(desk, concern), worked="Asking the setter")
    second = record_lesson(
        desk.place, facts(desk, concern), worked="Asking both setters", corrects=first.id, why="a mistake"
    )
    assert (second.replaces, lessons_of(facts(desk, concern))) == ((first.id,), (second,))

    take_back(desk.place, concern, (Lesson,))

    assert [one.worked for one in lessons_of(facts(desk, concern))] == ["Asking the setter"]


def test_a_lesson_without_a_word_and_one_that_holds_no_longer_are_refused(desk):
    concern = desk.concern()
    with pytest.raises(InputError, match="at least one of the three"):
        record_lesson(desk.place, facts(desk, concern), worked=" ", to_change="")
    gone = record_lesson(desk.place, facts(desk, concern), worked="Asking the setter")
    take_back(desk.place, concern, (Lesson,))

    with pytest.raises(InputError, match="corrected or taken back meanwhile"):
        record_lesson(desk.place, facts(desk, concern), worked="More", corrects=gone.id, why="a mistake")
    assert lessons_of(facts(desk, concern)) == ()


def test_lessons_are_told_by_their_questions(desk):
    concern = desk.concern()
    assert list(lesson_lines(())) == []
    record_lesson(desk.place, facts(desk, concern), worked="Asking first", to_change="Mark the lots")

    assert list(lesson_lines(lessons_of(facts(desk, concern)))) == [
        "Lessons:",
        "    What worked: Asking first (QE-RT, 2026-03-03)",
        "    What to change in how we work: Mark the lots (QE-RT, 2026-03-03)",
    ]
    (said,) = lessons_to_json(lessons_of(facts(desk, concern)))
    assert (said["worked"], said["did_not_work"], said["to_change"]) == (
        "Asking first",
        "",
        "Mark the lots",
    )
