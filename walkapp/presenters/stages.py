"""How far a concern is: six stages, each with what shows it or what is missing."""

from __future__ import annotations

from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.stages import stages_of
from walkapp.actions.workplace import Workplace
from walkapp.analysis.stages import (
    CONTAINED,
    FIXED,
    FOUND,
    PROVED,
    READ_ACROSS,
    VERIFIED,
    Stage,
    stages_in_words,
)
from walkapp.analysis.wording import capital
from walkapp.language import tr
from walkapp.presenters.board import BoardPage, BoardState, Section
from walkapp.presenters.rows import ListRow

PAGE_OF = {
    CONTAINED: "containment",
    FOUND: "answer",
    PROVED: "confirmations",
    FIXED: "actions",
    VERIFIED: "actions",
    READ_ACROSS: "read_across",
}
"""The page on which a stage is worked at."""


class StagesPage(BoardPage):
    """Presents the stages of a concern."""

    def row(self, section: str, row: str) -> None:
        """Go to the page on which the stage is worked at."""
        super().row(section, PAGE_OF[row])

    def _view(self) -> BoardState:
        facts = concern_facts(self.session.place, self.route.concern)
        stages = stages_of(self.session.place, facts)
        return BoardState(
            title=tr("How far it is"),
            subtitle=facts.concern.what,
            sentence=stages_in_words(stages),
            sections=(Section(name="stages", rows=tuple(_row(stage) for stage in stages)),),
            notes=(tr("Worked out from the records each time; nobody can type it."),),
        )


def stages_row(place: Workplace, facts: ConcernFacts) -> ListRow:
    """Make the row of a concern's page that says how far it is."""
    stages = stages_of(place, facts)
    reached = sum(stage.is_reached for stage in stages)
    return ListRow(
        id="stages",
        title=tr("How far it is: {reached} of {stages} stages shown", reached=reached, stages=len(stages)),
        subtitle=stages_in_words(stages),
        mark="clean" if reached == len(stages) else "undecided" if reached else "not_visited",
    )


def _row(stage: Stage) -> ListRow:
    mark = "clean" if stage.is_reached else "undecided" if stage.is_begun else "not_visited"
    return ListRow(id=stage.name, title=capital(stage.word), subtitle=stage.why, mark=mark)
