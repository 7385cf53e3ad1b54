"""Pictures in a folder that a camera, a cable or a person fills while the program looks."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from walkapp.errors import PhotoError
from walkapp.language import tr
from walkapp.photos.content import MOST_BYTES, check_bytes, shown

ENDINGS = (".jpg", ".jpeg", ".png")

MOST_ENTRIES = 20_000
"""Entries of one folder that are looked at; a card filled by a camera has some hundreds in each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundPicture:
    """A file that has the name of a picture; what it holds is not looked at.

    Parameters
    ----------
    path
        Where it is.
    taken
        When the file was last written: nanoseconds since 1970 in UTC, by the clock of whoever wrote it.
    size_bytes
        At least 1.
    """

    path: Path
    taken: int
    size_bytes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FolderContent:
    """What is in a folder.

    Parameters
    ----------
    pictures
        Regular files that end in ``.jpg``, ``.jpeg`` or ``.png`` in any case, the newest first; written at
        the same moment, by name. Links, empty files (a copy that has just begun) and hidden files are left
        out, and so are files that vanish while the list is made.
    folders
        Folders in it, by name, without hidden ones and links.
    is_cut
        Whether it has more than 20,000 entries, of which only so many were looked at.
    """

    pictures: tuple[FoundPicture, ...]
    folders: tuple[Path, ...]
    is_cut: bool


def look_into(folder: Path) -> FolderContent:
    """List the pictures and folders of a folder.

    Parameters
    ----------
    folder
        Folders inside it are named and not entered.

    Raises
    ------
    PhotoError
        If the folder is missing, is no folder, or cannot be read.
    """
    try:
        with os.scandir(folder) as found:
            entries = list(islice(found, MOST_ENTRIES + 1))
    except FileNotFoundError as error:
        raise PhotoError(
            tr(
                "The folder {shown} is not there; connect the camera or choose another one.",
                shown=shown(str(folder)),
            )
        ) from error
    except NotADirectoryError as error:
        raise PhotoError(
            tr(
                "{shown} is a file and not a folder; choose the folder that holds the pictures.",
                shown=shown(str(folder)),
            )
        ) from error
    except OSError as error:
        raise PhotoError(
            tr(
                "The folder {shown} cannot be read; allow it or choose another one.",
                shown=shown(str(folder)),
            )
        ) from error
    seen = sorted(entries[:MOST_ENTRIES], key=lambda entry: entry.name)
    pictures = sorted(_pictures(folder, seen), key=lambda picture: picture.taken, reverse=True)
    return FolderContent(
        pictures=tuple(pictures),
        folders=tuple(folder / entry.name for entry in seen if _is_folder(entry)),
        is_cut=len(entries) > MOST_ENTRIES,
    )


def pictures_in(folder: Path) -> tuple[FoundPicture, ...]:
    """List the pictures of a folder, the newest first, as :func:`look_into` does."""
    return look_into(folder).pictures


def _pictures(folder: Path, entries: list[os.DirEntry[str]]) -> Iterator[FoundPicture]:
    for entry in entries:
        if entry.name.startswith(".") or not entry.name.lower().endswith(ENDINGS):
            continue
        try:
            # Not what the listing knows: on some systems that is as old as the last closing of the file.
            facts = os.lstat(entry.path)
        except OSError:
            # Gone, or not readable, since the folder was listed.
            continue
        if stat.S_ISREG(facts.st_mode) and facts.st_size > 0:
            yield FoundPicture(path=folder / entry.name, taken=facts.st_mtime_ns, size_bytes=facts.st_size)


def _is_folder(entry: os.DirEntry[str]) -> bool:
    try:
        return not entry.name.startswith(".") and entry.is_dir(follow_symlinks=False)
    except OSError:
        return False


def read_picture(path: Path) -> bytes:
    """Read a picture file, never more than the largest picture that is allowed.

    Parameters
    ----------
    path
        A regular file, or a link to one.

    Returns
    -------
    bytes
        At most 25 million; possibly none. What they are, :func:`walkapp.photos.examine` says.

    Raises
    ------
    PhotoError
        If the file is missing, not a regular file, not readable, or larger than 25 MB.
    """
    name = shown(path.name)
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            # Opening a pipe or a device could wait for ever.
            raise PhotoError(
                tr("{name} is not a picture file; choose a file that ends in .jpg or .png.", name=name)
            )
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except FileNotFoundError as error:
        raise PhotoError(
            tr("{name} is no longer there; copy it again or choose another picture.", name=name)
        ) from error
    except OSError as error:
        raise PhotoError(
            tr("{name} cannot be read; allow the program to read it or choose another picture.", name=name)
        ) from error
    check_bytes(len(data), path.name)
    return data
