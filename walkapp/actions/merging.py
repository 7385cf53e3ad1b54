"""Bundles of other tablets: each is checked whole, laid ready and taken in, or only looked at."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from pathlib import Path

from walkapp.actions.arriving import check_arriving
from walkapp.actions.books import facts_of
from walkapp.actions.disputes import Dispute, disputes_of
from walkapp.actions.outputs import refuse_practice
from walkapp.actions.trust import Origin, claims_text, settle_origins
from walkapp.actions.workplace import Workplace
from walkapp.bundle import Bundle, Signed, open_bundle
from walkapp.errors import InputError, StoppedError, StoreError
from walkapp.language import tr, trn
from walkapp.store import Intake, MergeReport, Store


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
    disputes
        Entries that contradict each other, of which this bundle brought the last one.
    origin
        From whom it is.
    unsigned_claims
        A warning when it is not signed and brought records of a tablet that signs; else empty.
    """

    path: Path
    report: MergeReport
    missing_photos: tuple[str, ...]
    origin: Origin
    unsigned_claims: str
    disputes: tuple[Dispute, ...] = ()


class MergeStoppedError(StoppedError):
    """The person stopped a merge.

    Parameters
    ----------
    merged
        The bundles that are merged, each whole.
    total
        How many there are.
    """

    def __init__(self, merged: Sequence[Merged], total: int) -> None:
        self.merged = tuple(merged)
        done = tr("{merged} of {total} bundles are merged, each whole", merged=len(merged), total=total)
        if not merged:
            done = tr("no bundle is merged")
        goes_on = "" if len(merged) == total else tr("; the same call goes on with the rest")
        super().__init__(tr("Stopped: {done}{goes_on}.", done=done, goes_on=goes_on))


def merge_bundles(
    place: Workplace,
    paths: Sequence[Path],
    *,
    trust: Sequence[str] = (),
    progress: Callable[[int, int], None] = lambda done, total: None,
) -> tuple[Merged, ...]:
    """Merge bundles into the store; every bundle is checked whole before the first one is merged.

    Parameters
    ----------
    place
        Where to merge into.
    paths
        The bundles.
    trust
        Digits of keys that the person compared and wants to trust, in groups.
    progress
        Called with steps done and steps in all, again and again for each bundle: after each record
        and picture that was checked or laid ready. A step stands for some bytes.

    Raises
    ------
    BundleError, InputError
        If any bundle, or any key with which one is signed, cannot be trusted, or the store is practice;
        nothing was merged then.
    MergeStoppedError
        If the person stopped it (``KeyboardInterrupt``); each bundle is merged whole or not at all.
    StoreError
        If the disk refuses; says how many bundles are merged when any is.
    """
    refuse_practice(place.store)
    steps = _Steps(paths, progress)
    missing: list[tuple[str, ...]] = []
    signatures: list[tuple[Path, Signed | None]] = []
    origins: tuple[Origin, ...] = ()
    intake = place.store.intake()

    def merged() -> list[Merged]:
        return [
            Merged(
                path=path,
                report=report,
                missing_photos=names,
                origin=origin,
                unsigned_claims=claims_text(place, origin, report),
            )
            for path, names, origin, report in zip(paths, missing, origins, intake.taken, strict=False)
        ]

    try:
        with intake:
            for path in paths:
                with open_bundle(path, progress=steps.along(path)) as bundle:
                    check_arriving(bundle, path.name, place.store.device)
                    _stage(intake, bundle, steps.along(path))
                    missing.append(bundle.missing_photos)
                    signatures.append((path, bundle.signed))
            origins = settle_origins(place, signatures, trust)
            intake.take_in()
        return _with_disputes(place, merged(), intake.disputed())
    except KeyboardInterrupt:
        raise MergeStoppedError(merged(), len(paths)) from None
    except StoreError as error:
        if not intake.taken:
            raise
        done = tr(
            "{taken} of {paths} bundles are merged, each whole", taken=len(intake.taken), paths=len(paths)
        )
        raise StoreError(tr("{done}, then the storage refused. {error}", done=done, error=error)) from error


class _Steps:
    """How far a merge is: each bundle is read and then laid ready, and larger ones take longer."""

    def __init__(self, paths: Sequence[Path], progress: Callable[[int, int], None]) -> None:
        self._sizes = {path: path.stat().st_size for path in paths if path.is_file()}
        self._total = 2 * sum(self._sizes.get(path, 0) for path in paths)
        self._done = 0
        self._progress = progress

    def along(self, path: Path) -> Callable[[int, int], None]:
        """Give what follows one passage through a bundle."""
        size, start = self._sizes.get(path, 0), self._done
        self._done += size
        return lambda done, total: self._progress(start + size * done // max(total, 1), self._total)


def _stage(intake: Intake, bundle: Bundle, progress: Callable[[int, int], None]) -> None:
    intake.stage(
        bundle.records,
        name=bundle.digest,
        photos={name: partial(bundle.extract_photo, name) for name in bundle.photo_names},
        checklists=bundle.checklists,
        progress=progress,
    )


def _with_disputes(
    place: Workplace, merged: Sequence[Merged], brought: Mapping[str, Mapping[str, int]]
) -> tuple[Merged, ...]:
    """Add to each bundle the contradictions of which it brought the last entry."""
    found: dict[int, list[Dispute]] = {}
    for concern, heads in sorted(brought.items()):
        with suppress(InputError):  # a concern whose own record is not here yet cannot be told of
            for dispute in disputes_of(place, facts_of(place, concern)):
                if bundles := [heads[head] for head in dispute.ids if head in heads]:
                    found.setdefault(max(bundles), []).append(dispute)
    return tuple(replace(one, disputes=tuple(found.get(n, ()))) for n, one in enumerate(merged))


def merge_minds(merged: Merged) -> Iterator[str]:
    """Say what has to be minded about a bundle that was merged, a sentence each."""
    report = merged.report
    if merged.unsigned_claims:
        yield merged.unsigned_claims
    if report.twins:
        yield tr(
            "{twins} records came with the same id and other content; both are kept.", twins=report.twins
        )
    if report.clashes:
        yield (
            tr(
                "{clashes} running numbers are used twice by one tablet; its store was copied, "
                "so give one of the two tablets a new store.",
                clashes=report.clashes,
            )
        )
    if merged.missing_photos:
        yield trn(
            "{count} recorded photo is not in the bundle.",
            "{count} recorded photos are not in the bundle.",
            len(merged.missing_photos),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenBundle:
    """A bundle that is only looked at.

    Parameters
    ----------
    place
        Its content, in a store of its own that goes away after.
    signed
        With which key it is signed; ``None`` when it is not.
    """

    place: Workplace
    signed: Signed | None


@contextmanager
def bundle_as_store(
    path: Path, *, now: Callable[[], datetime], new_id: Callable[[], str], app: str
) -> Iterator[SeenBundle]:
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
        with store.intake() as intake, open_bundle(path) as bundle:
            check_arriving(bundle, path.name, store.device)
            _stage(intake, bundle, lambda done, total: None)
            intake.take_in()
        place = Workplace(store=store, checklists=None, now=now, new_id=new_id)
        yield SeenBundle(place=place, signed=bundle.signed)
