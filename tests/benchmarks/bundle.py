"""How long a large bundle takes to write and to read, and how much memory, against csv and zipfile alone.

Run it with ``python -m tests.benchmarks.bundle [--records 100000] [--photos 200] [--rounds N]
[--folder DIR]``. Every measurement is a process of its own, so that the memory of one does not hide that
of another; the ways take turns, so that noise of the machine hits all of them:

* *bare*: Python's csv module writes the very same cells, which lie ready as lists of texts, and zipfile
  packs the very same members in the same way (pictures stored); one ``fsync`` at the end. Nothing is
  hashed, sorted, made from records or read back;
* *hashed*: the same, and SHA-256 of every member;
* *bundle*: :func:`walkapp.bundle.write_bundle` from records, with all that it does: sorting, cells that no
  spreadsheet runs, descriptor with hashes, ``fsync``, reading back what was written;
* *reading*: :func:`walkapp.bundle.open_bundle`, and beside it zipfile and csv reading the same file;
* *store*: :func:`walkapp.actions.bundling.bundle_concerns` from a store on disk, answers worked out.

Nothing is asserted but that *bare* writes the same members: the tables are for reading.
"""

from __future__ import annotations

import argparse
import cProfile
import csv
import hashlib
import io
import json
import os
import pstats
import resource
import statistics
import subprocess
import sys
import tempfile
import time
import zipfile
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from tests.benchmarks.invented import CHECKLISTS, Plant, make_photos, stream_and_files
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.merging import merge_bundles
from walkapp.actions.workplace import Workplace
from walkapp.bundle import open_bundle, write_bundle
from walkapp.files import Disk
from walkapp.store import Store

WRITING = ("bare", "hashed", "bundle")
READING = ("bare reading", "open_bundle")
PARTS = ("making and packing", "fsync", "fsync and reading back")
PHOTO_BYTES = 3_000_000
GOAL = 1.5

Found = dict[str, float]


class WatchedDisk(Disk):
    """A disk that notes when each part of writing a bundle began and ended."""

    def __init__(self) -> None:
        self.begun = self.written = self.synced = self.renamed = time.perf_counter()

    def sync(self, file: int) -> None:
        self.written = time.perf_counter()
        super().sync(file)
        self.synced = time.perf_counter()

    def rename(self, source: Path, target: Path) -> None:
        self.renamed = time.perf_counter()
        super().rename(source, target)

    def parts(self) -> Found:
        """Seconds of each part; the file is read back while the disk syncs."""
        return {
            "making and packing": self.written - self.begun,
            "fsync": self.synced - self.written,
            "fsync and reading back": self.renamed - self.written,
        }


def peak_bytes() -> int:
    """Most memory that this process has held at a time."""
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return used if sys.platform == "darwin" else used * 1024


def timed(action: Callable[[], object]) -> Found:
    """Do it, and say how long it took and by how much the peak of memory rose."""
    before = peak_bytes()
    begun, begun_cpu = time.perf_counter(), time.process_time()
    action()
    return {
        "s": time.perf_counter() - begun,
        "cpu": time.process_time() - begun_cpu,
        "before": before,
        "peak": peak_bytes(),
    }


def measure_bare(reference: Path, photos: dict[str, Path], out: Path, *, hashed: bool) -> Found:
    """Write what is in the bundle `reference` with csv and zipfile alone."""
    tables, others = {}, {}
    with zipfile.ZipFile(reference) as bundle:
        entries = bundle.infolist()
        for name in (e.filename for e in entries if not e.filename.startswith("photos/")):
            data = bundle.read(name)
            if name.endswith(".csv"):
                tables[name] = list(csv.reader(io.StringIO(data.decode(), newline="")))
            else:
                others[name] = data
        del data

    def write() -> None:
        digests = []
        with out.open("wb") as file:
            with zipfile.ZipFile(file, "w") as target:
                for entry in entries:
                    fresh = zipfile.ZipInfo(entry.filename)
                    fresh.compress_type = entry.compress_type
                    digest = hashlib.sha256()
                    with target.open(fresh, "w") as member:
                        for piece in pieces_of(entry.filename):
                            if hashed:
                                digest.update(piece)
                            member.write(piece)
                    digests.append(digest.hexdigest())
            file.flush()
            os.fsync(file.fileno())

    def pieces_of(name: str):
        if name in tables:
            page = io.StringIO(newline="")
            csv.writer(page, lineterminator="\r\n").writerows(tables[name])
            yield page.getvalue().encode()
        elif name in others:
            yield others[name]
        else:
            with photos[name.removeprefix("photos/")].open("rb") as photo:
                while piece := photo.read(1 << 20):
                    yield piece

    found = timed(write)
    with zipfile.ZipFile(reference) as good, zipfile.ZipFile(out) as written:
        if any(a.CRC != b.CRC for a, b in zip(good.infolist(), written.infolist(), strict=True)):
            raise AssertionError("the bare way wrote something else")
    return found


