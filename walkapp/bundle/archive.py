"""The zip of a bundle: written always alike, and read with distrust.

Nothing is ever unpacked by the zip module itself: names are checked against a list of what may be
there, and content is read as a stream that is counted on the way.
"""

from __future__ import annotations

import hashlib
import io
import stat
import struct
import threading
import unicodedata
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Self

from walkapp.bundle.descriptor import Listing
from walkapp.bundle.layout import Limits, is_member_name, is_photo
from walkapp.bundle.places import Place, describe_refusal
from walkapp.language import tr

__all__ = ["CHUNK_BYTES", "Archive", "entry_of", "packing_of"]

CHUNK_BYTES = 1 << 20
_FILE_MODE = (stat.S_IFREG | 0o644) << 16
_FOLDER_BIT = 0x10
_ENCRYPTED_BIT = 0x1
_LOCAL_HEADER_BYTES = 30
_END_BYTES = 22
_MOST_AT_ONCE = 2 * CHUNK_BYTES
# What zipfile raises for damaged files: seen by flipping every bit of a bundle.
_ZIP_FAULTS = (
    zipfile.BadZipFile, zlib.error, struct.error, EOFError, NotImplementedError, RuntimeError, ValueError,
)  # fmt: skip


def entry_of(name: str, size_bytes: int, packing: int) -> zipfile.ZipInfo:
    """Make the zip entry of a member: fixed date, system and permissions, and the usual level."""
    entry = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
    entry.create_system = 3
    entry.external_attr = _FILE_MODE
    entry.compress_type = packing
    entry.file_size = size_bytes
    return entry


def packing_of(pieces: Iterable[bytes], size_bytes: int, limits: Limits) -> int:
    """Say how a text is packed: deflated, unless a reader would take it for an attack then.

    A long text of one letter packs thousands of times smaller, as attacks do; it is then stored as
    it is. What a text packs to is known to be enough long before its end.
    """
    packer, packed_bytes = zlib.compressobj(), 0
    for piece in pieces:
        if not limits.is_packed_too_tight(size_bytes, packed_bytes):
            return zipfile.ZIP_DEFLATED
        packed_bytes += len(packer.compress(piece))
    packed_bytes += len(packer.flush())
    return (
        zipfile.ZIP_STORED if limits.is_packed_too_tight(size_bytes, packed_bytes) else zipfile.ZIP_DEFLATED
    )


class _SparingFile(io.BufferedReader):
    """A file that never gives out much at once, whatever the zip says of itself.

    The zip module reads the whole table of contents in one go, and its size stands in the zip.
    """

    def __init__(self, path: Path) -> None:
        super().__init__(io.FileIO(path))

    def read(self, size: int | None = -1, /) -> bytes:
        """Read at most :data:`_MOST_AT_ONCE` bytes."""
        if size is not None and size > _MOST_AT_ONCE:
            raise zipfile.BadZipFile(tr("a table of contents of that size is no bundle's"))
        return super().read(size)


