"""What a refusal of the system means for the person, and the reserve for a full disk."""

from __future__ import annotations

import contextlib
import errno
from pathlib import Path

from walkapp.errors import StoreError
from walkapp.files import Disk
from walkapp.language import tr

BALLAST_BYTES = 4 * 1024 * 1024
_FULL = (errno.ENOSPC, errno.EDQUOT)


def is_full(error: OSError) -> bool:
    """Say whether the system refused for want of room."""
    return error.errno in _FULL


def explain(error: OSError, what: str, folder: Path) -> StoreError:
    """Say in one sentence what was not done, why, and what to do.

    Parameters
    ----------
    error
        What the system said.
    what
        What was being done, as the beginning of the sentence: ``"The entry was not saved"``.
    folder
        The store.
    """
    if is_full(error):
        where = tr("the storage that holds {folder}", folder=folder)
        why = tr("{where} is full; delete old bundles or other files there and try again", where=where)
    elif error.errno == errno.EROFS:
        why = tr(
            "{folder} is on a medium that can only be read; choose a folder that can be written",
            folder=folder,
        )
    elif error.errno in (errno.EACCES, errno.EPERM):
        why = tr(
            "this program is not allowed to use {folder}; choose another folder or allow it", folder=folder
        )
    elif error.errno == errno.EIO:
        why = tr(
            "the storage that holds {folder} reports a fault; try again, then write a bundle "
            "to another medium soon",
            folder=folder,
        )
    else:
        why = tr(
            "{folder} cannot be used ({what}); mend that and try again",
            folder=folder,
            what=error.strerror or error,
        )
    return StoreError(tr("{what}: {why}; nothing saved before is lost.", what=what, why=why))


def refuse_writing(folder: Path) -> StoreError:
    """Say that a store was opened for reading only."""
    return StoreError(
        tr("{folder} was opened for reading only: open it for writing to add to it.", folder=folder)
    )


class Ballast:
    """A file without use, whose room is given back when the disk is full.

    Parameters
    ----------
    path
        Where the file is.
    disk
        Where to write.
    """

    def __init__(self, path: Path, disk: Disk) -> None:
        self._path = path
        self._disk = disk

    def lay(self) -> bool:
        """Make the file when it is not there; say whether it is there now."""
        if self._path.exists():
            return True
        try:
            self._disk.reserve(self._path, BALLAST_BYTES)
        except OSError:
            # Half a reserve would fill the disk and still not be one.
            self.release()
            return False
        return True

    def release(self) -> bool:
        """Give the room back; say whether there was any."""
        with contextlib.suppress(OSError):
            self._disk.remove(self._path)
            return True
        return False
