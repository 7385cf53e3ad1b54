"""Writing files so that they are whole or not there, hashing them, and naming them safely.

Every change on disk goes through a :class:`Disk`, so that a test can let the n-th operation fail.
"Durable" below means: after the call has returned, the content and the name survive a power cut, as
far as the system keeps what ``fsync`` promises.
"""

from __future__ import annotations

import codecs
import contextlib
import hashlib
import os
import re
import sys
import unicodedata
from collections.abc import Mapping
from pathlib import Path

from walkapp.errors import InputError
from walkapp.language import tr

__all__ = [
    "DISK",
    "Disk",
    "fingerprint_of",
    "is_safe_name",
    "make_folder_durably",
    "remove_folder",
    "safe_name",
    "sha256_of",
    "sha256_of_file",
    "sha256_of_files",
    "write_all",
    "write_atomically",
    "write_durably",
    "write_folder_atomically",
]

_CHUNK_BYTES = 1 << 20
_LONGEST_NAME = 120
_SAFE_NAME = re.compile(r"[A-Za-z0-9_][A-Za-z0-9._-]*", re.ASCII)
# Names that Windows keeps for devices, with any ending (Microsoft, "Naming Files, Paths, and
# Namespaces"; from memory).
_DEVICE_NAME = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?", re.ASCII | re.IGNORECASE)


class Disk:
    """The operations that change a disk, each one call of the system.

    Files are the whole numbers that the system gives out. Every method raises ``OSError`` when the
    system refuses. Subclass it to let operations fail or to watch their order.
    """

    def open_append(self, path: Path) -> int:
        """Open a file for writing at its end; make it when it is not there."""
        return os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT | _BINARY, 0o666)

    def create(self, path: Path) -> int:
        """Open an empty file for writing; what was in it is lost."""
        return os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | _BINARY, 0o666)

    def create_private(self, path: Path) -> int:
        """Open an empty file that nobody but its owner may read, where the system knows owners."""
        file = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | _BINARY, 0o600)
        if hasattr(os, "fchmod"):
            os.fchmod(file, 0o600)  # The file may have been there before, open to everybody.
        return file

    def write(self, file: int, data: bytes) -> int:
        """Write some or all of `data`; say how many bytes were taken."""
        return os.write(file, data)

    def sync(self, file: int) -> None:
        """Return when the content has reached the medium."""
        if sys.platform == "darwin":
            import fcntl

            # There, fsync leaves data in the drive's own memory (fcntl(2) of macOS).
            fcntl.fcntl(file, fcntl.F_FULLFSYNC)
        else:
            os.fsync(file)

    def truncate(self, file: int, size_bytes: int) -> None:
        """Cut an open file to a length."""
        os.ftruncate(file, size_bytes)

    def close(self, file: int) -> None:
        """Give the file back to the system."""
        os.close(file)

    def rename(self, source: Path, target: Path) -> None:
        """Give a file or folder another name in one step; a file of that name is replaced."""
        source.replace(target)

    def remove(self, path: Path) -> None:
        """Take a file, or an empty folder, away."""
        if path.is_dir() and not path.is_symlink():
            path.rmdir()
        else:
            path.unlink()

    def make_folder(self, path: Path) -> None:
        """Make one folder; its parent has to be there."""
        path.mkdir()

    def sync_folder(self, path: Path) -> None:
        """Return when the names in a folder have reached the medium."""
        if sys.platform == "win32":
            return  # Windows opens no folders this way; NTFS keeps names in its own log.
        file = os.open(path, os.O_RDONLY)
        try:
            os.fsync(file)
        finally:
            os.close(file)

    def reserve(self, path: Path, size_bytes: int) -> None:
        """Make a file that takes up room and holds nothing."""
        file = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | _BINARY, 0o666)
        try:
            if hasattr(os, "posix_fallocate"):
                os.posix_fallocate(file, 0, size_bytes)
            else:
                os.write(file, bytes(size_bytes))
        finally:
            os.close(file)

    def read(self, path: Path, start: int = 0, size_bytes: int = -1) -> bytes:
        """Read a file, or `size_bytes` of it from `start`."""
        with path.open("rb") as file:
            file.seek(start)
            return file.read(size_bytes)


