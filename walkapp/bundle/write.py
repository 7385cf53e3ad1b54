"""Writing a bundle: whole, checked and durable, or not at all."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from walkapp.bundle.archive import Archive
from walkapp.bundle.descriptor import (
    Listing,
    describe_file,
    describe_table,
    read_descriptor,
    write_descriptor,
)
from walkapp.bundle.layout import (
    CHECKLIST,
    DESCRIPTOR,
    FORMAT,
    LIMITS,
    PHOTO,
    README,
    README_TEXT,
    SIGNATURE,
    Limits,
    checklist_member,
    photo_member,
)
from walkapp.bundle.new_archive import SMALLER, NewArchive, unreadable
from walkapp.bundle.places import Place, brief, describe_refusal
from walkapp.bundle.read import check_complete, check_photos_are_named, signature_in
from walkapp.bundle.rows import FirstBadRow
from walkapp.bundle.signature import Signed, Signer, write_signature
from walkapp.bundle.table_writing import WRITE_AGAIN, Table, latest_time, table_of_rows, tables_of_records
from walkapp.errors import BundleError
from walkapp.files import DISK, Disk, sha256_of, sha256_of_file
from walkapp.language import tr
from walkapp.model.records import Record

__all__ = ["BundleFacts", "write_bundle"]

_MOST_AT_ONCE = min(4, os.cpu_count() or 1)


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
    signed
        With which key it is signed; ``None`` when it is not.
    photo_notes
        What a person should know about the pictures that were sent or kept back, one sentence each.
    """

    path: Path
    digest: str
    size_bytes: int
    record_count: int
    photo_count: int
    signed: Signed | None
    photo_notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Picture:
    """A picture to write: what it must be, and where it is."""

    listing: Listing
    source: Path


