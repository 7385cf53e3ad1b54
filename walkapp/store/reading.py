"""Reading journals: what is good, what is damaged, where the good part ends.

Reading changes nothing. What is done about damage is decided by :mod:`walkapp.store.recovery`.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from walkapp.errors import RecordError, StoreError
from walkapp.files import Disk
from walkapp.language import tr
from walkapp.model.records import Record, record_from_plain
from walkapp.store.lines import LineError, decode_line, encode_line

FORMAT = 2
"""Number of the format that this version writes, in ``store.json`` and in every header line.

1
    The first one.
2
    Change points, concerns, photos and their copies have fields that format 1 does not know. Format 1 is
    read; a store of it becomes one of format 2 when it is opened for writing, so that an older version
    does not take the new fields for damage.
"""

_NAME = re.compile(
    r"([0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})(?:\.([1-9][0-9]{0,5}))?\.journal", re.ASCII
)
_HEAD_BYTES = 2048
_TAIL_BYTES = 16384


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """The first line of a journal.

    Parameters
    ----------
    scope, concern, device
        Ids of the walk or concern that the journal belongs to, of its concern, and of the tablet
        that wrote the file.
    created
        When the file was begun, by the tablet's clock.
    app
        Version of the program that wrote it.
    confirmed_bytes
        For each earlier file of the same scope: how much of it was confirmed to be on the medium
        when this file took its place; ``None`` when all of it counts.
    """

    scope: str
    concern: str
    device: str
    created: str
    app: str
    confirmed_bytes: tuple[int | None, ...] = ()

    def encode(self) -> bytes:
        """Write the header as a journal line."""
        plain: dict[str, Any] = {
            "format": FORMAT,
            "scope": self.scope,
            "concern": self.concern,
            "device": self.device,
            "created": self.created,
            "app": self.app,
        }
        if self.confirmed_bytes:
            plain["confirmed_bytes"] = list(self.confirmed_bytes)
        return encode_line(plain)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A good line: its place in the file, counted from 1, its JSON values and its record."""

    line: int
    plain: Mapping[str, Any]
    record: Record


@dataclass(frozen=True, slots=True, kw_only=True)
class Damage:
    """A line that cannot be used, without its line feed, and why in a few words."""

    line: int
    data: bytes
    problem: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Running numbers that a damaged line may have had: those between its good neighbours.

    Parameters
    ----------
    device
        Id of the tablet that wrote the neighbours.
    least, most
        First and last such number; `most` is ``None`` when no good line of that tablet follows.
    """

    device: str
    least: int
    most: int | None


@dataclass(slots=True, kw_only=True)
class Scan:
    """What one journal file holds.

    Parameters
    ----------
    header
        The first line; ``None`` when it is damaged or missing.
    entries
        The good records in the order of the file.
    damages
        Damaged lines that are followed by a good one, or whose checksum is right.
    good_bytes
        Where the last line with a right checksum ends.
    tail
        What comes after that.
    """

    header: Header | None = None
    entries: list[Entry] = field(default_factory=list)
    damages: list[Damage] = field(default_factory=list)
    good_bytes: int = 0
    tail: bytes = b""

    def span_around(self, damage: Damage) -> Span | None:
        """Say which running numbers a damaged line may have had; ``None`` when it held none."""
        before = next((e.record for e in reversed(self.entries) if e.line < damage.line), None)
        after = next((e.record for e in self.entries if e.line > damage.line), None)
        neighbour = before or after
        if damage.line == 1 or neighbour is None:
            return None
        is_same = after is not None and after.device == neighbour.device
        return Span(
            device=neighbour.device,
            least=before.number + 1 if before else 1,
            most=after.number - 1 if after is not None and is_same else None,
        )


def parse_name(path: Path) -> tuple[str, int] | None:
    """Scope and part number, from 1, of a journal file; ``None`` for any other file."""
    found = _NAME.fullmatch(path.name)
    return (found[1], int(found[2] or 1)) if found else None


def journal_name(scope: str, part: int) -> str:
    """File name of the part, counted from 1, of a scope's journal."""
    return f"{scope}.journal" if part == 1 else f"{scope}.{part}.journal"


def scan_journal(data: bytes, path: Path) -> Scan:
    """Read the content of a journal file line by line.

    Parameters
    ----------
    data
        The file, or its confirmed part.
    path
        The file; a record of another scope than that of its name does not belong there.

    Raises
    ------
    StoreError
        If a newer version of the program wrote it.
    """
    scan = Scan()
    scope = _scope_of(path)
    waiting: list[Damage] = []
    start = number = 0
    while (end := data.find(b"\n", start)) >= 0:
        number += 1
        line = data[start:end]
        try:
            plain = decode_line(line)
        except LineError as error:
            waiting.append(Damage(line=number, data=line, problem=str(error)))
        else:
            scan.damages += waiting
            waiting.clear()
            scan.good_bytes = end + 1
            if number == 1:
                _take_header(scan, line, plain, path)
            else:
                _take_record(scan, number, line, plain, scope)
        start = end + 1
    scan.tail = data[scan.good_bytes :]
    return scan


