"""How long merging many bundles takes, against reading the same zips into SQLite.

Run it with ``python -m tests.benchmarks.merge [--bundles N] [--records N] [--photos N] [--folder DIR]``.
The bundles are invented: a walk each, entries, some corrections, and pictures. Three ways take them in,
each in a process of its own, so that the peak of its memory can be told:

* *merge*: :func:`walkapp.actions.merging.merge_bundles` into a new store: every bundle is checked whole
  (hashes, every cell of every record, pictures named), then all become part of the store;
* *again*: the same call once more, which finds everything known;
* *sqlite*: the peer, which trusts everything: ``zipfile`` and ``csv`` read the same zips, and every row
  and picture goes into one SQLite database, ``synchronous=FULL``, one transaction for each bundle.

The time of *merge* is told for half the bundles too: it has to grow with their number and not with its
square. Nothing is asserted: the table and the ratios are for reading.
"""

from __future__ import annotations

import argparse
import csv
import io
import random
import resource
import sqlite3
import subprocess
import sys
import tempfile
import time
import zipfile
from pathlib import Path

from tests.builders import SteppingClock, id_maker, make, record_id
from tests.merging.histories import BASE
from walkapp.actions.merging import merge_bundles
from walkapp.actions.workplace import Workplace
from walkapp.bundle import write_bundle
from walkapp.files import sha256_of
from walkapp.model.records import Answer, Measurement, Photo, Record, WalkStart
from walkapp.store import Store

PHOTO_BYTES = 400_000


def write_bundles(folder: Path, bundles: int, records: int, photos: int) -> list[Path]:
    """Write the invented bundles; each is the walk of another tablet."""
    chance = random.Random(1)
    return [_write_one(folder, tablet, records, photos, chance) for tablet in range(bundles)]


def _write_one(folder: Path, tablet: int, records: int, photos: int, chance: random.Random) -> Path:
    walk, first = record_id(1_000 + tablet), 1_000_000 * (tablet + 1)
    common = {"walk": walk, "device": record_id(10_000 + tablet), "station": "leak-test"}
    found: list[Record] = [
        make(WalkStart, id=walk, number=1, walk=walk, device=common["device"], stream="washer-reservoir",
             checklist="ab" * 32, direction="down"),
    ]  # fmt: skip
    if tablet == 0:
        found.append(BASE[0])
    paths = {}
    for n in range(photos):
        data = b"\xff\xd8\xff" + chance.randbytes(PHOTO_BYTES)
        name = f"{sha256_of(data)}.jpg"
        (folder / name).write_bytes(data)
        paths[name] = folder / name
        found.append(make(Photo, first + n, sha256=name[:64], media="image/jpeg", size_bytes=len(data),
                          width_px=4000, height_px=3000, **common))  # fmt: skip
    for n in range(first + photos, first + photos + records - len(found)):
        if n % 3:
            found.append(
                make(Answer, n, check="ear-look", answer=chance.choice(("ok", "not_ok")), **common)
            )
        else:
            replaces = (record_id(n - 1),) if n % 30 == 0 else ()
            found.append(make(Measurement, n, check="ear-wall", value=f"{2 + chance.random():.3f}",
                              unit_of_measure="mm", replaces=replaces, **common))  # fmt: skip
    out = folder / f"tablet-{tablet}.zip"
    return write_bundle(out, records=found, rows=(), photos=paths, checklists={}).path


def merge(folder: Path, bundles: list[Path]) -> None:
    """Merge into the store of a folder."""
    clock, new_id = SteppingClock(), id_maker(1)
    with Store(folder / "store", now=clock, new_id=new_id, app="benchmark") as store:
        merge_bundles(Workplace(store=store, checklists=None, now=clock, new_id=new_id), bundles)


