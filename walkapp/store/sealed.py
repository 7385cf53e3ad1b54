"""Small files of the store that are rewritten whole: JSON with a format number and a checksum.

The checksum is the CRC-32 of the other values, since one changed letter would otherwise turn a tablet,
a key or a running number into another one unnoticed.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from walkapp.files import Disk, write_atomically
from walkapp.store.reading import FORMAT, is_known_format, refuse_newer


def write_sealed(path: Path, values: Mapping[str, Any], disk: Disk, *, private: bool = False) -> None:
    """Write values of JSON, whole or not at all.

    Parameters
    ----------
    path
        The file; its folder has to be there.
    values
        What to keep, without the names ``format`` and ``crc32``.
    disk
        Where to write.
    private
        Whether nobody but its owner may read the file.

    Raises
    ------
    OSError
        If the system refuses.
    """
    numbered = {"format": FORMAT, **values}
    text = json.dumps({**numbered, "crc32": _checksum(numbered)}, indent=2) + "\n"
    write_atomically(path, text.encode("ascii"), disk, private=private)


@dataclass(frozen=True, slots=True)
class Sealed:
    """What a sealed file holds: its values, and the number of the format that it was written in."""

    values: dict[str, Any]
    format: int


def read_sealed(path: Path, disk: Disk) -> Sealed | None:
    """Read what :func:`write_sealed` wrote; ``None`` when it is damaged.

    Raises
    ------
    FileNotFoundError
        If it is not there.
    OSError
        If it cannot be read.
    StoreError
        If a newer version of the program wrote it.
    """
    try:
        values = json.loads(disk.read(path).decode("ascii"))
        checksum = values.pop("crc32", None)
    except (ValueError, AttributeError, TypeError, RecursionError):
        return None
    refuse_newer(values.get("format"), str(path))
    if checksum != _checksum(values) or not is_known_format(values.get("format")):
        return None
    return Sealed(format=values.pop("format"), values=values)


def _checksum(values: Mapping[str, Any]) -> str:
    compact = json.dumps(values, sort_keys=True, separators=(",", ":"))
    return f"{zlib.crc32(compact.encode('ascii')):08x}"
