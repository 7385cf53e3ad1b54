"""The zip of a bundle that is being written: always alike, within the limits, durable when told to."""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import zipfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, Self

from walkapp.bundle.archive import CHUNK_BYTES, entry_of, packing_of
from walkapp.bundle.descriptor import Listing
from walkapp.bundle.layout import Limits
from walkapp.bundle.places import Place
from walkapp.errors import BundleError
from walkapp.files import Disk, write_all
from walkapp.language import msg, tr

__all__ = ["SMALLER", "NewArchive", "unreadable"]

SMALLER = msg("write it for one concern, or for fewer days")
"""How to mend a bundle that is too large."""

# What the zip itself needs for each file stays well below this.
_BYTES_OF_AN_ENTRY = 1_000


class NewArchive:
    """A new zip, open for adding members.

    Parameters
    ----------
    path
        The file to make; one of that name is overwritten.
    place
        The bundle, for complaints.
    limits
        What it may hold.
    disk
        Where to write.

    Raises
    ------
    OSError
        Here and in every method, if the system refuses.

    Notes
    -----
    At most one text is held in memory at a time, and of a picture one piece.
    """

    def __init__(self, path: Path, place: Place, limits: Limits, disk: Disk) -> None:
        self._place = place
        self._limits = limits
        self._file = _DiskFile(path, disk)
        self._zip = zipfile.ZipFile(self._file, "w")
        self._text_bytes = self._total_bytes = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        # A zip that is given up still wants to write its list of members; what it says is no news.
        with contextlib.suppress(OSError, ValueError):
            self._zip.close()
        self._file.close()

    def add_text(self, path: str, pieces: Iterable[bytes]) -> Listing:
        """Add a member that is packed.

        Raises
        ------
        BundleError
            If it is larger than allowed, or the bundle is by now.
        """
        most = self._limits.most_bytes(path)
        kept: list[bytes] = []
        digest, size_bytes = hashlib.sha256(), 0
        for piece in pieces:
            digest.update(piece)
            size_bytes += len(piece)
            kept.append(piece)
            if size_bytes > most:
                kept.clear()
        self.check_size(path, size_bytes)
        self._text_bytes += size_bytes
        if self._text_bytes > self._limits.text_bytes:
            raise self._too_large()
        self._add(path, size_bytes, kept, packing_of(kept, size_bytes, self._limits))
        return Listing(path=path, size_bytes=size_bytes, sha256=digest.hexdigest())

    def add_photo(self, listing: Listing, source: Path) -> None:
        """Add a picture, stored as it is; that it is the one listed shows when it is read back.

        Raises
        ------
        BundleError
            If the picture cannot be read, or the bundle is larger than allowed by now.
        """
        place = self._place.at(member=listing.path)
        self._add(listing.path, listing.size_bytes, _pieces(source, place), zipfile.ZIP_STORED)

    def check_size(self, path: str, size_bytes: int) -> None:
        """Refuse a member that is larger than a reader takes.

        Raises
        ------
        BundleError
            If it is.
        """
        most = self._limits.most_bytes(path)
        if size_bytes > most:
            raise self._place.at(member=path).error(
                tr(
                    "would have {size_bytes} bytes, at most {most} are allowed",
                    size_bytes=size_bytes,
                    most=most,
                ),
                tr(SMALLER),
            )

    def finish(self) -> None:
        """Write the zip's own list of its members; nothing can be added after."""
        self._zip.close()

    def sync(self) -> None:
        """Return when the zip has reached the medium."""
        self._file.sync()

    def _add(self, path: str, size_bytes: int, pieces: Iterable[bytes], packing: int) -> None:
        self._total_bytes += size_bytes + _BYTES_OF_AN_ENTRY
        if self._total_bytes > self._limits.total_bytes:
            raise self._too_large()
        with self._zip.open(entry_of(path, size_bytes, packing), "w") as member:
            for piece in pieces:
                member.write(piece)

    def _too_large(self) -> BundleError:
        return self._place.error(tr("would be larger than a bundle may be"), tr(SMALLER))


def unreadable(source: Path, error: OSError, place: Place) -> BundleError:
    """Make the error that says that a picture cannot be read."""
    return place.error(
        tr("{source} cannot be read ({what})", source=source, what=error.strerror or error),
        tr("restore that file"),
    )


def _pieces(source: Path, place: Place) -> Iterator[bytes]:
    try:
        with source.open("rb") as file:
            while piece := file.read(CHUNK_BYTES):
                yield piece
    except OSError as error:
        raise unreadable(source, error, place) from error


class _DiskFile(io.RawIOBase):
    """A file on a disk as the zip module wants it: every byte is written or an error is raised."""

    def __init__(self, path: Path, disk: Disk) -> None:
        self._disk = disk
        self._descriptor = disk.create(path)

    def writable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def write(self, data: Any) -> int:
        piece = bytes(data)
        if piece:
            write_all(self._descriptor, piece, self._disk)
        return len(piece)

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        return os.lseek(self._descriptor, offset, whence)

    def sync(self) -> None:
        self._disk.sync(self._descriptor)

    def close(self) -> None:
        if not self.closed:
            super().close()
            self._disk.close(self._descriptor)
