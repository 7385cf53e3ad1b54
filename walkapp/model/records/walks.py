"""What is seen, counted, measured and heard on a walk, station by station."""

from __future__ import annotations

from typing import ClassVar

from walkapp.errors import RecordError
from walkapp.model.records.base import YES_NO_UNKNOWN, Record, check_nok_of
from walkapp.model.schema import choice, day, decimal, digest, key, record_id, record_kind, text, whole

ANSWERS = ("ok", "not_ok", "not_applicable")
READ_BY = ("code", "typed")
CHANGE_KINDS = ("man", "machine", "material", "method", "measurement", "environment")


@record_kind
class WalkStart(Record):
    """A walk of one stream for one concern by one tablet begins. Its id is the walk's id."""

    kind: ClassVar[str] = "walk_start"
    title: ClassVar[str] = "Walks: who walked which stream, with which checklist"

    stream: str = key("Id of the value stream")
    checklist: str = digest("SHA-256 of the checklist folder as it was when the walk began")
    direction: str = choice("How the stream is walked", ("down", "up", "guided"))


@record_kind
class HazardsRead(Record):
    """The cautions of a station were shown and confirmed."""

    kind: ClassVar[str] = "hazards_read"
    title: ClassVar[str] = "Cautions read: station by station, once in each walk"

    station: str = key("Id of the station")


@record_kind
class Sample(Record):
    """Where the parts that are checked at a station come from."""

    kind: ClassVar[str] = "sample"
    title: ClassVar[str] = "Samples: lot and production date of the parts checked at a station"

    station: str = key("Id of the station")
    lot: str = text("Lot as printed on the label", longest=60, default="")
    made_on: str = day("Production date of the parts", default="")

    def _check_together(self) -> None:
        if not self.lot and not self.made_on:
            raise RecordError("lot and made_on are both missing")


@record_kind
class Answer(Record):
    """One part judged, or one question answered."""

    kind: ClassVar[str] = "answer"
    title: ClassVar[str] = "Answers: one part judged or one question answered"

    station: str = key("Id of the station")
    check: str = key("Id of the check")
    answer: str = choice("The answer", ANSWERS)
    reason: str = text("Why the check does not apply", longest=400, default="")
    unit: str = text("Cavity, fixture or machine that made the part", longest=40, default="")

    def _check_together(self) -> None:
        if self.answer == "not_applicable" and not self.reason:
            raise RecordError("reason is missing: not_applicable needs one")


@record_kind
class Count(Record):
    """Many parts judged at once."""

    kind: ClassVar[str] = "count"
    title: ClassVar[str] = "Counts: parts checked and NOK at a station"

    station: str = key("Id of the station")
    check: str = key("Id of the check")
    checked: int = whole("Parts checked", least=0, most=1_000_000)
    nok: int = whole("Parts that were NOK", least=0, most=1_000_000)
    unit: str = text("Cavity, fixture or machine that made the parts", longest=40, default="")

    def _check_together(self) -> None:
        check_nok_of(self.nok, self.checked)


@record_kind
class DatedCount(Record):
    """Parts of an older lot judged at once: they say when the defect started, not where."""

    kind: ClassVar[str] = "dated_count"
    title: ClassVar[str] = "Counts of older lots: retained or returned parts checked and NOK"

    station: str = key("Id of the station with whose check they were judged")
    check: str = key("Id of that check")
    lot: str = text("Lot as printed on the label", longest=60, default="")
    made_on: str = day("Production date of the parts")
    checked: int = whole("Parts checked", least=1, most=1_000_000)
    nok: int = whole("Parts that were NOK", least=0, most=1_000_000)

    def _check_together(self) -> None:
        check_nok_of(self.nok, self.checked)


@record_kind
class Measurement(Record):
    """One characteristic of one part measured."""

    kind: ClassVar[str] = "measurement"
    title: ClassVar[str] = "Measurements: one value of one part"

    station: str = key("Id of the station")
    check: str = key("Id of the check")
    value: str = decimal("The value as it was typed")
    unit_of_measure: str = text("Unit of the value", longest=20)
    part: str = text("Tag of the part, when it is followed along the stream", longest=40, default="")
    unit: str = text("Cavity, fixture or machine that made the part", longest=40, default="")


@record_kind
class Setting(Record):
    """A process setting read off the machine."""

    kind: ClassVar[str] = "setting"
    title: ClassVar[str] = "Process settings: set and actual"

    station: str = key("Id of the station")
    check: str = key("Id of the check")
    set_value: str = decimal("What the machine is set to", default="")
    actual: str = decimal("What the machine shows or an instrument says")
    unit_of_measure: str = text("Unit of both values", longest=20)


@record_kind
class ChangePoint(Record):
    """Something that changed at a station."""

    kind: ClassVar[str] = "change_point"
    title: ClassVar[str] = "Change points: what changed at a station, when and why"

    station: str = key("Id of the station")
    change: str = choice("What kind of thing changed", CHANGE_KINDS)
    what: str = text("What changed", longest=400)
    changed_on: str = day("When it changed", default="")
    reason: str = text("Why it was changed", longest=400, default="")
    meant_to: str = text("What it was meant to do", longest=400, default="")
    approved_by: str = text("Role that approved it", longest=80, default="")
    customer_told: str = choice("Whether the customer was told", YES_NO_UNKNOWN)


@record_kind
class Note(Record):
    """Something seen or heard at a station."""

    kind: ClassVar[str] = "note"
    title: ClassVar[str] = "Notes: what was seen or heard at a station"

    station: str = key("Id of the station")
    words: str = text("The note")


@record_kind
class PartSeen(Record):
    """Which part an entry is about: its own tag, its lot, or both, as read off the part.

    It comes along with the entry, so that one part can be followed from station to station; a correction of
    the entry keeps it, and taking the entry back takes it back.
    """

    kind: ClassVar[str] = "part_seen"
    title: ClassVar[str] = "Parts seen: tag and lot of the part that an entry is about"

    about: str = record_id("Id of the answer or measurement that it belongs to, as it was first made")
    part: str = text("Tag or serial number of the part", longest=40, default="")
    lot: str = text("Lot as printed on the label", longest=60, default="")
    read_by: str = choice("Whether it was read from a code or typed", READ_BY)

    def _check_together(self) -> None:
        if not self.part and not self.lot:
            raise RecordError("part and lot are both missing")
