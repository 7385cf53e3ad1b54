"""Opening what a crash left, and comparing it with what was promised."""

from __future__ import annotations

import shutil
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from tests.soak.crash_hand import BUNDLE, Ledger
from tests.store.lossy_disk import Tree, read_tree, restart_from
from tests.store.support import HastyDisk, all_of, make_id, note, open_store
from walkapp.errors import WalkappError
from walkapp.files import sha256_of
from walkapp.model.records import Photo, Record
from walkapp.search import read_index
from walkapp.store import Store

STRANGER = make_id(990)
"""The id that a store takes which has lost its own."""

LOST, ALTERED, PHOTOS, OTHER = "lost", "altered", "photos lost", "other"
KEPT_EXAMPLES = 8


@dataclass(slots=True)
class Tally:
    """What was looked at and what was found wrong.

    Parameters
    ----------
    points
        Crash points: moments at which the program or the power could stop, also within a write.
    states
        Different contents that were opened and checked.
    wrong
        How often each kind of fault was found.
    examples
        The first few in words.
    """

    points: int = 0
    states: int = 0
    wrong: Counter[str] = field(default_factory=Counter)
    examples: list[str] = field(default_factory=list)

    def add(self, other: Tally) -> None:
        """Count another tally in."""
        self.points += other.points
        self.states += other.states
        self.wrong.update(other.wrong)
        self.examples = (self.examples + other.examples)[:KEPT_EXAMPLES]


class Judge:
    """Opens crash states in a scratch folder and counts what breaks a promise.

    Parameters
    ----------
    scratch
        A folder in which the states are built.
    tally
        Where findings go.
    reopened_share
        One in so many states is also opened a second time, added to, and opened a third time.
    """

    def __init__(self, scratch: Path, tally: Tally, reopened_share: int = 1) -> None:
        self._root = scratch / "after"
        self.tally = tally
        self._reopened_share = reopened_share
        self._seen: set[int] = set()

    def look(self, state: Tree, ledger: Ledger, where: str) -> bool:
        """Check one state; say whether it was a new one."""
        key = hash((tuple(state.items()), len(ledger.promised), len(ledger.tried), len(ledger.merges),
                    len(ledger.photos), len(ledger.checklists), tuple(map(str, ledger.places)),
                    ledger.device, len(ledger.bundles), len(ledger.kept), len(ledger.indexes)))  # fmt: skip
        if key in self._seen:
            return False
        self._seen.add(key)
        self.tally.states += 1
        for kind, words in self._faults(state, ledger):
            self.tally.wrong[kind] += 1
            if len(self.tally.examples) < KEPT_EXAMPLES:
                self.tally.examples.append(f"{kind}: {words} ({where})")
        return True

    def _faults(self, state: Tree, ledger: Ledger) -> Iterator[tuple[str, str]]:
        if state.get(BUNDLE) not in ledger.bundles:
            yield OTHER, "the bundle is neither the old one nor the new one"
        if not ledger.device and not any(name.startswith("store") for name in state):
            return
        shutil.rmtree(self._root, ignore_errors=True)
        restart_from(state, self._root)
        try:
            yield from self._reopened(state, ledger)
        except WalkappError as error:
            yield LOST if ledger.promised else OTHER, f"the store does not open: {error}"
        except Exception as error:
            yield LOST if ledger.promised else OTHER, f"opening ends with {error!r}"

    def _reopened(self, state: Tree, ledger: Ledger) -> Iterator[tuple[str, str]]:
        with self._open() as store:
            found = all_of(store)
            told = store.notices
            number = store.next_number
            yield from _compare(store, found, ledger)
        after = read_tree(self._root)
        yield from _missing_ends({**state, **ledger.kept}, after)
        if self.tally.states % self._reopened_share:
            return
        with self._open() as store:
            if (all_of(store), store.next_number) != (found, number):
                yield OTHER, "a second opening finds other records or another number"
            if not set(told) >= set(store.notices):
                yield OTHER, f"a second opening tells something new: {store.notices}"
            if read_tree(self._root) != after:
                yield OTHER, "a second opening changes files"
            added = note(store.next_number, "after the crash", device=store.device, key=9_000_000)
            store.append(added)
        with self._open() as store:
            in_the_end = all_of(store)
        if set(in_the_end) != {*found, added}:
            yield LOST, "a record made after the crash, or one before it, is not there"
        yield from _twice_given(in_the_end)

    def _open(self) -> Store:
        return open_store(self._root / "store", device=STRANGER, disk=HastyDisk())


