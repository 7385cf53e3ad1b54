"""Opening the journals of this tablet: find the ends, set unfinished entries aside.

What comes after the last good line was being written when the power went: it is copied to
``aside/`` and cut off. A damaged line between good ones is something else: it is copied to ``aside/``
once, the journal stays as it is, and every good line counts.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from walkapp.files import Disk, make_folder_durably, write_atomically
from walkapp.language import tr
from walkapp.store.journal import Journal
from walkapp.store.reading import (
    Damage,
    Glimpse,
    Header,
    Scan,
    glimpse_journal,
    journal_name,
    parse_name,
    scan_journal,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tail:
    """Bytes after the last good line of a file; the newest of its journal, or an earlier one."""

    journal: Journal
    path: Path
    data: bytes
    is_newest: bool


@dataclass(slots=True, kw_only=True)
class OwnJournals:
    """What was found in the journals of this tablet.

    Parameters
    ----------
    journals
        The journal of each scope, ready to be written to.
    concerns
        Ids of the concerns that each scope belongs to: one, unless headers disagree. A scope of which
        no record can be read is left out: its first one was under way when the tablet stopped.
    last_number
        Highest running number of this tablet in a good line; 0 when there is none.
    newest_at
        When the record with that number was made, as it says; empty when there is none.
    newest_id
        Greatest id of this tablet among the last good lines; empty when there is none.
    least_number
        No new record may have a running number below this: a damaged end may have held it.
    tails
        What came after the last good lines.
    suspects
        Scopes with a damaged line that was seen in passing.
    doubtful
        Scopes in which a refused line may come back, with the concern of each: their newest file has
        a header alone, which may not be on the medium.
    """

    journals: dict[str, Journal] = field(default_factory=dict)
    concerns: dict[str, set[str]] = field(default_factory=dict)
    last_number: int = 0
    newest_at: str = ""
    newest_id: str = ""
    least_number: int = 1
    tails: list[Tail] = field(default_factory=list)
    suspects: list[str] = field(default_factory=list)
    doubtful: dict[str, str] = field(default_factory=dict)


def inside(folder: Path) -> list[Path]:
    """Give what is in a folder, sorted; nothing when the folder is not there.

    Raises
    ------
    OSError
        If it cannot be read: a store must never seem empty because of that, as it would with ``glob``.
    """
    try:
        return sorted(folder.iterdir())
    except (FileNotFoundError, NotADirectoryError):
        return []


def find_own_journals(folder: Path, disk: Disk, device: str) -> OwnJournals:
    """Look at both ends of every journal of this tablet; nothing is changed.

    Parameters
    ----------
    folder
        Where the journals are; need not be there.
    disk
        Where to read.
    device
        Id of the tablet.

    Raises
    ------
    OSError
        If a file cannot be read.
    StoreError
        If a newer version of the program wrote one.
    """
    own = OwnJournals()
    for scope, count in sorted(_count_parts(folder).items()):
        paths = [folder / journal_name(scope, part) for part in range(1, count + 1)]
        _find_journal(own, folder, scope, paths, disk, device)
    # Whole lines in a tail may have held numbers that were given; they are not given again.
    own.least_number = 1 + own.last_number + sum(tail.data.count(b"\n") for tail in own.tails)
    return own


def _count_parts(folder: Path) -> dict[str, int]:
    """Highest part number of each scope's journal."""
    counts: dict[str, int] = {}
    for path in inside(folder):
        name = parse_name(path)
        if name is not None:
            counts[name[0]] = max(counts.get(name[0], 0), name[1])
    return counts


