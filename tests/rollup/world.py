"""Three invented plants: their bundles overlap, contradict each other and are of several formats."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from tests.builders import make, record_id
from tests.rollup.plants import write_plant
from walkapp.bundle import FirstBadRow
from walkapp.model.ids import book_id, desk_book_id
from walkapp.model.records import (
    Action,
    ActionDone,
    Answer,
    AuditAnswer,
    AuditMissed,
    AuditSigned,
    AuditStart,
    CarriedRecord,
    ChangePoint,
    Concern,
    Count,
    Deliveries,
    EffectCheck,
    Escalation,
    Lesson,
    Note,
    ReadAcross,
    Record,
    Withdrawal,
)

OLD_FILES = Path(__file__).parent.parent / "bundle" / "old_files"
TODAY = date(2026, 4, 15)
PLANTS = ("North", "South; =1+1", "West's")
_STATIONS = ("moulding", "welding", "leak-test")
_TEXTS = ("=1+1", "worn, -5 °C", "two\nlines", "'quoted'", 'said "no"', "a;=b", "plain", "\u202ertl")
_FIRST = date(2026, 1, 5)


class _Maker:
    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)
        self.next = 10_000 * (seed + 1)

    def make(self, kind: type[Record], concern: str, **fields: Any) -> Record:
        self.next += 1
        walk = fields.pop("walk", "")
        return make(kind, self.next, concern=concern, walk=walk, **fields)

    def text(self) -> str:
        return self.chance.choice(_TEXTS)

    def day(self) -> str:
        return (_FIRST + timedelta(days=self.chance.randrange(100))).isoformat()

    def one(self, *words: Any) -> Any:
        return self.chance.choice(words)


def records_of_a_concern(seed: int, stream: str) -> list[Record]:
    """Everything about one concern, with corrections, withdrawals, conflicts and twins."""
    m = _Maker(seed)
    concern, walk = record_id(m.next), record_id(m.next + 5_000)
    found = [
        make(Concern, m.next, id=concern, concern=concern, walk="", stream=stream,
             defect=m.one("cracked-ear", "short-shot"), what=m.text(), severity=m.one("safety", "function"),
             quantity=m.one(None, 3, 40), reported_on=m.one("", m.day()),
             part_number=m.one("", "A-1", " a-1 ")),
    ]  # fmt: skip
    if m.one(True, False):
        found.append(m.make(Escalation, concern, told="plant manager", told_at="2026-02-01T08:00:00Z"))
    for station in _STATIONS:
        for _ in range(4):
            word = m.one("ok", "not_ok", "not_applicable")
            found.append(
                m.make(
                    Answer, concern, walk=walk, station=station, check="look", answer=word, reason=m.text()
                )
            )
        checked = m.chance.randrange(50)
        nok = m.chance.randrange(checked + 1)
        found.append(
            m.make(Count, concern, walk=walk, station=station, check="gauge", checked=checked, nok=nok)
        )
        found.append(
            m.make(ChangePoint, concern, walk=walk, station=station, change=m.one("man", "machine"),
                   what=m.text(), changed_on=m.one("", m.day()),
                   customer_told=m.one("yes", "no", "unknown"))
        )  # fmt: skip
    for _ in range(3):
        action = record_id(m.next + 1)
        found.append(
            m.make(Action, concern, action=action, aim=m.one("corrective", "containment"), what=m.text(),
                   owner="PL", due_on=m.day(), at_most=m.one("", "0.05"))
        )  # fmt: skip
        if m.one(True, True, False):
            done = m.day()
            found.append(m.make(ActionDone, concern, action=action, done_on=done, evidence=m.text()))
            found.append(
                m.make(EffectCheck, concern, action=action,
                       checked_on=m.one(done, "2026-04-14", "2026-01-01"),
                       before_checked=60, before_nok=12, after_checked=59, after_nok=m.one(0, 9))
            )  # fmt: skip
    found += [
        m.make(ReadAcross, concern, other_stream=other, other_station="leak-test", words=m.text(),
               status=m.one("to_check", "affected", "clean"), due_on=m.one("", m.day()))
        for other in ("line-2", "line-3")
    ]  # fmt: skip
    if m.one(True, False):
        found.append(m.make(Lesson, concern, worked=m.text(), to_change=m.text()))
    found.append(m.make(CarriedRecord, concern, carried_kind="marking", cells=(("shape", "=ring"),)))
    return [*found, *_quarrels(m, concern, walk, found)]


def _quarrels(m: _Maker, concern: str, walk: str, found: list[Record]) -> Iterator[Record]:
    counts = [r for r in found if isinstance(r, Count)]
    answers = [r for r in found if isinstance(r, Answer)]
    wrong = counts[0]
    for nok in (0, 1):  # two tablets correct the same count apart from each other
        yield m.make(Count, concern, walk=walk, station=wrong.station, check="gauge", checked=60, nok=nok,
                     replaces=(wrong.id,))  # fmt: skip
    yield m.make(Withdrawal, concern, walk=walk, replaces=(answers[0].id,))
    back = m.make(Withdrawal, concern, walk=walk, replaces=(answers[1].id,))
    yield back
    yield m.make(
        Answer, concern, walk=walk, station="moulding", check="look", answer="ok", replaces=(back.id,)
    )
    twin = answers[2]
    for word in ("ok", "not_ok"):
        yield make(Answer, twin.number, concern=concern, walk=walk, station=twin.station, check="look",
                   answer=word)  # fmt: skip
    yield m.make(CarriedRecord, concern, walk=walk, carried_kind="marking", cells=(("shape", "x"),),
                 replaces=(counts[2].id,))  # fmt: skip
    yield m.make(Note, concern, walk=walk, station="welding", words="never here", replaces=(record_id(1),))


def records_of_books(seed: int, stream: str) -> list[Record]:
    """Audits and deliveries of one stream."""
    m = _Maker(500 + seed)
    found: list[Record] = []
    for week in range(10):
        day = _FIRST + timedelta(days=7 * week)
        book = book_id(stream, day)
        audit = record_id(m.next + 1)
        paper = {"paper_by": "SL", "paper_from": f"{day}T06:00:00Z", "paper_until": f"{day}T06:10:00Z"}
        found.append(
            m.make(AuditStart, book, stream=stream, checklist="a" * 64,
                   layer=m.one("shift-lead", "supervisor"), day=day.isoformat(), **m.one({}, paper))
        )  # fmt: skip
        for question in ("guard", "torque"):
            found += [
                m.make(AuditAnswer, book, audit=audit, station="welding", question=question, asked=m.text(),
                       answer=m.one("ok", "not_ok", "not_ok", "not_applicable"), reason="no such",
                       at=f"{day + timedelta(days=1)}T05:00:00+01:00")
                for _ in range(m.one(1, 1, 2))
            ]  # fmt: skip
        if m.one(True, False):
            found.append(m.make(AuditSigned, book, audit=audit, ok=1, nok=1, not_applicable=0))
        found.append(
            m.make(AuditMissed, book, stream=stream, layer="manager", day=day.isoformat(), reason=m.text())
        )
    # In the wrong book, as no tablet writes it: it counts nowhere.
    found.append(
        m.make(AuditStart, book_id("elsewhere", _FIRST), stream=stream, checklist="a" * 64,
               layer="supervisor", day=_FIRST.isoformat())
    )  # fmt: skip
    for month in ("2026-01-01", "2026-02-01", "2026-03-01"):
        found += [
            m.make(Deliveries, desk_book_id(stream), stream=stream, month=month, part_number=part,
                   delivered=m.chance.randrange(20_000, 60_000), customer_nok=m.one(None, 12))
            for part in m.one(("",), ("A-1", "B-2"), ("", "A-1"))
        ]  # fmt: skip
    return found


def rows_of(records: list[Record], first_bad: str) -> list[FirstBadRow]:
    """A computed answer for the first record's concern; the numbers are made up."""
    concern = records[0]
    assert isinstance(concern, Concern)
    return [
        FirstBadRow(concern=concern.concern, defect=concern.defect, stream=concern.stream,
                    station_order=order, station=station, checked=20, nok=5 * (station == first_bad),
                    share=0.25, low95=0.1, high95=0.5,
                    probability_origin=0.97 if station == first_bad else 1e-05,
                    verdict="bad", first_bad_station=first_bad)
        for order, station in enumerate(("Moulding", "=Welding", "Leak test"), start=1)
    ]  # fmt: skip


def write_world(folder: Path) -> list[Record]:
    """Write the bundles of three plants; what they hold in all, but for the old files, is given back."""
    everything: list[Record] = []
    for number, plant in enumerate(PLANTS):
        concerns = [records_of_a_concern(3 * number + one, "washer-reservoir") for one in range(3)]
        books = records_of_books(number, "washer-reservoir")
        half = concerns[0][: len(concerns[0]) // 2]
        write_plant(folder, plant, "first", half, rows_of(concerns[0], "Leak test"))
        write_plant(folder, plant, "second", [*concerns[0], *concerns[1]],
                    [*rows_of(concerns[0], "=Welding"), *rows_of(concerns[1], "")])  # fmt: skip
        write_plant(folder, f"{plant}/deeper", "third", [*concerns[1][5:], *concerns[2], *books])
        everything += [*concerns[0], *concerns[1], *concerns[2], *books]
    # What one plant merged, it sends on.
    write_plant(folder, PLANTS[2], "passed on", records_of_a_concern(0, "washer-reservoir")[3:])
    shutil.copy(OLD_FILES / "format_1.zip", folder / PLANTS[0])
    shutil.copy(OLD_FILES / "format_2.zip", folder)
    return everything
