"""What is wrong, who was told, and what was suspected beforehand."""

from __future__ import annotations

from typing import ClassVar

from walkapp.errors import RecordError
from walkapp.model.records.base import Record, check_in_order
from walkapp.model.schema import choice, day, decimal, key, moment, record_kind, text, whole

MOST_WEIGHT = 1000
"""The greatest weight of a station."""

SEVERITIES = ("safety", "function", "appearance")


@record_kind
class Concern(Record):
    """What is wrong, and how to judge it. Its own id is the concern's id."""

    kind: ClassVar[str] = "concern"
    title: ClassVar[str] = "Concerns: what is wrong and how to judge it"

    stream: str = key("Id of the value stream")
    defect: str = key("Id of the defect, as the stream's checklist lists it")
    what: str = text("What is wrong, in one sentence", longest=200)
    how_to_judge: str = text("How a part is judged OK or NOK", default="")
    part_number: str = text("Part number", longest=60, default="")
    part_name: str = text("Part name", longest=80, default="")
    customer_reference: str = text("The customer's own number for it", longest=60, default="")
    quantity: int | None = whole("Parts reported by the customer", default=None)
    reported_on: str = day("When the customer reported it", default="")
    lots: str = text("Lots reported, as printed on the label", longest=400, default="")
    made_from: str = day("First production day of the parts reported", default="")
    made_to: str = day("Last production day of the parts reported", default="")
    severity: str = choice("Class of the effect", SEVERITIES)
    share_low: str = decimal("Least expected share of affected parts, 0 to 1", default="")
    share_high: str = decimal("Greatest expected share of affected parts, 0 to 1", default="")

    def _check_together(self) -> None:
        low, high = float(self.share_low or 0), float(self.share_high or 1)
        if not 0 <= low < high <= 1:
            raise RecordError("share_low and share_high must be in order and between 0 and 1")
        check_in_order(self.made_from, self.made_to, "made_from and made_to")


@record_kind
class Escalation(Record):
    """Who was told of a safety-class concern, and when."""

    kind: ClassVar[str] = "escalation"
    title: ClassVar[str] = "Escalations: who was told of a safety-class concern"

    told: str = text("Role that was told", longest=80)
    told_at: str = moment("When that role was told")


@record_kind
class StationWeight(Record):
    """How likely somebody thinks a station to be the origin before anything is counted."""

    kind: ClassVar[str] = "station_weight"
    title: ClassVar[str] = "Station weights: how likely a station was thought to be the origin beforehand"

    station: str = key("Id of the station")
    weight: str = decimal("How many times as likely as another station, 0 to 1000")
    reason: str = text("What speaks for it or against it", longest=400)

    def _check_together(self) -> None:
        if not 0 <= float(self.weight) <= MOST_WEIGHT:
            raise RecordError(f"weight must be from 0 to {MOST_WEIGHT}")