def _find_journal(
    own: OwnJournals, folder: Path, scope: str, paths: list[Path], disk: Disk, device: str
) -> None:
    glimpses = [glimpse_journal(path, disk) for path in paths]
    headers = [glimpse.header for glimpse in glimpses if glimpse.header is not None]
    limits = _confirmed_lengths(headers, len(paths))
    scans = [
        _scan_unless_whole(path, glimpse, limit, disk)
        for path, glimpse, limit in zip(paths, glimpses, limits, strict=True)
    ]
    ends = [limit if scan is None else scan.good_bytes for scan, limit in zip(scans, limits, strict=True)]
    newest = ends[-1] if ends[-1] is not None else glimpses[-1].size_bytes
    journal = Journal(
        folder=folder, scope=scope, disk=disk, confirmed=tuple(ends[:-1]), length_bytes=newest
    )
    own.journals[scope] = journal
    concerns = {header.concern for header in headers}
    has_records = False
    for path, glimpse, scan in zip(paths, glimpses, scans, strict=True):
        if scan is None:
            has_records = True
            _count_number(own, glimpse.last or {}, device)
            continue
        has_records |= bool(scan.entries)
        concerns |= {entry.record.concern for entry in scan.entries[:1] if not scan.header}
        for entry in scan.entries:
            _count_number(own, entry.plain, device)
        if scan.damages:
            own.suspects.append(scope)
        if scan.tail:
            own.tails.append(Tail(journal=journal, path=path, data=scan.tail, is_newest=path == paths[-1]))
    if concerns and has_records:
        own.concerns[scope] = concerns
    header, scan = glimpses[-1].header, scans[-1]
    if header is not None and header.device != device:
        journal.move_on()
    elif header is not None and header.confirmed_bytes and scan is not None and not scan.entries:
        journal.doubt()
        own.doubtful[scope] = header.concern


def _confirmed_lengths(headers: Iterable[Header], count: int) -> list[int | None]:
    """How much of each file counts, as the newest readable header says."""
    limits: list[int | None] = [None] * count
    for header in headers:
        known = header.confirmed_bytes[: count - 1]
        limits[: len(known)] = known
    return limits


def _scan_unless_whole(path: Path, glimpse: Glimpse, limit: int | None, disk: Disk) -> Scan | None:
    """Read a file to the end when its two ends do not tell enough."""
    has_number = glimpse.last is not None and isinstance(glimpse.last.get("number"), int)
    if not glimpse.size_bytes:
        return Scan()
    if glimpse.is_whole and has_number and (limit is None or limit >= glimpse.size_bytes):
        return None
    return scan_journal(disk.read(path, 0, -1 if limit is None else limit), path)


def _count_number(own: OwnJournals, plain: Mapping[str, object], device: str) -> None:
    number = plain.get("number")
    if plain.get("device") != device or not isinstance(number, int):
        return
    own.newest_id = max(own.newest_id, str(plain.get("id", "")))
    if number > own.last_number:
        own.last_number, own.newest_at = number, str(plain.get("at", ""))


def set_tails_aside(
    own: OwnJournals, aside: Path, disk: Disk, before_cutting: Callable[[], None]
) -> list[str]:
    """Copy what came after the last good lines to a folder of its own, then cut it off.

    Parameters
    ----------
    own
        The journals.
    aside
        The folder for the copies.
    disk
        Where to write.
    before_cutting
        Called when a copy is durable and before its original is cut; may raise ``OSError``.

    Returns
    -------
    list of str
        One sentence about each. Where the disk refuses, the file is left as it is and its journal
        goes on in a new one.
    """
    notices: list[str] = []
    for tail in own.tails:
        name = f"{tail.path.stem}-end-{zlib.crc32(tail.data):08x}.txt"
        try:
            set_aside(aside / name, tail.data, disk)
            before_cutting()
        except OSError:
            if tail.is_newest:
                tail.journal.distrust(tail.journal.length_bytes)
            notices.append(describe_tail(tail, tr("stays where it is, since the storage refuses a copy")))
            continue
        if tail.is_newest:
            tail.journal.cut_to(tail.journal.length_bytes)
            tail.journal.close()
        notices.append(describe_tail(tail, tr("was set aside as aside/{name}", name=name)))
    return notices