class Archive:
    """The checked zip of a bundle, open for reading by any number of threads.

    Parameters
    ----------
    path
        The file.
    place
        The bundle, for complaints.
    limits
        What it may hold.

    Raises
    ------
    BundleError
        If it is not there, cannot be read, is not a zip, or is not one as bundles are: with names
        that do not belong there, anything but plain files, or more than the limits allow.
    """

    def __init__(self, path: Path, place: Place, limits: Limits) -> None:
        self._place = place
        self._limits = limits
        self._lock = threading.Lock()
        try:
            # Opening a pipe could wait for ever, and a device need not end.
            if not stat.S_ISREG(path.stat().st_mode) and not path.is_dir():
                raise place.error(tr("is no plain file"), tr("copy the bundle to a disk first"))
            self._file = _SparingFile(path)
        except FileNotFoundError as error:
            raise place.error(tr("is not there"), tr("check the name of the file")) from error
        except IsADirectoryError as error:
            raise place.error(tr("is a folder"), tr("name the zip file itself")) from error
        except OSError as error:
            raise place.error(
                tr("cannot be read: {describe_refusal}", describe_refusal=describe_refusal(error)[0]),
                tr("check the file"),
            ) from error
        try:
            self._zip = self._open_zip()
            self._entries = {entry.filename: entry for entry in self._zip.infolist()}
            self._check_entries()
        except BaseException:
            self._file.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Give the file back; nothing can be read after."""
        self._zip.close()
        self._file.close()

    @property
    def names(self) -> list[str]:
        """Names of all members, sorted."""
        return sorted(self._entries)

    def size_bytes(self, name: str) -> int:
        """Size of a member as the zip states it, unpacked; the content may differ."""
        return self._entries[name].file_size

    def read(self, name: str) -> bytes:
        """Read a member as a whole.

        Raises
        ------
        BundleError
            If it is damaged.
        """
        return b"".join(self.stream(name))

    def stream(self, name: str) -> Iterator[bytes]:
        """Read a member piece by piece.

        Raises
        ------
        BundleError
            If it is damaged, or longer than the limits allow, whatever the zip says of its size.
        """
        place = self._place.at(member=name)
        left = self._limits.most_bytes(name)
        try:
            with self._member(name) as member:
                while piece := member.read(CHUNK_BYTES):
                    left -= len(piece)
                    if left < 0:
                        raise place.error(tr("unpacks to more than it says"))
                    yield piece
        except _ZIP_FAULTS as error:
            raise place.error(tr("is damaged")) from error
        except OSError as error:
            raise place.error(
                tr("cannot be read: {describe_refusal}", describe_refusal=describe_refusal(error)[0])
            ) from error

    @contextmanager
    def _member(self, name: str) -> Iterator[IO[bytes]]:
        """Open a member; the zip module counts what is open, and not for several threads at once."""
        with self._lock:
            member = self._zip.open(self._entries[name])
        try:
            yield member
        finally:
            with self._lock:
                member.close()

    def check(self, listing: Listing) -> None:
        """Check size and SHA-256 of a member.

        Raises
        ------
        BundleError
            If it is not the file that the descriptor lists.
        """
        for _ in self.stream_checked(listing):
            pass

    def stream_checked(self, listing: Listing) -> Iterator[bytes]:
        """Read a member piece by piece and complain at the end if it is not the one listed.

        Raises
        ------
        BundleError
            As :meth:`stream` and :meth:`check`; what was read until then must not be used.
        """
        place = self._place.at(member=listing.path)
        found, size_bytes = hashlib.sha256(), 0
        for piece in self.stream(listing.path):
            found.update(piece)
            size_bytes += len(piece)
            yield piece
        if size_bytes != listing.size_bytes:
            raise place.error(
                tr(
                    "has {size_bytes} bytes, {size_bytes2} are listed",
                    size_bytes=size_bytes,
                    size_bytes2=listing.size_bytes,
                )
            )
        if found.hexdigest() != listing.sha256:
            raise place.error(tr("is not the file that is listed: its SHA-256 differs"))

    def _open_zip(self) -> zipfile.ZipFile:
        place = self._place
        size_bytes = self._file.seek(0, 2)
        if size_bytes > self._limits.total_bytes:
            raise place.error(tr("is larger than a bundle may be"), tr("ask for several smaller bundles"))
        _check_ends(self._file, size_bytes, place)
        try:
            return zipfile.ZipFile(self._file)
        except _ZIP_FAULTS as error:
            raise place.error(tr("is not a zip file that can be read, or is damaged")) from error

    def _check_entries(self) -> None:
        entries, place, limits = self._zip.infolist(), self._place, self._limits
        if not entries:
            raise place.error(tr("lists no file, or is damaged"))
        if len(entries) > limits.entries:
            raise place.error(
                tr(
                    "holds {entries} files, at most {entries2} are read",
                    entries=len(entries),
                    entries2=limits.entries,
                )
            )
        seen: set[str] = set()
        for entry in entries:
            _check_entry(entry, place.at(member=entry.orig_filename), limits)
            alike = unicodedata.normalize("NFC", entry.orig_filename).casefold()
            if alike in seen:
                raise place.at(member=entry.orig_filename).error(tr("is there twice"))
            seen.add(alike)
        if sum(entry.file_size for entry in entries) > limits.total_bytes:
            raise place.error(
                tr("unpacks to more than a bundle may hold"), tr("ask for several smaller bundles")
            )
        texts = sum(entry.file_size for entry in entries if not is_photo(entry.filename))
        if texts > limits.text_bytes:
            raise place.error(
                tr("holds larger tables than are read"), tr("ask for several smaller bundles")
            )
        self._check_layout(sorted(entries, key=lambda entry: entry.header_offset))

    def _check_layout(self, entries: list[zipfile.ZipInfo]) -> None:
        """Refuse content in front of the first member, and members that share bytes."""
        if entries[0].header_offset != 0:
            raise self._place.error(tr("has something in front of the zip"))
        ends = [entry.header_offset for entry in entries[1:]] + [self._zip.start_dir]
        for entry, end in zip(entries, ends, strict=True):
            name_bytes = len(entry.orig_filename)
            if entry.header_offset + _LOCAL_HEADER_BYTES + name_bytes + entry.compress_size > end:
                raise self._place.at(member=entry.filename).error(tr("overlaps another file in the zip"))


def _check_ends(file: IO[bytes], size_bytes: int, place: Place) -> None:
    file.seek(0)
    start = file.read(4)
    file.seek(max(0, size_bytes - _END_BYTES))
    end = file.read()
    file.seek(0)
    if size_bytes == 0:
        raise place.error(tr("is empty"))
    if start != b"PK\x03\x04":
        raise place.error(tr("is not a zip file, or has something in front of the zip"))
    if not end.startswith(b"PK\x05\x06") or end[-2:] != b"\0\0":
        raise place.error(tr("breaks off, or has something behind the zip"))


def _check_entry(entry: zipfile.ZipInfo, place: Place, limits: Limits) -> None:
    name, mode = entry.orig_filename, entry.external_attr >> 16
    if entry.filename != name or not is_member_name(name):
        raise place.error(tr("is not a file that belongs in a bundle"))
    if stat.S_IFMT(mode) not in (0, stat.S_IFREG) or entry.external_attr & _FOLDER_BIT:
        raise place.error(tr("is a link, a folder or something else that is no plain file"))
    if entry.flag_bits & _ENCRYPTED_BIT:
        raise place.error(tr("is encrypted"), tr("ask for a bundle without a password"))
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise place.error(tr("is packed in a way that bundles do not use"))
    if entry.file_size > limits.most_bytes(name):
        raise place.error(
            tr(
                "has {file_size} bytes, at most {most_bytes} are read",
                file_size=entry.file_size,
                most_bytes=limits.most_bytes(name),
            )
        )
    if limits.is_packed_too_tight(entry.file_size, entry.compress_size):
        raise place.error(tr("unpacks to far more than it should"))
