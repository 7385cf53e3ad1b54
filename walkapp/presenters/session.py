"""What every presenter is given: the actions' workplace, a worker, and the way to other screens."""

from __future__ import annotations

import gc
import weakref
from collections.abc import Callable
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Protocol, TypeVar

from walkapp.actions.reasons import TAKES_BACK
from walkapp.actions.workplace import Workplace
from walkapp.errors import WalkappError
from walkapp.presenters.devices import Devices
from walkapp.presenters.kept import Kept
from walkapp.presenters.route import Route
from walkapp.presenters.set_here import SetHere

if TYPE_CHECKING:
    from walkapp.actions.merge_runs import MergeWork
    from walkapp.actions.searching import Finder
    from walkapp.actions.thumbnails import Thumbnails
    from walkapp.model.records import Record
    from walkapp.presenters.picture_queue import PictureQueue

T = TypeVar("T")


class RunLater(Protocol):
    """Runs work away from the screen, one piece after the other, in the order it was given."""

    def __call__(
        self,
        work: Callable[[], T],
        done: Callable[[T], None],
        failed: Callable[[WalkappError], None],
    ) -> None:
        """Run `work`, then `done` or `failed` on the thread that draws."""


NO_DEVICES = Devices()


class Session:
    """One run of the app on one store.

    Parameters
    ----------
    place
        What the actions work with.
    run_later
        The worker.
    go
        Shows another place.
    picture_folders
        Folders in which pictures may be found, at least one; the first is the one that a camera or
        a cable drops pictures in.
    bundles
        Folder in which bundles are written.
    aside
        A worker that no tap waits for; the same one where there is no other.
    devices
        What the tablet itself can do.
    picture_worker
        A worker that makes pictures for what is in view, and waits for no other work; `aside` where there
        is no other.
    language
        Code of the language to speak until another one is chosen; empty for the one that is set.
    """

    def __init__(
        self,
        place: Workplace,
        *,
        run_later: RunLater,
        go: Callable[[Route], None],
        picture_folders: tuple[Path, ...],
        bundles: Path,
        aside: RunLater | None = None,
        devices: Devices = NO_DEVICES,
        picture_worker: RunLater | None = None,
        language: str = "",
    ) -> None:
        self.place = place
        self._run_later = run_later
        self.go = go
        self.picture_folders = picture_folders
        self.bundles = bundles
        self.aside = aside or run_later
        self.devices = devices
        self.picture_worker = picture_worker or self.aside
        self._releases: list[weakref.WeakMethod[Callable[[], None]]] = []
        self.cautions_read = ""
        """The audit and its station whose cautions were confirmed last; never kept, so that they are
        shown again when the station is opened anew."""
        self.merging: MergeWork | None = None
        """The merge that goes on, or has ended and was not looked at yet; none otherwise."""
        self.kept = Kept(place)
        self.settings = SetHere(self.kept, devices, language)
        self.practise: Callable[[], None] | None = None
        """Opens practice in the same window; none where there is none, as in practice itself."""

    def beside(self, place: Workplace, *, pictures: Path, bundles: Path) -> Session:
        """Give a session of the same window on another store; what is set on this tablet holds there too.

        Parameters
        ----------
        place
            What its actions work with.
        pictures, bundles
            Its own folders for pictures that come in and bundles that go out.
        """
        session = Session(
            place,
            run_later=self._run_later,
            go=self.go,
            picture_folders=(pictures,),
            bundles=bundles,
            aside=self.aside,
            devices=self.devices,
            picture_worker=self.picture_worker,
        )
        session.settings = self.settings.beside(session.kept)
        return session

    def run_later(
        self, work: Callable[[], T], done: Callable[[T], None], failed: Callable[[WalkappError], None]
    ) -> None:
        """Run work on the worker, as :class:`RunLater`; the hand is told of what it has put on disk."""

        def run() -> tuple[T, Record | None]:
            before = self.place.newest
            made = work()
            newest = self.place.newest
            return made, newest if newest is not before else None

        def tell(result: tuple[T, Record | None]) -> None:
            made, newest = result
            if newest is not None:
                self.tell_hand("taken_back" if newest.why in TAKES_BACK else "recorded")
            done(made)

        self._run_later(run, tell, failed)

    def tell_hand(self, what: str) -> None:
        """Answer a touch the way that is set on this tablet: ``recorded``, ``taken_back``, ``refused``.

        Only a record that is on disk is told as recorded; nobody but :meth:`run_later` knows it.
        """
        answers_by = self.settings.answers_by()
        if answers_by != "off":
            self.devices.feedback.tell(what, answers_by)

    @cached_property
    def finder(self) -> Finder:
        """Searches the records; made and read when it is first needed."""
        from walkapp.actions.searching import Finder

        return Finder(self.place)

    @cached_property
    def thumbnails(self) -> Thumbnails:
        """Recorded pictures to show; imported late, since the first page shows none."""
        from walkapp.actions.thumbnails import Thumbnails

        return Thumbnails(self.place)

    @cached_property
    def pictures(self) -> PictureQueue:
        """Pictures that wait to be taken in; imported late, since the first page takes none in."""
        from walkapp.presenters.picture_queue import PictureQueue

        return PictureQueue(self)

    def when_memory_is_low(self, release: Callable[[], None]) -> None:
        """Call a method as well when memory is low, as long as its object lives.

        Parameters
        ----------
        release
            A bound method that drops what can be made again; called on the thread that draws.
        """
        self._releases = [one for one in self._releases if one() is not None]
        self._releases.append(weakref.WeakMethod(release))

    def release_memory(self) -> None:
        """Drop everything that can be made or read again; call when the system says that memory is low.

        Call on the thread that draws. What is shown stays shown, and all pages go on working.
        """
        if "thumbnails" in self.__dict__:
            self.thumbnails.release()
        if "finder" in self.__dict__:
            # On the worker: it may have to wait until a piece of the index is written.
            self.run_later(self.finder.close, lambda _: None, lambda _: None)
        for release in self._releases:
            if (method := release()) is not None:
                method()
        gc.collect()

    def remember_person(self, by: str) -> None:
        """Keep role and initials for the next records and the next start."""
        self.place.by = by
        self.kept.keep({"by": by})
