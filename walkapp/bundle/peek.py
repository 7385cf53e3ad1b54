"""A first look at a bundle, to choose from many: what it says of itself, and nothing to rely on."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from walkapp.bundle.archive import Archive
from walkapp.bundle.descriptor import read_descriptor
from walkapp.bundle.layout import DESCRIPTOR, LIMITS, Limits
from walkapp.bundle.places import Place, brief
from walkapp.bundle.read import signature_in
from walkapp.bundle.signature import Signed
from walkapp.bundle.tables import read_records
from walkapp.files import sha256_of

__all__ = ["BundleLabel", "peek_bundle"]

PEEKED_TABLES = ("walk_start.csv", "audit_start.csv", "concern.csv")
"""Small tables that name the tablets of nearly every record."""

PEEKED_BYTES = 200_000
"""A larger table is not looked at: the tablets can wait until the bundle is merged."""

ENDS_BYTES = 1_000_000
"""How much of both ends of a file is searched for the descriptor; 5,000 names take less."""

DAY_LETTERS = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class BundleLabel:
    """What a bundle says of itself.

    Parameters
    ----------
    path
        The file.
    size_bytes
        Its size.
    digest
        SHA-256 of its descriptor: two bundles with the same one hold the same.
    day
        Day of its latest record, ISO 8601; empty where it does not say.
    tablets
        Ids of tablets that began walks or audits, or opened concerns in it, sorted; perhaps not all.
    signed
        With which key it is signed; ``None`` when it is not.
    """

    path: Path
    size_bytes: int
    digest: str
    day: str
    tablets: tuple[str, ...]
    signed: Signed | None


def peek_bundle(path: Path, *, limits: Limits = LIMITS) -> BundleLabel | None:
    """Look at the label of a bundle; its records and pictures are not checked.

    Parameters
    ----------
    path
        The zip file.
    limits
        What it may hold at most.

    Returns
    -------
    BundleLabel or None
        None for a file that does not look like a bundle of this program at all.

    Raises
    ------
    BundleError
        If it cannot be read, or is a bundle that is damaged or made by a newer version.
    """
    if not _names_descriptor(path):
        return None
    place = Place(bundle=brief(path.name))
    with Archive(path, place, limits) as archive:
        if DESCRIPTOR not in archive.names:
            return None
        data = archive.read(DESCRIPTOR)
        number, listings = read_descriptor(data, place.at(member=DESCRIPTOR))

        def tablets() -> Iterator[str]:
            for name in PEEKED_TABLES:
                if name in listings and name in archive.names and archive.size_bytes(name) <= PEEKED_BYTES:
                    content = archive.read(name)
                    yield from (r.device for r in read_records(content, place.at(member=name), number))

        return BundleLabel(
            path=path,
            size_bytes=_size(path),
            digest=sha256_of(data),
            day=_day(json.loads(data).get("created")),
            tablets=tuple(sorted(set(tablets()))),
            signed=signature_in(archive, data, place),
        )


def _names_descriptor(path: Path) -> bool:
    """Whether a file has the name of the descriptor where a zip has the names of its members.

    Folders of downloads hold zip files of all kinds; to say of each what a bundle must not be would
    hide the one that matters. One that breaks off has that name at its beginning still.
    """
    try:
        with path.open("rb") as file:
            size_bytes = file.seek(0, 2)
            for start in (0, max(0, size_bytes - ENDS_BYTES)):
                file.seek(start)
                if DESCRIPTOR.encode("ascii") in file.read(ENDS_BYTES):
                    return True
    except OSError:
        return True  # opening it says why it cannot be read
    return False


def _size(path: Path) -> int:
    """Size of a file; 0 where it has gone meanwhile."""
    try:
        return path.stat().st_size
    except OSError:
        return 0


def _day(created: object) -> str:
    """The day of a time that may be anything."""
    found = created[:DAY_LETTERS] if isinstance(created, str) else ""
    digits = found.replace("-", "")
    is_day = len(found) == DAY_LETTERS and digits.isascii() and digits.isdigit() and len(digits) == 8
    return found if is_day else ""