def _compare(store: Store, found: list[Record], ledger: Ledger) -> Iterator[tuple[str, str]]:
    here = set(found)
    for record in sorted(ledger.promised - here, key=lambda record: record.number):
        yield LOST, f"the {record.kind} with number {record.number} of {record.scope[-4:]} is gone"
    if len(found) != len(here):
        yield ALTERED, "a record is there twice"
    allowed = ledger.promised.union(ledger.tried, *ledger.merges)
    for record in here - allowed:
        yield ALTERED, f"{record} was never saved"
    for merge in ledger.merges:
        new = merge - ledger.promised
        if new & here not in (new, frozenset()):
            yield OTHER, "only a part of a merge is there"
    for name, data in ledger.photos.items():
        path = store.photo_path(name)
        if path is None or path.read_bytes() != data:
            yield PHOTOS, f"the photo {name[:8]} is gone or changed"
    for record in here:
        if isinstance(record, Photo):
            path = store.photo_path(record.file_name)
            if path is None or sha256_of(path.read_bytes()) != record.sha256:
                yield PHOTOS, f"record {record.number} names a photo that is not there"
    yield from _compare_rest(store, found, ledger)


def _compare_rest(store: Store, found: list[Record], ledger: Ledger) -> Iterator[tuple[str, str]]:
    for digest, files in ledger.checklists.items():
        if store.checklist(digest) != files:
            yield OTHER, f"the checklist {digest[:8]} is gone or changed"
    if ledger.device and store.device != ledger.device:
        yield OTHER, "the tablet has lost its id"
    index = read_index(store.search_file, store.device)
    if index is not None and index.states() not in ledger.indexes:
        yield OTHER, "an index for searching is read that nobody wrote"
    if store.place() not in ledger.places:
        yield OTHER, f"the place is {store.place()}"
    given = [record.number for record in {*found, *ledger.promised} if record.device == store.device]
    if store.next_number <= max(given, default=0):
        yield OTHER, f"number {store.next_number} will be given again"
    yield from _twice_given(found)
    listed = {(concern, walk) for concern in store.concerns() for walk in ("", *store.walks(concern))}
    if listed - {(record.concern, "") for record in found} != {
        (r.concern, r.walk) for r in found if r.walk
    }:
        yield OTHER, "the walks that are listed are not those that have records"


def _twice_given(found: list[Record]) -> Iterator[tuple[str, str]]:
    ids: dict[tuple[str, int], set[str]] = {}
    for record in found:
        ids.setdefault((record.device, record.number), set()).add(record.id)
    for (_, number), several in sorted(ids.items()):
        if len(several) > 1:
            yield OTHER, f"number {number} was given {len(several)} times"


def _missing_ends(before: Tree, after: Tree) -> Iterator[tuple[str, str]]:
    """What was cut off a journal has to be in ``aside/``."""
    aside = {data for name, data in after.items() if name.startswith("store/aside/")}
    for name, data in before.items():
        if data is None or not name.startswith("store/journals/own/"):
            continue
        left = after.get(name) or b""
        if left != data and not any(
            data.endswith(end) and left.startswith(data[: len(data) - len(end)]) for end in aside
        ):
            yield OTHER, f"the end of {name[-16:]} is not in aside/"