_BINARY = getattr(os, "O_BINARY", 0)  # Windows would otherwise turn line feeds into two characters.

DISK = Disk()
"""The real disk; it has no state."""


def write_all(file: int, data: bytes, disk: Disk = DISK) -> None:
    """Write every byte of `data` to an open file, in as many steps as the system asks for."""
    while data:
        taken = disk.write(file, data)
        if taken <= 0:
            raise OSError(tr("the system took no bytes"))
        data = data[taken:]


def write_durably(path: Path, data: bytes, disk: Disk = DISK, *, private: bool = False) -> None:
    """Write a file and wait for its content to reach the medium; its name may not have yet."""
    file = disk.create_private(path) if private else disk.create(path)
    try:
        write_all(file, data, disk)
        disk.sync(file)
    finally:
        disk.close(file)


def write_atomically(path: Path, data: bytes, disk: Disk = DISK, *, private: bool = False) -> None:
    """Put `data` at `path`, durable; a reader sees the old content or the new, never a mix.

    Parameters
    ----------
    path
        Where the file shall be; its folder has to be there.
    data
        All of the content.
    disk
        Where to write.
    private
        Whether nobody but its owner may read the file, where the system knows owners.

    Raises
    ------
    OSError
        If the system refuses; what was at `path` is then still there, or already replaced whole.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}.tmp")
    try:
        write_durably(beside, data, disk, private=private)
        disk.rename(beside, path)
    except OSError:
        with contextlib.suppress(OSError):
            disk.remove(beside)
        raise
    disk.sync_folder(path.parent)


def write_folder_atomically(
    target: Path, files: Mapping[str, bytes], beside: Path, disk: Disk = DISK
) -> None:
    """Make a folder of files appear in one step, durable.

    Parameters
    ----------
    target
        The folder to make; it must not be there yet, its parent has to be.
    files
        Content by file name; each name must be safe (see :func:`is_safe_name`).
    beside
        Where to build it, on the same medium; left-overs there are removed first.
    disk
        Where to write.

    Raises
    ------
    OSError
        If the system refuses; `target` is then not there, or there as a whole.
    ValueError
        If a name is not safe.
    """
    for name in files:
        if not is_safe_name(name):
            raise ValueError(f"{name!r} is not a safe file name")
    remove_folder(beside, disk)
    try:
        disk.make_folder(beside)
        for name, data in files.items():
            write_durably(beside / name, data, disk)
        disk.sync_folder(beside)
        disk.rename(beside, target)
    except OSError:
        with contextlib.suppress(OSError):
            remove_folder(beside, disk)
        raise
    disk.sync_folder(target.parent)


def make_folder_durably(path: Path, disk: Disk = DISK) -> None:
    """Make a folder and whatever is missing above it; one that is there gets a durable name.

    Raises
    ------
    OSError
        If the system refuses, or a file is in the way.
    """
    if path.is_dir():
        # Whoever made it may have been stopped before its name was durable. Where we may not look
        # into the folder above, we did not make it.
        with contextlib.suppress(PermissionError):
            disk.sync_folder(path.parent)
        return
    if path.parent != path:
        make_folder_durably(path.parent, disk)
    with contextlib.suppress(FileExistsError):
        disk.make_folder(path)
    if not path.is_dir():
        raise FileExistsError(tr("{path} is a file", path=path))
    disk.sync_folder(path.parent)


def remove_folder(path: Path, disk: Disk = DISK) -> None:
    """Remove a folder with all that is in it; nothing happens when it is not there."""
    if not path.is_dir() or path.is_symlink():
        return
    for inside in sorted(path.iterdir()):
        if inside.is_dir() and not inside.is_symlink():
            remove_folder(inside, disk)
        else:
            disk.remove(inside)
    disk.remove(path)


def sha256_of(data: bytes) -> str:
    """SHA-256 of some bytes in 64 small hexadecimal digits (FIPS 180-4).

    Examples
    --------
    The one-block example "abc" of the standard:

    >>> sha256_of(b"abc")
    'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad'
    """
    return hashlib.sha256(data).hexdigest()


def sha256_of_file(path: Path) -> str:
    """SHA-256 of a file in 64 small hexadecimal digits, read piece by piece.

    Raises
    ------
    OSError
        If the file cannot be read.
    """
    found = hashlib.sha256()
    with path.open("rb") as file:
        while piece := file.read(_CHUNK_BYTES):
            found.update(piece)
    return found.hexdigest()


def fingerprint_of(public_key: str) -> str:
    """Digits by which people tell keys apart, short enough to be read out.

    The first 16 digits of the SHA-256 of the key, in groups of four: to make another key with the
    same ones takes about 2**64 tries.

    Parameters
    ----------
    public_key
        In hexadecimal digits, an even number of them.

    Examples
    --------
    >>> fingerprint_of("616263")  # "abc", as above
    'ba78-16bf-8f01-cfea'
    """
    digits = sha256_of(bytes.fromhex(public_key))
    return "-".join(digits[start : start + 4] for start in range(0, 16, 4))


def sha256_of_files(files: Mapping[str, bytes]) -> str:
    """Say which folder of files this is, exactly.

    Parameters
    ----------
    files
        Content by file name.

    Returns
    -------
    str
        SHA-256, in hexadecimal digits, over name, length and content of each file in the order of
        the names: the same for the same folder on every machine.
    """
    parts = (
        name.encode() + b"\0" + str(len(data)).encode() + b"\0" + data
        for name, data in sorted(files.items())
    )
    return sha256_of(b"".join(parts))


def is_safe_name(name: str) -> bool:
    """Say whether a file name means the same file, and only one, on every system.

    ASCII letters, digits, dash, underscore and points; no point in front or at the end; at most 120
    characters; no name that a system keeps for a device.

    Examples
    --------
    >>> is_safe_name("stream.toml"), is_safe_name("../stream.toml"), is_safe_name("nul.txt")
    (True, False, False)
    """
    return (
        len(name) <= _LONGEST_NAME
        and _SAFE_NAME.fullmatch(name) is not None
        and not name.endswith(".")
        and _DEVICE_NAME.fullmatch(name) is None
    )


def safe_name(words: str, *, otherwise: str = "unnamed") -> str:
    """Turn any text into a file name for which :func:`is_safe_name` holds.

    Two texts may give the same name. Accents are dropped, anything else that is not allowed becomes
    one dash; a text of which nothing is left gives `otherwise`.

    Examples
    --------
    >>> safe_name("Prüfstand 3: Ohr/weiß")
    'Prufstand-3-Ohr-wei'
    """
    plain = unicodedata.normalize("NFKD", words).encode("ascii", "ignore").decode("ascii")
    name = re.sub(r"[^A-Za-z0-9._-]+", "-", plain)
    name = re.sub(r"^[^A-Za-z0-9_]+", "", name)[:_LONGEST_NAME].rstrip(".-")
    if _DEVICE_NAME.fullmatch(name):
        name = f"_{name}"[:_LONGEST_NAME].rstrip(".-")
    return name or otherwise


def read_text(path: Path, *, most_bytes: int) -> str:
    """Read a text file that a person named.

    Parameters
    ----------
    path
        The file.
    most_bytes
        Largest size that is read.

    Returns
    -------
    str
        Its text; a byte order mark in front is left out, line ends stay as they are. UTF-16 is read where a
        byte order mark says so, as spreadsheets write "Unicode text".

    Raises
    ------
    InputError
        If it is not there, cannot be read, is too large, or is not UTF-8 or UTF-16 text.
    """
    try:
        with path.open("rb") as file:
            # What a pipe or a device will give cannot be known beforehand.
            data = file.read(most_bytes + 1)
        if len(data) > most_bytes:
            raise InputError(
                tr(
                    "{path}: has more than {most_bytes} bytes; make it smaller.",
                    path=path,
                    most_bytes=most_bytes,
                )
            )
    except FileNotFoundError:
        raise InputError(tr("{path}: there is no such file; check the name.", path=path)) from None
    except OSError as error:
        raise InputError(
            tr(
                "{path}: cannot be read ({strerror}); name a file that can.",
                path=path,
                strerror=error.strerror,
            )
        ) from None
    try:
        is_wide = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
        return data.decode("utf-16" if is_wide else "utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(
            tr(
                "{path}: is not UTF-8 text (byte {start}); save it as CSV with UTF-8 encoding.",
                path=path,
                start=error.start,
            )
        ) from None
