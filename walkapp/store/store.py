"""The tablet's store: a folder that holds records, photos and checklists, and only ever grows."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import TypeVar

from walkapp.files import DISK, Disk, safe_name, write_atomically, write_durably
from walkapp.language import tr
from walkapp.model.records import Record
from walkapp.store.archive import Archive
from walkapp.store.attachments import Attachments, checked_photo
from walkapp.store.checking import CheckReport, StoreCheck
from walkapp.store.identity import write_identity
from walkapp.store.intake import Intake
from walkapp.store.journal import MakeHeader
from walkapp.store.keys import KeyRing
from walkapp.store.lines import decode_line, encode_line
from walkapp.store.merging import MergeReport
from walkapp.store.opening import (
    MERGES_FILE,
    PLACE_FILE,
    PRACTICE_FILE,
    SEARCH_FILE,
    SMALL_FOLDER,
    open_for_reading,
    open_for_writing,
)
from walkapp.store.reading import Header
from walkapp.store.tables import JournalDatabase, JournalTable
from walkapp.store.trouble import Ballast, explain, is_full, refuse_writing

T = TypeVar("T")


class Store:
    """An open store; use it as a context manager, or call :meth:`close`.

    All methods may be called from any thread; one call runs after the other.

    Parameters
    ----------
    folder
        The store; made when it is not there and `writable`.
    now
        Gives the tablet's time with its offset from UTC.
    new_id
        Gives a new UUID version 7; asked only when a store is made or its id is lost.
    app
        Version of the program.
    writable
        Without it nothing on disk is changed and no lock is taken, so that a store can be read while
        the app has it open.
    disk
        Where to write; tests pass one that fails.

    Attributes
    ----------
    device
        Id of this tablet; empty when a damaged store is opened for reading only.
    newest_id
        Greatest id that this tablet had given when the store was opened; empty when there is none.
    database
        All records as a TinyDB database with one table for each walk and each concern.
    keys
        The key of this tablet and the known ones of others.

    Raises
    ------
    StoreBusyError
        If it is open for writing already.
    StoreError
        If there is no store to read, the folder cannot be used, or a newer version of the program
        wrote it.
    """

    def __init__(
        self,
        folder: Path,
        *,
        now: Callable[[], datetime],
        new_id: Callable[[], str],
        app: str,
        writable: bool = True,
        disk: Disk = DISK,
    ) -> None:
        self._folder = folder
        self._now = now
        self._app = app
        self._disk = disk
        self._writable = writable
        self._ballast = Ballast(folder / "ballast", disk)
        if writable:
            opened = open_for_writing(folder, disk, now=now, new_id=new_id, ballast=self._ballast)
        else:
            opened = open_for_reading(folder, disk)
        self.device = opened.identity.device
        self.newest_id = opened.own.newest_id
        self._identity = opened.identity
        self._lock = opened.lock
        self._settling = opened.settling
        self._notices = opened.notices
        self._found: list[str] = []
        self._unnoted_place: dict[str, str] | None = None
        self._archive = Archive(
            folder=folder,
            disk=disk,
            device=self.device,
            own=opened.own,
            header_for=self._header_for,
            make_room=self._make_room,
            settle=opened.settling.settle,
            writable=writable,
        )
        self._attachments = Attachments(folder, disk)
        self.keys = KeyRing(folder, disk, self._save)
        self.database = JournalDatabase(self._archive)
        try:
            self._archive.find_merged()
            for scope in opened.own.suspects:
                self._archive.records(scope)
        except OSError as error:
            self.close()
            raise explain(error, tr("The store could not be opened"), folder) from error
        except BaseException:
            self.close()
            raise

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let others open the store; a second call does nothing. Everything saved is on disk already."""
        with self._archive.lock:
            self._archive.close()
            if self._lock is not None:
                self._lock.release()
                self._lock = None
            self._writable = self._archive.writable = False

    @property
    def folder(self) -> Path:
        """Where the store is."""
        return self._folder

    @property
    def disk(self) -> Disk:
        """Where it is written."""
        return self._disk

    @property
    def is_practice(self) -> bool:
        """Whether it is there to practise on: then nothing in it is real."""
        return (self._folder / PRACTICE_FILE).is_file()

    @property
    def is_writable(self) -> bool:
        """Whether anything may be written."""
        return self._writable

    @property
    def search_file(self) -> Path:
        """Where an index for searching may be kept: a cache, no part of the records."""
        return self._folder / SEARCH_FILE

    @property
    def small_folder(self) -> Path:
        """Where small pictures may be kept: a cache, no part of the records."""
        return self._folder / SMALL_FOLDER

    @property
    def notices(self) -> tuple[str, ...]:
        """What a person should know about this store, one sentence each; grows as more is read."""
        with self._archive.lock:
            return (*self._notices, *self._archive.notices, *self._found)

    # Records

    @property
    def next_number(self) -> int:
        """The running number that the next record of this tablet has to have."""
        return self._archive.next_number

    def append(self, record: Record) -> None:
        """Save one record of this tablet; it is on the medium when this returns.

        Raises
        ------
        ValueError
            If its device is not this one, its number not :attr:`next_number`, or its walk belongs to
            another concern.
        StoreError
            If the disk refuses. The record is then not here, and may be tried again with the same id;
            the store can be used further.
        """
        self.append_all((record,))

    def append_all(self, records: Iterable[Record]) -> None:
        """Save several records of this tablet, all or none, waiting for the disk once for each journal.

        When the program or the power stops before this returns, some of them may be there: of each
        journal the first ones. So whoever saves several makes each of them true by itself.

        Raises
        ------
        ValueError, StoreError
            As for :meth:`append`; no record was added.
        """
        self._archive.append_all(records)

    def concerns(self) -> tuple[str, ...]:
        """Ids of all concerns that any record belongs to, sorted."""
        return self._archive.concerns()

    def walks(self, concern: str) -> tuple[str, ...]:
        """Ids of the walks of a concern, sorted."""
        return self._archive.walks(concern)

    def records(self, scope: str) -> tuple[Record, ...]:
        """All records of a walk, or of a concern outside any walk.

        Returns
        -------
        tuple of Record
            Sorted by device, running number and id; empty when there is none.
        """
        return self._archive.records(scope)

    def state_of(self, concern: str) -> str:
        """A short text that is another one as soon as a concern has one more record, by size and time of
        its journals; reads none of them.

        Raises
        ------
        StoreError
            If the folder cannot be read.
        """
        with self._explained(tr("The journals could not be looked at")):
            return self._archive.state_of(concern)

    def all_records(self) -> Iterator[Record]:
        """Every record, sorted by scope, then as in :meth:`records`; not all in memory at once."""
        return self._archive.all_records()

    def table(self, scope: str) -> JournalTable:
        """The records of a walk or concern as a TinyDB table, for queries."""
        return self.database.table(scope)

    def missing_numbers(self) -> dict[str, tuple[tuple[int, int], ...]]:
        """Runs of running numbers (first, last) of which no record is here, by device."""
        return self._archive.missing_numbers()

    # The check of everything

    def begin_check(self) -> StoreCheck:
        """Begin a check of every line, picture, checklist and running number, to be done in pieces.

        What it finds is added to :attr:`notices` at its end, but for entries of other tablets that
        have not arrived.

        Raises
        ------
        StoreError
            If a folder cannot be read; so may each piece.
        """
        with self._archive.lock:
            opening = tuple(self._notices)
        with self._explained(tr("The check could not begin")):
            return StoreCheck(
                folder=self._folder,
                archive=self._archive,
                attachments=self._attachments,
                device=self.device,
                opening=opening,
                tell=self._tell,
            )

    def check(self, progress: Callable[[int, int], None] = lambda done, total: None) -> CheckReport:
        """Check every line, picture, checklist and running number; nothing but notices changes.

        Parameters
        ----------
        progress
            Called with pieces done and pieces in all.
        """
        check = self.begin_check()
        while check.step():
            progress(check.done, check.total)
        progress(check.done, check.total)
        return check.report()

    # Photos and checklists

    def add_photo(self, name: str, data: bytes) -> None:
        """Keep a picture, durable when it returns; nothing happens when it is here already.

        Parameters
        ----------
        name
            SHA-256 of `data` in 64 small hexadecimal digits, and ``.jpg`` or ``.png``.
        data
            The file.

        Raises
        ------
        PhotoError
            If the content does not belong to the name.
        StoreError
            If the disk refuses.
        ValueError
            If the name has another form.
        """
        self._save(tr("The picture was not saved"), lambda: self._attachments.add_photo(name, data))

    def photo_path(self, name: str) -> Path | None:
        """Where a picture is; ``None`` when it is not here."""
        return self._attachments.photo_path(name)

    def photo_names(self) -> tuple[str, ...]:
        """Names of all pictures, sorted."""
        return self._attachments.photo_names()

    def keep_checklist(self, digest: str, files: Mapping[str, bytes]) -> None:
        """Keep a checklist as it is now, durable; nothing happens when it is here already.

        Parameters
        ----------
        digest
            Its SHA-256 in 64 small hexadecimal digits.
        files
            Content by file name, at least one.

        Raises
        ------
        StoreError
            If the disk refuses, or another content is kept under the same digest.
        ValueError
            If the digest or a file name is not allowed.
        """
        self._save(
            tr("The checklist was not saved"), lambda: self._attachments.keep_checklist(digest, files)
        )

    def checklist(self, digest: str) -> dict[str, bytes] | None:
        """Content of a kept checklist by file name; ``None`` when it is not here."""
        with self._explained(tr("The checklist could not be read")):
            return self._attachments.checklist(digest)

    def checklist_digests(self) -> tuple[str, ...]:
        """Digests of all kept checklists, sorted."""
        return self._attachments.checklist_digests()

    # Merging

    def merge(
        self,
        records: Iterable[Record],
        *,
        name: str,
        photos: Mapping[str, Path],
        checklists: Mapping[str, Mapping[str, bytes]],
    ) -> MergeReport:
        """Add what another tablet recorded: all of its records or none.

        Parameters
        ----------
        records
            Checked records in any order; repeats and records that are here already do no harm.
        name
            What the merge is called in the store's folder; any text.
        photos
            Files by the names under which :meth:`add_photo` keeps them.
        checklists
            Files of each checklist by its digest.

        Returns
        -------
        MergeReport
            What was new.

        Raises
        ------
        PhotoError, StoreError, ValueError
            As for :meth:`add_photo` and :meth:`keep_checklist`; no record was added. Pictures and
            checklists that had been added stay, which does no harm.
        """
        sources = {photo: partial(self._put_copy, photo, path) for photo, path in photos.items()}
        with self.intake() as intake:
            intake.stage(
                tuple(records),
                name=safe_name(name, otherwise="merge"),
                photos=sources,
                checklists=checklists,
            )
            intake.take_in()
        return intake.taken[0]

    def intake(self) -> Intake:
        """Begin a run of merges; see :class:`walkapp.store.intake.Intake`.

        Raises
        ------
        StoreError
            If the store was opened for reading only.
        """
        if not self._writable:
            raise refuse_writing(self._folder)
        return Intake(
            folder=self._folder,
            disk=self._disk,
            archive=self._archive,
            attachments=self._attachments,
            save=self._save,
            explained=self._explained,
            make_header=lambda scope, concern: self._header_for(scope, concern)(()),
            count_own=self._count_own,
        )

    def _put_copy(self, name: str, path: Path, folder: Path, disk: Disk) -> None:
        """Put a copy of a picture file into a folder; it has to be what its name says."""
        write_durably(folder / name, checked_photo(name, disk.read(path)), disk)

    def _count_own(self, number: int) -> None:
        """Give no number again of a record that comes back and that this tablet's journals have lost."""
        if number >= self.next_number:
            identity = replace(self._identity, least_number=number + 1)
            write_identity(self._folder / "store.json", identity, self._disk)
            self._identity = identity
            self._archive.next_number = number + 1

    # The place where the app was

    def remember(self, place: Mapping[str, str]) -> bool:
        """Note where the app is, for the next start; say whether that is on the medium.

        This is no evidence, so a disk that refuses is no error: the place is then known until the store is
        closed, and noted for the next start as soon as the disk takes it.

        Raises
        ------
        StoreError
            If the store was opened for reading only.
        """
        if not self._writable:
            raise refuse_writing(self._folder)
        # With its checksum, as a journal has it: it holds the initials that the next records will have.
        with self._archive.lock:
            is_noted = self._note(PLACE_FILE, place)
            self._unnoted_place = None if is_noted else dict(place)
        return is_noted

    def place(self) -> dict[str, str]:
        """Where the app was; empty when that is not known or the file is broken."""
        with self._archive.lock:
            return self._noted(PLACE_FILE) if self._unnoted_place is None else dict(self._unnoted_place)

    # What merges brought

    def remember_merges(self, told: Mapping[str, str]) -> None:
        """Note what the last merges brought, by their times; no evidence, as :meth:`remember`.

        Raises
        ------
        StoreError
            If the store was opened for reading only.
        """
        if not self._writable:
            raise refuse_writing(self._folder)
        self._note(MERGES_FILE, told)

    def merges(self) -> dict[str, str]:
        """What was noted of the last merges; empty when nothing was or the file is broken."""
        return self._noted(MERGES_FILE)

    def merge_names(self) -> frozenset[str]:
        """What the merges were called that brought a record."""
        return self._archive.merge_names()

    def _note(self, name: str, told: Mapping[str, str]) -> bool:
        line = encode_line(dict(sorted(told.items())))
        with self._archive.lock:
            try:
                write_atomically(self._folder / name, line, self._disk)
            except OSError:
                return False
        return True

    def _noted(self, name: str) -> dict[str, str]:
        return _noted(self._folder / name, self._disk)

    # Inside

    def _tell(self, sentences: Iterable[str]) -> None:
        with self._archive.lock:
            known = self.notices
            self._found += [sentence for sentence in sentences if sentence not in known]

    def _created(self) -> str:
        return self._now().isoformat(timespec="seconds")

    def _header_for(self, scope: str, concern: str) -> MakeHeader:
        return lambda confirmed: Header(
            scope=scope,
            concern=concern,
            device=self.device,
            created=self._created(),
            app=self._app,
            confirmed_bytes=confirmed,
        )

    def _make_room(self, error: OSError) -> None:
        if not is_full(error):
            return
        # The index of words is made again by itself; its room is worth more to an entry.
        with contextlib.suppress(OSError):
            self._disk.remove(self.search_file)
        if self._ballast.release():
            self._notices.append(
                tr(
                    "The storage that holds {folder} is full: the reserve was used so that this "
                    "item can be finished; free some space now.",
                    folder=self._folder,
                )
            )

    def _save(self, what: str, action: Callable[[], T]) -> T:
        """Do something with the disk; on a full one, once more with the reserve given back."""
        if not self._writable:
            raise refuse_writing(self._folder)

        def attempt() -> T:
            self._settling.settle()
            return action()

        with self._archive.lock, self._explained(what):
            try:
                return attempt()
            except OSError as error:
                if not is_full(error):
                    raise
                self._make_room(error)
            return attempt()

    @contextlib.contextmanager
    def _explained(self, what: str) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise explain(error, what, self._folder) from error


def read_place(folder: Path, disk: Disk = DISK) -> dict[str, str]:
    """Give where the app was, as :meth:`Store.place`, of a store that is not open; it need not be there."""
    return _noted(folder / PLACE_FILE, disk)


def _noted(path: Path, disk: Disk) -> dict[str, str]:
    try:
        data = disk.read(path)
        # Earlier versions wrote JSON alone.
        found = json.loads(data) if data.startswith(b"{") else decode_line(data.removesuffix(b"\n"))
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(found, dict) or not all(isinstance(value, str) for value in found.values()):
        return {}
    return found
