"""The desk of one value stream in the tests: short ways to state success factors and to read the board.

Invented.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import count
from typing import Any

from tests.builders import record_id
from tests.fakes import Desk
from walkapp.actions.desk import DeskFacts, desk_facts
from walkapp.actions.indicators.board import FactorFacts, IndicatorBoard, indicator_board
from walkapp.actions.indicators.factors import state_factor
from walkapp.actions.indicators.gathering import StreamCases, stream_cases
from walkapp.actions.indicators.offers import OFFERS
from walkapp.analysis.indicators.fixed_set import INDICATORS
from walkapp.analysis.indicators.reading import Reading
from walkapp.model.records import Deliveries, Record, SuccessFactor

STREAM = "washer-reservoir"
OTHER_TABLET = record_id(8_000_073)


class StreamDesk:
    """The desk of one stream."""

    def __init__(self, desk: Desk, stream: str = STREAM) -> None:
        self.desk, self.place, self.stream = desk, desk.place, stream
        self._numbers = count(1)

    @property
    def facts(self) -> DeskFacts:
        return desk_facts(self.place, self.stream)

    def days_later(self, days: float) -> None:
        """Move the clock."""
        self.place.now.time += timedelta(days=days)  # type: ignore[attr-defined]

    def go_to(self, day: str, hour: int = 12) -> None:
        """Set the clock to a day."""
        now: datetime = self.place.now.time  # type: ignore[attr-defined]
        at = datetime.fromisoformat(day).replace(hour=hour, tzinfo=now.tzinfo)
        self.place.now.time = at  # type: ignore[attr-defined]

    def state(self, indicator: str, target: str = "", **more: str) -> SuccessFactor:
        """State a factor, as it is offered where nothing else is said."""
        said = {**OFFERS[indicator].said(), **({"target": target} if target else {}), **more}
        return state_factor(self.place, self.facts, **said)

    def board(self, on: date | None = None) -> IndicatorBoard:
        return indicator_board(self.place, self.facts, on)

    def line(self, factor: str) -> FactorFacts:
        found = self.board().line(factor)
        assert found is not None
        return found

    def cases(self, on: str = "", **more: Any) -> StreamCases:
        return stream_cases(self.place, self.facts, date.fromisoformat(on) if on else None, **more)

    def reading(self, indicator: str, on: str = "") -> Reading:
        cases = self.cases(on)
        return INDICATORS[indicator].judge(cases, cases.on, None).reading

    def deliver(self, month: str, delivered: int, customer_nok: int | None = None) -> Deliveries:
        return self.place.add(
            Deliveries,
            concern=self.facts.book,
            stream=self.stream,
            month=month,
            delivered=delivered,
            customer_nok=customer_nok,
        )

    def arrive(self, record: Record, **more: Any) -> Record:
        """Let a record like this one come from another tablet."""
        number = next(self._numbers)
        came = replace(record, id=record_id(9_500_000 + number), device=OTHER_TABLET, number=number, **more)
        self.desk.store.merge([came], name=f"other {number}", photos={}, checklists={})
        return came
