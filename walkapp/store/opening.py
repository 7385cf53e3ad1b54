"""Opening a store's folder: make it or check it, lock it, find out whose it is, mend its ends."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from pathlib import Path

from walkapp.errors import StoreError
from walkapp.files import Disk, make_folder_durably, remove_folder
from walkapp.language import tr, trn
from walkapp.store.identity import Identity, read_identity, write_identity
from walkapp.store.keys import KEY_FILE, TRUST_FILE, mend_book
from walkapp.store.lock import FolderLock
from walkapp.store.reading import FORMAT
from walkapp.store.recovery import (
    OwnJournals,
    describe_tail,
    find_own_journals,
    set_aside,
    set_tails_aside,
)
from walkapp.store.settling import Settling
from walkapp.store.trouble import Ballast, explain

PLACE_FILE = "place.json"
"""Where the app was and what is set on this tablet; it may be missing or spoilt at any time."""

MERGES_FILE = "merges.json"
"""What the last merges brought, for people to read again; no evidence, and it may be missing."""

SEARCH_FILE = "search.index"
"""A cache that ``walkapp.search`` keeps; it may be missing, spoilt or foreign at any time."""

SMALL_FOLDER = "small"
"""Small pictures that ``walkapp.photos`` keeps; a cache like that file."""

PRACTICE_FILE = "practice.txt"
"""It stands in a store to practise on, and in no other: nothing in such a store is real."""

_FOLDERS = ("journals", "journals/own", "journals/merged", "photos", "checklists", "aside")
_NAMES = frozenset(
    {
        *("journals", "photos", "checklists", "aside", "store.json", "lock", PLACE_FILE, "ballast"),
        *(KEY_FILE, TRUST_FILE, SEARCH_FILE, SMALL_FOLDER, MERGES_FILE, PRACTICE_FILE),
    }
)


@dataclass(slots=True, kw_only=True)
class Opened:
    """An open folder: whose it is, its own journals, its lock, and what a person should know.

    ``settling`` makes the names in it durable.
    """

    identity: Identity
    own: OwnJournals
    lock: FolderLock | None
    settling: Settling
    notices: list[str] = field(default_factory=list)


def open_for_reading(folder: Path, disk: Disk) -> Opened:
    """Look at a store without a lock and without changing anything.

    Raises
    ------
    StoreError
        If there is no store, it cannot be read, or a newer version of the program wrote it.
    """
    try:
        if not (folder / "store.json").is_file() and not (folder / "journals").is_dir():
            raise StoreError(
                tr(
                    "{folder} is not a store: choose the folder that the app keeps its records in.",
                    folder=folder,
                )
            )
        identity = _read_identity_if_there(folder, disk)
        device = identity.device if identity else ""
        own = find_own_journals(folder / "journals" / "own", disk, device)
        about_keys = mend_book(folder, disk, writable=False)
    except OSError as error:
        raise explain(error, tr("The store could not be read"), folder) from error
    # An end that is being written at this moment is no unfinished entry.
    tails = () if own.tails and FolderLock.is_held(folder / "lock") else own.tails
    notices = [describe_tail(tail, tr("is left out")) for tail in tails] + about_keys
    if identity is None:
        identity = Identity(device="", created="")
        notices.insert(
            0,
            tr(
                "{folder} is damaged: which tablet this store is from is not known.",
                folder=folder / "store.json",
            ),
        )
    return Opened(identity=identity, own=own, lock=None, settling=Settling((), disk), notices=notices)


def open_for_writing(
    folder: Path, disk: Disk, *, now: Callable[[], datetime], new_id: Callable[[], str], ballast: Ballast
) -> Opened:
    """Open a store for one writer; make it when the folder is empty or not there.

    Raises
    ------
    StoreBusyError
        If it is open already.
    StoreError
        If the folder holds other things, cannot be written, or a newer version of the program wrote it.
    """
    lock: FolderLock | None = None
    try:
        _prepare_folder(folder, disk)
        lock = FolderLock(folder / "lock")
        settling = Settling((folder.parent, folder, *(folder / name for name in _FOLDERS)), disk)
        _remove_leftovers(folder, disk)
        identity, notices = _identify(folder, disk, now, new_id)
        notices += mend_book(folder, disk, writable=True)
        own = find_own_journals(folder / "journals" / "own", disk, identity.device)
        least = max(identity.least_number, own.least_number)
        own.least_number = least
        identity = replace(identity, least_number=least if own.tails else identity.least_number)
        notices += set_tails_aside(
            own,
            folder / "aside",
            disk,
            lambda: write_identity(folder / "store.json", identity, disk),
        )
        if not ballast.lay():
            notices.append(
                tr(
                    "The storage that holds {folder} is nearly full: free some space before the next walk.",
                    folder=folder,
                )
            )
    except OSError as error:
        if lock is not None:
            lock.release()
        raise explain(error, tr("The store could not be opened"), folder) from error
    except BaseException:
        if lock is not None:
            lock.release()
        raise
    if (told := _describe_clock(now(), own.newest_at)) is not None:
        notices.append(told)
    return Opened(identity=identity, own=own, lock=lock, settling=settling, notices=notices)


def _prepare_folder(folder: Path, disk: Disk) -> None:
    if folder.exists() and not folder.is_dir():
        raise StoreError(
            tr("{folder} is a file, not a folder: choose another place for the store.", folder=folder)
        )
    if folder.is_dir():
        strange = sorted(p.name for p in folder.iterdir() if p.name not in _NAMES and p.name[0] != ".")
        if strange and not (folder / "store.json").exists() and not (folder / "journals").exists():
            raise StoreError(
                tr(
                    "{folder} holds other things ({strange}) and no store: choose an empty folder.",
                    folder=folder,
                    strange=strange[0],
                )
            )
    for path in (folder, *(folder / name for name in _FOLDERS)):
        if not path.is_dir():
            make_folder_durably(path, disk)


def _remove_leftovers(folder: Path, disk: Disk) -> None:
    """Remove what an interrupted merge or an interrupted atomic write left behind."""
    with contextlib.suppress(OSError):
        for half in (*folder.glob("journals/incoming-*"), *folder.glob("checklists/incoming-*")):
            remove_folder(half, disk)
        for half in folder.glob(".*.incoming"):
            remove_folder(half, disk)
        for inside in (".", "photos", "aside"):
            for half in (folder / inside).glob(".*.tmp"):
                disk.remove(half)


def _identify(
    folder: Path, disk: Disk, now: Callable[[], datetime], new_id: Callable[[], str]
) -> tuple[Identity, list[str]]:
    """Find out whose store it is; where that is lost, make the tablet a new one and say so."""
    identity = _read_identity_if_there(folder, disk)
    if identity is not None:
        if identity.format < FORMAT:
            identity = replace(identity, format=FORMAT)
            write_identity(folder / "store.json", identity, disk)
        return identity, []
    notices: list[str] = []
    path = folder / "store.json"
    has_records = any((folder / "journals").glob("*/**/*.journal"))
    identity = Identity(device=new_id(), created=now().isoformat(timespec="seconds"))
    if path.is_file():
        kept = f"store-{identity.device}.json"
        set_aside(folder / "aside" / kept, disk.read(path), disk)
        notices.append(
            _describe_lost_id(tr("{path} was damaged (a copy is in aside/{kept})", path=path, kept=kept))
        )
    elif has_records:
        notices.append(_describe_lost_id(tr("{path} was missing", path=path)))
    write_identity(path, identity, disk)
    return identity, notices


_CLOCK_SLACK = timedelta(minutes=2)
"""Clocks are put right by a few seconds all the time; nobody has to be told."""


def _describe_clock(now: datetime, newest_at: str) -> str | None:
    """Say that the tablet's clock stands before its newest entry; ``None`` when it does not.

    Both times carry their offset from UTC, so neither summer time nor another time zone is a jump.
    """
    try:
        newest = datetime.fromisoformat(newest_at).astimezone(now.tzinfo)
        behind = newest - now
    except (ValueError, TypeError, OverflowError):
        return None
    if behind <= _CLOCK_SLACK:
        return None
    return tr(
        "The clock of this tablet says {now}, {duration} before its newest entry ({newest}), "
        "so one of the two is wrong: set date and time of the tablet right; no entry is "
        "lost, and their order stays.",
        now=now,
        duration=_duration(behind),
        newest=newest,
    )


def _duration(span: timedelta) -> str:
    """Say how long something is, in the largest unit that fits.

    Examples
    --------
    >>> _duration(timedelta(minutes=59)), _duration(timedelta(hours=30)), _duration(timedelta(days=20514))
    ('59 min', '30 h', '20,514 days')
    """
    minutes = span // timedelta(minutes=1)
    if minutes < 60:
        return tr("{minutes} min", minutes=minutes)
    if minutes < 48 * 60:
        return tr("{hours} h", hours=minutes // 60)
    return trn("{count} day", "{count} days", minutes // (24 * 60))


def _describe_lost_id(what: str) -> str:
    return tr(
        "{what}, so the id of this tablet is lost and it was given a new one: all records "
        "are still here, new ones count from number 1 as those of another tablet.",
        what=what,
    )


def _read_identity_if_there(folder: Path, disk: Disk) -> Identity | None:
    try:
        return read_identity(folder / "store.json", disk)
    except FileNotFoundError:
        return None
