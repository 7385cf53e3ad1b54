"""Writing a bundle: whole, checked and durable, or not at all."""

from __future__ import annotations

import contextlib
import io
import os
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from walkapp.bundle.archive import CHUNK_BYTES, entry_of, packing_of
from walkapp.bundle.descriptor import Listing, describe_file, describe_table, write_descriptor
from walkapp.bundle.layout import (
    CHECKLIST,
    DESCRIPTOR,
    LIMITS,
    PHOTO,
    README,
    README_TEXT,
    Limits,
    checklist_member,
    photo_member,
)
from walkapp.bundle.places import Place, brief, describe_refusal
from walkapp.bundle.read import check_photos_are_named, open_bundle_as
from walkapp.bundle.rows import FirstBadRow
from walkapp.bundle.tables import latest_time, table_of_rows, tables_of_records
from walkapp.errors import BundleError
from walkapp.files import DISK, Disk, sha256_of, sha256_of_file, write_all
from walkapp.model.records import Record

__all__ = ["BundleFacts", "write_bundle"]

_SMALLER = "write it for one concern, or for fewer days"


@dataclass(frozen=True, slots=True, kw_only=True)
class BundleFacts:
    """What was written.

    Parameters
    ----------
    path
        The zip file.
    digest
        SHA-256 of its descriptor; people compare the first 8 characters on both sides.
    size_bytes
        Size of the zip file.
    record_count, photo_count
        How many records and pictures it holds.
    photo_notes
        What a person should know about the pictures that were sent or kept back, one sentence each.
    """

    path: Path
    digest: str
    size_bytes: int
    record_count: int
    photo_count: int
    photo_notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Member:
    """A file to write: held in memory, or a picture on disk."""

    listing: Listing
    data: bytes | None = None
    source: Path | None = None


def write_bundle(
    out: Path,
    *,
    records: Sequence[Record],
    rows: Sequence[FirstBadRow],
    photos: Mapping[str, Path],
    checklists: Mapping[str, Mapping[str, bytes]],
    limits: Limits = LIMITS,
    disk: Disk = DISK,
) -> BundleFacts:
    """Write a bundle; a file of that name is replaced in one step.

    Parameters
    ----------
    out
        The zip file to make; its folder has to be there.
    records
        In any order; equal ones count once. May be empty.
    rows
        The computed answer, in any order. May be empty.
    photos
        Where each picture or copy is, by its file name ``<sha256>.jpg`` or ``.png``. Each must be named
        by a record; pictures that cannot be had are left out, and the reader is told.
    checklists
        Content of the checklist files, by the checklist's digest, then by file name.
    limits
        What a bundle may hold at most.
    disk
        Where to write.

    Returns
    -------
    BundleFacts
        Given only after the file has been read back, compared and is durable.

    Raises
    ------
    BundleError
        If the bundle would be too large, a picture is damaged or no record names it, or the file
        cannot be written. What was at `out` before is then still there, and nothing else is left.

    Notes
    -----
    The same records, rows, pictures and checklists give the same bytes: everything is sorted, and
    the one time in the descriptor is that of the latest record.
    """
    place = Place(bundle=brief(out.name))
    held = set(records)
    check_photos_are_named(photos, held, place)
    members = _members(held, rows, photos, checklists, place)
    _check_limits(members, limits, place)
    beside = out.with_name(f".{out.name}.{os.getpid()}.tmp")
    try:
        _write_zip(beside, members, limits, disk)
        digest = _verify(beside, held, set(rows), place, limits)
        size_bytes = beside.stat().st_size
        disk.rename(beside, out)
    except (OSError, BundleError) as error:
        with contextlib.suppress(OSError):
            disk.remove(beside)
        if isinstance(error, BundleError):
            raise
        raise _refusal(out, error, place) from error
    try:
        disk.sync_folder(out.parent)
    except OSError as error:
        raise _refusal(out, error, place) from error
    return BundleFacts(
        path=out, digest=digest, size_bytes=size_bytes, record_count=len(held), photo_count=len(photos)
    )


def _refusal(out: Path, error: OSError, place: Place) -> BundleError:
    what, mend = describe_refusal(error)
    return place.error(f"cannot be written in {out.parent}: {what}", mend)


