"""Practice in the window: its own store and session, and the guide that says what to do next."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from walkapp.actions.practice import INCOMING, PracticeFacts, clear_practice, open_practice
from walkapp.errors import WalkappError
from walkapp.language import msg
from walkapp.presenters.next_step import NO_STEP, NextStep, Step
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session

PRACTICE_WORD = msg("Practice")
NOT_REAL = msg("Nothing here is real.")


@dataclass(frozen=True, slots=True, kw_only=True)
class GuideState:
    """What is shown beside every page of practice.

    Parameters
    ----------
    step
        What to do next.
    problem
        Why that is not known, in one sentence; empty when it is.
    """

    step: Step = NO_STEP
    problem: str = ""


class PracticeGuide(Observed[GuideState]):
    """Follows the page that is shown, and says what to do next on it.

    Parameters
    ----------
    session
        That of practice.
    facts
        What the invented parts are like.
    """

    def __init__(self, session: Session, facts: PracticeFacts) -> None:
        super().__init__(GuideState())
        self._session = session
        self._next = NextStep(session.place, facts)
        self._asked = 0
        self._followed: tuple[Any, Callable[[Any], None]] | None = None

    def follow(self, presenter: Any, route: Route) -> None:
        """Say what to do next on a page from now on, each time that it shows something else.

        Parameters
        ----------
        presenter
            The presenter of the page.
        route
            The page.
        """
        self.stop()

        def look(state: Any) -> None:
            self._look(route, state)

        self._followed = presenter, look
        presenter.watch(look)

    def stop(self) -> None:
        """Follow no page any more."""
        self._asked += 1
        if self._followed is not None:
            presenter, look = self._followed
            presenter.unwatch(look)
            self._followed = None

    def _look(self, route: Route, state: Any) -> None:
        self._asked += 1
        asked = self._asked

        def done(step: Step) -> None:
            if asked == self._asked:  # the page shows something else by now
                self._show(GuideState(step=step))

        self._session.run_later(lambda: self._next.on(route, state), done, self._fail)

    def _fail(self, error: WalkappError) -> None:
        self._show(replace(self.state, problem=str(error)))


class Practice:
    """Practice beside the real records: opened when it is wanted, where it was left.

    Parameters
    ----------
    facts
        What practice is about.
    folder
        Folder of its store.
    now, new_id, app
        As for :func:`walkapp.actions.practice.open_practice`.
    """

    def __init__(
        self,
        facts: PracticeFacts,
        folder: Path,
        *,
        now: Callable[[], datetime],
        new_id: Callable[[], str],
        app: str,
    ) -> None:
        self._facts = facts
        self._folder = folder
        self._said = {"now": now, "new_id": new_id, "app": app}
        self._session: Session | None = None

    def open(self, real: Session) -> tuple[Session, PracticeGuide]:
        """Open practice; give its session and its guide. Runs on the worker, since it writes.

        Parameters
        ----------
        real
            The session of the real records, of which nothing is written.

        Raises
        ------
        WalkappError
            If it cannot be opened.
        """
        said: Any = self._said
        place = open_practice(self._folder, self._facts, **said)
        place.by = place.store.place().get("by", place.by)
        self._session = real.beside(
            place, pictures=self._folder / INCOMING, bundles=self._folder / "bundles"
        )
        return self._session, PracticeGuide(self._session, self._facts)

    def begin_anew(self, real: Session) -> tuple[Session, PracticeGuide]:
        """Forget all that was practised, then open practice. Runs on the worker.

        Raises
        ------
        WalkappError
            If it cannot be forgotten or opened.
        """
        self.close()
        clear_practice(self._folder)
        return self.open(real)

    def close(self) -> None:
        """Let go of the store of practice; nothing happens when it is not open."""
        if self._session is not None:
            self._session.place.store.close()
            self._session = None
