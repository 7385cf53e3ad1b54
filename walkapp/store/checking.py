"""The check of a whole store: every line, every picture, every checklist, every running number.

It changes nothing but for copies of damaged lines in ``aside/``, and is done in pieces, so that a tap
never waits for it: a piece holds the store's lock only to ask which bytes count.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from walkapp.files import sha256_of_file, sha256_of_files
from walkapp.language import tr, trn
from walkapp.model.records import AuditStart, CarriedRecord, Photo, PhotoCopy, Record, WalkStart
from walkapp.store.archive import Archive
from walkapp.store.attachments import Attachments
from walkapp.store.reading import Damage, Span
from walkapp.store.recovery import cut_out, describe_gaps, find_gaps
from walkapp.store.trouble import explain

Gaps = tuple[tuple[int, int], ...]

REMARKS = ("orphan", "not_received")
"""Kinds of finding that are no fault: nothing is damaged, and nothing of this tablet is missing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that a person should know about a store.

    Parameters
    ----------
    kind
        ``opening`` (said when it was opened), ``line`` (a damaged line), ``file`` (a file that cannot be
        read), ``photo`` or ``checklist`` (damaged or missing), ``number`` (entries of this tablet that
        are nowhere), ``orphan`` (a picture that no entry names) or ``not_received`` (entries of another
        tablet that are not here).
    file
        As seen from the store's folder; empty when there is none.
    line
        Line of the file, from 1; 0 when none is to blame.
    device
        Tablet whose numbers these are; empty when there are none.
    numbers
        Runs of running numbers (first, last) that are not here.
    text
        All of it in one sentence, with what to do.
    """

    kind: str
    text: str
    file: str = ""
    line: int = 0
    device: str = ""
    numbers: Gaps = ()

    @property
    def is_fault(self) -> bool:
        """Whether something is damaged, or something is missing that was here."""
        return self.kind not in REMARKS


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckReport:
    """What a check of a store found.

    Parameters
    ----------
    findings
        Faults first.
    entries, photos, checklists
        How many good lines with a record, pictures and checklists were looked at.
    """

    findings: tuple[Finding, ...]
    entries: int
    photos: int
    checklists: int

    @property
    def is_sound(self) -> bool:
        """Whether nothing is damaged or missing."""
        return not any(finding.is_fault for finding in self.findings)


class StoreCheck:
    """A check that is done piece by piece: one walk, one picture or one checklist each.

    Parameters
    ----------
    folder
        The store.
    archive, attachments
        What is in it.
    device
        Id of this tablet.
    opening
        What was said when it was opened.
    tell
        Called with all sentences at the end.

    Attributes
    ----------
    done, total
        Pieces done, and in all.
    """

    def __init__(
        self,
        *,
        folder: Path,
        archive: Archive,
        attachments: Attachments,
        device: str,
        opening: Iterable[str],
        tell: Callable[[Iterable[str]], None],
    ) -> None:
        self._folder = folder
        self._archive = archive
        self._attachments = attachments
        self._device = device
        self._tell = tell
        self._findings = [Finding(kind="opening", text=text) for text in opening]
        self._damages: list[tuple[Path, Damage, Span | None]] = []
        self._numbers: dict[str, set[int]] = {}
        self._photo_entries: dict[str, Record] = {}
        self._copies: dict[str, set[str]] = {}  # file names of the copies of a picture, by its SHA-256
        self._carried: set[str] = set()  # what records of unknown kinds hold; pictures are named so
        self._checklist_entries: dict[str, Record] = {}
        self._entries = 0
        # Before the scopes: an entry is saved after its picture.
        self._photos = attachments.photo_names()
        self._checklists = attachments.checklist_digests()
        with archive.lock:
            self._next_number = archive.next_number
            scopes = archive.scopes()
        self._pieces: deque[Callable[[], None]] = deque(
            (
                *(partial(self._check_scope, scope) for scope in scopes),
                *(partial(self._check_photo, name) for name in self._photos),
                *(partial(self._check_checklist, digest) for digest in self._checklists),
                self._conclude,
            )
        )
        self.done, self.total = 0, len(self._pieces)

    def step(self) -> bool:
        """Do one piece; say whether there are more.

        Raises
        ------
        StoreError
            If the folder itself cannot be read any more.
        """
        if self._pieces:
            try:
                self._pieces.popleft()()
            except OSError as error:
                raise explain(error, tr("The check could not go on"), self._folder) from error
            self.done += 1
            self.total = self.done + len(self._pieces)
        return bool(self._pieces)

    def report(self) -> CheckReport:
        """Give what was found; complete when no piece is left."""
        return CheckReport(
            findings=tuple(sorted(self._findings, key=lambda finding: not finding.is_fault)),
            entries=self._entries,
            photos=len(self._photos),
            checklists=len(self._checklists),
        )

    # The pieces

    def _check_scope(self, scope: str) -> None:
        for path, length in self._archive.files_of(scope):
            try:
                scan = self._archive.scan_file(path, length)
            except OSError as error:
                self._find_unreadable(self._where(path), error)
                continue
            self._entries += len(scan.entries)
            for entry in scan.entries:
                record = entry.record
                self._numbers.setdefault(record.device, set()).add(record.number)
                self._note_pictures(record)
                if isinstance(record, (WalkStart, AuditStart)):
                    self._checklist_entries.setdefault(record.checklist, record)
            self._damages += [(path, damage, scan.span_around(damage)) for damage in scan.damages]

    def _note_pictures(self, record: Record) -> None:
        if isinstance(record, (Photo, PhotoCopy)):
            self._photo_entries.setdefault(record.file_name, record)
        if isinstance(record, PhotoCopy):
            self._copies.setdefault(record.photo, set()).add(record.file_name)
        elif isinstance(record, CarriedRecord):
            self._carried.update(cell for _, cell in record.cells)

    def _is_named(self, name: str) -> bool:
        return name in self._photo_entries or name.partition(".")[0] in self._carried

    def _is_missed(self, name: str, record: Record) -> bool:
        """Whether a picture ought to be here and is not.

        Pictures leave a tablet as copies, so one of another tablet is here when a copy of it is; and a
        copy without covered places is made again from the picture whenever it is needed.
        """
        if self._attachments.photo_path(name) is not None:
            return False
        if isinstance(record, PhotoCopy):
            return record.device == self._device and bool(record.boxes)
        copies = self._copies.get(name.partition(".")[0], set())
        return record.device == self._device or not any(map(self._attachments.photo_path, copies))

    def _check_photo(self, name: str) -> None:
        file = f"photos/{name}"
        try:
            is_sound = sha256_of_file(self._folder / file) == name[:64]
        except OSError as error:
            self._find_unreadable(file, error)
            return
        if not is_sound:
            self._find(
                "photo",
                tr(
                    "{file} is damaged (its content is not what its name says): {named_by}; "
                    "merge a bundle that has this picture, or take it again.",
                    file=file,
                    named_by=self._named_by(name),
                ),
                file,
            )

    def _check_checklist(self, digest: str) -> None:
        file = f"checklists/{digest}"
        try:
            files = self._attachments.checklist(digest)
        except OSError as error:
            self._find_unreadable(file, error)
            return
        if files is None or sha256_of_files(files) != digest:
            self._find(
                "checklist",
                tr(
                    "{file} is damaged (its content is not what its name says): no walk or audit "
                    "is worked out with it; merge a bundle that has this checklist.",
                    file=file,
                ),
                file,
            )

    def _conclude(self) -> None:
        """Say what only the whole store tells."""
        told = self._tell_damages()
        for device, found in sorted(self._numbers.items()):
            most = max(found) if device != self._device else max(self._next_number - 1, *found)
            self._find_gaps(device, cut_out(find_gaps(found, 1, most), sorted(told.get(device, ()))))
        if self._device and self._device not in self._numbers:
            self._find_gaps(self._device, find_gaps((), 1, self._next_number - 1))
        for name, record in sorted(self._photo_entries.items()):
            if self._is_missed(name, record):
                self._find(
                    "photo",
                    tr(
                        "photos/{name} is missing: the entry with {entry} names it; merge a "
                        "bundle that has this picture, or take it again.",
                        name=name,
                        entry=self._entry(record),
                    ),
                    f"photos/{name}",
                )
        for digest, record in sorted(self._checklist_entries.items()):
            if digest not in self._checklists and self._attachments.checklist(digest) is None:
                begun = tr("walk begun") if isinstance(record, WalkStart) else tr("audit begun")
                self._find(
                    "checklist",
                    tr(
                        "checklists/{digest} is missing: the {begun} with {entry} needs it; "
                        "merge a bundle that has this checklist.",
                        digest=digest,
                        begun=begun,
                        entry=self._entry(record),
                    ),
                    f"checklists/{digest}",
                )
        if not all(map(self._is_named, self._photos)):
            # An entry may have been saved since its walk was read, so look once more before it is said.
            journals = sorted((self._folder / "journals").glob("*/**/*.journal"))
            self._pieces.extend(partial(self._look_for_photos, path) for path in journals)
        self._pieces.append(self._finish)

    def _look_for_photos(self, path: Path) -> None:
        try:
            scan = self._archive.scan_file(path, None)
        except OSError:
            return  # Told already.
        for entry in scan.entries:
            self._note_pictures(entry.record)

    def _finish(self) -> None:
        told = {finding.file for finding in self._findings}
        for name in self._photos:
            if not self._is_named(name) and f"photos/{name}" not in told:
                self._find(
                    "orphan",
                    tr(
                        "photos/{name} is named by no entry: it is kept; look whether an entry "
                        "has to be made again.",
                        name=name,
                    ),
                    f"photos/{name}",
                )
        self._tell(finding.text for finding in self.report().findings if finding.kind != "not_received")

    # Words

    def _tell_damages(self) -> dict[str, list[tuple[int, int]]]:
        """Tell of each damaged line; give the runs of numbers that were told with them, by device."""
        told: dict[str, list[tuple[int, int]]] = {}
        for path, damage, span in self._damages:
            gaps = self._archive.gaps_in(span, self._numbers, self._next_number)
            device = span.device if span and gaps else ""
            told.setdefault(device, []).extend(gaps)
            text = self._archive.tell_damage(path, damage, gaps)
            self._findings.append(
                Finding(
                    kind="line",
                    text=text,
                    file=self._where(path),
                    line=damage.line,
                    device=device,
                    numbers=gaps,
                )
            )
        return told

    def _find_gaps(self, device: str, gaps: Gaps) -> None:
        if not gaps:
            return
        what = tr(
            "Running {describe_gaps} of {tablet}",
            describe_gaps=describe_gaps(gaps),
            tablet=self._tablet(device),
        )
        many = sum(last - first + 1 for first, last in gaps)
        if device == self._device:
            kind = "number"
            text = trn(
                "{what} is in no journal: merge a bundle that has what is missing, or make it again.",
                "{what} are in no journal: merge a bundle that has what is missing, or make it again.",
                many,
                what=what,
            )
        else:
            kind = "not_received"
            text = trn(
                "{what} is not here: nothing is damaged; merge a newer bundle of it to have them.",
                "{what} are not here: nothing is damaged; merge a newer bundle of it to have them.",
                many,
                what=what,
            )
        self._findings.append(Finding(kind=kind, text=text, device=device, numbers=gaps))

    def _find(self, kind: str, text: str, file: str) -> None:
        self._findings.append(Finding(kind=kind, text=text, file=file))

    def _find_unreadable(self, file: str, error: OSError) -> None:
        self._find(
            "file",
            tr(
                "{file} cannot be read ({what}): try again, then write a bundle of the rest to "
                "another medium soon.",
                file=file,
                what=error.strerror or error,
            ),
            file,
        )

    def _named_by(self, name: str) -> str:
        record = self._photo_entries.get(name)
        return (
            tr("the entry with {entry} is kept", entry=self._entry(record))
            if record
            else tr("no entry names it")
        )

    def _entry(self, record: Record) -> str:
        return tr("number {number} of {tablet}", number=record.number, tablet=self._tablet(record.device))

    def _tablet(self, device: str) -> str:
        return tr("this tablet") if device == self._device else tr("tablet {device}", device=device[-6:])

    def _where(self, path: Path) -> str:
        return path.relative_to(self._folder).as_posix()
