"""How many records a second are rolled up, and with how much memory, against bare DuckDB and pandas.

Run it with ``python -m tests.benchmarks.rollup [--records 10000000] [--bundles 1000] [--plants 20]
[--folder DIR] [--no-peer]``. The bundles are invented and are written as text, without making a record of
each row; in every tenth one the first tenth of the one before stands again, one record in a hundred is
taken back, and one in two hundred is corrected. Each way is a process of its own, so that the peak of its
memory can be told:

* *all*: :func:`walkapp.actions.rollup.roll_up` with all questions: every zip is opened with distrust, the
SHA-256 of
  each table compared, the shape of every cell that is read looked at, repeated records counted once, and
  what holds worked out; time to the end of the reading, then question by question;
* *counts*: the same with one question, with and without the comparison of the SHA-256;
* *duckdb*: the peer, which trusts everything: DuckDB alone counts parts by stream, defect, station and
check in one
  plain CSV of answers and one of counts that lie unpacked on the disk;
* *pandas*: the same by pandas, which reads only the columns that it needs.

The disk holds the zips and, for the peers, the same rows as plain CSV; all goes away at the end. Nothing is
asserted. The peers count more parts, since they know nothing of what was taken back.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import random
import resource
import subprocess
import sys
import tempfile
import time
import zipfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from datetime import date, timedelta
from pathlib import Path

from walkapp.actions.rollup import roll_up
from walkapp.bundle.archive import entry_of
from walkapp.bundle.descriptor import Listing, describe_file, write_descriptor
from walkapp.bundle.rows import row_columns
from walkapp.model.ids import book_id, compose_uuid7, desk_book_id
from walkapp.model.records import columns_of_kind

VALUES = {"on": date(2026, 6, 30), "within": 30}
_PEERS = ("duckdb", "pandas")
_DAY = date(2026, 1, 5)
_KINDS = (
    "concern", "walk_start", "answer", "count", "measurement", "withdrawal", "audit_start", "audit_answer",
    "action", "action_done", "change_point", "deliveries",
)  # fmt: skip
_STATIONS = ("moulding", "degating", "welding", "leak-test", "assembly", "packing", "warehouse", "dock")


def _id(bundle: int, number: int) -> str:
    # As random to the eye as real ones, so that they pack no smaller.
    bits = (number * 0x9E3779B97F4A7C15 ^ bundle * 0xC2B2AE3D27D4EB4F) % 2**62
    return compose_uuid7(1_760_000_000_000 + bundle * 977 + number, number * 31 & 0xFFF, bits)


class _Table:
    """The rows of one table, as text."""

    def __init__(self, kind: str) -> None:
        self.columns = tuple(columns_of_kind(kind))
        self.lines = [",".join(self.columns)]
        own = self.columns[len(columns_of_kind("withdrawal")) :]
        self._rest = "{head}," + ",".join(f"{{{name}}}" for name in own) if own else "{head}"
        self._empty = dict.fromkeys(own, "")

    def add(self, head: str, **cells: object) -> None:
        self.lines.append(self._rest.format_map({"head": head, **self._empty, **cells}))

    @property
    def data(self) -> bytes:
        return ("\r\n".join(self.lines) + "\r\n").encode("ascii")


def write_invented(task: tuple[Path, int, int, int, bool]) -> int:
    """Write one bundle of invented records, and the plain CSVs of its answers and counts for the peers."""
    folder, bundle, plants, records, with_plain = task
    chance = random.Random(bundle)
    concern, walk, device = _id(bundle, 1), _id(bundle, 2), _id(bundle, 3)
    stream, defect = f"stream-{bundle % 7}", f"defect-{bundle % 5}"
    tables = {kind: _Table(kind) for kind in _KINDS}
    number = iter(range(10, 10 + 4 * records))

    def head(scope: str = concern, of_walk: str = walk, replaces: str = "") -> str:
        n = next(number)
        moment = f"2026-0{1 + n % 6}-1{n % 9}T0{n % 9}:20:00.000+01:00"
        why = "undo" if replaces else ""
        return f"{_id(bundle, n)},{device},{n},{moment},QE-RT,{scope},{of_walk},{replaces},{why}"

    tables["concern"].add(
        f"{concern},{device},1,2026-01-05T06:20:00+01:00,QE-RT,{concern},,,", stream=stream, defect=defect,
        what="invented", severity="function", quantity=bundle % 90, reported_on="2026-03-03",
    )  # fmt: skip
    tables["walk_start"].add(
        f"{walk},{device},2,2026-01-05T06:21:00+01:00,QE-RT,{concern},{walk},,", stream=stream,
        checklist="ab" * 32, direction="down",
    )  # fmt: skip
    audit = ""
    last = ""
    for n in range(records - 2):
        turn, station = n % 200, _STATIONS[n * 7 % 8]
        if turn < 140:
            replaces = last if turn == 100 and last else ""
            line = head(replaces=replaces)
            tables["answer"].add(line, station=station, check="look", unit=f"cavity {n % 4}",
                                 answer="not_ok" if chance.random() < 0.03 else "ok")  # fmt: skip
            last = line[:36]
        elif turn < 156:
            tables["count"].add(head(), station=station, check="gauge", checked=30, nok=int(n % 11 == 0))
        elif turn < 184:
            tables["measurement"].add(
                head(), station=station, check="wall", value="2.05", unit_of_measure="mm"
            )
        elif turn < 195:
            day = _DAY + timedelta(days=n // 200 % 150)
            book = book_id(stream, day)
            if turn == 184:
                line = head(book, "")
                audit = line[:36]
                tables["audit_start"].add(
                    line, stream=stream, checklist="ab" * 32, layer="supervisor", day=day
                )
            else:
                word = "not_ok" if n % 97 == 0 else "ok"
                tables["audit_answer"].add(
                    head(book, ""),
                    audit=audit,
                    station=station,
                    question=f"q-{turn}",
                    asked="On?",
                    answer=word,
                )
        elif turn == 195:
            line = head(of_walk="")
            tables["action"].add(line, action=line[:36], aim="corrective", what="invented", owner="PL",
                                 due_on=_DAY + timedelta(days=n % 200))  # fmt: skip
            if n % 3:
                tables["action_done"].add(
                    head(of_walk=""), action=line[:36], done_on="2026-05-01", evidence="x"
                )
        elif turn == 196:
            tables["change_point"].add(
                head(), station=station, change="machine", what="pads", customer_told="no"
            )
        else:
            tables["withdrawal"].add(head(replaces=last))
            last = ""
    book = desk_book_id(stream)
    tables["deliveries"].add(head(book, ""), stream=stream, month="2026-03-01", delivered=50_000)
    members = {f"{kind}.csv": table.data for kind, table in tables.items() if len(table.lines) > 1}
    names = ",".join(column.name for column in row_columns())
    share = "0.03,0.01,0.05,0.97,bad,leak-test"
    members["first_bad_station.csv"] = (
        f"{names}\r\n{concern},{defect},4,leak-test,90,3,{share},{stream}\r\n".encode()
    )
    if bundle % 10 == 9:
        _repeat(folder, bundle, members)
    (folder / "heads").mkdir(exist_ok=True)
    if bundle % 10 == 8:
        tenth = tables["answer"].lines[1 : len(tables["answer"].lines) // 10]
        (folder / "heads" / f"{bundle}.csv").write_text("\r\n".join(tenth) + "\r\n", encoding="ascii")
    if with_plain:
        for kind in ("answer", "count"):
            (folder / "plain" / f"{kind}-{bundle}.csv").write_bytes(members[f"{kind}.csv"])
    _pack(folder / "bundles" / f"plant-{bundle % plants:03d}" / f"{bundle}.zip", members)
    return sum(data.count(b"\r\n") - 1 for name, data in members.items() if name != "first_bad_station.csv")


def _repeat(folder: Path, bundle: int, members: dict[str, bytes]) -> None:
    """Let a bundle hold answers of the one before as well."""
    before = folder / "heads" / f"{bundle - 1}.csv"
    if before.exists():
        members["answer.csv"] += before.read_bytes()


def _pack(path: Path, members: dict[str, bytes]) -> None:
    listings = [
        Listing(path=name, size_bytes=len(data), sha256=hashlib.sha256(data).hexdigest())
        for name, data in members.items()
    ]
    members["datapackage.json"] = write_descriptor(map(describe_file, listings), "2026-06-30T06:00:00Z")
    path.parent.mkdir(parents=True, exist_ok=True)
    with zipfile.ZipFile(path, "w", compresslevel=1) as packed:
        for name, data in members.items():
            packed.writestr(entry_of(name, len(data), zipfile.ZIP_DEFLATED), data, compresslevel=1)


def measure(way: str, folder: Path) -> None:
    """Do it one way, and print seconds and peak memory."""
    started = time.perf_counter()
    steps: list[float] = []
    lines: list[str] = []
    if way in ("all", "counts", "counts, no hashes"):
        seen = [0]

        def watch(done: int, total: int) -> None:
            seen[0] += 1
            steps.append(time.perf_counter() - started)

        names = () if way == "all" else ("counts",)
        found = roll_up(
            folder / "bundles", names, values=VALUES, check_hashes="no" not in way, progress=watch
        )
        reading = steps[found.bundles - 1]
        lines.append(
            f"    read {reading:6.1f} s, settle and prepare {steps[found.bundles] - reading:6.1f} s"
        )
        for place, one in enumerate(found.answers):
            took = steps[found.bundles + 1 + place] - steps[found.bundles + place]
            lines.append(f"    {one.question.name:20s} {took:6.2f} s  {len(one.rows):6d} rows")
        lines.append(f"    {found.rows} records, {len(found.left_out)} bundles left out")
        counts = next(one for one in found.answers if one.question.name == "counts")
        lines.append(f"    parts {sum(row['checked'] for row in counts.rows)}")
    elif way == "duckdb":
        lines.append(f"    parts {_by_duckdb(folder)}")
    else:
        lines.append(f"    parts {_by_pandas(folder)}")
    seconds = time.perf_counter() - started
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1_000
    used = resource.getrusage(resource.RUSAGE_SELF)
    print(f"{seconds:.3f} {used.ru_utime + used.ru_stime:.3f} {peak_mb:.0f}")
    print("\n".join(lines))


def _by_duckdb(folder: Path) -> int:
    import duckdb

    base = duckdb.connect()
    plain = folder / "plain"
    found = base.execute(
        "SELECT concern, station, c, SUM(checked), SUM(nok) FROM ("
        "SELECT concern, station, \"check\" AS c, 1 AS checked, (answer = 'not_ok')::INT AS nok "
        f"FROM read_csv('{plain}/answer.csv', header = true, all_varchar = true) "
        "WHERE answer <> 'not_applicable' "
        'UNION ALL SELECT concern, station, "check", checked::INT, nok::INT '
        f"FROM read_csv('{plain}/count.csv', header = true, all_varchar = true)) GROUP BY ALL"
    ).fetchall()
    return int(sum(row[3] for row in found))


def _by_pandas(folder: Path) -> int:
    import pandas as pd

    plain = folder / "plain"
    answers = pd.read_csv(
        plain / "answer.csv", usecols=["concern", "station", "check", "answer"], dtype="str"
    )
    answers = answers[answers["answer"] != "not_applicable"]
    nok = (answers["answer"] == "not_ok").groupby(
        [answers["concern"], answers["station"], answers["check"]]
    )
    counts = pd.read_csv(plain / "count.csv", usecols=["concern", "station", "check", "checked", "nok"])
    parts = counts.groupby(["concern", "station", "check"])[["checked", "nok"]].sum()
    return int(nok.count().sum() + parts["checked"].sum())


def _generate(folder: Path, records: int, bundles: int, plants: int, with_plain: bool) -> int:
    (folder / "plain").mkdir()
    tasks = [(folder, bundle, plants, records // bundles, with_plain) for bundle in range(bundles)]
    with ProcessPoolExecutor(max_workers=os.cpu_count()) as workers:
        # In two goes, so that what is repeated is there.
        first = workers.map(write_invented, [task for task in tasks if task[1] % 10 != 9])
        total = sum(first)
        total += sum(workers.map(write_invented, [task for task in tasks if task[1] % 10 == 9]))
    if with_plain:
        for kind in ("answer", "count"):
            _join(folder / "plain", kind)
    return total


def _join(plain: Path, kind: str) -> None:
    with (plain / f"{kind}.csv").open("wb") as whole:
        for place, path in enumerate(sorted(plain.glob(f"{kind}-*.csv"))):
            data = path.read_bytes()
            whole.write(data if place == 0 else data.split(b"\r\n", 1)[1])
            path.unlink()


def _ways(with_peer: bool) -> Iterator[str]:
    yield from ("all", "counts", "counts, no hashes")
    if with_peer:
        yield from _PEERS


def main() -> None:
    """Generate, measure every way in a process of its own, print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--records", type=int, default=10_000_000)
    parser.add_argument("--bundles", type=int, default=1_000)
    parser.add_argument("--plants", type=int, default=20)
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--no-peer", action="store_true")
    parser.add_argument("--way", help=argparse.SUPPRESS)
    call = parser.parse_args()
    if call.way:
        measure(call.way, call.folder)
        return
    with tempfile.TemporaryDirectory(dir=call.folder) as name:
        folder = Path(name)
        started = time.perf_counter()
        total = _generate(folder, call.records, call.bundles, call.plants, not call.no_peer)
        packed = sum(path.stat().st_size for path in (folder / "bundles").rglob("*.zip"))
        print(
            f"{total} records in {call.bundles} bundles of {call.plants} plants, {packed / 1e6:.0f} MB "
            f"packed, made in {time.perf_counter() - started:.0f} s; "
            f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}"
        )
        took: dict[str, float] = {}
        for way in _ways(not call.no_peer):
            command = [
                sys.executable,
                "-m",
                "tests.benchmarks.rollup",
                "--way",
                way,
                "--folder",
                str(folder),
            ]
            done = subprocess.run(command, stdout=subprocess.PIPE, text=True, check=True)
            numbers, *lines = done.stdout.splitlines()
            seconds, cpu_s, peak_mb = map(float, numbers.split())
            took[way] = cpu_s
            told = (
                f"{way}: {seconds:.1f} s, of the processor {cpu_s:.1f} s; {total / seconds:,.0f} records/s"
            )
            ratio = f", {took['counts'] / cpu_s:.1f} times less than counts" if way in _PEERS else ""
            print(f"{told}, peak {peak_mb:.0f} MB{ratio}", *lines, sep="\n")


if __name__ == "__main__":
    main()
