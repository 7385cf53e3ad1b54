"""One writer at a time: a lock of the operating system, which ends with the process that holds it.

A lock file that merely exists would stay behind after a crash; this one cannot.
"""

from __future__ import annotations

import contextlib
import os
import sys
from pathlib import Path

from walkapp.errors import StoreBusyError
from walkapp.language import tr

if sys.platform == "win32":
    import msvcrt

    def _take(file: int) -> None:
        msvcrt.locking(file, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _take(file: int) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)


class FolderLock:
    """Keeps every other writer out of a folder until it is released.

    Parameters
    ----------
    path
        The lock's file; made when it is not there, never removed.

    Raises
    ------
    StoreBusyError
        If another opener holds it, in this process or in another.
    OSError
        If the file cannot be made.
    """

    def __init__(self, path: Path) -> None:
        self._file: int | None = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
        try:
            _take(self._file)
        except (BlockingIOError, PermissionError):
            self.release()
            raise StoreBusyError(
                tr(
                    "{parent} is already open in another window or program: close that one first.",
                    parent=path.parent,
                )
            ) from None
        except OSError:
            self.release()
            raise

    @staticmethod
    def is_held(path: Path) -> bool:
        """Say whether somebody has the folder open for writing just now."""
        try:
            file = os.open(path, os.O_RDWR)
        except OSError:
            return False
        try:
            _take(file)
        except OSError:
            return True
        finally:
            os.close(file)
        return False

    def release(self) -> None:
        """Let others in; a second call does nothing."""
        if self._file is not None:
            file, self._file = self._file, None
            with contextlib.suppress(OSError):
                os.close(file)
