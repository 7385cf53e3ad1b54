"""How long one durable record takes, by the number of records that are there already.

Run it with ``python -m tests.benchmarks.append [--repeats N] [--folder DIR]``. Four ways to save the
same records take turns, so that noise of the machine hits all of them:

* *bare*: append one line of the same size to a file, ``fsync`` (the least that durable can cost);
* *store*: :meth:`walkapp.store.Store.append`, all history in one walk, which is loaded;
* *sqlite*: sqlite3, WAL with ``synchronous=FULL``, one transaction for each record;
* *tinydb*: TinyDB as shipped, on a JSON file.

Nothing is asserted: the table and the ratios are for reading.
"""

from __future__ import annotations

import argparse
import gc
import json
import os
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from tinydb import TinyDB

from tests.store.support import CONCERN, DEVICE, WALK, note, open_store
from walkapp.model.records import record_to_plain
from walkapp.store.lines import encode_line
from walkapp.store.reading import Header

HISTORIES = (100, 10_000, 100_000)
WAYS = ("bare", "store", "sqlite", "tinydb")


def measure(folder: Path, history: int, repeats: int, slow_repeats: int) -> dict[str, list[float]]:
    """Milliseconds of each durable append, by way."""
    lines = [encode_line(record_to_plain(note(n))) for n in range(1, history + 1)]
    header = Header(scope=WALK, concern=CONCERN, device=DEVICE, created="2026-03-02T06:10:00Z", app="0")

    bare = os.open(folder / "bare", os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    os.write(bare, b"".join(lines))
    os.fsync(bare)

    root = folder / "store"
    open_store(root).close()
    (root / "journals" / "own" / f"{WALK}.journal").write_bytes(header.encode() + b"".join(lines))
    begun = time.perf_counter()
    store = open_store(root)
    opened = time.perf_counter()
    store.records(WALK)
    print(
        f"history {history}: opening {1000 * (opened - begun):.1f} ms, "
        f"reading the walk {1000 * (time.perf_counter() - opened):.1f} ms"
    )

    sqlite = sqlite3.connect(folder / "sqlite", isolation_level=None)
    sqlite.execute("PRAGMA journal_mode=WAL")
    sqlite.execute("PRAGMA synchronous=FULL")
    sqlite.execute("CREATE TABLE record (id TEXT PRIMARY KEY, line BLOB)")
    sqlite.execute("BEGIN")
    sqlite.executemany("INSERT INTO record VALUES (?, ?)", ((str(n), x) for n, x in enumerate(lines)))
    sqlite.execute("COMMIT")

    documents = {str(n): json.loads(line[9:]) for n, line in enumerate(lines, start=1)}
    (folder / "tinydb").write_text(json.dumps({"_default": documents}), encoding="utf-8")
    del documents
    shipped = TinyDB(folder / "tinydb")

    def append_bare(n: int) -> Callable[[], object]:
        line = encode_line(record_to_plain(note(n)))
        return lambda: (os.write(bare, line), os.fsync(bare))

    def append_store(n: int) -> Callable[[], object]:
        record = note(n)
        return lambda: store.append(record)

    def append_sqlite(n: int) -> Callable[[], object]:
        row = (f"new {n}", encode_line(record_to_plain(note(n))))
        return lambda: sqlite.execute("INSERT INTO record VALUES (?, ?)", row)

    def append_tinydb(n: int) -> Callable[[], object]:
        document = record_to_plain(note(n))
        return lambda: shipped.insert(document)

    makers = dict(zip(WAYS, (append_bare, append_store, append_sqlite, append_tinydb), strict=True))
    times: dict[str, list[float]] = {way: [] for way in WAYS}
    gc.collect()
    gc.freeze()  # The history's objects are no part of an append; a collection would count them.
    for turn in range(repeats):
        for way in (*WAYS[turn % 3 : 3], *WAYS[: turn % 3], *WAYS[3:]):
            if way == "tinydb" and turn % max(repeats // slow_repeats, 1):
                continue
            action = makers[way](history + turn + 1)
            begun = time.perf_counter()
            action()
            times[way].append(1000 * (time.perf_counter() - begun))
    gc.unfreeze()
    store.close()
    os.close(bare)
    sqlite.close()
    shipped.close()
    return times


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--repeats", type=int, default=1000)
    parser.add_argument("--slow-repeats", type=int, default=5, help="of TinyDB as shipped, above 10,000")
    parser.add_argument("--folder", type=Path, help="a folder on the disk to measure")
    options = parser.parse_args()
    rows = []
    for history in HISTORIES:
        with tempfile.TemporaryDirectory(dir=options.folder) as name:
            slow = options.slow_repeats if history > 10_000 else 20 * options.slow_repeats
            rows.append((history, measure(Path(name), history, options.repeats, slow)))
    print(f"\nOne durable record in ms, median (99th percentile), {options.repeats} repeats")
    print(f"{'history':>8}" + "".join(f"{way:>22}" for way in WAYS) + f"{'store / bare':>14}")
    medians = {}
    for history, times in rows:
        medians[history] = {way: statistics.median(times[way]) for way in WAYS}
        tails = {way: sorted(times[way])[int(0.99 * (len(times[way]) - 1))] for way in WAYS}
        cells = "".join(f"{f'{medians[history][way]:.3f} ({tails[way]:.3f})':>22}" for way in WAYS)
        print(f"{history:>8}{cells}{medians[history]['store'] / medians[history]['bare']:>14.2f}")
    first, last = medians[HISTORIES[0]]["store"], medians[HISTORIES[-1]]["store"]
    print(f"store at {HISTORIES[-1]} / store at {HISTORIES[0]}: {last / first:.2f}")


if __name__ == "__main__":
    main()
