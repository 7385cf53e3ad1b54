"""Taking in what other tablets recorded: every parcel is laid ready first, then made part of the store.

A *parcel* is what one bundle holds. Its new records are written, as journals, into a folder beside the
others, and its new pictures too; one rename then makes all of its records appear. So a run that stops
at any moment has taken each parcel whole or not at all, and what was only laid ready is removed when
the store is opened next.
"""

from __future__ import annotations

import contextlib
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import Protocol, Self

from walkapp.files import Disk, is_safe_name, remove_folder, write_durably
from walkapp.language import msg, tr
from walkapp.model.records import Record, kind_of
from walkapp.store.archive import Archive
from walkapp.store.attachments import Attachments, check_checklist
from walkapp.store.merging import MergeReport, lay_out_journals, sort_out
from walkapp.store.reading import Header

PhotoSource = Callable[[Path, Disk], object]
"""Puts a picture, checked and durable, into a folder under its name."""

WHAT = msg("The merge was not done")


class Save(Protocol):
    """Does something with the disk; on a full one, once more with the reserve given back."""

    def __call__(self, what: str, action: Callable[[], object]) -> object:
        """Run `action`; `what` is the beginning of the sentence if it fails."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Parcel:
    """What was laid ready of one bundle, and what is told of it when it has been taken in."""

    name: str
    folder: Path
    headers: Mapping[str, Header]
    own_number: int
    photos: tuple[Path, ...]
    checklists: tuple[Path, ...]
    report: MergeReport


class Intake:
    """One run of merges into a store, which nobody else uses meanwhile; use it with ``with``.

    Parameters
    ----------
    folder, disk
        The store, and where to write.
    archive, attachments
        Its records, photos and checklists.
    save
        Does something with the disk.
    explained
        Turns what the system refuses into a sentence that begins with the given words.
    make_header
        Gives the header of a journal for a scope and its concern.
    count_own
        Told the greatest number of a record of this very tablet that comes back.

    Attributes
    ----------
    taken
        What was new in each parcel that is part of the store by now, in their order.
    """

    def __init__(
        self,
        *,
        folder: Path,
        disk: Disk,
        archive: Archive,
        attachments: Attachments,
        save: Save,
        explained: Callable[[str], AbstractContextManager[None]],
        make_header: Callable[[str, str], Header],
        count_own: Callable[[int], None],
    ) -> None:
        self._beside = folder / "journals" / "incoming-parcels"
        self._disk = disk
        self._archive = archive
        self._attachments = attachments
        self._save = save
        self._explained = explained
        self._make_header = make_header
        self._count_own = count_own
        self._parcels: list[_Parcel] = []
        self.taken: list[MergeReport] = []
        self._came_in: dict[str, tuple[str, int]] = {}

    def __enter__(self) -> Self:
        self._archive.lock.acquire()
        try:
            self._known = self._archive.known_records()
            self._save(tr(WHAT), self._begin)
        except BaseException:
            self._archive.lock.release()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            with contextlib.suppress(OSError):  # what is left goes when the store is opened next
                remove_folder(self._beside, self._disk)
        finally:
            self._archive.lock.release()

    def _begin(self) -> None:
        remove_folder(self._beside, self._disk)
        for path in (self._beside, self._beside / "photos", self._beside / "checklists"):
            self._disk.make_folder(path)

    def stage(
        self,
        records: Sequence[Record],
        *,
        name: str,
        photos: Mapping[str, PhotoSource],
        checklists: Mapping[str, Mapping[str, bytes]],
        progress: Callable[[int, int], None] = lambda done, total: None,
    ) -> None:
        """Lay one parcel ready; nothing of it can be seen in the store yet.

        Parameters
        ----------
        records
            Checked records in any order; repeats and records that are here already do no harm.
        name
            What the merge is called in the store's folder; a safe file name.
        photos
            What puts each picture into a folder, by the names under which the store keeps them.
        checklists
            Files of each checklist by its digest.
        progress
            Called with records and pictures done and in all.

        Raises
        ------
        StoreError
            If the disk refuses.
        ValueError
            If `name` is not safe, or a checklist cannot be kept.
        """
        if not is_safe_name(name):
            raise ValueError(f"{name!r} is not a safe file name")
        for digest, checklist in checklists.items():
            check_checklist(digest, checklist)
        done, total = 0, len(records) + len(photos)

        def step() -> None:
            nonlocal done
            done += 1
            progress(done, total)

        sorting = sort_out(records, self._known, step)
        self._came_in |= {
            one.record.id: (one.record.concern, len(self._parcels))
            for one in sorting.new
            if one.record.replaces or self._known.has_twins(one.record.id)
        }
        files = lay_out_journals(sorting.new, make_header=self._make_header)
        folder = self._beside / f"{len(self._parcels)}"
        if files:
            contents = {file: data for file, (_, data) in files.items()}
            self._save(tr(WHAT), partial(self._write, folder, contents))
        new_photos = []
        for photo, put in sorted(photos.items()):
            target = self._beside / "photos" / photo
            if not target.exists() and not self._attachments.has_sound_photo(photo):
                self._save(tr(WHAT), partial(put, target.parent, self._disk))
                new_photos.append(target)
            step()
        own = (one.record.number for one in sorting.new if one.record.device == self._archive.device)
        self._parcels.append(
            _Parcel(
                name=name,
                folder=folder,
                headers={file: header for file, (header, _) in files.items()},
                own_number=max(own, default=0),
                photos=tuple(new_photos),
                checklists=tuple(self._lay_checklists(checklists)),
                report=MergeReport(
                    new=len(sorting.new),
                    known=sorting.known,
                    twins=sorting.twins,
                    photos=len(new_photos),
                    checklists=0,
                    clashes=sorting.clashes,
                    new_by_device=Counter(one.record.device for one in sorting.new),
                    new_by_kind=Counter(kind_of(one.record) for one in sorting.new),
                    new_by_concern=Counter(one.record.concern for one in sorting.new),
                ),
            )
        )

    def _lay_checklists(self, checklists: Mapping[str, Mapping[str, bytes]]) -> Iterator[Path]:
        """Put checklists that are not here on the disk, so that memory holds those of one parcel only."""
        for digest, files in sorted(checklists.items()):
            folder = self._beside / "checklists" / digest
            if not folder.exists() and self._attachments.checklist(digest) != dict(files):
                self._save(tr(WHAT), partial(self._write, folder, files))
                yield folder

    def _write(self, folder: Path, files: Mapping[str, bytes]) -> None:
        """Write a folder that is whole and durable but for its own name."""
        remove_folder(folder, self._disk)
        self._disk.make_folder(folder)
        for name, data in files.items():
            write_durably(folder / name, data, self._disk)
        self._disk.sync_folder(folder)

    def take_in(self) -> None:
        """Make the parcels part of the store, one after the other, each whole and durable.

        Raises
        ------
        StoreError
            If the disk refuses, or keeps another checklist under a parcel's digest; `taken` tells of the
            parcels that are in the store, the others are not.
        """
        for parcel in self._parcels:
            try:
                with self._explained(tr(WHAT)):
                    self._take_one(parcel)
            except BaseException:
                if parcel.headers and not parcel.folder.exists():
                    self.taken.append(parcel.report)  # stopped just after it had appeared
                raise

    def _take_one(self, parcel: _Parcel) -> None:
        if parcel.photos:
            self._attachments.adopt_photos(parcel.photos)
        kept = sum(map(self._keep_checklist, parcel.checklists))
        self._count_own(parcel.own_number)
        if parcel.headers:
            self._archive.publish(parcel.folder, parcel.name, parcel.headers)
        self.taken.append(replace(parcel.report, checklists=kept))

    def _keep_checklist(self, folder: Path) -> bool:
        files = {path.name: self._disk.read(path) for path in sorted(folder.iterdir())}
        return self._attachments.keep_checklist(folder.name, files)

    def disputed(self) -> dict[str, dict[str, int]]:
        """Say which contradictions the run brought.

        Returns
        -------
        dict
            By concern: the ids of new records that are heads of a chain of corrections with several
            heads, each with the place of its parcel, from 0.
        """
        found: dict[str, dict[str, int]] = {}
        for head in frozenset().union(*self._known.disputed()) & self._came_in.keys():
            concern, parcel = self._came_in[head]
            found.setdefault(concern, {})[head] = parcel
        return found
