"""One figure: drawn at the size of the page, away from the thread that draws the window."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Generic, TypeVar

from walkapp.actions.desk import DeskFacts
from walkapp.actions.figures.catalogue import kinds_of_figures
from walkapp.actions.figures.writing import WrittenFigure, facts_to_draw, picture_of, write_one
from walkapp.actions.pictures import Picture
from walkapp.actions.reading import ConcernFacts
from walkapp.errors import InputError, WalkappError
from walkapp.language import msg, tr
from walkapp.presenters.desk.figures import about, cautions_of
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session

T = TypeVar("T")
W = TypeVar("W")

DRAWING = msg("Being drawn; the first time this takes some seconds.")

LARGER = 1.6
"""How much wider and higher the large picture is than the page."""

GONE = msg("This figure cannot be drawn of the records any more; go back to the list.")


@dataclass(frozen=True, slots=True)
class Wanted:
    """A picture that the page asks for.

    Parameters
    ----------
    place
        Which of the figures, from 0.
    width, height
        In pixels.
    letter_px
        Height of its letters, in pixels.
    """

    place: int
    width: int
    height: int
    letter_px: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureState:
    """Everything the page shows.

    Parameters
    ----------
    title, subtitle
        What the figures are of, and which of them this is.
    sentence
        What the figure shows.
    notes
        What has to be known to read it, a line each.
    cautions
        What has to be minded.
    picture
        The figure; none while it is being drawn.
    waiting
        What is said in its place.
    is_large
        Whether it is larger than the page.
    has_before, has_after
        Whether there is another figure before and after this one.
    saved
        What was last put on disk.
    problem
        What went wrong; empty when nothing did.
    """

    title: str = ""
    subtitle: str = ""
    sentence: str = ""
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    picture: Picture | None = None
    waiting: str = ""
    is_large: bool = False
    has_before: bool = False
    has_after: bool = False
    saved: str = ""
    problem: str = ""


class DrawnPage(Observed[FigureState], Generic[W]):
    """Presents what is drawn on a worker that no tap waits for.

    At most one picture is kept, and at most one is being drawn.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        What it is of.
    """

    screen = "figure"

    def __init__(self, session: Session, route: Route, waiting: str) -> None:
        super().__init__(FigureState(waiting=waiting))
        self.session = session
        self.route = route
        self._page: tuple[int, int, float] | None = None
        self._shown: W | None = None
        self._is_drawing = False

    def fit(self, width: int, height: int, letter_px: float) -> None:
        """Draw for a page of this size; nothing is done where the picture has that size already.

        Parameters
        ----------
        width, height
            Room for the picture, in pixels, at least 1.
        letter_px
            Height of the letters of the page, in pixels.
        """
        self._page = (width, height, letter_px)
        self._draw()

    def zoom(self) -> None:
        """Draw it larger than the page, or as large as the page again."""
        self._show(replace(self.state, is_large=not self.state.is_large))
        self._draw()

    def back(self) -> None:
        """Go back to the page that led here."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error), saved="", waiting=""))

    def _wanted(self) -> W | None:
        """Say which picture is wanted now; none while that is not known."""
        raise NotImplementedError

    def _drawing(self, wanted: W) -> Callable[[], Picture]:
        """Give the work that draws a picture; it runs on the worker."""
        raise NotImplementedError

    def _is_of_now(self, _wanted: W) -> bool:
        """Whether a picture that was drawn is still of what the page is about."""
        return True

    def _draw(self) -> None:
        """Have the wanted picture drawn, unless it is shown or another one is being drawn."""
        wanted = self._wanted()
        if wanted is None or wanted == self._shown or self._is_drawing:
            return
        self._is_drawing = True
        self.session.aside(
            self._drawing(wanted), lambda picture: self._drawn(wanted, picture), self._not_drawn
        )

    def _drawn(self, wanted: W, picture: Picture) -> None:
        self._is_drawing = False
        if self._is_of_now(wanted):
            self._shown = wanted
            self._show(replace(self.state, picture=picture, waiting=""))
        self._draw()

    def _not_drawn(self, error: WalkappError) -> None:
        self._is_drawing = False
        self.fail(error)

    def _write(self, form: str, work: Callable[[], T], done: Callable[[T], None]) -> None:
        """Write it on the worker, and say so before and after."""
        self._show(replace(self.state, saved=tr("Writing the {form} ...", form=form.upper()), problem=""))
        self.session.aside(work, done, self.fail)


