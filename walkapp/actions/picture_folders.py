"""Pictures in the folders of a tablet, small and page by page, while a camera goes on filling them."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from walkapp.actions.intake import SMALL_PX, ReadPicture, check_picture
from walkapp.actions.pictures import Picture
from walkapp.errors import PhotoError
from walkapp.files import sha256_of
from walkapp.language import tr
from walkapp.photos import FolderContent, FoundPicture, look_into, read_picture, small_picture
from walkapp.visible import visible

PAGE_SIZE = 12
"""Pictures of a folder that are read and shown at a time."""

MOST_TRIES = 5
"""How often a file that is no whole picture is read again though it looks unchanged."""


NOTHING = FolderContent(pictures=(), folders=(), is_cut=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class FolderPicture:
    """A picture of a folder that was read.

    Parameters
    ----------
    picture
        It, small; its key is its path.
    sha256
        Of the file when it was read.
    """

    picture: Picture
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FolderPage:
    """A page of the pictures of a folder, as far as they are read.

    Parameters
    ----------
    pictures
        Those that are read and whole, the newest first.
    first, total
        How many newer ones the folder has, and how many in all.
    not_whole
        How many files of the page are no whole pictures, or not yet.
    folders
        Folders in it, by name.
    is_cut
        Whether the folder holds more than can be looked at.
    """

    pictures: tuple[FolderPicture, ...] = ()
    first: int = 0
    total: int = 0
    not_whole: int = 0
    folders: tuple[Path, ...] = ()
    is_cut: bool = False


@dataclass(slots=True)
class _Seen:
    """A file as it was read; `look` is the last look at which it was."""

    found: FoundPicture
    look: int
    tries: int = 1
    read: FolderPicture | None = None


class FolderWatch:
    """Looks into one folder again and again; reads a file only when it is new or has changed.

    To be used on one worker. Memory and work are bounded by the page, whatever the folder holds.

    Parameters
    ----------
    folder
        The folder; one that is missing holds no pictures.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._content = NOTHING
        self._seen: dict[Path, _Seen] = {}
        self._look = 0

    def look(self) -> int:
        """List the folder anew; nothing is read yet. Gives how many pictures it has.

        Raises
        ------
        PhotoError
            If the folder is there and cannot be read.
        """
        self._look += 1
        self._content = NOTHING
        if os.path.lexists(self.folder):  # never raises, whatever became of the card
            self._content = look_into(self.folder)
        return len(self._content.pictures)

    def read_next(self, first: int) -> bool:
        """Read one more file of a page; say whether there was one."""
        found = next((f for f in self._page(first) if self._must_read(f)), None)
        if found is None:
            return False
        seen = self._seen.get(found.path)
        tries = seen.tries + 1 if seen is not None and seen.found == found else 1
        self._seen[found.path] = _Seen(found, self._look, tries, _read(found.path))
        return True

    def page(self, first: int) -> FolderPage:
        """Give a page as far as it is read, and forget all others."""
        on_page = self._page(first)
        self._seen = {f.path: self._seen[f.path] for f in on_page if f.path in self._seen}
        seen = [s for f in on_page if (s := self._seen.get(f.path)) is not None and s.found == f]
        return FolderPage(
            pictures=tuple(s.read for s in seen if s.read is not None),
            first=self._first(first),
            total=len(self._content.pictures),
            not_whole=sum(s.read is None for s in seen),
            folders=self._content.folders,
            is_cut=self._content.is_cut,
        )

    def _first(self, first: int) -> int:
        """Move `first` back to the last page where the folder has become shorter."""
        last = max(len(self._content.pictures) - 1, 0) // PAGE_SIZE * PAGE_SIZE
        return max(0, min(first, last))

    def _page(self, first: int) -> tuple[FoundPicture, ...]:
        first = self._first(first)
        return self._content.pictures[first : first + PAGE_SIZE]

    def _must_read(self, found: FoundPicture) -> bool:
        seen = self._seen.get(found.path)
        if seen is None or seen.found != found:
            return True
        # Cards with coarse clocks show a file that is still being copied as unchanged.
        return seen.read is None and seen.look != self._look and seen.tries < MOST_TRIES


