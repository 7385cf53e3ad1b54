"""Small pictures that are kept on disk, so that each is made once: a cache and never a source of truth.

A file is named by the SHA-256 of everything that it was made of, and begins with the SHA-256 of that name
and of its content. One that is torn, spoilt, swapped or of another version is as good as none.
"""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import threading
from pathlib import Path

from walkapp.files import DISK, Disk, sha256_of, write_all

FORMAT = 1
"""Rises when a small picture of the same file is made in another way."""

MOST_BYTES = 64_000_000
"""Some thousand small pictures."""

LARGEST_FILE_BYTES = 2_000_000
"""More is no small picture, whoever put it there."""

ROOM = 200_000_000
"""Free bytes that are left to records and pictures: a cache is not worth them."""

KEPT_SHARE = 0.8
"""How much of the room stays taken when the oldest files make way."""

_NAME = re.compile(r"[0-9a-f]{64}", re.ASCII)


class Shelf:
    """Small files under a name that says what they were made of. All methods may be called by any thread.

    Parameters
    ----------
    folder
        Where they lie; made with the first of them.
    disk
        Where to read and write.
    most_bytes
        Bytes of all files together; the oldest make way.
    room
        Free bytes that the disk keeps.
    """

    def __init__(
        self, folder: Path, disk: Disk = DISK, *, most_bytes: int = MOST_BYTES, room: int = ROOM
    ) -> None:
        self._folder = folder
        self._disk = disk
        self._most_bytes = most_bytes
        self._room = room
        self._lock = threading.Lock()
        self._held: dict[str, int] | None = None

    def read(self, made_of: str) -> bytes | None:
        """Give what was kept; none when there is nothing, or it is not exactly as it was written.

        Parameters
        ----------
        made_of
            Everything that the content follows from, as text.
        """
        name = _name(made_of)
        path = self._folder / name
        try:
            if path.stat().st_size > LARGEST_FILE_BYTES:
                return None
            digest, _, content = self._disk.read(path).partition(b"\n")
        except OSError:
            return None
        return content if digest == _digest(name, content) else None

    def write(self, made_of: str, content: bytes) -> bool:
        """Keep something, not waiting for the medium; say whether it was kept.

        A disk that refuses, or has no room to spare, keeps the records and not this.
        """
        name = _name(made_of)
        whole = _digest(name, content) + b"\n" + content
        if len(whole) > min(LARGEST_FILE_BYTES, self._most_bytes):
            return False
        beside = self._folder / f".{name}.{os.getpid()}.tmp"
        with self._lock:
            try:
                if not self._folder.is_dir():
                    self._disk.make_folder(self._folder)
                if shutil.disk_usage(self._folder).free < len(whole) + self._room:
                    return False
                held = self._files()
                self._make_way(held, len(whole) - held.get(name, 0))
                self._put(beside, whole, name)
            except OSError:
                with contextlib.suppress(OSError):
                    self._disk.remove(beside)
                return False
            held.pop(name, None)
            held[name] = len(whole)
            return True

    def _put(self, beside: Path, whole: bytes, name: str) -> None:
        file = self._disk.create(beside)
        try:
            write_all(file, whole, self._disk)
        finally:
            self._disk.close(file)
        self._disk.rename(beside, self._folder / name)

    def _files(self) -> dict[str, int]:
        """Give the size of each file, the oldest first; what a crash left behind is taken away."""
        if self._held is None:
            found: list[tuple[float, str, int]] = []
            for entry in os.scandir(self._folder):
                if _NAME.fullmatch(entry.name):
                    about = entry.stat(follow_symlinks=False)
                    found.append((about.st_mtime, entry.name, about.st_size))
                elif entry.name.endswith(".tmp") and entry.name.startswith("."):
                    self._disk.remove(Path(entry.path))
            self._held = {name: size for _, name, size in sorted(found)}
        return self._held

    def _make_way(self, held: dict[str, int], more: int) -> None:
        taken = sum(held.values())
        if taken + more <= self._most_bytes:
            return
        for name in tuple(held):
            if taken + more <= self._most_bytes * KEPT_SHARE:
                return
            with contextlib.suppress(FileNotFoundError):
                self._disk.remove(self._folder / name)
            taken -= held.pop(name)


def _name(made_of: str) -> str:
    return sha256_of(f"{FORMAT}\n{made_of}".encode())


def _digest(name: str, content: bytes) -> bytes:
    return sha256_of(name.encode() + b"\n" + content).encode()