def measure_bundle(records: int, photos: dict[str, Path], out: Path, *, profiled: bool = False) -> Found:
    """Write a bundle of invented records; with `profiled`, print where the time goes."""
    stream, files = stream_and_files()
    held = Plant(stream).records(records, photos)
    disk = WatchedDisk()
    profile = cProfile.Profile()

    def write() -> None:
        disk.begun = time.perf_counter()
        write_bundle(
            out, records=held, rows=[], photos=photos, checklists={stream.digest: files}, disk=disk
        )

    found = timed((lambda: profile.runcall(write)) if profiled else write)
    if profiled:
        pstats.Stats(profile).sort_stats("tottime").print_stats(30)
    return {**found, **disk.parts(), "bytes": out.stat().st_size}


def measure_reading(way: str, reference: Path) -> Found:
    """Read a bundle, checked whole, or with zipfile and csv alone."""

    def read_bare() -> None:
        with zipfile.ZipFile(reference) as bundle:
            for name in bundle.namelist():
                with bundle.open(name) as member:
                    if name.endswith(".csv"):
                        list(csv.reader(io.TextIOWrapper(member, "utf-8", newline="")))
                    else:
                        while member.read(1 << 20):
                            pass

    return timed(read_bare if way == "bare reading" else lambda: open_bundle(reference).close())


def measure_store(folder: Path, out: Path) -> Found:
    """Write a bundle of all concerns of a store."""
    with Store(folder, now=_now, new_id=lambda: "", app="benchmark") as store:
        place = Workplace(store=store, checklists=CHECKLISTS, now=_now, new_id=lambda: "")
        return timed(lambda: bundle_concerns(place, out))


def _now() -> datetime:
    return datetime(2026, 3, 3, tzinfo=UTC)


def prepare(folder: Path, records: int, photos: int) -> Found:
    """Make the pictures, a bundle, and a store that holds what the bundle holds."""
    (folder / "photos").mkdir()
    made = make_photos(folder / "photos", photos, PHOTO_BYTES)
    reference = folder / "reference.zip"
    found = measure_bundle(records, made, reference)
    with Store(folder / "store", now=_now, new_id=lambda: "", app="benchmark") as store:
        merge_bundles(Workplace(store=store, checklists=None, now=_now, new_id=lambda: ""), [reference])
    return found


