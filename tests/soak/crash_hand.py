"""One tablet at work on a disk that can stop, and what it was promised."""

from __future__ import annotations

import errno
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path

from tests.bundle.samples import sample_photos, write_sample
from tests.store.lossy_disk import LossyDisk
from tests.store.support import CONCERN, DEVICE, WALK, all_of, open_store, photo
from walkapp.errors import BundleError, StoreError
from walkapp.files import sha256_of
from walkapp.model.records import Record
from walkapp.search import FtsIndex, write_index
from walkapp.store import Store

PICTURES = {sha256_of(data) + ".png": data for data in (b"invented one " * 60, b"invented two " * 90)}
CHECKLISTS = {
    "ab" * 32: {"stream.toml": b'name = "invented"\n', "checks.toml": b"# invented\n" * 60},
    "cd" * 32: {"stream.toml": b'name = "invented too"\n'},
}
BUNDLE = "out/walk.zip"


@dataclass(slots=True, kw_only=True)
class Ledger:
    """What was promised, and what may be there without a promise.

    Parameters
    ----------
    promised
        Records that were acknowledged, or shown after a start.
    tried
        Records that were handed to the store at any time.
    merges
        The records of each merge that was begun.
    photos, checklists
        Content of what was acknowledged, by name.
    places
        The place that was noted last for certain, then those that were tried since.
    device
        Id of the tablet; empty until its store has promised a record.
    kept
        Content of journals from before a recovery: what was cut off has to be in ``aside/``.
    bundles
        What may be at the bundle's name; the last is what a finished writing leaves.
    indexes
        The states of each index for searching that was handed to the disk: nothing is promised of it but
        that one that is read is one of these.
    """

    promised: set[Record] = field(default_factory=set)
    tried: set[Record] = field(default_factory=set)
    merges: list[frozenset[Record]] = field(default_factory=list)
    photos: dict[str, bytes] = field(default_factory=dict)
    checklists: dict[str, dict[str, bytes]] = field(default_factory=dict)
    places: list[dict[str, str]] = field(default_factory=lambda: [{}])
    device: str = ""
    kept: dict[str, bytes] = field(default_factory=dict)
    bundles: list[bytes | None] = field(default_factory=lambda: [None])
    indexes: list[dict[str, str]] = field(default_factory=list)

    def copy(self) -> Ledger:
        """One that can be written to without changing this one."""
        return replace(
            self,
            promised=set(self.promised),
            tried=set(self.tried),
            merges=list(self.merges),
            photos=dict(self.photos),
            checklists=dict(self.checklists),
            places=list(self.places),
            kept=dict(self.kept),
            bundles=list(self.bundles),
            indexes=list(self.indexes),
        )


