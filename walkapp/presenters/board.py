"""Pages that say how something stands and lead on: a sentence, rows in sections, buttons at the foot.

Such a page needs no screen of its own; one screen shows them all.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from walkapp.actions.undoing import newest_entry, take_back
from walkapp.errors import WalkappError
from walkapp.language import tr, whole_text
from walkapp.model.records import Record
from walkapp.presenters.observe import Observed
from walkapp.presenters.pages import LEADING_BACK
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Rows under a heading.

    Parameters
    ----------
    name
        What a tap on one of its rows is told with; unique on the page.
    title
        The heading; empty for none.
    words
        What is said under the heading; empty for nothing.
    rows
        The rows; one without an id leads nowhere.
    options, chosen
        Pairs of word and label of what is chosen here, and the word that is; no pairs where there is
        nothing to choose.
    """

    name: str
    title: str = ""
    words: str = ""
    rows: tuple[ListRow, ...] = ()
    options: tuple[tuple[str, str], ...] = ()
    chosen: str = ""


MOST_ROWS = 40
"""Rows of a section that are shown; a list of hundreds would take the page seconds to build."""


def section_of(name: str, title: str, rows: Sequence[ListRow]) -> Section:
    """Make a section of any number of rows; of very many the first are shown, and that is said."""
    many = len(rows)
    words = tr(
        "The first {most_rows} of {many} are shown; 'walkapp summary' tells all.",
        most_rows=MOST_ROWS,
        many=whole_text(many),
    )
    return Section(
        name=name, title=title, words=words if many > MOST_ROWS else "", rows=tuple(rows[:MOST_ROWS])
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardButton:
    """A button at the foot of the page.

    Parameters
    ----------
    name
        What a tap on it is told with; unique on the page.
    text
        Its words.
    tone
        ``strong`` for the one that goes on, ``plain`` for all others.
    is_off
        Whether it cannot be used now.
    """

    name: str
    text: str
    tone: str = "plain"
    is_off: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardState:
    """Everything such a page shows, from top to bottom.

    Parameters
    ----------
    title, subtitle
        What the page is about.
    problem
        What went wrong; empty when nothing did.
    saved
        What was last put on disk, in words; empty before that.
    cautions
        What has to be minded, a line each.
    mark
        Shape of how it stands: ``clean``, ``bad``, ``undecided``, ``not_visited``; empty for none.
    sentence
        How it stands, in one sentence.
    lines
        What is said below it, a line each.
    choices, chosen
        Pairs of word and label of what may be shown, and the word that is; no pairs where there is
        nothing to choose.
    sections
        Rows in sections.
    notes
        What is taken for granted, a line each, small.
    buttons
        Buttons at the foot.
    can_undo
        Whether the page has an undo at all.
    undo
        What "undo" would take back, in words; empty when there is nothing.
    """

    title: str = ""
    subtitle: str = ""
    problem: str = ""
    saved: str = ""
    cautions: tuple[str, ...] = ()
    mark: str = ""
    sentence: str = ""
    lines: tuple[str, ...] = ()
    choices: tuple[tuple[str, str], ...] = ()
    chosen: str = ""
    sections: tuple[Section, ...] = ()
    notes: tuple[str, ...] = ()
    buttons: tuple[BoardButton, ...] = ()
    can_undo: bool = False
    undo: str = ""


class BoardPage(Observed[BoardState]):
    """Presents such a page; each page says what it shows and where its rows and buttons lead.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The page.
    """

    screen = "board"
    kinds: tuple[type[Record], ...] = ()
    """Kinds of record outside any walk whose newest entry of this tablet "undo" takes back."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(BoardState())
        self.session = session
        self.route = route

    def open(self) -> None:
        """Read the records and show the page."""
        self.session.run_later(self._look, self._show, self.fail)

    def look_again(self) -> None:
        """Read everything anew."""
        self.open()

    def undo(self) -> None:
        """Take back the newest entry of this page that this tablet made."""
        where = self.session.place, self.route.concern
        self.act(lambda: take_back(*where, self.kinds, self._is_here), tr("Taken back"))

    def act(self, work: Callable[[], object], saved: str) -> None:
        """Put something on disk, and only then show the page anew and say `saved`."""

        def run() -> BoardState:
            work()
            return replace(self._look(), saved=saved)

        self.session.run_later(run, self._show, self.fail)

    def back(self) -> None:
        """Go one level up."""
        self.session.go(self.route.up())

    def row(self, section: str, row: str) -> None:
        """Go to what a row stands for: the page of that name, unless the page says otherwise."""
        self.session.go(self._place(row))

    def choose(self, word: str) -> None:
        """Show what a word of the choices stands for; a page that has choices says how."""

    def pick(self, section: str, word: str) -> None:
        """Choose a word in a section; a page whose sections have something to choose says how."""

    def press(self, button: str) -> None:
        """Do what a button says: open the page of that name, unless the page says otherwise."""
        self.session.go(self._place(button))

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error), saved=""))

    def _place(self, screen: str) -> Route:
        if screen in LEADING_BACK:
            return self.route.down(screen)
        return replace(self.route, screen=screen)

    def _look(self) -> BoardState:
        state = self._view()
        if not self.kinds:
            return state
        entry = newest_entry(self.session.place, self.route.concern, self.kinds, self._is_here)
        return replace(state, can_undo=True, undo=self._in_short(entry) if entry else "")

    def _view(self) -> BoardState:
        """Build the page from what is on disk; runs on the worker."""
        raise NotImplementedError

    def _is_here(self, _entry: Record) -> bool:
        """Whether an entry of the page's kinds belongs to this page, so that "undo" may take it back."""
        return True

    def _in_short(self, entry: Record) -> str:
        """Say in two or three words what an entry was."""
        raise NotImplementedError
