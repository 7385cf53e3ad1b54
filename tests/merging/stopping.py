"""Ctrl-C during a merge, at any operation of the disk and at any record, and the same call once more."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from tests.builders import make, record_id
from tests.merging.fleet import STREAMS, StopSwitch, Tablet, picture
from tests.merging.histories import BASE
from tests.merging.views import Facts, facts_of
from walkapp.actions.merging import Merged, MergeStoppedError, merge_bundles
from walkapp.actions.workplace import Workplace
from walkapp.bundle import open_bundle, write_bundle
from walkapp.checklists import stream_files
from walkapp.files import sha256_of
from walkapp.model.records import CarriedRecord, Note, Photo, Record, WalkStart

CHECKLIST = Path(__file__).parents[2] / "checklists" / "washer-reservoir"
Merge = Callable[..., Sequence[Merged]]


def sample_bundles(folder: Path, count: int, records: int) -> list[Path]:
    """Write the bundles of several tablets: a walk each, pictures, a carried kind."""
    bundles = []
    digest = STREAMS["washer-reservoir"].digest
    for tablet in range(count):
        walk, first = record_id(100 + tablet), 1_000 * (tablet + 1)
        device = {"device": record_id(200 + tablet)}
        shared, own = picture("white"), picture(("red", "green", "blue")[tablet % 3])
        paths = {}
        for data in (shared, own):
            paths[f"{sha256_of(data)}.png"] = folder / f"{sha256_of(data)}.png"
            paths[f"{sha256_of(data)}.png"].write_bytes(data)
        found: list[Record] = [
            make(WalkStart, id=walk, number=1, walk=walk, stream="washer-reservoir", checklist=digest,
                 direction="down", **device),
            make(CarriedRecord, first, walk=walk, carried_kind="marking", cells=(("x", "1"),), **device),
        ]  # fmt: skip
        for n, data in enumerate((shared, own), start=first + 1):
            fields = {"sha256": sha256_of(data), "media": "image/png", "size_bytes": len(data)}
            found.append(
                make(Photo, n, walk=walk, station="welding", width_px=4, height_px=3, **fields, **device)
            )
        found += [
            make(Note, n, walk=walk, station="welding", words=f"{n}", **device)
            for n in range(first + 3, first + 3 + records)
        ]
        if tablet == 0:
            found.append(replace(BASE[0], **device))
        bundles.append(
            write_bundle(
                folder / f"tablet-{tablet}.zip",
                records=found,
                rows=(),
                photos=paths,
                checklists={digest: stream_files(CHECKLIST)},
            ).path
        )
    return bundles


@dataclass(frozen=True)
class Stopped:
    """What a merge came to that was stopped and called once more.

    Parameters
    ----------
    was_stopped
        Whether it was stopped at all.
    merged
        How many bundles were whole in the store after the stop.
    said
        How many the program said were merged.
    """

    was_stopped: bool
    merged: int
    said: int


def stop_and_go_on(
    folder: Path,
    bundles: Sequence[Path],
    wanted: Facts,
    *,
    at_operation: int | None = None,
    at_step: int | None = None,
    merge: Merge = merge_bundles,
) -> Stopped:
    """Stop a merge into a new store, look at what it left, and make the same call again.

    Raises
    ------
    AssertionError
        If a bundle is in the store in part, the first ones are not those that are whole, the program
        said that another number was merged, or the second call does not come to `wanted`.
    """
    tablet = Tablet(folder, 0)
    steps = 0

    def progress(_done: int, _total: int) -> None:
        nonlocal steps
        steps += 1
        if steps == at_step:
            raise KeyboardInterrupt

    said, was_stopped = len(bundles), False
    tablet.disk.left = at_operation
    try:
        merge(tablet.place, bundles, progress=progress)
    except MergeStoppedError as stopped:
        was_stopped, said = True, len(stopped.merged)
    tablet.disk.left = None
    tablet.close()
    tablet.open()
    here = set(tablet.records)
    is_whole = []
    for path in bundles:
        with open_bundle(path) as bundle:
            brought = set(bundle.records)
            assert brought <= here or not brought & here, f"{path.name} was merged in part"
            is_whole.append(brought <= here)
            assert not is_whole[-1] or set(bundle.photo_names) <= set(tablet.place.store.photo_names())
    assert is_whole == sorted(is_whole, reverse=True), "a later bundle was merged before an earlier one"
    assert said == sum(is_whole), "another number was said to be merged than was"
    merge_bundles(tablet.place, bundles)
    assert facts_of(tablet.place) == wanted, "the second call did not come to the same"
    assert not list(tablet.folder.glob("journals/incoming-*"))
    tablet.close()
    return Stopped(was_stopped, sum(is_whole), said)


def piecemeal(place: Workplace, paths: Iterable[Path], *, progress: Callable[[int, int], None]) -> None:
    """The control: a merge that takes record by record."""
    done = 0
    try:
        for path in paths:
            with open_bundle(path) as bundle:
                for record in bundle.records:
                    place.store.merge([record], name="one", photos={}, checklists={})
                    done += 1
                    progress(done, done)
    except KeyboardInterrupt:
        raise MergeStoppedError([], 1) from None


def unstopped(folder: Path, bundles: Sequence[Path]) -> tuple[Facts, int, int]:
    """Merge without a stop: what that comes to, and how many operations and steps it takes."""
    tablet = Tablet(folder, 0)
    steps = 0

    def progress(_done: int, _total: int) -> None:
        nonlocal steps
        steps += 1

    before = tablet.disk.count
    merge_bundles(tablet.place, bundles, progress=progress)
    found = facts_of(tablet.place), tablet.disk.count - before, steps
    tablet.close()
    return found


__all__ = ["StopSwitch", "piecemeal", "sample_bundles", "stop_and_go_on", "unstopped"]
