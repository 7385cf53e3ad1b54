"""A desk with deliveries: months, concerns and tables to read, each in one call."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from tests.fakes import Desk
from walkapp.actions.days import today
from walkapp.actions.deliveries import record_deliveries
from walkapp.actions.deliveries_tables import load_deliveries, plan_import
from walkapp.actions.desk import DeskFacts, desk_facts
from walkapp.actions.ppm import StreamPpm, ppm_of
from walkapp.actions.ppm_months import MonthPpm
from walkapp.model.ids import desk_book_id
from walkapp.model.records import Deliveries, Record, SuccessFactor

STREAM = "washer-reservoir"
BOOK = desk_book_id(STREAM)


class Deliverer:
    """Records deliveries of a stream on one tablet.

    Parameters
    ----------
    desk
        The tablet.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk = desk

    @property
    def facts(self) -> DeskFacts:
        return desk_facts(self.desk.place, STREAM)

    def month(self, month: str, delivered: int, nok: int | None = None, part: str = "") -> Deliveries:
        """Record what was delivered in a month, such as "2026-02"."""
        return record_deliveries(
            self.desk.place,
            self.facts,
            month=date.fromisoformat(f"{month}-01"),
            delivered=delivered,
            customer_nok=nok,
            part_number=part,
        )

    def once_more(self, month: str, delivered: int, nok: int | None = None) -> Deliveries:
        """Record a month that another tablet may have recorded, without looking."""
        return self.add(Deliveries, month=f"{month}-01", delivered=delivered, customer_nok=nok)

    def target(self, ppm: str, **more: Any) -> SuccessFactor:
        said = {"factor": "No NOK part goes out", "indicator": "ppm", "when_off": "Sort"}
        return self.add(SuccessFactor, target=ppm, **said | more)

    def add(self, kind: type[Any], **said: Any) -> Any:
        return self.desk.place.add(kind, concern=BOOK, stream=STREAM, **said)

    def read(self, path: Path) -> tuple[Record, ...]:
        """Read a table at once."""
        facts = self.facts
        return load_deliveries(self.desk.place, facts, plan_import(facts, path, today(self.desk.place)))

    def ppm(self, **more: Any) -> StreamPpm:
        return ppm_of(self.facts, today(self.desk.place), **more)

    def of(self, month: str, **more: Any) -> MonthPpm:
        return self.ppm(**more).month(date.fromisoformat(f"{month}-01"))


def table(folder: Path, *lines: str, name: str = "deliveries.csv") -> Path:
    """Write a table of these lines."""
    folder.mkdir(exist_ok=True)
    path = folder / name
    path.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")
    return path
