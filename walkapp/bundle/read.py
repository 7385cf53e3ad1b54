"""Opening a bundle: everything is checked before anything is given out."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Self

from walkapp.bundle.archive import Archive
from walkapp.bundle.descriptor import Listing, read_descriptor
from walkapp.bundle.layout import (
    CHECKLIST,
    DESCRIPTOR,
    LIMITS,
    PHOTO,
    README,
    ROWS,
    SIGNATURE,
    Limits,
    photo_member,
)
from walkapp.bundle.places import Place, brief, describe_refusal
from walkapp.bundle.rows import FirstBadRow
from walkapp.bundle.signature import Signed, read_signature
from walkapp.bundle.tables import read_records, read_rows
from walkapp.errors import BundleError
from walkapp.files import DISK, Disk, sha256_of, write_all
from walkapp.language import tr
from walkapp.model.records import CarriedRecord, Photo, PhotoCopy, Record, Withdrawal
from walkapp.model.standing import standing_of

__all__ = [
    "Bundle",
    "check_complete",
    "check_photos_are_named",
    "open_bundle",
    "open_listed",
    "signature_in",
]

Progress = Callable[[int, int], None]


def _say_nothing(done: int, total: int) -> None:
    """The progress that nobody watches."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Content:
    records: tuple[Record, ...]
    rows: tuple[FirstBadRow, ...]
    photos: Mapping[str, Listing]
    checklists: dict[str, dict[str, bytes]]
    digest: str
    signed: Signed | None


