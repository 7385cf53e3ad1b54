"""Short ways to say what matters in a test; everything else gets a value that does no harm."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from typing import Any, TypeVar

from walkapp.model.ids import compose_uuid7
from walkapp.model.records import Record

R = TypeVar("R", bound=Record)

START = datetime(2026, 3, 3, 6, 20, tzinfo=timezone(timedelta(hours=1)))


def record_id(number: int) -> str:
    """Make the id that stands for `number`."""
    return compose_uuid7(1_772_000_000_000 + number, 0, number)


DEVICE, CONCERN, WALK = record_id(1), record_id(2), record_id(3)


def make(kind: type[R], number: int = 10, **fields: Any) -> R:
    """Make a record of a kind: `number` gives its id and its running number."""
    header: dict[str, Any] = {
        "id": record_id(number),
        "device": DEVICE,
        "number": number,
        "at": "2026-03-03T06:20:00+01:00",
        "by": "QE-RT",
        "concern": CONCERN,
        "walk": WALK,
    }
    if fields.get("replaces"):
        header["why"] = "test"
    return kind(**{**header, **fields})


class SteppingClock:
    """A clock that moves only when it is told to, or by a fixed step at each look."""

    def __init__(self, start: datetime = START, step_s: float = 1.0) -> None:
        self.time = start
        self.step = timedelta(seconds=step_s)

    def __call__(self) -> datetime:
        self.time += self.step
        return self.time


def id_maker(seed: int = 0) -> Callable[[], str]:
    """Make ids that are the same in every run."""
    count = iter(range(1_000_000 * (seed + 1), 10**9))
    return lambda: record_id(next(count))
