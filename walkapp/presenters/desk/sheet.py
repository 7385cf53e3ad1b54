"""The sheet of a concern: what would be printed, what is missing for a good one, and the way to paper."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from walkapp.actions.pictures import Picture
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.sheet.content import SheetContent, sheet_content
from walkapp.actions.sheet.writing import FORMS, WrittenSheet, sheet_picture, write_sheet_into
from walkapp.actions.workplace import Workplace
from walkapp.language import msg, tr
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, section_of
from walkapp.presenters.desk.figure import DrawnPage
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session

PREVIEW_PX = 1400
"""Width of the picture on the page: large letters can be read in it, small ones on the page that zooms."""

DRAWING = msg("The page is being drawn; the first time this takes some seconds.")

PAGE_OF_GAP = {
    "escalation": "escalation",
    "conflicts": "disputes",
    "walks": "start_walk",
    "judging": "judging",
    "pictures": "start_walk",
    "cause": "confirmations",
    "containment": "containment",
    "actions": "actions",
    "results": "actions",
    "lessons": "lessons",
    "read_across": "read_across",
}
"""Where what is missing can be recorded; a checklist cannot be made on the tablet."""

TITLE_OF_GAP = {
    "escalation": msg("Who was told"),
    "conflicts": msg("Entries that disagree"),
    "checklist": msg("Checklist"),
    "walks": msg("First bad station"),
    "judging": msg("Limit samples"),
    "pictures": msg("Pictures"),
    "cause": msg("Cause"),
    "containment": msg("Containment"),
    "actions": msg("Actions"),
    "results": msg("Results"),
    "lessons": msg("Lessons"),
    "read_across": msg("Read-across"),
}


def sheet_row(_place: Workplace, _facts: ConcernFacts) -> ListRow:
    """Lead to the sheet of a concern."""
    return ListRow(
        id="sheet", title=tr("Sheet"), subtitle=tr("All of it on one A3 page, to look at and to print")
    )


def gap_rows(gaps: Iterable[tuple[str, str]]) -> list[ListRow]:
    """List what is missing, told as what it is about and words; each leads to where it can be recorded."""
    return [
        ListRow(
            id=PAGE_OF_GAP.get(about, ""),
            title=tr(TITLE_OF_GAP[about]) if about in TITLE_OF_GAP else about,
            subtitle=words,
            mark="undecided",
        )
        for about, words in gaps
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetState(BoardState):
    """Everything the page shows.

    Parameters
    ----------
    picture
        The page as it would be printed; none while it is being drawn.
    waiting
        What is said in its place.
    """

    picture: Picture | None = None
    waiting: str = ""


class SheetPage(BoardPage):
    """Presents what the sheet of a concern would show, away from the thread that draws the window."""

    screen = "sheet"

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route)
        self._show(SheetState(waiting=tr(DRAWING)))
        self._content: SheetContent | None = None

    def open(self) -> None:
        """Gather what the sheet says, show what is missing, and draw the page."""
        self.session.run_later(self._look, self._looked, self.fail)

    def press(self, button: str) -> None:
        """Write the sheet, or look at it more closely."""
        if button in FORMS:
            self._write(button)
        else:
            self.look()

    def look(self) -> None:
        """Go to the page that shows the sheet large."""
        self.session.go(self.route.down("sheet_look"))

    def _looked(self, state: BoardState) -> None:
        self._show(state)
        content = self._content
        if content is not None:
            self.session.aside(lambda: sheet_picture(content, PREVIEW_PX), self._drawn, self.fail)

    def _drawn(self, picture: Picture) -> None:
        if isinstance(self.state, SheetState):
            self._show(replace(self.state, picture=picture, waiting=""))

    def _write(self, form: str) -> None:
        content, folder = self._content, self.session.bundles
        if content is None:
            return
        self._show(replace(self.state, saved=tr("Writing the {form} ...", form=form.upper()), problem=""))
        # No tap has to wait for the drawing.
        self.session.aside(lambda: write_sheet_into(content, folder, form), self._written, self.fail)

    def _written(self, written: WrittenSheet) -> None:
        self._show(replace(self.state, saved=written_words(written), problem=""))

    def _view(self) -> SheetState:
        place = self.session.place
        self._content = content = sheet_content(place, concern_facts(place, self.route.concern))
        return SheetState(
            title=tr("Sheet"),
            subtitle=content.title,
            cautions=content.warnings,
            mark=content.answer_state,
            sentence=content.answer,
            waiting=tr(DRAWING),
            sections=(
                section_of(
                    "gaps",
                    tr("Missing for a good sheet") if content.gaps else "",
                    gap_rows((gap.about, gap.words) for gap in content.gaps),
                ),
            ),
            notes=(
                tr("Written into {bundles}.", bundles=self.session.bundles),
                tr("Printed on A4 its smallest letters are 6 points high."),
                tr(
                    "Pictures have people covered as on every page; look at them before the sheet goes out."
                ),
            ),
            buttons=(
                BoardButton(name="look", text=tr("Look closer")),
                BoardButton(name="png", text=tr("Write PNG")),
                BoardButton(name="pdf", text=tr("Write PDF"), tone="strong"),
            ),
        )


class SheetLookPage(DrawnPage[int]):
    """Presents the sheet large, on the screen of figures; which picture is wanted is told by its width."""

    LARGER = 2.0
    """How much wider the large picture is than the page."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route, tr(DRAWING))
        self._content: SheetContent | None = None

    def open(self) -> None:
        """Gather what the sheet says, and draw it once the page has a size."""

        def run() -> SheetContent:
            return sheet_content(self.session.place, concern_facts(self.session.place, self.route.concern))

        self.session.run_later(run, self._opened, self.fail)

    def before(self) -> None:
        """There is one sheet only."""

    def after(self) -> None:
        """There is one sheet only."""

    def write(self, form: str) -> None:
        """Write the sheet as ``pdf`` or ``png`` into the folder of bundles."""
        content, folder = self._content, self.session.bundles
        if content is not None:
            self._write(form, lambda: write_sheet_into(content, folder, form), self._written)

    def _opened(self, content: SheetContent) -> None:
        self._content = content
        self._show(
            replace(
                self.state,
                title=tr("Sheet"),
                subtitle=content.title,
                sentence=content.answer,
                cautions=content.warnings,
            )
        )
        self._draw()

    def _wanted(self) -> int | None:
        if self._content is None or self._page is None:
            return None
        return round(self._page[0] * (self.LARGER if self.state.is_large else 1.0)) or None

    def _drawing(self, wanted: int) -> Callable[[], Picture]:
        content = self._content
        assert content is not None
        return lambda: sheet_picture(content, wanted)

    def _written(self, written: WrittenSheet) -> None:
        self._show(replace(self.state, saved=written_words(written), problem=""))


def written_words(written: WrittenSheet) -> str:
    """Say where a sheet was written, and what has to be minded."""
    return " ".join(
        (
            tr("On disk: {path} in {parent}.", path=written.path.name, parent=written.path.parent),
            *written.notes,
        )
    )