def describe_tail(tail: Tail, done: str) -> str:
    """Say in one sentence that the end of a file was unfinished, and what became of it."""
    return tr(
        "The end of {path} was not finished when the tablet stopped: 1 unfinished entry "
        "({data} bytes) {done}; every entry before it is kept, look whether the last one has "
        "to be made again.",
        path=tail.path.name,
        data=len(tail.data),
        done=done,
    )


def set_aside(path: Path, data: bytes, disk: Disk) -> bool:
    """Keep a copy of damaged bytes, durable; say whether it is new.

    Raises
    ------
    OSError
        If the system refuses.
    """
    if path.is_file() and path.read_bytes() == data:
        # An earlier try may have been stopped between giving the name and making it durable.
        disk.sync_folder(path.parent)
        return False
    make_folder_durably(path.parent, disk)
    write_atomically(path, data, disk)
    return True


def name_damage(path: Path, damage: Damage) -> str:
    """File name under which a damaged line is set aside: the same at every opening."""
    return f"{path.stem}-line-{damage.line}-{zlib.crc32(damage.data):08x}.txt"


def describe_damage(where: str, damage: Damage, missing: str) -> str:
    """Say in one sentence that a line is damaged.

    Parameters
    ----------
    where
        The file, as seen from the store's folder.
    damage
        The line.
    missing
        Running numbers that are not found anywhere, in words; empty when none is.
    """
    lost = (
        tr("running {missing} cannot be read", missing=missing)
        if missing
        else tr("no running number was found missing")
    )
    return tr(
        "{where}, line {line} is damaged ({problem}): {lost}; all other entries are kept, "
        "merge a bundle that has this entry, or make it again.",
        where=where,
        line=damage.line,
        problem=damage.problem,
        lost=lost,
    )


def find_gaps(numbers: Iterable[int], least: int, most: int) -> tuple[tuple[int, int], ...]:
    """Find the runs of whole numbers from `least` to `most` that are not among `numbers`.

    Returns
    -------
    tuple of (first, last)
        Both ends included, rising.

    Examples
    --------
    >>> find_gaps([1, 2, 5, 9], 1, 10)
    ((3, 4), (6, 8), (10, 10))
    """
    gaps: list[tuple[int, int]] = []
    free = least
    for number in sorted({n for n in numbers if least <= n <= most}):
        if number > free:
            gaps.append((free, number - 1))
        free = number + 1
    if free <= most:
        gaps.append((free, most))
    return tuple(gaps)


def cut_out(
    gaps: Iterable[tuple[int, int]], told: Iterable[tuple[int, int]]
) -> tuple[tuple[int, int], ...]:
    """Give what is left of some runs of numbers without others; both sorted.

    Examples
    --------
    >>> cut_out([(1, 4), (8, 9)], [(2, 3), (8, 9)])
    ((1, 1), (4, 4))
    """
    left: list[tuple[int, int]] = []
    taken = tuple(told)
    for first, last in gaps:
        free = first
        for begin, end in taken:
            if free <= end and begin <= last:
                if free < begin:
                    left.append((free, begin - 1))
                free = end + 1
        if free <= last:
            left.append((free, last))
    return tuple(left)


_MOST_RUNS = 6


def describe_gaps(gaps: Iterable[tuple[int, int]]) -> str:
    """Put runs of numbers into words; empty when there are none, and of many only the first.

    Examples
    --------
    >>> describe_gaps([(3, 3), (6, 8)])
    'numbers 3, 6 to 8'
    """
    words = [
        f"{first}" if first == last else tr("{first} to {last}", first=first, last=last)
        for first, last in gaps
    ]
    if not words:
        return ""
    if len(words) > _MOST_RUNS:
        words[_MOST_RUNS:] = [tr("{words} more", words=len(words) - _MOST_RUNS)]
    return (
        tr("number {words}", words=", ".join(words))
        if words == [words[0]] and " " not in words[0]
        else tr("numbers {words}", words=", ".join(words))
    )
