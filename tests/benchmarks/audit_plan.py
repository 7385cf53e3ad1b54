"""How long the plan of a year takes, and today's list of audits from a store with a year of them.

Run it with ``python -m tests.benchmarks.audit_plan [--repeats N] [--folder DIR]``.

*The plan*: one year, 200 stations, 2,000 questions, 4 layers (each shift, day, week, month), from nothing.
Its peer draws as many stations and questions for every audit with Python's own generator, seeded by the
audit: also the same on every tablet, but it promises nothing. A second row has questions that begin and
end on 500 different days.

*Today's list*: a store with every audit of a year begun, answered and signed. *Cold* is the first list of a
freshly opened store, *warm* the next one; *after a tap* the book has a record more and is sorted out anew.
Its peer reads the journal of the same month, line by line as JSON, and does nothing with it: less than the
least that a cold list can cost. *Month* is the list of a whole month.

Nothing is asserted: the figures and the ratios are for reading.
"""

from __future__ import annotations

import argparse
import gc
import json
import random
import statistics
import tempfile
import time
from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta
from pathlib import Path

from tests.builders import SteppingClock, id_maker
from tests.fakes import CHECKLISTS
from tests.plans import calendar, layer, question, stream_of
from walkapp.actions.audits.reading import zone_of
from walkapp.actions.audits.states import planned_between, todays_audits
from walkapp.actions.workplace import Workplace
from walkapp.analysis.audits.plan import AuditPlan
from walkapp.model.checklist import Stream
from walkapp.model.ids import book_id
from walkapp.model.records import AuditAnswer, AuditReaction, AuditSigned, AuditStart, Record
from walkapp.store import Store

FIRST, LAST = date(2026, 1, 5), date(2027, 1, 4)
STREAM = "washer-reservoir"


def large_stream(changes: int = 0) -> Stream:
    """200 stations with ten questions each; some of which begin or end on that many days."""
    questions = [
        question(
            f"s{station:03}",
            f"q{number}",
            often=(1, 1, 1, 2, 4)[(station + number) % 5],
            since=_day_of_change(10 * station + number, changes, begins=True),
            until=_day_of_change(10 * station + number, changes, begins=False),
        )
        for station in range(200)
        for number in range(10)
    ]
    layers = [layer("shift", stations=3), layer("day", stations=4), layer("week", stations=8),
              layer("month", stations=20)]  # fmt: skip
    often = tuple((f"s{station:03}", 2) for station in range(0, 200, 10))
    return stream_of(questions, layers, on=calendar(begins=FIRST), station_often=often)


def _day_of_change(place: int, changes: int, *, begins: bool) -> date | None:
    if place >= changes or begins == (place % 2 == 1):
        return None
    return FIRST + timedelta(days=3 * place % 1500 - 400 if begins else 3 * place % 1500)


def plan_a_year(stream: Stream) -> int:
    """Work out every audit of a year; give how many questions are asked."""
    plan = AuditPlan(stream)
    return sum(
        len(visit.questions)
        for one in plan.scheme.layers
        for slot in plan.calendar.slots(one, FIRST, LAST)
        for visit in plan.visits(slot)
    )


def draw_a_year(stream: Stream) -> int:
    """The peer: the same audits, each with stations and questions drawn for it alone."""
    plan = AuditPlan(stream)
    stations = [station.id for station in stream.stations]
    at = {name: [q for q in plan.scheme.questions if q.station == name] for name in stations}
    asked = 0
    for one in plan.scheme.layers:
        for slot in plan.calendar.slots(one, FIRST, LAST):
            chance = random.Random(f"{slot.key}")
            for name in chance.sample(stations, one.stations):
                asked += len(chance.sample(at[name], min(one.questions, len(at[name]))))
    return asked