def scan_whole(data: bytes, path: Path) -> Scan:
    """Read a journal file to which nobody was writing: what its end holds is damage too.

    As :func:`scan_journal`, and the tail is one more damaged line.
    """
    scan = scan_journal(data, path)
    if scan.tail:
        line = len(scan.entries) + len(scan.damages) + (scan.header is not None) + 1
        scan.damages.append(Damage(line=line, data=scan.tail, problem=tr("its end cannot be read")))
    return scan


def good_lines(data: bytes, scope: str) -> Iterator[tuple[bytes, dict[str, Any]]]:
    """Give the lines of a scope's journal with a right checksum, each with its line feed, and their values.

    The header is left out, and what belongs to another scope. Much faster than :func:`scan_journal`,
    which also checks that each line is a record.
    """
    for line in data.splitlines(keepends=True)[1:]:
        if line.endswith(b"\n"):
            with contextlib.suppress(LineError):
                plain = decode_line(line[:-1])
                if (plain.get("walk") or plain.get("concern")) == scope:
                    yield line, plain


def _take_header(scan: Scan, line: bytes, plain: dict[str, Any], path: Path) -> None:
    scan.header = read_header(plain, path)
    if scan.header is None:
        scan.damages.append(Damage(line=1, data=line, problem=tr("it is not a header")))


def _take_record(scan: Scan, number: int, line: bytes, plain: dict[str, Any], scope: str) -> None:
    try:
        record = record_from_plain(plain)
    except RecordError as error:
        scan.damages.append(Damage(line=number, data=line, problem=str(error)))
        return
    if record.scope == scope:
        scan.entries.append(Entry(line=number, plain=plain, record=record))
    else:
        # After a power cut a file may end in what another one held before.
        scan.damages.append(Damage(line=number, data=line, problem=tr("it belongs to another walk")))


def _scope_of(path: Path) -> str:
    name = parse_name(path)
    return name[0] if name else ""


def read_header(plain: Mapping[str, Any], path: Path) -> Header | None:
    """Read the values of a header line; ``None`` when they are not those of this file's header.

    Raises
    ------
    StoreError
        If a newer version of the program wrote it.
    """
    refuse_newer(plain.get("format"), path.name)
    names = ("scope", "concern", "device", "created", "app")
    lengths = plain.get("confirmed_bytes", [])
    if plain.get("scope") != _scope_of(path):
        return None  # what another file held here would say wrongly how much of this journal counts
    if not is_known_format(plain.get("format")) or not all(isinstance(plain.get(n), str) for n in names):
        return None
    if not isinstance(lengths, list) or not all(n is None or isinstance(n, int) for n in lengths):
        return None
    return Header(**{name: plain[name] for name in names}, confirmed_bytes=tuple(lengths))


def is_known_format(number: object) -> bool:
    """Whether this version reads the format of that number."""
    return isinstance(number, int) and not isinstance(number, bool) and 1 <= number <= FORMAT


def refuse_newer(number: object, where: str) -> None:
    """Raise :class:`StoreError` if a format number is above the one that this version knows."""
    if isinstance(number, int) and number > FORMAT:
        raise StoreError(
            tr(
                "{where} was written by a newer version of this program (format {number}, this "
                "version knows {format}): update the program on this tablet; nothing was changed.",
                where=where,
                number=number,
                format=FORMAT,
            )
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Glimpse:
    """The two ends of a journal file, which is all that opening a store looks at.

    Parameters
    ----------
    header
        The first line; ``None`` when it is damaged or missing.
    last
        JSON values of the last line, when it is a record's.
    is_whole
        Whether both ends are as they were written.
    size_bytes
        Size of the file.
    """

    header: Header | None
    last: Mapping[str, Any] | None
    is_whole: bool
    size_bytes: int


def glimpse_journal(path: Path, disk: Disk) -> Glimpse:
    """Read both ends of a journal file; one that is not there is empty.

    Raises
    ------
    OSError
        If the file cannot be read.
    StoreError
        If a newer version of the program wrote it.
    """
    size = path.stat().st_size if path.is_file() else 0
    if not size:
        return Glimpse(header=None, last=None, is_whole=False, size_bytes=0)
    head = disk.read(path, 0, _HEAD_BYTES)
    start = max(size - _TAIL_BYTES, 0)
    # Not a byte more than the size that was seen: the app may be writing to this file just now.
    tail = disk.read(path, start, size - start)
    line, end, _ = head.partition(b"\n")
    # Without its line feed it is the unfinished end that will be cut off, whatever it says.
    first = _decoded(line) if end else None
    last = _decoded(tail[:-1].rsplit(b"\n", 1)[-1])
    header = None if first is None else read_header(first, path)
    is_whole = header is not None and last is not None and tail.endswith(b"\n")
    is_record = last is not None and "number" in last
    return Glimpse(header=header, last=last if is_record else None, is_whole=is_whole, size_bytes=size)


def _decoded(line: bytes) -> dict[str, Any] | None:
    try:
        return decode_line(line)
    except LineError:
        return None
