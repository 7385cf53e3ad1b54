"""``store.json``: which tablet a store belongs to.

The device id, when the store was made, and the least running number that may be given next.
"""

from __future__ import annotations

import re
from dataclasses import asdict, dataclass
from pathlib import Path

from walkapp.files import Disk
from walkapp.store.reading import FORMAT
from walkapp.store.sealed import read_sealed, write_sealed

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
    format
        Number of the format that the store was last opened for writing with.
    """

    device: str
    created: str
    least_number: int = 1
    format: int = FORMAT


def write_identity(path: Path, identity: Identity, disk: Disk) -> None:
    """Write ``store.json``, whole or not at all.

    Raises
    ------
    OSError
        If the system refuses.
    """
    values = asdict(identity)
    del values["format"]  # a store is always written with the present one
    write_sealed(path, values, disk)


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
    found = read_sealed(path, disk)
    if found is None:
        return None
    values = found.values
    device, created, least = (values.get(name) for name in ("device", "created", "least_number"))
    if not is_device_id(device) or not isinstance(created, str) or not isinstance(least, int):
        return None
    return Identity(device=str(device), created=created, least_number=least, format=found.format)


def is_device_id(value: object) -> bool:
    """Whether a value has the form of a tablet's id: a UUID in small letters."""
    return isinstance(value, str) and _ID.fullmatch(value) is not None