def _members(
    records: Iterable[Record],
    rows: Iterable[FirstBadRow],
    photos: Mapping[str, Path],
    checklists: Mapping[str, Mapping[str, bytes]],
    place: Place,
) -> list[_Member]:
    """Everything that the zip will hold, sorted by name."""
    kept = tuple(records)
    tables = {table.name: table for table in (*tables_of_records(kept, place), table_of_rows(rows))}
    table_files = {name: _text_member(f"{name}.csv", table.data) for name, table in tables.items()}
    others = [
        _text_member(README, README_TEXT.encode("utf-8")),
        *_checklist_members(checklists, place),
        *(_photo_member(name, path, place) for name, path in photos.items()),
    ]
    resources = [
        *(describe_table(tables[name], file.listing, tables) for name, file in table_files.items()),
        *(describe_file(member.listing) for member in others),
    ]
    descriptor = _text_member(DESCRIPTOR, write_descriptor(resources, latest_time(kept)))
    return sorted([*table_files.values(), *others, descriptor], key=lambda member: member.listing.path)


def _text_member(path: str, data: bytes) -> _Member:
    return _Member(listing=Listing(path=path, size_bytes=len(data), sha256=sha256_of(data)), data=data)


def _checklist_members(checklists: Mapping[str, Mapping[str, bytes]], place: Place) -> Iterator[_Member]:
    for digest, files in checklists.items():
        for name, data in files.items():
            path = checklist_member(digest, name)
            if not CHECKLIST.fullmatch(path):
                raise place.at(member=path).error(
                    "is a checklist file whose name a bundle cannot carry",
                    "rename it to small letters, digits and dashes, ending in .toml",
                )
            yield _text_member(path, data)


def _photo_member(name: str, source: Path, place: Place) -> _Member:
    path = photo_member(name)
    here = place.at(member=path)
    if not PHOTO.fullmatch(path):
        raise here.error("is a picture whose name is not its SHA-256", "take the picture in again")
    try:
        size_bytes, digest = source.stat().st_size, sha256_of_file(source)
    except OSError as error:
        raise _unreadable(source, error, here) from error
    if digest != name.partition(".")[0]:
        raise here.error(f"is damaged: {source} is not the picture that was taken in", "restore that file")
    return _Member(listing=Listing(path=path, size_bytes=size_bytes, sha256=digest), source=source)


def _unreadable(source: Path, error: OSError, place: Place) -> BundleError:
    return place.error(f"{source} cannot be read ({error.strerror or error})", "restore that file")


def _check_limits(members: Sequence[_Member], limits: Limits, place: Place) -> None:
    if len(members) > limits.entries:
        raise place.error(
            f"would hold {len(members)} files, at most {limits.entries} are allowed", _SMALLER
        )
    for listing in (member.listing for member in members):
        most = limits.most_bytes(listing.path)
        if listing.size_bytes > most:
            raise place.at(member=listing.path).error(
                f"would have {listing.size_bytes} bytes, at most {most} are allowed", _SMALLER
            )
    texts = sum(member.listing.size_bytes for member in members if member.data is not None)
    # What the zip itself needs for each file stays well below 1,000 bytes.
    total = sum(member.listing.size_bytes + 1_000 for member in members)
    if texts > limits.text_bytes or total > limits.total_bytes:
        raise place.error("would be larger than a bundle may be", _SMALLER)


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


def _write_zip(path: Path, members: Iterable[_Member], limits: Limits, disk: Disk) -> None:
    with _DiskFile(path, disk) as file:
        with zipfile.ZipFile(file, "w") as target:
            for member in members:
                _write_member(target, member, limits)
        file.sync()


def _write_member(target: zipfile.ZipFile, member: _Member, limits: Limits) -> None:
    path, size_bytes = member.listing.path, member.listing.size_bytes
    stored = member.data is None
    packing = zipfile.ZIP_STORED if stored else packing_of(member.data or b"", limits)
    with target.open(entry_of(path, size_bytes, packing), "w") as file:
        for piece in _pieces(member):
            file.write(piece)


def _pieces(member: _Member) -> Iterator[bytes]:
    if member.data is not None:
        yield member.data
    if member.source is not None:
        with member.source.open("rb") as file:
            while piece := file.read(CHUNK_BYTES):
                yield piece


def _verify(path: Path, records: set[Record], rows: set[FirstBadRow], place: Place, limits: Limits) -> str:
    """Read a new bundle back and give its digest."""
    with open_bundle_as(path, place.bundle, limits) as bundle:
        if set(bundle.records) != records or set(bundle.rows) != rows:
            raise place.error("does not read back as it was written", "write it again")
        return bundle.digest