class Hand:
    """Works as the app and a person do, and notes what the store promised.

    A refused action is tried once more, then left; a store that does not open is tried three times.

    Parameters
    ----------
    root
        Holds the store's folder and that of the bundles.
    disk
        Where the store writes.
    ledger
        Where the promises go.
    pictures
        A folder with the pictures that merges and bundles bring.
    """

    def __init__(self, root: Path, disk: LossyDisk, ledger: Ledger, pictures: Path) -> None:
        self.ledger = ledger
        self._root = root
        self._disk = disk
        self._pictures = pictures
        self._serial = 0
        self._store: Store | None = None

    @property
    def is_open(self) -> bool:
        """Whether there is a store to work with."""
        return self._store is not None

    def open(self) -> None:
        """Start the app: whatever it shows now counts as promised.

        After a failed sync it does not: what is read may be in memory alone, and no program can tell.
        """
        for _ in range(3):
            try:
                self._store = open_store(self._root / "store", device=DEVICE, disk=self._disk)
                shown = all_of(self._store)
            except StoreError:
                self.leave()
                continue
            if not self._disk.failures:
                self._promise(shown)
            return

    def leave(self) -> None:
        """Close the app, or let it die: the lock is given back."""
        if self._store is not None:
            self._store.close()
            self._store = None

    def save(self, *makes: Callable[..., Record]) -> None:
        """Save a record of each kind in one call."""
        number = self._store.next_number
        records = []
        for place, make in enumerate(makes):
            self._serial += 1
            records.append(make(number + place, key=1_000_000 + self._serial))
        self.ledger.tried.update(records)
        if self._twice(lambda: self._store.append_all(records)):
            self._promise(records)

    def take_photo(self, name: str, walk: str = WALK) -> None:
        """Keep a picture, then record it."""
        if self.keep_picture(name):
            self.save(lambda number, key: photo(number, name[:64], walk=walk, key=key))

    def keep_picture(self, name: str) -> bool:
        """Keep a picture; say whether it was acknowledged."""
        done = self._twice(lambda: self._store.add_photo(name, PICTURES[name]))
        if done:
            self.ledger.photos[name] = PICTURES[name]
        return done

    def keep_checklist(self, digest: str) -> None:
        """Keep a checklist."""
        if self._twice(lambda: self._store.keep_checklist(digest, CHECKLISTS[digest])):
            self.ledger.checklists[digest] = CHECKLISTS[digest]

    def remember(self, **place: str) -> None:
        """Note where the app is; the store does not say whether that worked, the disk does."""
        self.ledger.places.append(place)
        failures = self._disk.failures
        self._store.remember(place)
        if self._disk.failures == failures:
            self.ledger.places = [place]

    def merge(self, records: Iterable[Record], *, with_files: bool = False) -> None:
        """Merge what another tablet recorded."""
        brought = frozenset(records)
        photos = {name: self._pictures / name for name in PICTURES} if with_files else {}
        checklists = CHECKLISTS if with_files else {}
        self.ledger.merges.append(brought)
        if self._twice(
            lambda: self._store.merge(brought, name="tablet 2", photos=photos, checklists=checklists)
        ):
            self._promise(brought)
            self.ledger.photos.update({name: PICTURES[name] for name in photos})
            self.ledger.checklists.update(checklists)

    def write_bundle(self) -> None:
        """Write a bundle over the one that is there."""
        out = self._root / BUNDLE
        photos = sample_photos(self._pictures)
        if self._twice(lambda: write_sample(out, photos=photos, disk=self._disk)):
            self.ledger.bundles = self.ledger.bundles[-1:]

    def keep_index(self, state: str) -> None:
        """Write an index for searching over the one that is there."""
        index = FtsIndex()
        for _ in index.replace(CONCERN, "invented", state, ()):
            pass
        self.ledger.indexes.append({CONCERN: state})
        write_index(self._store.search_file, index, self._store.device, self._disk)

    def break_next(self, *steps: str) -> None:
        """Let coming operations fail: ``"sync"`` is the next sync, ``"-sync"`` lets one through."""
        self._disk.broken.extend(steps)

    def _promise(self, records: Iterable[Record]) -> None:
        self.ledger.promised.update(records)
        if self.ledger.promised:
            self.ledger.device = self._store.device

    @staticmethod
    def _twice(action: Callable[[], object]) -> bool:
        for _ in range(2):
            try:
                action()
            except (StoreError, BundleError):
                continue
            return True
        return False


class WorkDisk(LossyDisk):
    """The model of the disk, with failures that a workload asks for by name."""

    def __init__(self, root: Path, **options) -> None:
        self.broken: list[str] = []
        self.failures = 0
        super().__init__(root, **options)
        fails = self._fails

        def both(name: str, count: int) -> int | None:
            if self.broken and self.broken[0].strip("-") == name:
                if self.broken.pop(0) == name:
                    return errno.EIO
                return None
            return fails(name, count)

        self._fails = both

    def _step(self, name: str) -> None:
        try:
            super()._step(name)
        except OSError:
            self.failures += 1
            raise
