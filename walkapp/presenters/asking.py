"""Asking a camera program for a picture, though the system may end this program while that is in front."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from walkapp.actions.picture_folders import begin_asking, end_asking
from walkapp.errors import WalkappError
from walkapp.language import tr
from walkapp.presenters.devices import PictureSource
from walkapp.presenters.session import Session

# no text: the name of a draft
ASKED = "asked picture"
"""Name of the note in the store that says for which page a camera was asked for a picture."""


class Asking:
    """One question at a time, to one source.

    What the picture is for is noted in the store before the source is asked, and a folder of its own is
    named to it: so whatever lies there at the next start is the answer.

    Parameters
    ----------
    session
        What every presenter is given.
    page
        A word for the page and what it is about; the same after a restart.
    given
        Called with the picture, which lies in the watched folder then.
    moved
        Called when something else is to be shown.
    failed
        Called with what went wrong.
    """

    def __init__(
        self,
        session: Session,
        page: str,
        *,
        given: Callable[[Path], None],
        moved: Callable[[], None],
        failed: Callable[[WalkappError], None],
    ) -> None:
        self._session = session
        self._page = page
        self._given, self._moved, self._failed = given, moved, failed
        self._watched = session.picture_folders[0]
        self._asked: PictureSource | None = None
        self.notice = ""
        """What became of the last question, in words; empty for nothing."""

    @property
    def waits_for(self) -> str:
        """What is being waited for, in words; empty for nothing."""
        return (
            "" if self._asked is None else tr("Waiting for the picture: {asked}.", asked=self._asked.label)
        )

    def ask(self, source: PictureSource) -> None:
        """Ask a source; nothing happens while another question is open."""
        if self._asked is not None:
            return
        self._asked, self.notice = source, ""

        def begin() -> Path:
            self._session.kept.keep_draft(ASKED, {"page": self._page})
            return begin_asking(self._watched)

        def begun(folder: Path) -> None:
            if self._asked is source:
                source.take(folder, self._end, self._end_without)

        def refused(error: WalkappError) -> None:
            self._asked = None
            self._failed(error)

        self._session.run_later(begin, begun, refused)
        self._moved()

    def give_up(self) -> None:
        """Wait no longer. The note stays: a picture that comes all the same is taken in next time."""
        if self._asked is not None:
            self._asked.cancel()
            self._asked = None

    def recover(self) -> None:
        """Take in what was asked for before the page was left or the program ended."""
        if self._asked is not None:
            return

        def work() -> tuple[bool, Path | None]:
            if self._session.kept.draft(ASKED).get("page") != self._page:
                return False, None
            path = end_asking(self._watched)
            self._session.kept.drop_draft(ASKED)
            return True, path

        def done(found: tuple[bool, Path | None]) -> None:
            was_asked, path = found
            if path is not None:
                self.notice = tr("{path} was taken for this page before it was left.", path=path.name)
                self._given(path)
            elif was_asked:
                self.notice = tr("A picture was asked for here and none has come; take it again.")
            self._moved()

        self._session.run_later(work, done, self._failed)

    def _end_without(self, why: str) -> None:
        self.notice = why
        self._end(None)

    def _end(self, path: Path | None) -> None:
        self._asked = None

        def work() -> Path | None:
            moved = None if path is None else end_asking(self._watched, path)
            self._session.kept.drop_draft(ASKED)
            return moved

        def done(moved: Path | None) -> None:
            if moved is not None:
                self._given(moved)
            self._moved()

        self._session.run_later(work, done, self._failed)