class Bundle:
    """A checked bundle, open for taking its pictures out; made by :func:`open_bundle`.

    Attributes
    ----------
    records : tuple of Record
        All records, each once, in the order of the tables.
    rows : tuple of FirstBadRow
        The computed answer as it was when the bundle was written: a witness, not a fact.
    photo_names : tuple of str
        File names of the pictures, sorted.
    missing_photos : tuple of str
        File names of pictures that a record names, that were not taken back, and of which the bundle
        has neither the picture nor a copy, sorted.
    checklists : dict
        Content of the checklist files, by the checklist's digest, then by file name. Whether the
        files give that digest is for the reader of checklists to check.
    digest : str
        SHA-256 of the descriptor: two bundles with the same digest hold the same.
    signed : Signed or None
        With which key it is signed; ``None`` when it is not. A signature that could be checked and
        does not fit never gets here.
    """

    def __init__(self, archive: Archive, content: _Content, place: Place) -> None:
        self._archive = archive
        self._photos = content.photos
        self._place = place
        self.records = content.records
        self.rows = content.rows
        self.photo_names = tuple(sorted(content.photos))
        self.missing_photos = _missing_photos(content.records, set(content.photos))
        self.checklists = content.checklists
        self.digest = content.digest
        self.signed = content.signed

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Give the file back; pictures cannot be taken out after."""
        self._archive.close()

    def read_photo(self, name: str) -> bytes:
        """Read one picture, at most as large as a picture in a bundle may be.

        Raises
        ------
        BundleError
            If there is no such picture, or the bundle was changed since it was opened.
        """
        return b"".join(self._archive.stream_checked(self._listing(name)))

    def _listing(self, name: str) -> Listing:
        if name not in self._photos:
            place = self._place.at(member=photo_member(name))
            raise place.error(tr("is not in the bundle"), tr("choose one of its pictures"))
        return self._photos[name]

    def extract_photo(self, name: str, folder: Path, disk: Disk = DISK) -> Path:
        """Take one picture out, durably.

        Parameters
        ----------
        name
            One of `photo_names`.
        folder
            Where to put it under that name; has to be there. A file of that name is replaced.
        disk
            Where to write.

        Returns
        -------
        Path
            The picture's file.

        Raises
        ------
        BundleError
            If there is no such picture, the bundle was changed since it was opened, or the picture
            cannot be written; nothing is left behind.
        """
        place, listing = self._place.at(member=photo_member(name)), self._listing(name)
        target = folder / name
        beside = folder / f".{name}.{os.getpid()}.tmp"
        try:
            self._write_photo(listing, beside, disk)
            disk.rename(beside, target)
            disk.sync_folder(folder)
        except (OSError, BundleError) as error:
            with contextlib.suppress(OSError):
                disk.remove(beside)
            if isinstance(error, BundleError):
                raise
            what, mend = describe_refusal(error)
            raise place.error(
                tr("cannot be saved in {folder}: {what}", folder=folder, what=what), mend
            ) from error
        return target

    def _write_photo(self, listing: Listing, path: Path, disk: Disk) -> None:
        file = disk.create(path)
        try:
            for piece in self._archive.stream_checked(listing):
                write_all(file, piece, disk)
            disk.sync(file)
        finally:
            disk.close(file)


def open_bundle(path: Path, *, limits: Limits = LIMITS, progress: Progress = _say_nothing) -> Bundle:
    """Open a bundle and check all of it.

    Parameters
    ----------
    path
        The zip file.
    limits
        What it may hold at most.
    progress
        Called with unpacked bytes done and in all, after each record and picture.

    Returns
    -------
    Bundle
        Use it with ``with``, or close it.

    Raises
    ------
    BundleError
        If anything at all is not as it has to be, naming file, row and column, and how to mend it.
        A picture that is missing is no error (see `Bundle.missing_photos`); a picture that no
        record names is one: nobody could say where it belongs.
    """
    place = Place(bundle=brief(path.name))
    archive = Archive(path, place, limits)
    try:
        return Bundle(archive, _read_content(archive, place, progress), place)
    except BaseException:
        archive.close()
        raise


def open_listed(archive: Archive, place: Place) -> tuple[int, Mapping[str, Listing], bytes, Signed | None]:
    """Check what a bundle says of itself, before any of its files is read.

    Returns
    -------
    tuple
        Its format, its files by name, the content of the descriptor, and with which key it is signed.

    Raises
    ------
    BundleError
        If it has no descriptor, or other files than are listed, or the signature does not fit.
    """
    if DESCRIPTOR not in archive.names:
        raise place.error(
            tr("has no {descriptor}, so it is no bundle", descriptor=DESCRIPTOR),
            tr("choose a bundle of walkapp"),
        )
    data = archive.read(DESCRIPTOR)
    number, listings = read_descriptor(data, place.at(member=DESCRIPTOR))
    check_complete(archive, listings, place)
    return number, listings, data, signature_in(archive, data, place)


def _read_content(archive: Archive, place: Place, progress: Progress) -> _Content:
    number, listings, data, signed = open_listed(archive, place)
    records: dict[Record, None] = {}
    rows: tuple[FirstBadRow, ...] = ()
    photos: dict[str, Listing] = {}
    checklists: dict[str, dict[str, bytes]] = {}
    steps = _Steps(listings.values(), progress)
    for name, listing in sorted(listings.items()):
        here = place.at(member=name)
        if found := PHOTO.fullmatch(name):
            if found[1] != listing.sha256:
                raise here.error(tr("is named by another SHA-256 than the one listed"))
            archive.check(listing)
            photos[PurePosixPath(name).name] = listing
            steps.finish(listing)
            continue
        content = b"".join(archive.stream_checked(listing))
        if found := CHECKLIST.fullmatch(name):
            checklists.setdefault(found[1], {})[found[2]] = content
        elif name == ROWS:
            rows = read_rows(content, here, number)
        elif name != README:
            records.update(dict.fromkeys(steps.along(read_records(content, here, number), content)))
        steps.finish(listing)
    check_photos_are_named(photos, records, place)
    return _Content(
        records=tuple(records),
        rows=rows,
        photos=photos,
        checklists=checklists,
        digest=sha256_of(data),
        signed=signed,
    )


def signature_in(archive: Archive, descriptor: bytes, place: Place) -> Signed | None:
    """Read with which key a bundle is signed; ``None`` when it is not.

    Raises
    ------
    BundleError
        If the signature does not fit.
    """
    if SIGNATURE not in archive.names:
        return None
    return read_signature(archive.read(SIGNATURE), descriptor, place.at(member=SIGNATURE))


class _Steps:
    """How far the reading of a bundle is, in bytes of its files."""

    def __init__(self, listings: Iterable[Listing], progress: Progress) -> None:
        self._done = 0
        self._total = sum(listing.size_bytes for listing in listings)
        self._progress = progress

    def along(self, records: Iterable[Record], table: bytes) -> Iterator[Record]:
        """Pass the records of a table on; each is about as long as another."""
        lines = table.count(b"\n") or 1
        for number, record in enumerate(records, start=1):
            yield record
            self._progress(self._done + len(table) * min(number, lines) // lines, self._total)

    def finish(self, listing: Listing) -> None:
        """Tell that a file is read."""
        self._done += listing.size_bytes
        self._progress(self._done, self._total)


def check_complete(archive: Archive, listings: Mapping[str, Listing], place: Place) -> None:
    """Refuse a zip that lacks a listed file, holds one that is not listed, or one of another size.

    Raises
    ------
    BundleError
        Naming the first one.
    """
    there = set(archive.names) - {DESCRIPTOR, SIGNATURE}
    for name in sorted(there - set(listings)):
        raise place.at(member=name).error(
            tr("is in the zip and not listed in {descriptor}", descriptor=DESCRIPTOR)
        )
    for name in sorted(set(listings) - there):
        raise place.at(member=name).error(tr("is listed and missing from the zip"))
    for name, listing in sorted(listings.items()):
        if (size_bytes := archive.size_bytes(name)) != listing.size_bytes:
            raise place.at(member=name).error(
                tr(
                    "has {size_bytes} bytes, {size_bytes2} are listed",
                    size_bytes=size_bytes,
                    size_bytes2=listing.size_bytes,
                )
            )


def check_photos_are_named(photos: Iterable[str], records: Iterable[Record], place: Place) -> None:
    """Refuse a picture that no record names.

    A record of a kind that this version does not know names a picture by holding its SHA-256 in
    any of its fields.

    Raises
    ------
    BundleError
        Naming the first picture.
    """
    known = tuple(records)
    named = _named_photos(known)
    carried = {cell for r in known if isinstance(r, CarriedRecord) for _, cell in r.cells}
    for name in sorted(photos):
        if name not in named and name.partition(".")[0] not in carried:
            raise place.at(member=photo_member(name)).error(tr("is a picture that no record names"))


def _named_photos(records: Iterable[Record]) -> set[str]:
    return {record.file_name for record in records if isinstance(record, (Photo, PhotoCopy))}


def _missing_photos(records: Iterable[Record], there: set[str]) -> tuple[str, ...]:
    known = [r for r in records if isinstance(r, (Photo, PhotoCopy, Withdrawal))]
    copied = {r.photo for r in known if isinstance(r, PhotoCopy) and r.file_name in there}
    held = (r for r in standing_of(known).current if isinstance(r, Photo))
    return tuple(sorted({r.file_name for r in held if r.sha256 not in copied} - there))
