"""The file in which an index is kept from one start to the next.

It begins with the SHA-256 of all the rest. A file that is torn, spoilt, foreign or of another version is
as good as none, so that it needs no care at a crash.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import unicodedata
from pathlib import Path
from typing import Any

from walkapp.files import DISK, Disk, sha256_of, write_all
from walkapp.search.fts import FtsIndex
from walkapp.search.index import BrokenIndexError

FORMAT = 3
"""Rises when what is found of a record, or how it is folded, changes."""

MOST_BYTES = 1_000_000_000
ROOM = 200_000_000
"""Free bytes that are left to records and pictures: a cache is not worth them."""


def read_index(path: Path, device: str, disk: Disk = DISK) -> FtsIndex | None:
    """Read an index.

    Parameters
    ----------
    path
        The file.
    device
        Id of the store's tablet.
    disk
        Where to read.

    Returns
    -------
    FtsIndex or None
        None when there is no file, or any byte of it is not as it was written, or another store, another
        version or another table of letters made it.
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            return None
        digest, _, rest = disk.read(path).partition(b"\n")
        if digest != sha256_of(rest).encode():
            return None
        header, _, image = rest.partition(b"\n")
        if json.loads(header) != _header(device):
            return None
        return FtsIndex(image)
    except (OSError, ValueError, BrokenIndexError):
        return None


def write_index(path: Path, index: FtsIndex, device: str, disk: Disk = DISK, *, room: int = ROOM) -> bool:
    """Write an index, not waiting for the medium; say whether it was written.

    A disk that refuses, or would have less than `room` bytes left, keeps the records and not the index.
    """
    rest = json.dumps(_header(device)).encode() + b"\n" + index.to_bytes()
    beside = path.with_name(f".{path.name}.{os.getpid()}.tmp")
    try:
        if shutil.disk_usage(path.parent).free < len(rest) + room:
            return False
        file = disk.create(beside)
        try:
            write_all(file, sha256_of(rest).encode() + b"\n" + rest, disk)
        finally:
            disk.close(file)
        disk.rename(beside, path)
    except OSError:
        with contextlib.suppress(OSError):
            disk.remove(beside)
        return False
    return True


def _header(device: str) -> dict[str, Any]:
    return {"format": FORMAT, "device": device, "letters": unicodedata.unidata_version}
