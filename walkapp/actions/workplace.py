"""What every action works with: the store, the checklists, the clock and the ids.

The reader of checklists is imported where it is used: the first page shows before it is needed.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from walkapp.errors import ChecklistError, InputError
from walkapp.language import code_for_people, msg, tr
from walkapp.model.checklist import Stream
from walkapp.model.ids import RisingIds
from walkapp.model.records import Record
from walkapp.store import PRACTICE_FILE, Store

if TYPE_CHECKING:
    from walkapp.actions.audits.book import AuditBook
    from walkapp.actions.marks import PictureMarks
    from walkapp.analysis.audits.plan import AuditPlan

R = TypeVar("R", bound=Record)

NOBODY = msg("not said")


@dataclass(slots=True)
class Workplace:
    """Everything that an action needs, passed in by the two entry points.

    Parameters
    ----------
    store
        The tablet's store, open.
    checklists
        Folder that holds one folder per value stream; none when only the store is looked at.
    now
        Gives the present time with its offset from UTC.
    new_id
        Makes record ids; from then on they rise whatever the clock does.
    by
        Role and initials of the person, written into every record.
    """

    store: Store
    checklists: Path | None
    now: Callable[[], datetime]
    new_id: Callable[[], str]
    by: str = NOBODY
    newest: Record | None = field(default=None, init=False)
    """The record that was put on disk last, since the app was started; none before the first."""
    _streams: dict[str, dict[str, Stream]] = field(default_factory=dict, init=False)
    _kept: dict[tuple[str, str, str], Stream] = field(default_factory=dict, init=False)
    _plans: dict[tuple[str, str], AuditPlan] = field(default_factory=dict, init=False)
    _books: dict[str, AuditBook] = field(default_factory=dict, init=False)
    _marks: dict[str, PictureMarks] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        self.new_id = RisingIds(self.new_id, self.store.newest_id)

    def streams(self) -> Mapping[str, Stream]:
        """Give the value streams of the checklists folder, by id, in the language of the person.

        Raises
        ------
        ChecklistError
            With every mistake of every folder.
        """
        language = code_for_people()
        if language not in self._streams:
            from walkapp.checklists import load_streams

            loaded: tuple[Stream, ...] = ()
            if self.checklists is not None:
                loaded = load_streams(self.checklists, language=language)
            self._streams[language] = {stream.id: stream for stream in loaded}
        return self._streams[language]

    def stream(self, stream_id: str) -> Stream:
        """Give one value stream of the checklists folder.

        Raises
        ------
        ChecklistError
            With every mistake of every folder.
        InputError
            If there is no such stream.
        """
        return self._folder_and_stream(stream_id)[1]

    def keep_checklist(self, stream_id: str) -> str:
        """Put the checklist of a stream, as it is now, into the store; give its SHA-256.

        Raises
        ------
        InputError
            If there is no such stream.
        """
        from walkapp.checklists import parse_stream, stream_files

        folder, _ = self._folder_and_stream(stream_id)
        files = stream_files(folder)
        stream = parse_stream(stream_id, files)
        self.store.keep_checklist(stream.digest, files)
        return stream.digest

    def _folder_and_stream(self, stream_id: str) -> tuple[Path, Stream]:
        if self.checklists is None or stream_id not in self.streams():
            raise InputError(
                tr(
                    "The value stream {stream_id} is not in the checklists folder; choose "
                    "another folder with --checklists.",
                    stream_id=repr(stream_id),
                )
            )
        return self.checklists / stream_id, self.streams()[stream_id]

    def kept_stream(self, stream_id: str, digest: str) -> Stream | None:
        """Give the stream as it was when a walk began, or none when the store has none unharmed."""
        known = (stream_id, digest, code_for_people())
        if known not in self._kept:
            from walkapp.checklists import digest_of, parse_stream

            files = self.store.checklist(digest)
            if files is None or digest_of(files) != digest:
                # An altered checklist would give an altered answer; the check of the store names it.
                return None
            try:
                self._kept[known] = parse_stream(stream_id, files, language=code_for_people())
            except ChecklistError:
                # It came with a bundle, perhaps from a newer version; the records are read all the same.
                return None
        return self._kept[known]

    def audit_plan(self, stream: Stream) -> AuditPlan:
        """Give the plan of a stream's audits; what was worked out of it is kept.

        Raises
        ------
        InputError
            If the checklist of the stream has no audits.
        """
        if stream.audits is None:
            raise InputError(
                tr(
                    "The checklist of {stream} has no audits; add audits.toml to its folder, as "
                    "the ready-made folders show.",
                    stream=stream.name,
                )
            )
        known = (stream.digest, code_for_people())
        if known not in self._plans:
            from walkapp.analysis.audits.plan import AuditPlan

            self._plans[known] = AuditPlan(stream)
        return self._plans[known]

    def audit_book(self, book: str) -> AuditBook:
        """Give what holds in an audit book; kept until the book has one more record."""
        from walkapp.actions.audits.book import AuditBook

        records = self.store.records(book)
        kept = self._books.get(book)
        if kept is None or kept.records is not records:
            kept = self._books[book] = AuditBook(records)
        return kept

    def picture_marks(self, concern: str) -> PictureMarks:
        """Give the marks on the pictures of a concern or audit book; kept until it has one more record."""
        from walkapp.actions.marks import PictureMarks

        records = self.store.records(concern)
        kept = self._marks.get(concern)
        if kept is None or kept.records is not records:
            kept = self._marks[concern] = PictureMarks(records)
        return kept

    def add(self, kind: type[R], **fields: Any) -> R:
        """Make a record of this tablet and put it on disk.

        Parameters
        ----------
        kind
            Class of the record.
        fields
            Its fields beyond id, device, number, time and person. Texts are put into Unicode form C.

        Returns
        -------
        Record
            The record, durable.

        Raises
        ------
        RecordError
            If a value is not allowed; nothing is written.
        StoreError
            If it could not be made durable.
        """
        record = self._make(kind, fields, self.store.next_number)
        self.store.append(record)
        self.newest = record
        return record

    def add_all(self, entries: Sequence[tuple[type[Record], Mapping[str, Any]]]) -> tuple[Record, ...]:
        """Make several records of this tablet and put them on disk, all or none.

        Parameters
        ----------
        entries
            Class and fields of each, as for :meth:`add`.

        Returns
        -------
        tuple of Record
            The records, durable.

        Raises
        ------
        RecordError
            If a value is not allowed; nothing is written.
        StoreError
            If they could not be made durable.
        """
        first = self.store.next_number
        records = tuple(self._make(kind, said, first + i) for i, (kind, said) in enumerate(entries))
        self.store.append_all(records)
        self.newest = records[-1] if records else self.newest
        return records

    def _make(self, kind: type[R], fields: Mapping[str, Any], number: int) -> R:
        clean = {name: _tidy(value) for name, value in fields.items()}
        header: dict[str, Any] = {
            "id": self.new_id(),
            "device": self.store.device,
            "number": number,
            "at": self.now().isoformat(timespec="milliseconds"),
            "by": self.by,
        }
        return kind(**{**header, **clean})


def _tidy(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    return unicodedata.normalize("NFC", value.replace("\r\n", "\n").replace("\r", "\n")).strip()


def refuse_practice_folder(folder: Path) -> None:
    """Refuse to take a store to practise on for one of real records.

    Raises
    ------
    InputError
        If the folder holds such a store.
    """
    if (folder / PRACTICE_FILE).is_file():
        raise InputError(
            tr(
                "{folder}: is there to practise on and nothing in it is real; name the folder of the real "
                "records with --store.",
                folder=folder,
            )
        )
