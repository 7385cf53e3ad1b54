"""``python -m tests.benchmarks.check``: a check of a large store, and what taps feel of it.

Prints how long the check takes, how much memory it needs, how long the store's lock is held at most in
one piece, and the time of a tap while the check runs in another thread, against a tap in the same store
without it.
"""

from __future__ import annotations

import argparse
import tempfile
import threading
import time
import tracemalloc
from pathlib import Path
from statistics import median, quantiles

from tests.store.support import HastyDisk, answer, make_id, open_store, photo
from walkapp.files import sha256_of

PHOTO_BYTES = 3_000_000
TAPS = 400


class WatchedLock:
    """The lock of a store, with the longest time that one thread held it."""

    def __init__(self, lock) -> None:
        self._lock = lock
        self._since: dict[int, tuple[int, float]] = {}
        self.longest_s: dict[int, float] = {}

    def __enter__(self) -> None:
        self._lock.acquire()
        me = threading.get_ident()
        depth, since = self._since.get(me, (0, time.perf_counter()))
        self._since[me] = depth + 1, since

    def __exit__(self, *_: object) -> None:
        me = threading.get_ident()
        depth, since = self._since.pop(me)
        if depth > 1:
            self._since[me] = depth - 1, since
        else:
            self.longest_s[me] = max(self.longest_s.get(me, 0), time.perf_counter() - since)
        self._lock.release()


def fill(folder: Path, entries: int, walks: int, photos: int) -> None:
    """Make a store of that size; not waiting for the disk."""
    with open_store(folder, disk=HastyDisk()) as store:
        for walk in range(walks):
            first = store.next_number
            many = entries // walks
            store.append_all(answer(n, walk=make_id(10**6 + walk)) for n in range(first, first + many))
        for number in range(photos):
            data = number.to_bytes(8, "big") * (PHOTO_BYTES // 8)
            store.add_photo(sha256_of(data) + ".png", data)
            store.append(photo(store.next_number, sha256_of(data)))


def taps(store, *, until=lambda: True) -> list[float]:
    """Tap at a person's pace, at most; give the seconds of each."""
    seconds = []
    while len(seconds) < TAPS or not until():
        record = answer(store.next_number)
        begin = time.perf_counter()
        store.append(record)
        seconds.append(time.perf_counter() - begin)
        time.sleep(0.002)
    return seconds


def main() -> int:
    """Fill a store, check it, tap meanwhile, and tell."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.check", description=__doc__.split("\n")[0]
    )
    parser.add_argument("--entries", type=int, default=100_000, help="entries (default %(default)s)")
    parser.add_argument("--walks", type=int, default=800, help="walks (default %(default)s)")
    parser.add_argument("--photos", type=int, default=200, help="pictures of 3 MB (default %(default)s)")
    call = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "store"
        fill(folder, call.entries, call.walks, call.photos)
        with open_store(folder, writable=False) as store:
            begin = time.perf_counter()
            report = store.check()
            print(
                f"{report.entries} entries, {report.photos} pictures checked in "
                f"{time.perf_counter() - begin:.1f} s, {len(report.findings)} findings"
            )
            tracemalloc.start()
            store.check()
            print(f"most memory in use by the check: {tracemalloc.get_traced_memory()[1] / 2**20:.0f} MB")
            tracemalloc.stop()
        with open_store(folder) as store:
            alone = taps(store)
            lock = store._archive.lock = WatchedLock(store._archive.lock)
            checker = threading.Thread(target=store.check)
            checker.start()
            me = checker.ident
            meanwhile = taps(store, until=lambda: not checker.is_alive())
            checker.join()
    print(f"longest time that the check held the lock: {1000 * lock.longest_s.get(me, 0):.2f} ms")
    for name, seconds in (("without", alone), ("during", meanwhile)):
        print(
            f"tap {name} the check: median {1000 * median(seconds):.2f} ms, 99 % below "
            f"{1000 * quantiles(seconds, n=100)[98]:.1f} ms, longest {1000 * max(seconds):.1f} ms "
            f"({len(seconds)} taps)"
        )
    print(f"ratio of the medians: {median(meanwhile) / median(alone):.2f}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