def in_a_process(folder: Path, way: str, records: int, photos: int) -> Found:
    """Measure one way in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.bundle", "--only", way, "--folder", str(folder),
         "--records", str(records), "--photos", str(photos)],
        check=True, capture_output=True, text=True, cwd=Path(__file__).parents[2],
    )  # fmt: skip
    return json.loads(done.stdout)


def measure_one(way: str, folder: Path, records: int, photo_count: int) -> Found:
    """Measure one way once, in this process."""
    if way == "prepare":
        return prepare(folder, records, photo_count)
    photos = {p.name: p for p in sorted((folder / "photos").iterdir())[:photo_count]}
    reference, out = folder / "reference.zip", folder / f"{way}.zip"
    try:
        if way in ("bare", "hashed"):
            return measure_bare(reference, photos, out, hashed=way == "hashed")
        if way in READING:
            return measure_reading(way, reference)
        if way == "store":
            return measure_store(folder / "store", out)
        return measure_bundle(records, photos, out)
    finally:
        out.unlink(missing_ok=True)


def compare(folder: Path, records: int, photos: int, rounds: int) -> None:
    """Let all ways take turns and print times, ratios and memory."""
    ways = (*WRITING, *READING, "store")
    found: dict[str, list[Found]] = {way: [] for way in ways}
    for turn in range(rounds):
        for way in (*ways[turn % len(ways) :], *ways[: turn % len(ways)]):
            found[way].append(in_a_process(folder, way, records, photos))
    print(f"\n{records} records and {photos} photos of {PHOTO_BYTES / 1e6:.0f} MB; {rounds} rounds")
    print(
        f"{'way':>14}{'median s':>10}{'least s':>9}{'most s':>8}{'CPU s':>7}{'memory before':>15}"
        f"{'at most':>10}"
    )
    median = {}
    for way in ways:
        times = [one["s"] for one in found[way]]
        median[way] = statistics.median(times)
        before, peak = (max(one[name] for one in found[way]) / 1e6 for name in ("before", "peak"))
        print(
            f"{way:>14}{median[way]:>10.2f}{min(times):>9.2f}{max(times):>8.2f}"
            f"{statistics.median(one['cpu'] for one in found[way]):>7.2f}"
            f"{before:>12.0f} MB{peak:>7.0f} MB"
        )
    parts = {part: statistics.median(one[part] for one in found["bundle"]) for part in PARTS}
    print("parts of bundle: " + ", ".join(f"{part} {s:.2f} s" for part, s in parts.items()))
    without = median["bundle"] - parts["fsync and reading back"] + parts["fsync"]
    print(f"bundle / bare: {ratios(found['bundle'], found['bare'])} (goal: at most {GOAL})")
    print(f"bundle / hashed: {ratios(found['bundle'], found['hashed'])}")
    print(f"bundle without reading back / bare: {without / median['bare']:.2f}")
    print(f"open_bundle / bare reading: {ratios(found['open_bundle'], found['bare reading'])}")
    print(f"bundle_concerns from a store / bare: {ratios(found['store'], found['bare'])}")


def ratios(ours: list[Found], peer: list[Found]) -> str:
    """Say the median of the ratios of the rounds, and their range; and that of the computing time."""
    found, cpu = ([a[of] / b[of] for a, b in zip(ours, peer, strict=True)] for of in ("s", "cpu"))
    return (
        f"{statistics.median(found):.2f} ({min(found):.2f} to {max(found):.2f}), "
        f"of computing time {statistics.median(cpu):.2f}"
    )


def growth(folder: Path, records: int, photos: int) -> None:
    """Print how memory grows with the number of photos and of records."""
    print(f"\nMemory of writing a bundle\n{'records':>8}{'photos':>8}{'records alone':>15}{'on top':>10}")
    for many, pictures in (
        (records // 10, 0), (records // 10, photos // 10), (records // 10, photos),
        (records // 4, 0), (records // 2, 0), (records, 0), (records, photos),
    ):  # fmt: skip
        one = in_a_process(folder, "bundle", many, pictures)
        before, on_top = one["before"] / 1e6, (one["peak"] - one["before"]) / 1e6
        print(f"{many:>8}{pictures:>8}{before:>12.0f} MB{on_top:>7.0f} MB")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--records", type=int, default=100_000)
    parser.add_argument("--photos", type=int, default=200)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--folder", type=Path, help="a folder on the disk to measure; needs 2.5 GB")
    parser.add_argument("--profile", action="store_true", help="print where writing spends its time")
    parser.add_argument("--only", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.only:
        print(json.dumps(measure_one(options.only, options.folder, options.records, options.photos)))
        return
    with tempfile.TemporaryDirectory(dir=options.folder) as name:
        folder = Path(name)
        # Not done here: on Linux a child's peak of memory begins with that of its parent.
        in_a_process(folder, "prepare", options.records, options.photos)
        if options.profile:
            photos = {path.name: path for path in (folder / "photos").iterdir()}
            measure_bundle(options.records, photos, folder / "profiled.zip", profiled=True)
            return
        compare(folder, options.records, options.photos, options.rounds)
        growth(folder, options.records, options.photos)


if __name__ == "__main__":
    main()
