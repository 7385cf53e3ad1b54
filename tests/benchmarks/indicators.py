"""How long the board of all indicators takes over a year of records, beside the audits alone.

::

    python -m tests.benchmarks.indicators --weeks 52

The peer, in the same run: the figures of the audits of the same sixteen weeks; these are most of what is
read.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from tests.auditors import Auditor, checklists_of_2020
from tests.desks import StreamDesk
from tests.fakes import Desk
from tests.sites import Site, contained
from walkapp.actions.audits.figures import audit_figures, last_weeks
from walkapp.actions.figures.catalogue import stream_figures
from walkapp.actions.indicators.board import indicator_board
from walkapp.actions.indicators.factors import factors_of, state_offers
from walkapp.actions.indicators.offers import OFFERS

LAST = date(2026, 6, 30)


def milliseconds(work: Callable[[], object], times: int = 5) -> float:
    """Give the median time of some runs."""
    taken = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begun)
    return 1000 * statistics.median(taken)


def year_of_records(desk: Desk, weeks: int) -> StreamDesk:
    """Invent audits of every layer and a contained concern each fortnight."""
    stream, auditor = StreamDesk(desk), Auditor(desk)
    for layer in auditor.plan.scheme.layers:
        for slot in auditor.plan.calendar.slots(layer, LAST - timedelta(weeks=weeks), LAST):
            auditor.audit(slot)
    for number in range(weeks // 2):
        day = LAST - timedelta(weeks=2 * number + 1)
        contained(Site(desk, reported_on=day.isoformat(), quantity=3))
    state_offers(stream.place, stream.facts, tuple(OFFERS.values()))
    return stream


def main() -> None:
    """Print the times and their ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--weeks", type=int, default=52)
    weeks = parser.parse_args().weeks
    with tempfile.TemporaryDirectory() as folder:
        desk = Desk(Path(folder), starts=datetime(2026, 6, 30, 20, 0, tzinfo=UTC))
        desk.place.checklists = checklists_of_2020(Path(folder) / "checklists")
        with desk.store:
            stream = year_of_records(desk, weeks)
            facts, place = stream.facts, stream.place
            known = facts.known
            assert known is not None

            shared = milliseconds(lambda: indicator_board(place, facts))
            audits = milliseconds(lambda: audit_figures(place, known, last_weeks(place, known, 16)))
            drawn = milliseconds(lambda: tuple(stream_figures(place, facts, "indicators")))
            print(f"{len(desk.records):,} records of {weeks} weeks, {len(factors_of(facts))} indicators")
            print(f"board: {shared:.0f} ms, {shared / audits:.1f} times as long as the audits alone")
            print(f"all figures of twelve months, before they are drawn: {drawn:.0f} ms")


if __name__ == "__main__":
    main()
