"""The journal of one scope that this tablet writes: a file that only ever grows.

After ``fsync`` has failed once, nothing more is believed of that file: the system may have dropped
the data and say "done" the next time (PostgreSQL wiki, "Fsync Errors"). The next file of the same
scope takes its place, and its header says how much of the earlier ones had been confirmed. Until that
header is durable, what was refused could come back at the next start.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from pathlib import Path

from walkapp.files import Disk, write_all
from walkapp.store.reading import Header, journal_name

MakeHeader = Callable[[tuple[int | None, ...]], Header]
"""Makes the header of a new file from the confirmed lengths of the earlier ones; ``None`` when all
of a file counts."""


class Journal:
    """Appends lines to the newest file of a scope.

    Parameters
    ----------
    folder
        Where the files are.
    scope
        Id of the walk or concern.
    disk
        Where to write.
    confirmed
        For each file before the newest: its confirmed length, ``None`` when all of it counts.
    length_bytes
        Confirmed length of the newest file; 0 when there is none yet.

    Attributes
    ----------
    is_doubtful
        Whether lines that were refused may still be on the medium and come back at the next start.
    """

    def __init__(
        self,
        *,
        folder: Path,
        scope: str,
        disk: Disk,
        confirmed: tuple[int | None, ...] = (),
        length_bytes: int = 0,
    ) -> None:
        self._folder = folder
        self._scope = scope
        self._disk = disk
        self._confirmed = list(confirmed)
        self._file: int | None = None
        self.length_bytes = length_bytes
        self.is_doubtful = False
        self._before_last = length_bytes
        self._unsettled = self.path if length_bytes else None

    @property
    def path(self) -> Path:
        """The file that is written to now."""
        return self._path_of(len(self._confirmed) + 1)

    def parts(self) -> list[tuple[Path, int | None]]:
        """Every file with its confirmed length, oldest first; ``None`` when all of it counts."""
        earlier = [(self._path_of(n), length) for n, length in enumerate(self._confirmed, start=1)]
        return [*earlier, (self.path, self.length_bytes)]

    def append(self, lines: bytes, make_header: MakeHeader) -> None:
        """Write whole lines and return when they are on the medium.

        Parameters
        ----------
        lines
            What to write.
        make_header
            Makes the first line, should this begin a new file.

        Raises
        ------
        OSError
            If that is not certain. The journal can be used further: either the file was cut back,
            or the next file takes its place.
        """
        self.fence(make_header)
        start = self.length_bytes
        self._add(lines, make_header)
        self._before_last = start

    def fence(self, make_header: MakeHeader) -> None:
        """Make certain that lines which were refused do not come back; nothing happens without doubt.

        Raises
        ------
        OSError
            If the system refuses; the doubt stays.
        """
        if not self.is_doubtful:
            return
        if self._confirmed:
            self._add(b"", make_header)
        else:
            self._disk.sync_folder(self._folder)  # its only file was removed
        self.is_doubtful = False

    def settle(self) -> None:
        """Make certain that what was found in the newest file is on the medium, once.

        An earlier run may have been stopped between writing a line and waiting for it.

        Raises
        ------
        OSError
            If the system refuses; the next append begins a new file.
        """
        path, self._unsettled = self._unsettled, None
        if path is None:
            return
        try:
            file = self._disk.open_append(path)
            try:
                self._disk.sync(file)
            finally:
                self._disk.close(file)
        except OSError:
            if path == self.path:
                self.distrust(self.length_bytes)
            raise

    def take_back(self) -> None:
        """Undo the last append."""
        self.cut_to(self._before_last)
        self.close()

    def _add(self, lines: bytes, make_header: MakeHeader) -> None:
        file = self._open()
        if self.length_bytes == 0:
            lines = make_header(tuple(self._confirmed)).encode() + lines
        try:
            write_all(file, lines, self._disk)
        except OSError:
            self.cut_to(self.length_bytes)
            raise
        try:
            self._disk.sync(file)
            if self.length_bytes == 0:
                self._disk.sync_folder(self._folder)
        except OSError:
            self._move_on(self.length_bytes)
            raise
        self.length_bytes += len(lines)

    def cut_to(self, length_bytes: int) -> None:
        """Take back what was written after a length; if that is not certain, move on to a new file."""
        try:
            file = self._open()
            self._disk.truncate(file, length_bytes)
            self._disk.sync(file)
        except OSError:
            self._move_on(length_bytes)
        else:
            self.length_bytes = length_bytes

    def move_on(self) -> None:
        """Begin a new file at the next append, although the newest is sound."""
        self.close()
        self._confirmed.append(None)
        self.length_bytes = 0

    def distrust(self, good_bytes: int) -> None:
        """Begin a new file at the next append, since only the beginning of the newest is sound."""
        self.close()
        self._confirmed.append(good_bytes)
        self.length_bytes = 0

    def doubt(self) -> None:
        """Say once more, in the next file, what the header of the newest one says.

        After a failed sync and a stop it can be read, but need not be on the medium, and a sync now
        would not tell.
        """
        self.distrust(self.length_bytes)
        self.is_doubtful = True

    def close(self) -> None:
        """Give the file back to the system; the next append opens it again."""
        if self._file is not None:
            file, self._file = self._file, None
            with contextlib.suppress(OSError):
                self._disk.close(file)

    def _path_of(self, part: int) -> Path:
        return self._folder / journal_name(self._scope, part)

    def _open(self) -> int:
        if self._file is None:
            self._file = self._disk.open_append(self.path)
        return self._file

    def _move_on(self, good_bytes: int) -> None:
        path = self.path
        self.close()
        self.length_bytes = 0
        self.is_doubtful = True
        if good_bytes > 0 or not self._is_gone(path):
            self._confirmed.append(good_bytes)

    def _is_gone(self, path: Path) -> bool:
        """Remove a file in which nothing was ever confirmed, so that it cannot bring back a ghost."""
        try:
            self._disk.remove(path)
        except FileNotFoundError:
            return True
        except OSError:
            return False
        return True
