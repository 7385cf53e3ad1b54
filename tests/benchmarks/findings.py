"""How long the open findings take over years of audits, beside reading the same records alone.

::

    python -m tests.benchmarks.findings --months 36
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

from tests.audited import STREAM, audited
from tests.builders import make, record_id
from walkapp.actions.audits.findings import closed_findings, open_findings
from walkapp.actions.books import books_of
from walkapp.actions.searching import Finder
from walkapp.actions.workplace import Workplace
from walkapp.model.ids import book_id
from walkapp.model.records import AuditAnswer, AuditReaction, AuditStart, Record

AUDITS, QUESTIONS, NOK_IN = 100, 6, 20
"""Audits of one month, questions of each, and one NOK in so many answers."""


def month_of_audits(number: int, day: date) -> list[Record]:
    """Invent the audits of a month."""
    book = {"concern": book_id(STREAM, day), "walk": ""}
    made: list[Record] = []
    at = 10_000 + number * 2_000
    for _ in range(AUDITS):
        start = at
        made.append(make(AuditStart, at, **book, stream=STREAM, checklist="a" * 64, layer="supervisor",
                         day=day.isoformat()))  # fmt: skip
        for question in range(QUESTIONS):
            at += 1
            is_nok = at % NOK_IN == 0
            made.append(make(AuditAnswer, at, **book, audit=record_id(start), station="weld",
                             question=f"q-{question}", asked="Pads as in the sheet?",
                             answer="not_ok" if is_nok else "ok"))  # fmt: skip
            if is_nok:
                at += 1
                made.append(make(AuditReaction, at, **book, audit=record_id(start),
                                 finding=record_id(at - 1), reaction="contained", what="held and marked",
                                 owner="SL", due_on=day.isoformat()))  # fmt: skip
        at += 1
    return made


def milliseconds(work: Callable[[], object], times: int) -> float:
    """Give the median time of some runs."""
    taken = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        taken.append((time.perf_counter() - begun) * 1000)
    return statistics.median(taken)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="tests.benchmarks.findings")
    parser.add_argument("--months", type=int, default=36, help="default %(default)s")
    months = parser.parse_args().months
    with tempfile.TemporaryDirectory() as folder:
        bench = audited(Path(folder))
        with bench.desk.store as store:
            first = date(2023, 4, 1)
            records = [r for n in range(months) for r in month_of_audits(n, first + timedelta(days=31 * n))]
            store.merge(records, name="years", photos={}, checklists={})

            def place() -> Workplace:
                return Workplace(
                    store=store, checklists=None, now=bench.place.now, new_id=bench.place.new_id
                )

            year = place()
            read = milliseconds(lambda: [store.records(book) for book in books_of(place())], 1)
            since = date(2025, 3, 9)
            newest = milliseconds(lambda: open_findings(year, since=since), 1)
            begun = place()
            once = milliseconds(lambda: open_findings(begun), 1)
            again = milliseconds(lambda: (open_findings(begun), closed_findings(begun)), 9)
            finder = Finder(place())
            index = milliseconds(finder.update, 1)
            found = len(open_findings(begun))
            print(f"{months} audit books, {len(records)} records, {found} open findings")
            print(f"reading the records alone            {read:8.1f} ms")
            print(f"open findings of a year, first time  {newest:8.1f} ms, {newest / read:.2f} of it")
            print(f"open findings, first time            {once:8.1f} ms, {once / read:.2f} of it")
            print(f"open and closed ones, again          {again:8.1f} ms, {again / read:.3f} of it")
            print(f"looking through all for the search   {index:8.1f} ms, {index / read:.2f} of it")


if __name__ == "__main__":
    main()
