"""The check of the store while the app is open, and the index that a search will need."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from walkapp.actions.checking import StoreCheck, begin_check
from walkapp.errors import WalkappError
from walkapp.presenters.session import RunLater, Session

if TYPE_CHECKING:
    from walkapp.actions.searching import SearchUpdate


def check_in_background(
    session: Session,
    *,
    run_later: RunLater,
    found: Callable[[], None],
    failed: Callable[[WalkappError], None],
) -> None:
    """Check the whole store, one walk or picture at a time; what is found joins the store's notices.

    Parameters
    ----------
    session
        The run of the app.
    run_later
        A worker that no tap waits for.
    found
        Called at the end when there is something new to be told.
    failed
        Called when the check could not go on.
    """
    store = session.place.store
    before = store.notices

    def begun(check: StoreCheck) -> None:
        def go_on(has_more: bool) -> None:
            if has_more:
                run_later(check.step, go_on, failed)
            elif store.notices != before:
                found()

        go_on(True)

    run_later(lambda: begin_check(session.place), begun, failed)


def index_in_background(
    session: Session, *, run_later: RunLater, failed: Callable[[WalkappError], None]
) -> None:
    """Bring the index for searching up to date, piece by piece; while nobody searches it takes no memory.

    Parameters
    ----------
    session
        The run of the app.
    run_later
        A worker that no tap waits for.
    failed
        Called when the records could not be read.
    """

    def begun(update: SearchUpdate) -> None:
        def go_on(has_more: bool) -> None:
            if has_more:
                run_later(update.step, go_on, failed)
            elif not session.finder.is_asked:
                run_later(session.finder.close, lambda _: None, failed)

        go_on(True)

    run_later(lambda: session.finder.begin_update(), begun, failed)
