"""Pictures in a folder that a camera, a cable or a person fills while the program looks."""

from __future__ import annotations

import stat
from dataclasses import dataclass
from pathlib import Path

from walkapp.errors import PhotoError
from walkapp.language import tr
from walkapp.photos.content import MOST_BYTES, check_bytes, shown

ENDINGS = (".jpg", ".jpeg", ".png")


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


def pictures_in(folder: Path) -> tuple[FoundPicture, ...]:
    """List the pictures of a folder, the newest first.

    Parameters
    ----------
    folder
        Folders inside it are not entered.

    Returns
    -------
    tuple of FoundPicture
        Regular files that end in ``.jpg``, ``.jpeg`` or ``.png`` in any case; written at the same moment,
        by name. Links, empty files (a copy that has just begun) and hidden files are left out, and so are
        files that vanish while the list is made.

    Raises
    ------
    PhotoError
        If the folder is missing, is no folder, or cannot be read.
    """
    try:
        paths = sorted(folder.iterdir(), key=lambda path: path.name)
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
    found = [picture for path in paths if (picture := _find(path)) is not None]
    return tuple(sorted(found, key=lambda picture: picture.taken, reverse=True))


def _find(path: Path) -> FoundPicture | None:
    if path.suffix.lower() not in ENDINGS or path.name.startswith("."):
        return None
    try:
        facts = path.lstat()
    except OSError:
        # Gone, or not readable, since the folder was listed.
        return None
    if not stat.S_ISREG(facts.st_mode) or facts.st_size == 0:
        return None
    return FoundPicture(path=path, taken=facts.st_mtime_ns, size_bytes=facts.st_size)


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
