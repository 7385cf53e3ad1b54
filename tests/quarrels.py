"""Entries that disagree, on a desk of the tests. Invented."""

from __future__ import annotations

from dataclasses import replace

from tests.builders import record_id
from tests.floors import Floor
from walkapp.actions.reading import concern_facts
from walkapp.model.records import Answer, Record, Withdrawal

OTHER_TABLET = record_id(8_000_071)


class Quarrel:
    """One answer at the leak test that this tablet and another one corrected differently."""

    def __init__(self, desk) -> None:
        self.desk = desk
        self.floor = Floor(desk)
        self.floor.walk()
        self.concern = self.floor.route.concern
        self.first = next(r for r in desk.records if isinstance(r, Answer) and r.station == "leak-test")
        self.mine = self.correct("ok")
        self.theirs = self.arrive(replace(self.mine, answer="not_applicable", reason="no parts here"), 1)

    def correct(self, answer: str, *, of: Record | None = None) -> Answer:
        """Correct an answer on this tablet."""
        of = of or self.first
        return self.desk.place.add(
            Answer, concern=self.concern, walk=of.walk, station=of.station, check=of.check, answer=answer,
            replaces=(of.id,), why="test",
        )  # fmt: skip

    def arrive(self, record: Record, number: int) -> Record:
        """Let a record like this one come from the other tablet."""
        came = replace(
            record, id=record_id(9_000_000 + number), device=OTHER_TABLET, number=number, by="SL-KB"
        )
        self.desk.store.merge([came], name="other", photos={}, checklists={})
        return came

    def take_back_both(self, record: Record) -> None:
        """Let both tablets take the same record back."""
        mine = self.desk.place.add(
            Withdrawal, concern=self.concern, walk=record.walk, replaces=(record.id,), why="test"
        )
        self.arrive(mine, 2)

    @property
    def facts(self):
        return concern_facts(self.desk.place, self.concern)
