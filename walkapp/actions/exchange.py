"""Records to and from other tablets, in bundles."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.workplace import Workplace
from walkapp.bundle import Bundle, BundleFacts, FirstBadRow, open_bundle, write_bundle
from walkapp.checklists import digest_of
from walkapp.errors import BundleError, InputError
from walkapp.files import sha256_of_file
from walkapp.model.records import Photo, Record, WalkStart
from walkapp.store import MergeReport, Store


def bundle_concerns(
    place: Workplace, out: Path, *, concern: str | None = None, since: date | None = None
) -> BundleFacts:
    """Write records, photos, checklists and the computed answers into one bundle.

    Parameters
    ----------
    place
        Where the records are.
    out
        The zip to write; an older file of that name is replaced in one step.
    concern
        Only this concern; all when none.
    since
        Only concerns in which anything was recorded on or after this date (each whole, so that its
        answer can be worked out again from the bundle alone). An entry that a tablet made after one of
        that date counts as well, whatever its clock said.

    Raises
    ------
    InputError
        If there is no such concern, or nothing to write.
    BundleError
        If the file cannot be written.
    """
    ids = [concern] if concern is not None else list(place.store.concerns())
    chosen = ids if since is None else _recorded_since(place.store, ids, since)
    records: list[Record] = []
    rows: list[FirstBadRow] = []
    for concern_id in sorted(chosen):
        facts = concern_facts(place, concern_id)
        records.extend(_records_of(place.store, concern_id))
        rows.extend(_rows(facts))
    if not records:
        raise InputError(
            "There is nothing to bundle: no concern with records since that date."
            if since is not None
            else "There is nothing to bundle: this store has no concern yet."
        )
    photos = dict(_sound_photos(place.store, records))
    checklists = dict(_sound_checklists(place.store, records))
    return write_bundle(out, records=records, rows=rows, photos=photos, checklists=checklists)


def _sound_photos(store: Store, records: Iterable[Record]) -> Iterator[tuple[str, Path]]:
    """A damaged picture must not hold up all records: its record goes, and says what is missing."""
    for record in records:
        if isinstance(record, Photo):
            path = store.photo_path(record.file_name)
            if path is not None and sha256_of_file(path) == record.sha256:
                yield record.file_name, path


def _sound_checklists(store: Store, records: Iterable[Record]) -> Iterator[tuple[str, Mapping[str, bytes]]]:
    """As with pictures; a damaged one would get the whole bundle refused where it is merged."""
    for digest in sorted({record.checklist for record in records if isinstance(record, WalkStart)}):
        files = store.checklist(digest)
        if files is not None and digest_of(files) == digest:
            yield digest, files


def _records_of(store: Store, concern: str) -> Iterator[Record]:
    yield from store.records(concern)
    for walk in store.walks(concern):
        yield from store.records(walk)


def _recorded_since(store: Store, concerns: Iterable[str], since: date) -> list[str]:
    """Choose the concerns with an entry of that day or later, or one made after such an entry.

    A clock that went back must not hide an entry: on one tablet the running numbers tell what came later.
    """
    first: dict[str, int] = {}
    last: dict[str, dict[str, int]] = {}
    for record in store.all_records():
        numbers = last.setdefault(record.concern, {})
        numbers[record.device] = max(numbers.get(record.device, 0), record.number)
        if datetime.fromisoformat(record.at).date() >= since:
            first[record.device] = min(first.get(record.device, record.number), record.number)
    return [
        concern
        for concern in concerns
        if any(number >= first.get(device, number + 1) for device, number in last.get(concern, {}).items())
    ]


def _rows(facts: ConcernFacts) -> Iterable[FirstBadRow]:
    """One row a station; none when nobody has the checklist, since nothing can be worked out."""
    if facts.stream is None:
        return ()
    answer = facts.locate(thorough=False)
    return tuple(
        FirstBadRow(
            concern=facts.concern.concern,
            defect=facts.concern.defect,
            stream=facts.concern.stream,
            station_order=verdict.order,
            station=verdict.station,
            checked=verdict.checked,
            nok=verdict.nok,
            share=verdict.share,
            low95=verdict.interval.low if verdict.interval else None,
            high95=verdict.interval.high if verdict.interval else None,
            probability_origin=verdict.probability_origin,
            verdict=verdict.verdict,
            first_bad_station=answer.first_bad_station or "",
        )
        for verdict in answer.stations
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Merged:
    """What one bundle brought.

    Parameters
    ----------
    path
        The bundle.
    report
        What was new, known already or in conflict.
    missing_photos
        Names of pictures that a record mentions and the bundle does not hold.
    """

    path: Path
    report: MergeReport
    missing_photos: tuple[str, ...]


def merge_bundles(
    place: Workplace,
    paths: Sequence[Path],
    *,
    progress: Callable[[int, int], None] = lambda done, total: None,
) -> tuple[Merged, ...]:
    """Merge bundles into the store; every bundle is checked whole before the first one is merged.

    Parameters
    ----------
    place
        Where to merge into.
    paths
        The bundles.
    progress
        Called with steps done and steps in all; each bundle is checked and then merged.

    Raises
    ------
    BundleError
        If any bundle cannot be trusted; nothing was merged then.
    """
    total = 2 * len(paths)
    for done, path in enumerate(paths):
        progress(done, total)
        with _checked_bundle(path):
            pass
    merged = []
    for done, path in enumerate(paths, start=len(paths)):
        progress(done, total)
        merged.append(_merge_one(place.store, path))
    progress(total, total)
    return tuple(merged)


@contextmanager
def _checked_bundle(path: Path) -> Iterator[Bundle]:
    """Open a bundle whose checklists, too, are what their names say."""
    with open_bundle(path) as bundle:
        for digest, files in bundle.checklists.items():
            if digest_of(files) != digest:
                raise BundleError(
                    f"{path}: a checklist is not the one that its name says; ask for the bundle again."
                )
        yield bundle


def _merge_one(store: Store, path: Path) -> Merged:
    with _checked_bundle(path) as bundle, tempfile.TemporaryDirectory() as folder:
        photos = {name: bundle.extract_photo(name, Path(folder)) for name in bundle.photo_names}
        report = store.merge(
            bundle.records,
            name=bundle.digest,
            photos=photos,
            checklists=bundle.checklists,
        )
        return Merged(path=path, report=report, missing_photos=tuple(bundle.missing_photos))


@contextmanager
def bundle_as_store(
    path: Path, *, now: Callable[[], datetime], new_id: Callable[[], str], app: str
) -> Iterator[Workplace]:
    """Look at a bundle as if it were a store, without touching any store.

    Raises
    ------
    BundleError
        If the bundle cannot be trusted.
    """
    with (
        tempfile.TemporaryDirectory() as folder,
        Store(Path(folder) / "store", now=now, new_id=new_id, app=app) as store,
    ):
        _merge_one(store, path)
        yield Workplace(store=store, checklists=None, now=now, new_id=new_id)
