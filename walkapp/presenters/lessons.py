"""What was learned from a concern: the list, and the form of the look back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from walkapp.actions.lessons import QUESTIONS, lessons_of, record_lesson
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.language import msg, tr, tr_choices, tr_each, trn
from walkapp.model.records import Lesson, Record
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, section_of
from walkapp.presenters.form import FormField, FormPage, as_options
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.wording import moment_text

CORRECTIONS = (msg("said more exactly"), msg("more was learned since"), msg("a mistake"))
"""Reasons to correct a lesson, to tap."""


def lessons_row(_place: Workplace, facts: ConcernFacts) -> ListRow:
    """Make the row of the concern's page."""
    lessons = lessons_of(facts)
    said = (
        trn("{count} lesson recorded.", "{count} lessons recorded.", len(lessons))
        if lessons
        else tr("Nothing is recorded yet.")
    )
    return ListRow(
        id="lessons", title=tr("Lessons"), subtitle=said, mark="clean" if lessons else "not_visited"
    )


class LessonsPage(BoardPage):
    """Presents what was learned, under the three questions of the look back."""

    kinds = (Lesson,)

    def _view(self) -> BoardState:
        facts = concern_facts(self.session.place, self.route.concern)
        lessons = lessons_of(facts)
        return BoardState(
            title=tr("Lessons"),
            subtitle=facts.concern.what,
            sentence=tr(
                "{lessons} recorded.", lessons=trn("{count} lesson", "{count} lessons", len(lessons))
            )
            if lessons
            else tr("Nothing is recorded yet: look back with those who took part."),
            sections=tuple(
                section_of(name, question, rows)
                for name, question in tr_choices(QUESTIONS.items())
                if (rows := [lesson_row(lesson, name) for lesson in lessons if getattr(lesson, name)])
            ),
            buttons=(BoardButton(name="lesson", text=tr("Record a lesson"), tone="strong"),),
        )

    def row(self, section: str, row: str) -> None:
        """Open a lesson to correct it."""
        self.session.go(replace(self.route, screen="lesson", entry=row.partition("/")[2]))

    def _in_short(self, entry: Record) -> str:
        return tr("a lesson")


def lesson_row(lesson: Lesson, question: str) -> ListRow:
    """Put one answer of a lesson into two lines; the row is named by question and lesson."""
    return ListRow(
        id=f"{question}/{lesson.id}",
        title=getattr(lesson, question),
        subtitle=f"{lesson.by}, {moment_text(lesson.at)}",
    )


class LessonForm(FormPage):
    """Records a lesson, or corrects one."""

    title = msg("Lesson")
    do = msg("Record this lesson")
    is_in_walk = False

    def _first_values(self) -> dict[str, str]:
        if not self.route.entry:
            return {}
        facts = concern_facts(self.session.place, self.route.concern)
        lesson = next((one for one in lessons_of(facts) if one.id == self.route.entry), None)
        if lesson is None:
            raise InputError(
                tr("This lesson was corrected or taken back meanwhile; go back and look at the list.")
            )
        self.title = tr("Correct a lesson")
        return {name: getattr(lesson, name) for name in QUESTIONS}

    def _fields(self) -> tuple[FormField, ...]:
        answers = tuple(
            FormField(name=name, label=question, lines=2, hint=tr(_HINTS[name]))
            for name, question in tr_choices(QUESTIONS.items())
        )
        if not self.route.entry:
            return answers
        why = FormField(
            name="why",
            label=tr("Why it is corrected"),
            form="choice",
            options=as_options(tr_each(CORRECTIONS)),
            is_required=True,
        )
        return (*answers, why)

    def _keep(self, values: Mapping[str, str]) -> Route:
        facts = concern_facts(self.session.place, self.route.concern)
        record_lesson(self.session.place, facts, corrects=self.route.entry, **values)
        return self.route.up()


_HINTS = {
    "worked": msg("At least one of the three is needed."),
    "did_not_work": msg("What cost time, what was missed, what misled"),
    "to_change": msg("A rule, a check, a way of working: so that others need not learn it again"),
}