def write_bundle(
    out: Path,
    *,
    records: Sequence[Record],
    rows: Sequence[FirstBadRow],
    photos: Mapping[str, Path],
    checklists: Mapping[str, Mapping[str, bytes]],
    signer: Signer | None = None,
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
    signer
        Who signs it; without one it is not signed. The library for it has to be there.
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
    The same records, rows, pictures, checklists and key give the same bytes: everything is sorted,
    the one time in the descriptor is that of the latest record, and an Ed25519 signature has nothing
    of chance in it.

    Beside the records, memory is taken for the text of one table at a time (`limits.table_bytes` at
    most), for the order of the records and for their ids; of pictures, a few pieces of 1 MB are held.

    A file is called written when every step from values to bytes has been gone back: cells are read
    as values again while a table is made, and the zip is opened anew, checked as on reading, and the
    SHA-256 of every member compared. That is done while the medium syncs; both have to succeed.
    """
    place = Place(bundle=brief(out.name))
    held = _each_once(records)
    check_photos_are_named(photos, held, place)
    tables = {t.name: t for t in (*tables_of_records(held, place), table_of_rows(rows))}
    texts: dict[str, Iterable[bytes]] = {
        README: [README_TEXT.encode("utf-8")],
        **{path: [data] for path, data in _checklist_members(checklists, place)},
        **{f"{name}.csv": table.pieces(place) for name, table in tables.items()},
    }
    pictures = [_picture(name, path, place) for name, path in sorted(photos.items())]
    entries = len(texts) + len(pictures) + (1 if signer is None else 2)
    if entries > limits.entries:
        raise place.error(
            tr(
                "would hold {entries} files, at most {entries2} are allowed",
                entries=entries,
                entries2=limits.entries,
            ),
            tr(SMALLER),
        )
    beside = out.with_name(f".{out.name}.{os.getpid()}.tmp")
    try:
        with NewArchive(beside, place, limits, disk) as new:
            listings, descriptor = _fill(new, tables, texts, pictures, latest_time(held), signer)
            with ThreadPoolExecutor(max_workers=1) as waiting:
                # The medium takes its time; meanwhile the file is read back.
                synced = waiting.submit(new.sync)
                signed = _read_back(beside, listings, descriptor, pictures, place, limits)
                synced.result()
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
        path=out,
        digest=sha256_of(descriptor),
        size_bytes=size_bytes,
        record_count=len(held),
        photo_count=len(photos),
        signed=signed,
    )


def _each_once(records: Sequence[Record]) -> Sequence[Record]:
    """Leave out what is there twice; where no id is, nothing is, and ids are quicker to compare."""
    return records if len({record.id for record in records}) == len(records) else tuple(set(records))


def _fill(
    new: NewArchive,
    tables: Mapping[str, Table],
    texts: Mapping[str, Iterable[bytes]],
    pictures: Sequence[_Picture],
    created: str,
    signer: Signer | None,
) -> tuple[dict[str, Listing], bytes]:
    """Write all members; give what the descriptor lists, and the descriptor."""
    for picture in pictures:
        new.check_size(picture.listing.path, picture.listing.size_bytes)
    listings = {path: new.add_text(path, texts[path]) for path in sorted(texts)}
    listings |= {picture.listing.path: picture.listing for picture in pictures}
    descriptor = write_descriptor(
        (
            describe_table(tables[name], listing, tables)
            if (name := path.removesuffix(".csv")) in tables
            else describe_file(listing)
            for path, listing in listings.items()
        ),
        created,
    )
    new.add_text(DESCRIPTOR, [descriptor])
    if signer is not None:
        new.add_text(SIGNATURE, [write_signature(descriptor, signer)])
    for picture in pictures:
        new.add_photo(picture.listing, picture.source)
    new.finish()
    return listings, descriptor


def _refusal(out: Path, error: OSError, place: Place) -> BundleError:
    what, mend = describe_refusal(error)
    return place.error(tr("cannot be written in {parent}: {what}", parent=out.parent, what=what), mend)


def _checklist_members(
    checklists: Mapping[str, Mapping[str, bytes]], place: Place
) -> Iterator[tuple[str, bytes]]:
    for digest, files in checklists.items():
        for name, data in files.items():
            path = checklist_member(digest, name)
            if not CHECKLIST.fullmatch(path):
                raise place.at(member=path).error(
                    tr("is a checklist file whose name a bundle cannot carry"),
                    tr("rename it to small letters, digits and dashes, ending in .toml"),
                )
            yield path, data


def _picture(name: str, source: Path, place: Place) -> _Picture:
    path = photo_member(name)
    here = place.at(member=path)
    found = PHOTO.fullmatch(path)
    if not found:
        raise here.error(tr("is a picture whose name is not its SHA-256"), tr("take the picture in again"))
    try:
        size_bytes = source.stat().st_size
    except OSError as error:
        raise unreadable(source, error, here) from error
    return _Picture(listing=Listing(path=path, size_bytes=size_bytes, sha256=found[1]), source=source)


def _read_back(
    path: Path,
    listings: Mapping[str, Listing],
    descriptor: bytes,
    pictures: Iterable[_Picture],
    place: Place,
    limits: Limits,
) -> Signed | None:
    """Check a new bundle as a reader does, up to the content of its members, which is compared.

    Gives with which key it is signed. Hashing lets other threads run, so several cores take part.
    """
    sources = {picture.listing.path: picture.source for picture in pictures}
    with Archive(path, place, limits) as archive:
        found = archive.read(DESCRIPTOR)
        if found != descriptor or read_descriptor(found, place.at(member=DESCRIPTOR)) != (FORMAT, listings):
            raise place.at(member=DESCRIPTOR).error(
                tr("does not read back as it was written"), tr(WRITE_AGAIN)
            )
        check_complete(archive, listings, place)
        signed = signature_in(archive, found, place)

        def check(listing: Listing) -> None:
            try:
                archive.check(listing)
            except BundleError as error:
                raise _not_as_written(listing, sources.get(listing.path), place) from error

        with ThreadPoolExecutor(max_workers=_MOST_AT_ONCE) as checking:
            for _ in checking.map(check, listings.values()):
                pass
    return signed


def _not_as_written(listing: Listing, source: Path | None, place: Place) -> BundleError:
    here = place.at(member=listing.path)
    if source is not None:
        try:
            is_sound = sha256_of_file(source) == listing.sha256
        except OSError as error:
            return unreadable(source, error, here)
        if not is_sound:
            return here.error(
                tr("is damaged: {source} is not the picture that was taken in", source=source),
                tr("restore that file"),
            )
    return here.error(tr("does not read back as it was written"), tr(WRITE_AGAIN))
