"""Pictures that wait to be taken in: one after the other, while the pages stay usable."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from walkapp.actions.intake import Subject, keep_checked
from walkapp.actions.picture_folders import read_in
from walkapp.errors import WalkappError
from walkapp.model.records import Photo

if TYPE_CHECKING:
    from walkapp.actions.intake import ReadPicture
    from walkapp.presenters.session import Session


@dataclass(frozen=True, slots=True, kw_only=True)
class QueuedPicture:
    """A picture that somebody chose.

    Parameters
    ----------
    subject
        What it is taken in for.
    path
        The file.
    sha256
        Of the file as it was shown; empty when it was not.
    caption
        What it shows.
    state
        ``waiting``, ``reading`` or ``failed``; one that is on disk is in the queue no more.
    error
        Why it failed; none otherwise.
    """

    subject: Subject
    path: Path
    sha256: str = ""
    caption: str = ""
    state: str = "waiting"
    error: WalkappError | None = None


class QueueListener:
    """What is told of the queue, on the thread that draws."""

    def queue_moved(self) -> None:
        """Something in the queue is in another state."""

    def picture_kept(self, subject: Subject, photo: Photo) -> None:
        """A picture is on disk and recorded."""

    def picture_failed(self, entry: QueuedPicture) -> None:
        """A picture could not be taken in; nothing of it was recorded."""


NOBODY_LISTENS = QueueListener()


class PictureQueue:
    """Takes pictures in, each read away from the worker that taps wait for.

    It belongs to the run of the app and not to a page: what was chosen is taken in though the page is left.
    Nothing is lost when the app ends before: the files are untouched, and no page said that they are on
    disk.

    Parameters
    ----------
    session
        What every presenter is given.
    """

    def __init__(self, session: Session) -> None:
        self._session = session
        self._entries: tuple[QueuedPicture, ...] = ()
        self._is_busy = False
        self.listener: QueueListener = NOBODY_LISTENS
        """The page that is shown, if pictures are chosen on it."""
        self.handed: Path | None = None
        """A picture just taken with the camera for the page that is shown next."""

    @property
    def is_busy(self) -> bool:
        """Whether a picture is being taken in."""
        return self._is_busy

    def of(self, subject: Subject) -> tuple[QueuedPicture, ...]:
        """Give what is in the queue for one subject, in the order in which it was chosen."""
        return tuple(entry for entry in self._entries if entry.subject == subject)

    def ask(self, subject: Subject, path: Path, caption: str = "", sha256: str = "") -> None:
        """Take a picture in as soon as those before it are; one that waits already is asked for once."""
        entries = [
            e for e in self._entries if (e.subject, e.path) != (subject, path) or e.state != "failed"
        ]
        if not any((e.subject, e.path) == (subject, path) for e in entries):
            entries.append(QueuedPicture(subject=subject, path=path, sha256=sha256, caption=caption))
        self._entries = tuple(entries)
        self.listener.queue_moved()
        self._go_on()

    def forget_failed(self, subject: Subject) -> None:
        """Forget what failed for one subject; somebody has read why."""
        self._entries = tuple(e for e in self._entries if e.subject != subject or e.state != "failed")

    def _go_on(self) -> None:
        entry = next((e for e in self._entries if e.state == "waiting"), None)
        if self._is_busy or entry is None:
            return
        self._is_busy = True
        reading = self._put(entry, state="reading")
        self._session.aside(
            lambda: read_in(reading.path), lambda read: self._keep(reading, read), self._failed(reading)
        )

    def _keep(self, entry: QueuedPicture, read: ReadPicture) -> None:
        """Write what was read; records are written by one worker, so that they stay in order."""

        def write() -> Photo:
            photo = keep_checked(self._session.place, entry.subject, read, caption=entry.caption)
            self._session.thumbnails.hold(photo, read)
            return photo

        def kept(photo: Photo) -> None:
            self._entries = tuple(e for e in self._entries if e is not entry)
            self._is_busy = False
            self.listener.picture_kept(entry.subject, photo)
            self._go_on_when_shown()

        self._session.run_later(write, kept, self._failed(entry))

    def _go_on_when_shown(self) -> None:
        """Read the next picture when the page shows this one, and not in the same frame.

        Both at once would make the longest frame of all: the page builds a plate and lays itself out anew.
        """

        def next_frame(_: None) -> None:
            self._session.aside(_nothing, lambda _: self._go_on(), _raise)

        self._session.run_later(_nothing, next_frame, _raise)

    def _failed(self, entry: QueuedPicture) -> Callable[[WalkappError], None]:
        def failed(error: WalkappError) -> None:
            self._is_busy = False
            self.listener.picture_failed(self._put(entry, state="failed", error=error))
            self._go_on()

        return failed

    def _put(self, entry: QueuedPicture, *, state: str, error: WalkappError | None = None) -> QueuedPicture:
        new = replace(entry, state=state, error=error)
        self._entries = tuple(new if e is entry else e for e in self._entries)
        self.listener.queue_moved()
        return new


def _nothing() -> None:
    """Take a turn on a worker."""


def _raise(error: WalkappError) -> None:
    """Nothing cannot fail."""
    raise error
