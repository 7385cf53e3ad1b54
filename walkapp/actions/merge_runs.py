"""Merging at the desk: which bundles there are, merging some of them, and what they brought.

Unlike the command, which refuses all bundles of a call when one cannot be trusted, a run merges each
bundle by itself: a person at the desk sees which one was refused and why, beside what came in.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from walkapp.actions.merge_notes import MergeRun, Outcome, keep_run, merge_runs, with_most
from walkapp.actions.merging import Merged, MergeStoppedError, merge_bundles, merge_minds
from walkapp.actions.trust import OtherKeyError, origin_text
from walkapp.actions.workplace import Workplace
from walkapp.bundle import BundleLabel, peek_bundle
from walkapp.errors import BundleError, InputError, StoreError

MOST_LISTED = 40
"""Bundles that are offered, the newest files first."""

MOST_LOOKED_AT = 400
"""Zip files that are opened at all: a folder of downloads may hold very many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundBundle:
    """A bundle that may be merged.

    Parameters
    ----------
    path
        The file.
    label
        What it says of itself; none where it cannot be read.
    trouble
        Why it cannot be read, one sentence; else empty.
    is_merged
        Whether this very content was merged here before.
    """

    path: Path
    label: BundleLabel | None
    trouble: str = ""
    is_merged: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundBundles:
    """What the known folders hold.

    Parameters
    ----------
    bundles
        The newest files first.
    others
        Zip files that are no bundles.
    left_out
        Bundles and zip files that are not listed, since there are too many.
    """

    bundles: tuple[FoundBundle, ...]
    others: int = 0
    left_out: int = 0


def find_bundles(place: Workplace, folders: Iterable[Path]) -> FoundBundles:
    """Look for bundles.

    Parameters
    ----------
    place
        Whose store they would be merged into.
    folders
        Where to look; folders that are missing or cannot be looked into hold nothing. What lies in
        folders within them is not looked at.
    """
    files = sorted({path for folder in folders for path in _zips(folder)}, key=_newest_first)
    merged = place.store.merge_names()
    noted = {outcome.digest for run in merge_runs(place) for outcome in run.outcomes if outcome.is_merged}
    found: list[FoundBundle] = []
    others = looked_at = 0
    for path in files[:MOST_LOOKED_AT]:
        if len(found) == MOST_LISTED:
            break
        looked_at += 1
        try:
            label = peek_bundle(path)
        except BundleError as error:
            found.append(FoundBundle(path=path, label=None, trouble=str(error)))
            continue
        if label is None:
            others += 1
        else:
            is_merged = label.digest in noted or label.digest in merged
            found.append(FoundBundle(path=path, label=label, is_merged=is_merged))
    return FoundBundles(bundles=tuple(found), others=others, left_out=len(files) - looked_at)


def _zips(folder: Path) -> Iterator[Path]:
    try:
        yield from (path for path in folder.iterdir() if path.suffix.lower() == ".zip" and path.is_file())
    except OSError:
        return


def _newest_first(path: Path) -> tuple[float, str]:
    try:
        return -path.stat().st_mtime, str(path)
    except OSError:
        return 0.0, str(path)


class MergeWork:
    """A merge that goes on while pages come and go; one thread works, any other may look and stop it.

    Attributes
    ----------
    done, total
        Steps done and steps in all; a step stands for some bytes.
    at_name
        Name of the bundle that is being merged.
    run
        What became of it, once it has ended.
    """

    def __init__(self, paths: Sequence[Path], trust: Mapping[Path, str] | None = None) -> None:
        self.paths = tuple(paths)
        self.trust = dict(trust or {})
        self.done, self.total = 0, 0
        self.at_name = ""
        self.run: MergeRun | None = None
        self.is_stopping = False

    @property
    def is_running(self) -> bool:
        """Whether it has not ended yet."""
        return self.run is None

    def stop(self) -> None:
        """Stop at the next step; bundles that are merged stay, each whole."""
        self.is_stopping = True

    def work(self, place: Workplace) -> MergeRun:
        """Merge the bundles, one after the other, and keep what became of them.

        Raises
        ------
        StoreError
            If the store cannot be written to at all.
        """
        outcomes: list[Outcome] = []
        trouble = ""
        sizes = [_steps_of(path) for path in self.paths]
        self.total = sum(sizes)
        for path, steps in zip(self.paths, sizes, strict=True):
            if trouble or self.is_stopping:
                outcomes.append(Outcome(name=path.name, is_left=True))
                continue
            self.at_name, start = path.name, self.done
            try:
                outcomes.append(self._merge(place, path, start, steps))
            except MergeStoppedError:
                outcomes.append(Outcome(name=path.name, is_left=True))
            except OtherKeyError as error:
                outcomes.append(Outcome(name=path.name, refused=str(error), asks_key=error.fingerprint))
            except InputError as error:
                outcomes.append(Outcome(name=path.name, refused=str(error)))
            except StoreError as error:
                trouble = str(error)
                outcomes.append(Outcome(name=path.name, is_left=True))
            self.done = start + steps
        run = MergeRun(
            at=place.now().isoformat(timespec="milliseconds"),
            outcomes=tuple(outcomes),
            trouble=trouble,
            is_stopped=self.is_stopping and any(one.is_left for one in outcomes),
        )
        keep_run(place, run)
        self.run = run
        return run

    def _merge(self, place: Workplace, path: Path, start: int, steps: int) -> Outcome:
        def progress(done: int, total: int) -> None:
            self.done = start + steps * done // max(total, 1)
            if self.is_stopping:
                # What a person at the command line does; the bundle is not begun, or merged whole.
                raise KeyboardInterrupt

        before = frozenset(place.store.concerns())
        label = peek_bundle(path)
        trust = (self.trust[path],) if path in self.trust else ()
        (merged,) = merge_bundles(place, (path,), trust=trust, progress=progress)
        return _outcome(path, merged, before, label.digest if label else "")


def _steps_of(path: Path) -> int:
    try:
        return 2 * path.stat().st_size
    except OSError:
        return 0


def _outcome(path: Path, merged: Merged, before: frozenset[str], digest: str) -> Outcome:
    report = merged.report
    concerns = report.new_by_concern
    disputes: dict[str, int] = {}
    for dispute in merged.disputes:
        concern = dispute.sides[0].record.concern
        disputes[concern] = disputes.get(concern, 0) + 1
    return Outcome(
        name=path.name,
        digest=digest,
        known=report.known,
        photos=report.photos,
        checklists=report.checklists,
        by_kind=with_most(report.new_by_kind),
        by_tablet=with_most(report.new_by_device),
        new_concerns=with_most({one: n for one, n in concerns.items() if one not in before}),
        known_concerns=with_most({one: n for one, n in concerns.items() if one in before}),
        disputes=with_most(disputes),
        origin=origin_text(merged.origin),
        minds=tuple(merge_minds(merged)),
    )
