"""``store.json``: which tablet a store belongs to.

A JSON object with the format number, the device id, when the store was made, the least running
number that may be given next, and the CRC-32 of the other values (one changed letter would otherwise
turn the tablet into another one unnoticed).
"""

from __future__ import annotations

import json
import re
import zlib
from dataclasses import asdict, dataclass
from pathlib import Path

from walkapp.files import Disk, write_atomically
from walkapp.store.reading import FORMAT, refuse_newer

_ID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class Identity:
    """Whose store it is.

    Parameters
    ----------
    device
        Id of the tablet, a UUID.
    created
        When the store was made, by the tablet's clock.
    least_number
        No new record may have a running number below this, from 1. Above 1 only after a damaged end
        of a journal was cut off, or records of this very tablet came back by a merge.
    """

    device: str
    created: str
    least_number: int = 1


def write_identity(path: Path, identity: Identity, disk: Disk) -> None:
    """Write ``store.json``, whole or not at all.

    Raises
    ------
    OSError
        If the system refuses.
    """
    values = {"format": FORMAT, **asdict(identity)}
    text = json.dumps({**values, "crc32": _checksum(values)}, indent=2) + "\n"
    write_atomically(path, text.encode("ascii"), disk)


def read_identity(path: Path, disk: Disk) -> Identity | None:
    """Read ``store.json``; ``None`` when it is damaged.

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
    device, created, least = (values.get(name) for name in ("device", "created", "least_number"))
    if checksum != _checksum(values) or values.get("format") != FORMAT:
        return None
    if not isinstance(device, str) or not _ID.fullmatch(device):
        return None
    if not isinstance(created, str) or not isinstance(least, int):
        return None
    return Identity(device=device, created=created, least_number=least)


def _checksum(values: dict[str, object]) -> str:
    compact = json.dumps(values, sort_keys=True, separators=(",", ":"))
    return f"{zlib.crc32(compact.encode('ascii')):08x}"
