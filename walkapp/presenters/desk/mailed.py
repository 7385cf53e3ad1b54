"""A concern as one file to be mailed, for a reader at the customer or in another plant."""

from __future__ import annotations

from dataclasses import replace

from walkapp.actions.mailed import (
    MailPage,
    WrittenPage,
    gaps_of,
    mail_page,
    page_name,
    write_page_into,
    written_text,
)
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.workplace import Workplace
from walkapp.errors import WalkappError
from walkapp.language import msg, tr, trn
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, section_of
from walkapp.presenters.desk.sheet import gap_rows
from walkapp.presenters.escalation import CAUTION
from walkapp.presenters.rows import ListRow

SENTENCE = msg("One file that any browser opens, without this app and without network.")
HOLDS = msg(
    "It holds the answer and how sure it is, every station, figures and pictures, what was "
    "done, and what is not known."
)
AS_SEEN_HERE = msg(
    "Pictures leave as they are seen here: what is covered stays covered, and no place or "
    "serial number goes along."
)
WHO_DECIDES = msg(
    "What leaves the plant, and to whom, is decided by the site's rules; read the page before it is sent."
)
WRITING = msg("Writing the page; the first time this takes some seconds.")


def mailed_row(_place: Workplace, _facts: ConcernFacts) -> ListRow:
    """Lead to the page that writes it."""
    return ListRow(
        id="mailed",
        title=tr("Page to mail"),
        subtitle=tr("All of it in one file, for a reader without this app"),
    )


class MailedPage(BoardPage):
    """Presents the way of a concern into a file that is mailed: what it holds, and what it lacks."""

    def press(self, button: str) -> None:
        """Write the page."""
        if button == "write":
            self._write()
        else:
            super().press(button)

    def _write(self) -> None:
        place, concern = self.session.place, self.route.concern
        waiting = tuple(replace(one, is_off=True) for one in self.state.buttons)
        self._show(replace(self.state, problem="", saved="", sentence=tr(WRITING), buttons=waiting))

        def to_disk(gathered: tuple[MailPage, str]) -> None:
            page, name = gathered
            # No tap has to wait for the drawing.
            self.session.aside(
                lambda: (page, write_page_into(page, self.session.bundles, name)),
                self._say_written,
                self.fail,
            )

        self.session.run_later(
            lambda: (mail_page(place, concern=concern), page_name(place, concern_facts(place, concern))),
            to_disk,
            self.fail,
        )

    def _say_written(self, done: tuple[MailPage, WrittenPage]) -> None:
        page, written = done
        saved = " ".join(
            (
                tr("On disk: {path}, {written}.", path=written.path.name, written=written_text(written)),
                *page.left_out,
            )
        )
        missing = gap_rows(gaps_of(page))

        def run() -> BoardState:
            state = self._look()
            return replace(
                state,
                saved=saved,
                sections=(section_of("missing", tr("What the page says is not known"), missing),)
                if missing
                else (),
            )

        self.session.run_later(run, self._show, self.fail)

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong; the page can be written again."""
        buttons = tuple(replace(one, is_off=False) for one in self.state.buttons)
        self._show(
            replace(self.state, problem=str(error), saved="", sentence=tr(SENTENCE), buttons=buttons)
        )

    def _view(self) -> BoardState:
        facts = concern_facts(self.session.place, self.route.concern)
        disputed = len(facts.conflicts)
        return BoardState(
            title=tr("Page to mail"),
            subtitle=facts.what,
            cautions=(
                *((tr(CAUTION),) if facts.needs_escalation else ()),
                *(
                    (
                        trn(
                            "{count} dispute not settled: the page tells all values.",
                            "{count} disputes not settled: the page tells all values.",
                            disputed,
                        ),
                    )
                    if disputed
                    else ()
                ),
            ),
            sentence=tr(SENTENCE),
            lines=(
                tr(HOLDS),
                tr(AS_SEEN_HERE),
                tr("It is written into {bundles}.", bundles=self.session.bundles),
            ),
            notes=(tr(WHO_DECIDES),),
            buttons=(BoardButton(name="write", text=tr("Write the page"), tone="strong"),),
        )
