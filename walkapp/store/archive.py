"""All records of a store: the journals of this tablet, those that merges brought, and memory."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from walkapp.files import Disk
from walkapp.language import tr
from walkapp.model.records import Record, record_from_plain
from walkapp.store.journal import Journal, MakeHeader
from walkapp.store.memory import ScopeMemory, through_json
from walkapp.store.merging import KnownRecords
from walkapp.store.reading import (
    Damage,
    Header,
    Scan,
    Span,
    glimpse_journal,
    good_lines,
    parse_name,
    scan_journal,
    scan_whole,
)
from walkapp.store.recovery import (
    OwnJournals,
    describe_damage,
    describe_gaps,
    find_gaps,
    inside,
    name_damage,
    set_aside,
)
from walkapp.store.trouble import explain, refuse_writing

HeaderFor = Callable[[str, str], MakeHeader]
"""Gives, for a scope and its concern, what makes the header of a new file."""


class Archive:
    """The records of a store, loaded scope by scope when they are first asked for.

    Parameters
    ----------
    folder
        The store.
    disk
        Where to read and write.
    device
        Id of this tablet.
    own
        Its journals, as they were found.
    header_for
        Gives what makes the header of a new file.
    make_room
        Called when a write failed, before it is tried once more.
    settle
        Called before anything is read or written; makes the names that were found durable.
    writable
        Whether anything may be written.

    Attributes
    ----------
    device
        Id of this tablet.
    lock
        Held during every call; hold it to see several calls as one.
    next_number
        The running number of the next record of this tablet.
    writable
        Whether anything may be written.
    notices
        One sentence about each damaged line seen so far.
    """

    def __init__(
        self,
        *,
        folder: Path,
        disk: Disk,
        device: str,
        own: OwnJournals,
        header_for: HeaderFor,
        make_room: Callable[[OSError], None],
        settle: Callable[[], None],
        writable: bool,
    ) -> None:
        self._folder = folder
        self._disk = disk
        self.device = device
        self._journals = own.journals
        self._concerns = own.concerns
        self._header_for = header_for
        self._make_room = make_room
        self._settle = settle
        self.writable = writable
        self._merged: dict[str, list[Path]] = {}
        self._loaded: dict[str, ScopeMemory] = {}
        self._noticed: dict[str, str] = {}
        self._doubtful = own.doubtful  # scopes in which a refused line may be, with their concerns
        self._latest: Journal | None = None
        self.lock = threading.RLock()
        self.next_number = own.least_number
        self.notices: list[str] = []

    def find_merged(self) -> None:
        """Read the first lines of all journals that merges brought."""
        merges = inside(self._folder / "journals" / "merged")
        for path in (path for merge in merges for path in inside(merge)):
            name = parse_name(path)
            if name is None:
                continue
            header = glimpse_journal(path, self._disk).header
            scan = scan_journal(self._disk.read(path), path) if header is None else Scan()
            found = {entry.record.concern for entry in scan.entries}
            self.know_merged(name[0], path, {header.concern} if header else found)

    def know_merged(self, scope: str, path: Path, concerns: Iterable[str]) -> None:
        """Take one more journal into account that a merge brought."""
        self._merged.setdefault(scope, []).append(path)
        self._concerns.setdefault(scope, set()).update(concerns)

    def merge_names(self) -> frozenset[str]:
        """Give the names under which merges that brought a record were published."""
        with self.lock:
            folders = {path.parent.name for paths in self._merged.values() for path in paths}
        return frozenset(folders)

    def scopes(self) -> tuple[str, ...]:
        """Ids of all walks and concerns that have records, sorted."""
        with self.lock:
            return tuple(sorted(self._concerns))

    def concerns(self) -> tuple[str, ...]:
        """Ids of all concerns that any record belongs to, sorted."""
        with self.lock:
            return tuple(sorted(set().union(*self._concerns.values())))

    def walks(self, concern: str) -> tuple[str, ...]:
        """Ids of the walks of a concern, sorted."""
        with self.lock:
            return tuple(
                sorted(s for s, concerns in self._concerns.items() if concern in concerns and s != concern)
            )

    def records(self, scope: str) -> tuple[Record, ...]:
        """All records of a walk or concern, sorted by device, running number and id; kept loaded."""
        with self.lock:
            return self._load(scope).records()

    def documents(self, scope: str) -> Mapping[str, Mapping[str, Any]]:
        """JSON values of a scope's records by document number; not to be changed."""
        with self.lock:
            return self._load(scope).documents

    def all_records(self) -> Iterator[Record]:
        """Every record, scope by scope; scopes that were not loaded before are dropped again."""
        for scope in self.scopes():
            with self.lock:
                memory = self._loaded.get(scope) or self._read(scope)
                found = memory.records()
            yield from found

    def missing_numbers(self) -> dict[str, tuple[tuple[int, int], ...]]:
        """Runs of running numbers (first, last) of which no record is here, by device."""
        with self.lock:
            numbers = self._numbers()
            last = {device: max(found) for device, found in numbers.items()}
            if self.next_number > 1:
                last[self.device] = self.next_number - 1
            gaps = {d: find_gaps(numbers.get(d, ()), 1, last[d]) for d in sorted(last)}
            return {device: found for device, found in gaps.items() if found}

    def _load(self, scope: str) -> ScopeMemory:
        memory = self._loaded.get(scope)
        if memory is None:
            memory = self._read(scope)
            if scope in self._concerns:
                self._loaded[scope] = memory
        return memory

    def _read(self, scope: str) -> ScopeMemory:
        self._make_certain(scope)
        memory = ScopeMemory()
        scans = list(self._scans(scope))
        entries = [entry for _, scan in scans for entry in scan.entries]
        entries.sort(key=lambda entry: (entry.record.device, entry.record.number, entry.record.id))
        for entry in entries:
            memory.add(entry.plain, entry.record)
        damages = [(path, scan, damage) for path, scan in scans for damage in scan.damages]
        fresh = [found for found in damages if name_damage(found[0], found[2]) not in self._noticed]
        if fresh:
            here = self._numbers()
            for path, scan, damage in fresh:
                gaps = self.gaps_in(scan.span_around(damage), here, self.next_number)
                self.tell_damage(path, damage, gaps)
        return memory

    def _make_certain(self, scope: str) -> None:
        """See to it that what is about to be shown is on the medium and not in memory alone."""
        if not self.writable:
            return
        try:
            self._settle()
            if scope in self._journals:
                self._journals[scope].settle()
        except OSError as error:
            notice = tr(
                "The storage that holds {folder} could not confirm the newest entries "
                "({what}): they are shown, but write a bundle to another medium soon.",
                folder=self._folder,
                what=error.strerror or error,
            )
            if notice not in self.notices:
                self.notices.append(notice)

    def _numbers(self) -> dict[str, set[int]]:
        """Running numbers of all good records, by device; reads every journal."""
        numbers: dict[str, set[int]] = {}
        for scope in self._concerns:
            for _, scan in self._scans(scope):
                for entry in scan.entries:
                    numbers.setdefault(entry.record.device, set()).add(entry.record.number)
        return numbers

    def _scans(self, scope: str) -> Iterator[tuple[Path, Scan]]:
        """Read every journal of a scope as far as it counts."""
        for path, data in self._contents(scope):
            yield path, scan_whole(data, path)

    def _contents(self, scope: str) -> Iterator[tuple[Path, bytes]]:
        """Read the bytes of every journal of a scope, as far as they count."""
        for path, length in self.files_of(scope):
            try:
                data = self._disk.read(path, 0, -1 if length is None else length)
            except OSError as error:
                raise explain(
                    error, tr("{path} could not be read", path=path.name), self._folder
                ) from error
            yield path, data

    def files_of(self, scope: str) -> tuple[tuple[Path, int | None], ...]:
        """Give the journals of a scope, each with the bytes of it that count; ``None`` for all of them.

        What counts is never changed, so it may be read without holding the lock.
        """
        with self.lock:
            own = self._journals[scope].parts() if scope in self._journals else []
            parts = (*own, *((path, None) for path in self._merged.get(scope, ())))
        return tuple((path, length) for path, length in parts if length != 0 and path.is_file())

    def state_of(self, concern: str) -> str:
        """Give a short text that changes with every record that a concern gets; reads no journal.

        Raises
        ------
        OSError
            If the folder cannot be read.
        """
        with self.lock:
            files = [path for scope in (concern, *self.walks(concern)) for path, _ in self.files_of(scope)]
        seen = hashlib.blake2b(digest_size=16)
        for path in sorted(files):
            facts = path.stat()
            seen.update(f"{path.relative_to(self._folder)} {facts.st_size} {facts.st_mtime_ns}\n".encode())
        return seen.hexdigest()

    def scan_file(self, path: Path, length: int | None) -> Scan:
        """Read one journal as far as it counts.

        Raises
        ------
        OSError
            If it cannot be read.
        """
        return scan_whole(self._disk.read(path, 0, -1 if length is None else length), path)

    def tell_damage(self, path: Path, damage: Damage, gaps: tuple[tuple[int, int], ...]) -> str:
        """Tell of a damaged line, once, and copy it aside.

        Returns
        -------
        str
            One sentence.
        """
        name = name_damage(path, damage)
        with self.lock:
            if name in self._noticed:
                return self._noticed[name]
            where = path.relative_to(self._folder).as_posix()
            notice = describe_damage(where, damage, describe_gaps(gaps))
            if self.writable:
                try:
                    set_aside(self._folder / "aside" / name, damage.data, self._disk)
                except OSError as error:
                    notice = tr(
                        "{notice} No copy of it could be made in aside/ ({what}).",
                        notice=notice,
                        what=error.strerror or error,
                    )
            self._noticed[name] = notice
            self.notices.append(notice)
            return notice

    def gaps_in(
        self, span: Span | None, here: Mapping[str, set[int]], next_number: int
    ) -> tuple[tuple[int, int], ...]:
        """Give the running numbers of a span that are not here.

        Parameters
        ----------
        span
            Where to look; nowhere when ``None``.
        here
            Numbers of all good records, by device.
        next_number
            The running number that this tablet was to give next when `here` was found.
        """
        if span is None:
            return ()
        most = span.most
        if most is None:
            most = next_number - 1 if span.device == self.device else max(here[span.device])
        return find_gaps(here[span.device], span.least, most)

    def append_all(self, records: Iterable[Record]) -> list[int]:
        """Append records, all or none; durable when it returns.

        Returns
        -------
        list of int
            Their document numbers; 0 for one whose scope is not loaded.

        Raises
        ------
        ValueError
            If a record is not the next one of this tablet, or its walk belongs to another concern.
        StoreError
            If the disk refuses; no record was added, and the store can be used further. Also if the
            store was opened for reading only.
        """
        if not self.writable:
            raise refuse_writing(self._folder)
        with self.lock:
            waiting = list(records)
            self._check_next(waiting)
            lines: dict[str, list[bytes]] = {}
            decoded: list[tuple[dict[str, Any], Record]] = []
            for record in waiting:
                line, plain, kept = through_json(record)
                lines.setdefault(record.scope, []).append(line)
                decoded.append((plain, kept))
            self._write(lines, {record.scope: record.concern for record in waiting})
            self.next_number += len(waiting)
            return [self._remember(plain, record) for plain, record in decoded]

    def _check_next(self, waiting: Sequence[Record]) -> None:
        claimed: dict[str, str] = {}
        for number, record in enumerate(waiting, start=self.next_number):
            if record.device != self.device:
                raise ValueError(f"record {record.id} is of device {record.device}, not of this one")
            if record.number != number:
                raise ValueError(f"record {record.id} has number {record.number}, the next is {number}")
            scope = record.scope
            known = self._concerns.get(scope) or {claimed.setdefault(scope, record.concern)}
            if record.concern not in known:
                raise ValueError(f"{scope} does not belong to concern {record.concern}")

    def _write(self, lines: Mapping[str, list[bytes]], concerns: Mapping[str, str]) -> None:
        """Append to each journal; when one refuses for good, take back what the others took."""
        done: list[Journal] = []
        try:
            self._settle()
            self._fence()
            for scope, data in lines.items():
                journal = self._journal_of(scope)
                self._append_to(journal, b"".join(data), self._header_for(scope, concerns[scope]))
                done.append(journal)
        except OSError as error:
            for journal in done:
                journal.take_back()
            for scope in lines:
                if scope in self._journals and self._journals[scope].is_doubtful:
                    self._doubtful[scope] = concerns[scope]
            what = tr("The entries were not saved") if len(lines) > 1 else tr("The entry was not saved")
            raise explain(error, what, self._folder) from error

    def _fence(self) -> None:
        """Before a running number is given again: what was refused with it must not come back."""
        for scope, concern in tuple(self._doubtful.items()):
            self._journal_of(scope).fence(self._header_for(scope, concern))
            del self._doubtful[scope]

    def _journal_of(self, scope: str) -> Journal:
        journal = self._journals.get(scope)
        if journal is None:
            own = self._folder / "journals" / "own"
            journal = self._journals[scope] = Journal(folder=own, scope=scope, disk=self._disk)
        if self._latest is not journal:
            # One walk is written to at a time: a second open file would only use up handles.
            if self._latest is not None:
                self._latest.close()
            self._latest = journal
        return journal

    def _append_to(self, journal: Journal, data: bytes, make_header: MakeHeader) -> None:
        """Append, and try once more: with the reserve given back, or in the next file."""
        try:
            journal.append(data, make_header)
        except OSError as error:
            self._make_room(error)
            journal.append(data, make_header)

    def _remember(self, plain: Mapping[str, Any], record: Record) -> int:
        if record.scope not in self._concerns:
            self._concerns[record.scope] = {record.concern}
            self._loaded[record.scope] = ScopeMemory()
        memory = self._loaded.get(record.scope)
        return (memory.add(plain, record) if memory else None) or 0

    def insert(self, scope: str, documents: Iterable[Mapping[str, Any]]) -> list[int]:
        """Append records given as JSON values, all or none, and give their document numbers.

        Raises
        ------
        RecordError
            If one is not a valid record.
        ValueError
            If one is of another scope, or as for :meth:`append_all`.
        StoreError
            As for :meth:`append_all`.
        """
        records = [record_from_plain(document) for document in documents]
        for record in records:
            if record.scope != scope:
                raise ValueError(f"record {record.id} belongs to {record.scope}, not to {scope}")
        with self.lock:
            self._load(scope)
            return self.append_all(records)

    def known_records(self) -> KnownRecords:
        """Go through all records once, to tell which arriving ones are new.

        The lines are not checked for being records: a line that equals one of a good record is one.
        """
        known = KnownRecords()
        with self.lock:
            for scope in self.scopes():
                # What is only in the system's memory must not keep out the same record of a bundle.
                self._make_certain(scope)
                for _, data in self._contents(scope):
                    for line, plain in good_lines(data, scope):
                        known.add_line(line, plain)
        return known

    def publish(self, staged: Path, name: str, headers: Mapping[str, Header]) -> None:
        """Make a folder of journals a part of the store: all of them or none, durable when it returns.

        Parameters
        ----------
        staged
            The folder, durable, inside ``journals/``.
        name
            What to call it; a number is added when there is one of that name already.
        headers
            Header of each of its files, by file name.

        Raises
        ------
        OSError
            If the disk refuses; after opening again either all of them are here or none.
        """
        with self.lock:
            merged = self._folder / "journals" / "merged"
            target, count = merged / name, 1
            while target.exists():
                count += 1
                target = merged / f"{name}-{count}"
            self._disk.rename(staged, target)
            self._disk.sync_folder(merged)
            for file, header in headers.items():
                self.know_merged(header.scope, target / file, {header.concern})
                if (memory := self._loaded.get(header.scope)) is not None:
                    for entry in scan_journal(self._disk.read(target / file), target / file).entries:
                        memory.add(entry.plain, entry.record)

    def close(self) -> None:
        """Close the journal that was written to last."""
        if self._latest is not None:
            self._latest.close()
            self._latest = None
