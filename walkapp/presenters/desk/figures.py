"""The figures of a concern or of a value stream: which there are, and what each shows."""

from __future__ import annotations

from contextlib import suppress

from walkapp.actions.desk import DeskFacts, desk_streams
from walkapp.actions.figures.catalogue import kind_words, kinds_of_figures
from walkapp.actions.figures.writing import facts_to_draw
from walkapp.actions.reading import ConcernFacts, all_concerns
from walkapp.actions.workplace import Workplace
from walkapp.errors import ChecklistError
from walkapp.language import day_said, tr, trn
from walkapp.presenters.board import BoardPage, BoardState, Section, section_of
from walkapp.presenters.escalation import CAUTION
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow

STREAMS, CONCERNS, DRAWN = "streams", "concerns", "drawn"


def figures_row(_place: Workplace, _facts: ConcernFacts) -> ListRow:
    """Lead to the figures of a concern."""
    return ListRow(
        id="figures",
        title=tr("Figures"),
        subtitle=tr("Shares, measurements, time, counts, actions: drawn to print"),
    )


class AllFiguresPage(BoardPage):
    """Asks which value stream or concern the figures are to be of."""

    def row(self, section: str, row: str) -> None:
        """Go to the figures of what was chosen."""
        chosen = {"stream": row, "concern": ""} if section == STREAMS else {"stream": "", "concern": row}
        self.session.go(self.route.down("figures", **chosen))

    def _view(self) -> BoardState:
        place = self.session.place
        concerns = all_concerns(place)
        names = {facts.concern.stream: facts.stream.name for facts in reversed(concerns) if facts.stream}
        with suppress(ChecklistError):  # home says what is wrong with the checklists
            names |= {stream: known.name for stream, known in place.streams().items()}
        return BoardState(
            title=tr("Figures"),
            sentence=tr("Of what?"),
            sections=(
                section_of(
                    STREAMS,
                    tr("Value streams"),
                    [
                        ListRow(
                            id=stream,
                            title=names.get(stream, stream),
                            subtitle=trn(
                                "{count} concern",
                                "{count} concerns",
                                sum(facts.concern.stream == stream for facts in concerns),
                            ),
                        )
                        for stream in desk_streams(place, concerns)
                    ],
                ),
                section_of(
                    CONCERNS,
                    tr("Concerns"),
                    [
                        ListRow(
                            id=facts.id,
                            title=facts.what,
                            subtitle=tr("Opened {at}", at=day_said(facts.concern.at[:10])),
                        )
                        for facts in concerns
                    ],
                ),
            ),
        )


class FiguresPage(BoardPage):
    """Lists the figures that can be drawn, and says of the others why not."""

    def back(self) -> None:
        """Go back to the page that led here; to the list of all where none is known."""
        is_known = self.route.concern or self.route.through
        self.session.go(self.route.up() if is_known else Route(screen="all_figures"))

    def row(self, _section: str, row: str) -> None:
        """Show a figure."""
        self.session.go(self.route.down("figure", entry=row))

    def _view(self) -> BoardState:
        place = self.session.place
        facts = facts_to_draw(place, concern=self.route.concern, stream=self.route.stream)
        kinds = kinds_of_figures(place, facts)
        drawn = [(kind, figure) for kind in kinds for figure in kind.figures]
        missing = [kind for kind in kinds if kind.why_not]
        return BoardState(
            title=tr("Figures"),
            subtitle=about(facts),
            cautions=cautions_of(facts),
            sentence=trn(
                "{count} figure can be drawn of these records.",
                "{count} figures can be drawn of these records.",
                len(drawn),
            ),
            sections=(
                section_of(
                    DRAWN,
                    "",
                    [
                        ListRow(id=figure.name, title=figure.title, subtitle=kind_words(kind.kind))
                        for kind, figure in drawn
                    ],
                ),
                *_missing([ListRow(id="", title=kind_words(k.kind), subtitle=k.why_not) for k in missing]),
            ),
        )


def about(facts: ConcernFacts | DeskFacts) -> str:
    """Say what the figures are of."""
    return facts.name if isinstance(facts, DeskFacts) else facts.what


def cautions_of(facts: ConcernFacts | DeskFacts) -> tuple[str, ...]:
    """Say what has to be minded before a figure is looked at or sent."""
    concerns = facts.concerns if isinstance(facts, DeskFacts) else (facts,)
    return (tr(CAUTION),) if any(concern.needs_escalation for concern in concerns) else ()


def _missing(rows: list[ListRow]) -> tuple[Section, ...]:
    return (section_of("missing", tr("Cannot be drawn yet"), rows),) if rows else ()
