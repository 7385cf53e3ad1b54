"""What the desk keeps of a value stream itself: deliveries month by month, and what success hangs on.

All of it lies in the desk book of the stream (:func:`walkapp.model.ids.desk_book_id`): its id stands where
records of a concern have the concern's.
"""

from __future__ import annotations

from typing import ClassVar

from walkapp.errors import RecordError
from walkapp.model.records.base import Record
from walkapp.model.schema import day, decimal, key, record_kind, text, whole


@record_kind
class Deliveries(Record):
    """How many parts went to the customer in a month."""

    kind: ClassVar[str] = "deliveries"
    title: ClassVar[str] = "Deliveries: parts delivered to the customer, month by month"

    stream: str = key("Id of the value stream")
    month: str = day("First day of the month")
    part_number: str = text("Part number; empty for all parts of the stream", longest=60, default="")
    delivered: int = whole("Parts delivered in that month")
    customer_nok: int | None = whole(
        "NOK parts of that month as the customer counts them; empty: those of the concerns are counted",
        default=None,
    )
    source: str = text("Name of the file that it was read from; empty when it was typed in",
                       longest=120, default="")  # fmt: skip

    def _check_together(self) -> None:
        if not self.month.endswith("-01"):
            raise RecordError(f"month must be the first day of a month, not {self.month}")


@record_kind
class SuccessFactor(Record):
    """What has to go right, and the indicator that watches it. Its own id is the factor's id."""

    kind: ClassVar[str] = "success_factor"
    title: ClassVar[str] = "Success factors: what has to go right, and which indicator watches it"

    stream: str = key("Id of the value stream")
    factor: str = text("What has to go right, in one sentence", longest=200)
    indicator: str = key("Id of the indicator that watches it")
    target: str = decimal("Target, in the unit of the indicator")
    when_off: str = text("What is done when it is off", longest=400)
    owner: str = text("Role or initials of who sees to it, never a name", longest=40, default="")