class FigurePage(DrawnPage[Wanted]):
    """Presents one figure.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The concern or the value stream, and the name of the figure as ``entry``.
    """

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route, tr(DRAWING))
        self._facts: ConcernFacts | DeskFacts | None = None
        self._figures: Sequence[Any] = ()
        self._place = 0

    def open(self) -> None:
        """Read the records, and draw the figure once the page has a size."""
        where, place = self.route, self.session.place

        def run() -> tuple[ConcernFacts | DeskFacts, Sequence[Any], int]:
            facts = facts_to_draw(place, concern=where.concern, stream=where.stream)
            figures = [figure for kind in kinds_of_figures(place, facts) for figure in kind.figures]
            names = [figure.name for figure in figures]
            if where.entry not in names:
                raise InputError(tr(GONE))
            return facts, figures, names.index(where.entry)

        self.session.run_later(run, self._opened, self.fail)

    def before(self) -> None:
        """Show the figure before this one."""
        self._turn(self._place - 1)

    def after(self) -> None:
        """Show the figure after this one."""
        self._turn(self._place + 1)

    def write(self, form: str) -> None:
        """Write the figure as ``pdf`` or ``png`` into the folder of bundles.

        Parameters
        ----------
        form
            Which.
        """
        facts = self._facts
        if facts is None:
            return
        figure, folder = self._figures[self._place], self.session.bundles
        self._write(form, lambda: write_one(figure, facts, folder, form), self._written)

    def _opened(self, found: tuple[ConcernFacts | DeskFacts, Sequence[Any], int]) -> None:
        self._facts, self._figures, self._place = found
        self._shown = None
        self._say()
        self._draw()

    def _turn(self, place: int) -> None:
        if not 0 <= place < len(self._figures):
            return
        self._place = place
        self.route = replace(self.route, entry=self._figures[place].name)
        route = self.route
        self.session.run_later(lambda: self.session.kept.keep_route(route), lambda _: None, self.fail)
        self._say()
        self._draw()

    def _say(self) -> None:
        """Show the words of the figure; its picture comes when it is drawn."""
        figure, facts = self._figures[self._place], self._facts
        assert facts is not None
        self._show(
            replace(
                self.state,
                title=about(facts),
                subtitle=tr(
                    "Figure {place} of {figures}", place=self._place + 1, figures=len(self._figures)
                ),
                sentence=figure.title,
                notes=figure.notes,
                cautions=cautions_of(facts),
                picture=None,
                waiting=tr(DRAWING),
                has_before=self._place > 0,
                has_after=self._place + 1 < len(self._figures),
                saved="",
                problem="",
            )
        )

    def _wanted(self) -> Wanted | None:
        if self._page is None or not self._figures:
            return None
        width, height, letter_px = self._page
        factor = LARGER if self.state.is_large else 1.0
        return Wanted(self._place, round(width * factor), round(height * factor), letter_px)

    def _drawing(self, wanted: Wanted) -> Callable[[], Picture]:
        figure = self._figures[wanted.place]
        return lambda: picture_of(
            figure, width=wanted.width, height=wanted.height, letter_px=wanted.letter_px
        )

    def _is_of_now(self, wanted: Wanted) -> bool:
        return wanted.place == self._place

    def _written(self, written: WrittenFigure) -> None:
        saved = tr("On disk: {path} in {parent}", path=written.path.name, parent=written.path.parent)
        self._show(replace(self.state, saved=saved, problem=""))