def read_into_sqlite(folder: Path, bundles: list[Path]) -> None:
    """Put every row and picture of the zips into one database."""
    database = sqlite3.connect(folder / "sqlite", isolation_level=None)
    database.execute("PRAGMA journal_mode=WAL")
    database.execute("PRAGMA synchronous=FULL")
    database.execute("CREATE TABLE pictures (name TEXT PRIMARY KEY, data BLOB)")
    for path in bundles:
        database.execute("BEGIN")
        with zipfile.ZipFile(path) as bundle:
            for name in bundle.namelist():
                if name.endswith(".csv"):
                    _read_table(database, name[:-4], bundle.read(name))
                elif name.startswith("photos/"):
                    database.execute(
                        "INSERT OR IGNORE INTO pictures VALUES (?, ?)", (name, bundle.read(name))
                    )
        database.execute("COMMIT")
    database.close()


def _read_table(database: sqlite3.Connection, name: str, data: bytes) -> None:
    rows = csv.reader(io.StringIO(data.decode("utf-8"), newline=""))
    names = next(rows)
    columns = ", ".join(f'"{n}" TEXT' for n in names)
    key = ", PRIMARY KEY (id)" if "id" in names else ""
    database.execute(f"CREATE TABLE IF NOT EXISTS {name} ({columns}{key})")
    database.executemany(f"INSERT OR IGNORE INTO {name} VALUES ({', '.join('?' * len(names))})", rows)


WAYS = {"half": merge, "merge": merge, "again": merge, "sqlite": read_into_sqlite}


def run_way(way: str, folder: Path, bundles: list[Path]) -> None:
    """Do one way and print its seconds and the peak of its memory in megabytes; run in its own process."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    begun = time.perf_counter()
    WAYS[way](folder, bundles)
    seconds = time.perf_counter() - begun
    print(seconds, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, before / 1024)


def main() -> None:
    """Write the bundles, take them in in every way, and print the table."""
    parser = argparse.ArgumentParser(description="Time of merging many bundles.")
    parser.add_argument("--bundles", type=int, default=40)
    parser.add_argument("--records", type=int, default=2_500, help="records of each bundle")
    parser.add_argument("--photos", type=int, default=5, help="pictures of each bundle")
    parser.add_argument("--folder", type=Path, default=None, help="where to work; a new folder otherwise")
    parser.add_argument("--way", choices=WAYS, help=argparse.SUPPRESS)
    call = parser.parse_args()
    if call.way:
        run_way(
            call.way, call.folder, sorted((call.folder.parent / "bundles").glob("*.zip"))[: call.bundles]
        )
        return
    with tempfile.TemporaryDirectory(dir=call.folder) as name:
        root = Path(name)
        (root / "bundles").mkdir()
        bundles = write_bundles(root / "bundles", call.bundles, call.records, call.photos)
        size = sum(path.stat().st_size for path in bundles)
        records = call.bundles * call.records
        print(f"{len(bundles)} bundles, {records} records, {call.bundles * call.photos} pictures, "
              f"{size / 1e6:.0f} MB")  # fmt: skip
        times = {}
        for way in WAYS:
            count = call.bundles // 2 if way == "half" else call.bundles
            folder = root / ("merge" if way == "again" else way)
            folder.mkdir(exist_ok=True)
            made = subprocess.run(
                [sys.executable, "-m", "tests.benchmarks.merge", "--way", way, "--folder", str(folder),
                 "--bundles", str(count)],
                capture_output=True, text=True, check=True,
            )  # fmt: skip
            seconds, peak, before = map(float, made.stdout.split())
            times[way] = seconds
            done = count * call.records
            print(f"{way:12} {seconds:7.2f} s  {done / seconds:8.0f} records/s  peak {peak:5.0f} MB "
                  f"(before it began {before:.0f} MB)")  # fmt: skip
        print(f"merge / sqlite: {times['merge'] / times['sqlite']:.1f}")
        print(f"again / merge: {times['again'] / times['merge']:.2f}")
        print(f"all / half: {times['merge'] / times['half']:.2f} (2 where the time grows with the number)")


if __name__ == "__main__":
    main()
