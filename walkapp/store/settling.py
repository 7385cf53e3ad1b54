"""Making certain what was found at opening, before anything is built on it."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from walkapp.files import Disk


class Settling:
    """Makes the names in some folders durable, once.

    A run that was stopped between giving a name and waiting for it leaves a name that every program
    sees and no medium has. What is saved under it later would go with it at a power cut.

    Parameters
    ----------
    folders
        The folders; the first may be one that this program may not look into, since it did not make
        the names in it then.
    disk
        Where they are.
    """

    def __init__(self, folders: Iterable[Path], disk: Disk) -> None:
        self._waiting = list(folders)
        self._disk = disk

    def settle(self) -> None:
        """Return when all names are durable.

        Raises
        ------
        OSError
            If the system refuses; the next call goes on from there.
        """
        while self._waiting:
            try:
                self._disk.sync_folder(self._waiting[-1])
            except PermissionError:
                if len(self._waiting) > 1:
                    raise
            self._waiting.pop()
