"""Choosing pictures: from the folder that a camera fills, from any other folder, or from a camera."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from walkapp.actions.intake import Subject
from walkapp.actions.picture_folders import PAGE_SIZE, FolderPage, FolderWatch, picture_places
from walkapp.actions.pictures import Picture
from walkapp.errors import WalkappError
from walkapp.language import tr, trn, whole_text
from walkapp.model.records import Photo
from walkapp.presenters.asking import Asking
from walkapp.presenters.devices import PictureSource
from walkapp.presenters.picture_choice import PictureChoice, PictureTile, tile_of
from walkapp.presenters.picture_queue import QueuedPicture, QueueListener
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session

MOST_FOLDERS = 40
"""Folders inside a folder that are listed as rows."""

BIG_FOLDER = 1_000
"""A folder is looked at less often by so many times as it has this many pictures."""

UP = ".."
"""Key of the row that leads to the folder above."""

BROWSE = "other"
"""Word of the choice to look into any other folder."""


def path_words(path: Path) -> str:
    """Write a path so that its line can be broken between the folders.

    Examples
    --------
    >>> path_words(Path("media") / "card" / "DCIM")
    'media / card / DCIM'
    """
    return " / ".join(part.strip("/\\") for part in path.parts).strip() or str(path)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Places:
    """What there is to choose from now, beside the pictures themselves."""

    folders: tuple[tuple[str, str], ...] = ()
    sources: tuple[PictureSource, ...] = ()
    has_camera: bool = False


class Picker(QueueListener):
    """What the pages on which pictures are taken in have in common.

    Parameters
    ----------
    session
        What every presenter is given.
    page
        A word for the page and what it is about; the same after a restart.
    subject
        Says what a picture of the page is taken in for.
    moved
        Called when what is to be shown has changed, without anything new on disk.
    kept
        Called when a picture of the page is on disk.
    failed
        Called with what went wrong.
    words
        Says why a picture was not taken in.
    """

    CAMERA = "camera"
    """Word of the live camera among the sources."""

    def __init__(
        self,
        session: Session,
        page: str,
        subject: Callable[[], Subject],
        *,
        moved: Callable[[], None],
        kept: Callable[[Photo], None],
        failed: Callable[[WalkappError], None],
        words: Callable[[WalkappError], str] = str,
    ) -> None:
        self._session = session
        self._words = words
        self._subject = subject
        self._moved, self._kept, self._failed = moved, kept, failed
        self._watch = FolderWatch(session.picture_folders[0])
        self._first = 0
        self._shown = FolderPage()
        self._is_looking = self._has_looked = False
        self._is_browsing = False
        self._skipped = 0
        self._places = _Places()
        self._known: frozenset[str] = frozenset()
        self._folder_trouble = ""
        self.asking = Asking(session, page, given=self.take_in, moved=moved, failed=failed)
        """Asks a camera program for a picture."""
        self.caption = ""
        """What the next picture shows."""

    # opened and left

    def open(self) -> None:
        """Begin: see what there is, take in what a camera was asked for, and look into the folder."""
        queue = self._session.pictures
        queue.listener = self
        if (handed := queue.handed) is not None:
            queue.handed = None
            self.take_in(handed)
        self._session.aside(self._find_places, self._found_places, self._failed)
        self.asking.recover()
        if not self._is_looking:
            self._look_now()

    def leave(self) -> None:
        """End: nothing is shown any more. What waits is taken in all the same."""
        if self._session.pictures.listener is self:
            self._session.pictures.listener = QueueListener()
        self._session.pictures.forget_failed(self._subject())
        self.asking.give_up()

    def _find_places(self) -> _Places:
        devices = self._session.devices
        return _Places(
            folders=picture_places(self._session.picture_folders, devices.drives()),
            sources=tuple(source for source in devices.sources if source.is_there()),
            has_camera=devices.still is not None and devices.still.is_there(),
        )

    def _found_places(self, places: _Places) -> None:
        self._places = places
        self._moved()

    @property
    def is_at_rest(self) -> bool:
        """Whether nothing is being read, neither to be shown nor to be taken in."""
        return not self._is_looking and not self._session.pictures.is_busy

    # the folder

    def look(self) -> None:
        """Look into the folder once more, unless that goes on already; never on the thread that draws."""
        if self._is_looking:
            return
        if self._skipped < self._shown.total // BIG_FOLDER:
            self._skipped += 1
            return
        self._look_now()

    def _look_now(self) -> None:
        self._is_looking, self._skipped = True, 0
        watch, first = self._watch, self._first
        self._session.aside(watch.look, lambda _: self._read_on(watch, first), self._not_read)

    def _read_on(self, watch: FolderWatch, first: int) -> None:
        """Read the page picture by picture, so that what else waits for the worker comes in between."""

        def work() -> tuple[bool, FolderPage]:
            return watch.read_next(first), watch.page(first)

        def done(read: tuple[bool, FolderPage]) -> None:
            if (watch, first) != (self._watch, self._first):
                self._look_now()  # Somebody went on to another folder or page meanwhile.
                return
            has_more, page = read
            is_new = (page, "") != (self._shown, self._folder_trouble) or not (has_more or self._has_looked)
            self._shown, self._folder_trouble = page, ""
            self._is_looking, self._has_looked = has_more, self._has_looked or not has_more
            if is_new:
                self._moved()
            if has_more:
                self._read_on(watch, first)

        self._session.aside(work, done, self._not_read)

    def _not_read(self, error: WalkappError) -> None:
        self._is_looking, self._has_looked = False, True
        self._shown, self._folder_trouble = FolderPage(), str(error)
        self._moved()

    def choose_folder(self, path: str) -> None:
        """Look into one of the folders to begin with, or show the folders around the one that is shown."""
        self._is_browsing = path == BROWSE
        self._go_to(self._watch.folder if path == BROWSE else Path(path))

    def row(self, path: str) -> None:
        """Go on to a folder inside, or to the one above."""
        self._is_browsing = True
        self._go_to(self._watch.folder.parent if path == UP else Path(path))

    def _go_to(self, folder: Path) -> None:
        if folder != self._watch.folder:
            self._watch, self._first, self._shown = FolderWatch(folder), 0, FolderPage()
            self._has_looked = False
        self._moved()
        if not self._is_looking:
            self._look_now()

    def turn(self, pages: int) -> None:
        """Show the pictures before (-1) or after (1) these."""
        self._first = max(0, self._shown.first + pages * PAGE_SIZE)
        if not self._is_looking:
            self._look_now()

    # choosing

    def choose(self, key: str) -> None:
        """Take a found picture in, unless that was done already."""
        tile = next((tile for tile in self._found() if tile.key == key), None)
        if tile is None or tile.state in ("", "failed"):
            read = next((p for p in self._shown.pictures if p.picture.key == key), None)
            self.take_in(Path(key), "" if read is None else read.sha256)

    def take_in(self, path: Path, sha256: str = "") -> None:
        """Take a file in, with the words that were typed for it."""
        words, self.caption = self.caption.strip(), ""
        self._session.pictures.ask(self._subject(), path, words, sha256)

    def queue_moved(self) -> None:
        """Show the states anew."""
        self._moved()

    def picture_kept(self, subject: Subject, photo: Photo) -> None:
        """Show what is on disk now."""
        if subject == self._subject():
            self._known |= {photo.sha256}
            self._kept(photo)
        else:
            self._moved()

    def picture_failed(self, entry: QueuedPicture) -> None:
        """Give the words back that were typed for it, unless others were typed since."""
        if entry.subject == self._subject() and not self.caption:
            self.caption = entry.caption
        self._moved()

    def take(self, word: str) -> bool:
        """Ask a source for a picture; says whether that is the live camera, which has a page of its own."""
        if word == self.CAMERA and self._places.has_camera:
            return True
        for source in self._places.sources:
            if source.word == word:
                self.asking.ask(source)
        return False

    @property
    def problem(self) -> str:
        """Why pictures were not taken in, a sentence each; empty when all were."""
        entries = self._session.pictures.of(self._subject())
        failed = [self._words(entry.error) for entry in entries if entry.error is not None]
        if len(failed) > 2:
            failed[2:] = [
                trn(
                    "{count} more picture could not be taken in.",
                    "{count} more pictures could not be taken in.",
                    len(failed) - 2,
                )
            ]
        return " ".join(failed)

    # what is shown

    def choice(
        self, known: frozenset[str], kept: tuple[Picture, ...], *, heading: str, kept_heading: str
    ) -> PictureChoice:
        """Give what there is to choose.

        Parameters
        ----------
        known
            SHA-256 of the pictures that cannot be chosen once more.
        kept
            Recorded pictures to show.
        heading, kept_heading
            What stands above the two.
        """
        self._known = known
        tiles = tuple(tile_of(picture) for picture in kept)
        return self.refreshed(
            PictureChoice(heading=heading, kept=tiles, kept_heading=kept_heading if kept else "")
        )

    def refreshed(self, choice: PictureChoice) -> PictureChoice:
        """Give the same choice as it stands now, with the same recorded pictures."""
        found = self._found()
        return replace(
            choice,
            sources=self._sources(),
            asking=self.asking.waits_for,
            folders=(
                *(self._places.folders or picture_places(self._session.picture_folders[:1], ())),
                (BROWSE, tr("Other folder")),
            ),
            folder=BROWSE if self._is_browsing else str(self._watch.folder),
            rows=self._rows(found),
            place=self._place(),
            found=found,
            has_newer=self._shown.first > 0,
            has_older=self._shown.first + PAGE_SIZE < self._shown.total,
            invitation=" ".join(filter(None, (self.asking.notice, self._invitation(found)))),
        )

    def _found(self) -> tuple[PictureTile, ...]:
        queued = self._session.pictures.of(self._subject())
        by_path = {str(entry.path): entry.state for entry in queued}
        # The same picture under two names is taken in once.
        by_content = {entry.sha256: entry.state for entry in queued if entry.state != "failed"}
        tiles = []
        for read in self._shown.pictures:
            state = by_content.get(read.sha256) or by_path.get(read.picture.key, "")
            if state in ("", "failed") and read.sha256 in self._known:
                state = "on_disk"
            tiles.append(tile_of(read.picture, state))
        return tuple(tiles)

    def _sources(self) -> tuple[tuple[str, str], ...]:
        camera = ((self.CAMERA, tr("Camera")),) if self._places.has_camera else ()
        return (*camera, *((source.word, source.label) for source in self._places.sources))

    def _rows(self, found: tuple[PictureTile, ...]) -> tuple[ListRow, ...]:
        """Give the folders around, when somebody browses or there is nothing else here."""
        inside = self._shown.folders
        if not self._is_browsing and (found or not inside):
            return ()
        here = self._watch.folder
        rows = [ListRow(id=str(f), title=f.name, subtitle=tr("Folder")) for f in inside[:MOST_FOLDERS]]
        if here.parent != here:
            rows.insert(0, ListRow(id=UP, title=tr("Up"), subtitle=path_words(here.parent)))
        return tuple(rows)

    def _place(self) -> str:
        """Say which folder is shown, and which of its pictures."""
        page = self._shown
        said = [path_words(self._watch.folder)]
        if page.total > PAGE_SIZE:
            last = min(page.first + PAGE_SIZE, page.total)
            said.append(
                tr(
                    "{first} to {last} of {total} pictures, the newest first",
                    first=page.first + 1,
                    last=last,
                    total=whole_text(page.total),
                )
            )
        if page.is_cut:
            said.append(tr("more is in it than can be looked at: move old pictures away"))
        if self._is_browsing and len(page.folders) > MOST_FOLDERS:
            said.append(
                tr(
                    "the first {most_folders} of {folders} folders",
                    most_folders=MOST_FOLDERS,
                    folders=whole_text(len(page.folders)),
                )
            )
        return "; ".join(said)

    def _invitation(self, found: tuple[PictureTile, ...]) -> str:
        said = [self._folder_trouble]
        if not found and self._has_looked and not self._folder_trouble:
            said.append(tr("No picture in the folder {folder}.", folder=self._watch.folder.name))
        if not self._sources():
            said.append(
                tr(
                    "This tablet has no camera that the program can use: copy pictures into the "
                    "folder, and they appear here by themselves."
                )
            )
        elif not found and self._has_looked:
            said.append(tr("Take one with the camera, or choose another folder."))
        if self._shown.not_whole:
            said.append(
                trn(
                    "{count} file cannot be shown: not copied completely yet, or damaged.",
                    "{count} files cannot be shown: not copied completely yet, or damaged.",
                    self._shown.not_whole,
                )
            )
        return " ".join(filter(None, said))


class PicksPictures:
    """What a presenter of a page on which pictures are taken in is told by its screen."""

    session: Session
    route: Route
    picker: Picker

    def look_for_pictures(self) -> None:
        """Look into the folder once more; called every second or two while the page is shown.

        Nothing else is read, and what the page says of an entry or of a problem stays.
        """
        self.picker.look()

    def choose(self, key: str) -> None:
        """Take a found picture into the store and record it."""
        self.picker.choose(key)

    def choose_folder(self, path: str) -> None:
        """Look into one of the folders to begin with, or browse."""
        self.picker.choose_folder(path)

    def folder_row(self, path: str) -> None:
        """Go on to a folder inside, or to the one above."""
        self.picker.row(path)

    def turn_pictures(self, pages: int) -> None:
        """Show the pictures before (-1) or after (1) these."""
        self.picker.turn(pages)

    def take(self, word: str) -> None:
        """Ask a camera for a picture."""
        if self.picker.take(word):
            self.session.go(self.route.down("camera"))
