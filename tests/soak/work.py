"""Work as a tablet does it, told step by step, and what has to be left of it after any end."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from tests.store.support import (
    OTHER_DEVICE,
    answer,
    concern,
    make_id,
    note,
    open_store,
    photo,
    tree,
    walk_start,
)
from walkapp.bundle import open_bundle, write_bundle
from walkapp.errors import BundleError, WalkappError
from walkapp.files import Disk, sha256_of, sha256_of_file
from walkapp.model.records import Photo, Record, record_to_plain
from walkapp.store import Store

Tell = Callable[[dict], None]


def content(record: Record) -> str:
    """Give the hash of everything that a record says."""
    return sha256_of(json.dumps(record_to_plain(record), sort_keys=True).encode())


def work(store: Store, seed: int, tell: Tell, *, bundles: Path, tells_early: bool = False) -> None:
    """Record, photograph, merge and bundle without end.

    Parameters
    ----------
    store
        An open store.
    seed
        Gives what is done.
    tell
        Hears before each step how many records it will save, and after it which.
    bundles
        Folder for bundles.
    tells_early
        The control: says "saved" before it is.
    """
    chance = random.Random(seed)
    while True:
        kind = chance.choices(("entry", "several", "photo", "merge", "bundle"), (60, 10, 15, 10, 5))[0]
        records, photos, run = _STEPS[kind](store, chance, bundles)
        saved = {"saved": [[record.id, content(record)] for record in records], "photos": photos}
        tell({"begins": len(records)})
        if tells_early:
            tell(saved)
        run()
        if not tells_early:
            tell(saved)


def _entry(store: Store, chance: random.Random, _bundles: Path):
    n = store.next_number
    makers = (concern, walk_start, note, answer)
    record = makers[n - 1](n) if n <= 2 else chance.choice(makers[2:])(n)
    return [record], [], lambda: store.append(record)


def _several(store: Store, chance: random.Random, _bundles: Path):
    n = store.next_number
    if n <= 2:
        return _entry(store, chance, _bundles)
    # In one journal, as the app does it.
    records = [note(n, "warm " * chance.randrange(1, 300)), note(n + 1), answer(n + 2)]
    return records, [], lambda: store.append_all(records)


def _photo(store: Store, chance: random.Random, _bundles: Path):
    n = store.next_number
    if n <= 2:
        return _entry(store, chance, _bundles)
    data = chance.randbytes(chance.randrange(100, 30_000))
    record = photo(n, sha256_of(data))

    def run() -> None:
        store.add_photo(record.file_name, data)
        store.append(record)

    return [record], [record.file_name], run


def _merge(_store: Store, chance: random.Random, _bundles: Path):
    first = chance.randrange(1, 10**6)
    numbers = range(first, first + chance.randrange(1, 12))
    records = [note(n, device=OTHER_DEVICE, key=10**7 + n) for n in numbers]
    return records, [], lambda: _store.merge(records, name=f"merge {first}", photos={}, checklists={})


def _bundle(store: Store, _chance: random.Random, bundles: Path):
    records = list(store.all_records())
    if not any(record.kind == "concern" for record in records):
        return _entry(store, _chance, bundles)
    paths = {r.file_name: store.photo_path(r.file_name) for r in records if isinstance(r, Photo)}
    out = bundles / f"{store.next_number}.zip"
    return [], [], lambda: write_bundle(out, records=records, rows=(), photos=paths, checklists={})


_STEPS = {"entry": _entry, "several": _several, "photo": _photo, "merge": _merge, "bundle": _bundle}


@dataclass
class Told:
    """What a worker said until it ended.

    Parameters
    ----------
    saved
        Hash of the content of each record that was said to be saved, by id.
    photos
        Names of the pictures that were said to be saved.
    under_way
        How many records the last step was about to save.
    """

    saved: dict[str, str] = field(default_factory=dict)
    photos: set[str] = field(default_factory=set)
    under_way: int = 0

    def hear(self, lines: bytes) -> None:
        """Take in what was written; a line without its end was not said."""
        self.under_way = 0
        for line in lines.split(b"\n")[:-1]:
            said = json.loads(line)
            self.under_way = said.get("begins", 0)
            self.saved.update(said.get("saved", ()))
            self.photos.update(said.get("photos", ()))


@dataclass(frozen=True)
class Left:
    """What was left of the work after an end.

    Parameters
    ----------
    lost
        Records that were said to be saved and are not there as they were.
    problems
        All that is wrong, in words; empty when all is well.
    """

    lost: int
    problems: tuple[str, ...]


def look_at(folder: Path, told: Told, bundles: Path | None = None, disk: Disk | None = None) -> Left:
    """Open a store after its writer ended and see whether all that was said is there."""
    problems: list[str] = []
    try:
        with open_store(folder, device=make_id(999), disk=disk) as store:
            found = {record.id: content(record) for record in store.all_records()}
            missing = [key for key, sha in told.saved.items() if found.get(key) != sha]
            extra = len(found.keys() - told.saved.keys())
            problems += [f"record {key} is lost or altered" for key in missing]
            if extra > told.under_way:
                problems.append(f"{extra} records more than were told, {told.under_way} were under way")
            problems += [
                f"picture {name} is lost"
                for name in told.photos
                if not (path := store.photo_path(name)) or sha256_of_file(path) != name[:64]
            ]
            unexplained = [text for text in store.notices if "1 unfinished entry" not in text]
            faults = [f for f in store.check().findings if f.is_fault and "abababab" not in f.text]
            problems += unexplained + [f.text for f in faults if f.kind != "opening"]
            told.saved = found
        before = tree(folder)
        with open_store(folder, device=make_id(998), disk=disk) as again:
            if {record.id: content(record) for record in again.all_records()} != found:
                problems.append("a second opening finds other records")
            problems += [f"said at a second opening: {text}" for text in again.notices]
        if tree(folder) != before:
            problems.append("a second opening changes files")
    except WalkappError as error:
        return Left(lost=len(told.saved), problems=(f"the store does not open: {error}",))
    return Left(lost=len(missing), problems=(*problems, *(_broken_bundles(bundles) if bundles else ())))


def _broken_bundles(folder: Path) -> list[str]:
    broken = []
    for path in sorted(folder.glob("*.zip")):
        if path.name.startswith("."):
            continue
        try:
            with open_bundle(path):
                pass
        except BundleError as error:
            broken.append(str(error))
    return broken