def fill(folder: Path) -> int:
    """Put a year of audits of the ready-made stream into a store; give how many records they have."""
    clock, new_id = SteppingClock(), id_maker()
    with Store(folder, now=clock, new_id=new_id, app="benchmark") as store:
        place = Workplace(store=store, checklists=CHECKLISTS, now=clock, new_id=new_id)
        stream = place.stream(STREAM)
        digest, plan, zone = place.keep_checklist(STREAM), place.audit_plan(stream), zone_of(stream)
        records: list[Record] = []
        slots = [
            slot for one in plan.scheme.layers for slot in plan.calendar.slots(one, date(2026, 1, 26), LAST)
        ]
        for slot in sorted(slots, key=lambda slot: (slot.first_on, slot.layer, slot.shift)):
            clock.time = plan.calendar.opens_at(slot, zone) + timedelta(minutes=20)

            def add(kind: type[Record], book: str = book_id(STREAM, slot.day), **fields: object) -> str:
                header = {
                    "id": place.new_id(),
                    "device": store.device,
                    "number": store.next_number + len(records),
                    "at": clock().isoformat(),
                    "by": "SL-AB",
                    "concern": book,
                }
                records.append(kind(**header, **fields))  # type: ignore[arg-type]
                return records[-1].id

            start = add(AuditStart, stream=STREAM, checklist=digest, layer=slot.layer,
                        day=slot.day.isoformat(), shift=slot.shift)  # fmt: skip
            for visit in plan.visits(slot):
                for asked in visit.questions:
                    is_nok = len(records) % 41 == 0
                    answer = add(AuditAnswer, audit=start, station=visit.station.id, question=asked.id,
                                 asked=asked.ask, answer="not_ok" if is_nok else "ok")  # fmt: skip
                    if is_nok:
                        add(
                            AuditReaction,
                            audit=start,
                            finding=answer,
                            reaction="corrected",
                            what="invented",
                        )
            add(AuditSigned, audit=start, ok=6, nok=0, not_applicable=0)
        for at in range(0, len(records), 1000):
            store.append_all(records[at : at + 1000])
        return len(records)


def milliseconds(work: Callable[..., object], *given: object) -> float:
    """Time one call."""
    gc.collect()
    begun = time.perf_counter()
    work(*given)
    return 1000 * (time.perf_counter() - begun)


def read_lines(folder: Path, books: Sequence[str]) -> None:
    """The peer: read the journals of some books as JSON and do nothing with them."""
    for book in books:
        for path in folder.rglob(f"{book}.journal"):
            for line in path.read_bytes().split(b"\n")[1:-1]:
                json.loads(line[9:])


def measure_lists(folder: Path, repeats: int) -> dict[str, list[float]]:
    """Milliseconds of today's list (cold, warm, after a tap), of a month's list, and of the peer."""
    now = datetime.fromisoformat("2026-12-16T10:00:00+01:00")
    first, last = date(2026, 12, 1), date(2026, 12, 31)
    times: dict[str, list[float]] = {what: [] for what in ("cold", "warm", "after a tap", "month", "peer")}
    for _ in range(repeats):
        with Store(folder, now=lambda: now, new_id=id_maker(7), app="benchmark", writable=False) as store:
            place = Workplace(store=store, checklists=CHECKLISTS, now=lambda: now, new_id=id_maker(7))
            stream = place.stream(STREAM)
            times["cold"].append(milliseconds(todays_audits, place, stream))
            times["warm"].append(milliseconds(todays_audits, place, stream))
            place._books.clear()  # as after one more record in the book
            times["after a tap"].append(milliseconds(todays_audits, place, stream))
            times["month"].append(milliseconds(planned_between, place, stream, first, last))
        times["peer"].append(milliseconds(read_lines, folder, [book_id(STREAM, first)]))
    return times


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--repeats", type=int, default=7)
    parser.add_argument("--folder", type=Path, help="a folder on the disk to measure")
    options = parser.parse_args()
    print("The plan of one year, 200 stations, 2,000 questions, 4 layers; median of each, in ms")
    for changes in (0, 500):
        stream = large_stream(changes)
        ours = [milliseconds(plan_a_year, stream) for _ in range(options.repeats)]
        peer = [milliseconds(draw_a_year, stream) for _ in range(options.repeats)]
        asked, mine, theirs = plan_a_year(stream), statistics.median(ours), statistics.median(peer)
        print(
            f"  lists change on {changes:>3} days: plan {mine:7.1f}, plain draw {theirs:7.1f}, "
            f"ratio {mine / theirs:.2f} ({asked:,} questions)"
        )
    with tempfile.TemporaryDirectory(dir=options.folder) as name:
        many = fill(Path(name) / "store")
        times = measure_lists(Path(name) / "store", options.repeats)
    print(f"\nToday's list from a store with a year of audits, {many:,} records; median (least), in ms")
    peer_ms = statistics.median(times["peer"])
    for what, found in times.items():
        mine = statistics.median(found)
        print(f"  {what:<12} {mine:7.1f} ({min(found):.1f})   ratio to the peer {mine / peer_ms:.2f}")


if __name__ == "__main__":
    main()
