"""What the laws of merging are tried on: lists of records, real stores, real bundles, and a wrong merge.

A world brings parcels together in the order given and says what can be seen then.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Protocol, TypeVar

from tests.builders import SteppingClock, id_maker, record_id
from tests.fakes import CHECKLISTS
from tests.merging.histories import BASE, Case, Parcel
from tests.merging.views import View, facts_of, view_of
from tests.store.support import HastyDisk
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.merging import merge_bundles
from walkapp.actions.workplace import Workplace
from walkapp.bundle import open_bundle, write_bundle
from walkapp.checklists import load_streams
from walkapp.model.checklist import Stream
from walkapp.model.records import Record
from walkapp.model.standing import standing_of
from walkapp.store import Store

V = TypeVar("V")


class World(Protocol):
    """One way to merge."""

    def __call__(self, parcels: Iterable[Parcel | tuple[Parcel, ...]]) -> object:
        """Bring the parcels together; give everything that can be seen."""


def holds(world: World, case: Case) -> bool:
    """Whether both ways of a case come to the same."""
    return world(case.one) == world(case.other)


def record_world(parcels: Iterable[Parcel | tuple[Parcel, ...]]) -> object:
    """Lists of records, and what holds among them."""
    arrived: list[Record] = []
    for parcel in parcels:
        arrived.extend(_flat(parcel))
    return frozenset(arrived), standing_of(arrived)


def _flat(parcel: Parcel | tuple[Parcel, ...]) -> list[Record]:
    return [r for part in parcel for r in (part if isinstance(part, tuple) else (part,))]


def _is_nested(parcel: Parcel | tuple[Parcel, ...]) -> bool:
    return bool(parcel) and isinstance(parcel[0], tuple)


@contextmanager
def tablet(folder: Path, device: int = 1) -> Iterator[Workplace]:
    """Open a store whose tablet is the one with that number; the records' first tablet by default."""
    clock, new_id = SteppingClock(), id_maker(device)
    made = iter((record_id(device),))
    with Store(folder, now=clock, new_id=lambda: next(made), app="test", disk=HastyDisk()) as store:
        place = Workplace(store=store, checklists=CHECKLISTS, now=clock, new_id=new_id)
        place._streams = _streams()  # reading them anew would take a third of the time
        yield place


@cache
def _streams() -> dict[str, Stream]:
    return {stream.id: stream for stream in load_streams(CHECKLISTS)}


def store_world(parcels: Iterable[Parcel | tuple[Parcel, ...]]) -> object:
    """Real stores; what is passed on goes from store to store. Nothing is worked out, which is slow."""

    def bring(place: Workplace, parcel: Parcel, name: str, _folder: Path) -> None:
        place.store.merge(parcel, name=name, photos={}, checklists={})

    return _world(parcels, bring, lambda place, _: facts_of(place))


def bundle_world(parcels: Iterable[Parcel | tuple[Parcel, ...]]) -> View:
    """Real stores, and everything that arrives comes in a real zip."""

    def bring(place: Workplace, parcel: Parcel, name: str, folder: Path) -> None:
        bundle = write_bundle(folder / f"{name}.zip", records=parcel, rows=(), photos={}, checklists={})
        merge_bundles(place, [bundle.path])

    return _world(parcels, bring, view_of, passes_bundles=True)


def _world(
    parcels: Iterable[Parcel | tuple[Parcel, ...]],
    bring: Callable[[Workplace, Parcel, str, Path], None],
    look: Callable[[Workplace, Path], V],
    *,
    passes_bundles: bool = False,
) -> V:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with tablet(folder / "store") as place:
            bring(place, BASE, "base", folder)
            for number, parcel in enumerate(parcels):
                relayed = _relayed(parcel, folder / f"{number}", bring, passes_bundles)
                bring(place, relayed, f"parcel-{number}", folder)
            seen, in_memory = look(place, folder), facts_of(place)
        with tablet(folder / "store") as place:
            assert facts_of(place) == in_memory, "the store opened again differs"
        return seen


def _relayed(
    parcel: Parcel | tuple[Parcel, ...],
    folder: Path,
    bring: Callable[[Workplace, Parcel, str, Path], None],
    passes_bundles: bool,
) -> Parcel:
    """Let another tablet merge a parcel of parcels and pass it on."""
    if not _is_nested(parcel):
        return tuple(_flat(parcel))
    folder.mkdir()
    with tablet(folder / "store", device=80) as place:
        bring(place, BASE, "base", folder)
        for number, part in enumerate(parcel):
            bring(place, part, f"{number}", folder)
        if not passes_bundles:
            return tuple(place.store.all_records())
        with open_bundle(bundle_concerns(place, folder / "on.zip").path) as bundle:
            return bundle.records


def last_writer_wins(parcels: Iterable[Parcel | tuple[Parcel, ...]]) -> object:
    """The control: one record an id, the later time wins, and of equal times the one that came last."""
    kept: dict[str, Record] = {}
    for record in (r for parcel in parcels for r in _flat(parcel)):
        if record.id not in kept or record.at >= kept[record.id].at:
            kept[record.id] = record
    return frozenset(kept.values()), standing_of(kept.values())


def forgets_early_replacements(parcels: Iterable[Parcel | tuple[Parcel, ...]]) -> object:
    """Another control: what a record replaces counts only if that is here when the record arrives."""
    kept: dict[Record, None] = {}
    for record in (r for parcel in parcels for r in _flat(parcel)):
        here = {other.id for other in kept}
        known = tuple(i for i in record.replaces if i in here)
        if not known and record.kind == "withdrawal":
            continue
        kept[replace(record, replaces=known)] = None
    return frozenset(kept), standing_of(kept)


__all__ = [
    "World", "bundle_world", "forgets_early_replacements", "holds", "last_writer_wins",
    "record_world", "store_world", "tablet",
]  # fmt: skip