def _read(path: Path) -> FolderPicture | None:
    """Read one file; nothing when it is no whole picture."""
    try:
        data = read_picture(path)
        size, pixels = small_picture(data, SMALL_PX, path.name)
    except PhotoError:
        return None
    picture = Picture(key=str(path), caption=short_name(path.name), size=size, pixels=pixels)
    return FolderPicture(picture=picture, sha256=sha256_of(data))


def short_name(name: str) -> str:
    """Shorten the name of a file in its middle, so that it has room below a small picture.

    Examples
    --------
    >>> short_name("DSC_0001.JPG"), short_name("a" * 250 + ".jpg")
    ('DSC_0001.JPG', 'aaaaaaaaaaaaaaaaaa...aaaaaaaaaaa.jpg')
    """
    clean = visible(name).strip()
    return clean if len(clean) <= 36 else f"{clean[:18]}...{clean[-15:]}"


def read_in(path: Path) -> ReadPicture:
    """Read a picture of a folder to take it in.

    Raises
    ------
    PhotoError
        If the file cannot be read or is no whole picture.
    """
    return check_picture(read_picture(path), path.name)


def picture_places(known: Iterable[Path], drives: Iterable[Path]) -> tuple[tuple[str, str], ...]:
    """Give the folders to begin with: those that are known, then those of cards and drives.

    Parameters
    ----------
    known
        Folders of this tablet, the watched one first, which is given even when it is not there yet.
    drives
        Where cards and drives are plugged in now.

    Returns
    -------
    tuple of (str, str)
        Path and name. A card of a camera is named by itself and begins in its folder DCIM.
    """
    watched, *others = known
    places = {str(watched): watched.name}
    places |= {str(folder): folder.name for folder in others if _is_folder(folder)}
    for drive in drives:
        inside = drive / "DCIM"
        folder = inside if _is_folder(inside) else drive
        places.setdefault(str(folder), drive.name or str(drive))
    return tuple(places.items())


def _is_folder(path: Path) -> bool:
    return os.path.isdir(path)  # noqa: PTH112  never raises, whatever became of the card


def asked_folder(watched: Path) -> Path:
    """Give the folder in which a camera puts the picture that it is asked for; hidden from the list."""
    return watched / ".asked"


def begin_asking(watched: Path) -> Path:
    """Make the folder for a picture that is asked for, empty.

    Raises
    ------
    PhotoError
        If the disk refuses.
    """
    folder = asked_folder(watched)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for old in folder.iterdir():
            if old.is_file() or old.is_symlink():
                _move(old, watched)  # never asked for by anybody any more, but nothing is thrown away
    except OSError as error:
        raise PhotoError(
            tr(
                "The folder {watched} cannot be written; free some room or allow it, then take "
                "the picture again.",
                watched=watched,
            )
        ) from error
    return folder


def end_asking(watched: Path, given: Path | None = None) -> Path | None:
    """Move the picture that was asked for into the watched folder, where it is listed like any other.

    Parameters
    ----------
    watched
        The watched folder.
    given
        The file, if it is known; otherwise the newest one that lies where it was asked for.

    Returns
    -------
    Path or None
        Its new place; none when there is no picture, or none with anything in it.

    Raises
    ------
    PhotoError
        If it cannot be moved.
    """
    folder = asked_folder(watched)
    if given is None:
        found = look_into(folder).pictures if _is_folder(folder) else ()
        given = found[0].path if found else None
    try:
        if given is None or given.stat().st_size == 0:
            return None
        return _move(given, watched)
    except OSError as error:
        raise PhotoError(
            tr(
                "{given} cannot be moved into {watched}; free some room, then choose it there.",
                given=given,
                watched=watched,
            )
        ) from error


def _move(file: Path, folder: Path) -> Path:
    """Move a file within one medium, under a name that is free."""
    target = folder / file.name
    number = 2
    while target.exists():
        target = folder / f"{file.stem}-{number}{file.suffix}"
        number += 1
    return file.rename(target)
