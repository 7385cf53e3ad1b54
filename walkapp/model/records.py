"""The kinds of record: immutable facts, each complete in itself.

Nothing is ever changed or deleted. A correction is a new record of the same kind whose `replaces`
names the record that it corrects and whose `why` says why; taking something back is a
:class:`Withdrawal`. What holds at the moment is worked out by :mod:`walkapp.model.standing`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from dataclasses import fields as record_fields
from typing import Any, ClassVar

from walkapp.errors import RecordError
from walkapp.model.boxes import Box, boxes_from_text
from walkapp.model.schema import (
    Column,
    Plain,
    check_values,
    choice,
    columns_of,
    day,
    decimal,
    digest,
    flag,
    from_plain,
    key,
    moment,
    record_id,
    record_ids,
    record_kind,
    text,
    to_plain,
    whole,
)

ANSWERS = ("ok", "not_ok", "not_applicable")
CHANGE_KINDS = ("man", "machine", "material", "method", "measurement", "environment")
MOST_WEIGHT = 1000
"""The greatest weight of a station."""

PICTURE_KINDS = ("image/jpeg", "image/png")
SEVERITIES = ("safety", "function", "appearance")
YES_NO_UNKNOWN = ("yes", "no", "unknown")


def picture_file_name(sha256: str, media: str) -> str:
    """Name under which a picture file is kept: its SHA-256 and the ending of its kind."""
    return sha256 + (".jpg" if media == "image/jpeg" else ".png")


def _no_more_nok_than_checked(nok: int, checked: int) -> None:
    if nok > checked:
        raise RecordError(f"nok must not be above checked ({nok} of {checked})")


@record_kind
class Record:
    """What every record carries, whatever its kind.

    Raises
    ------
    RecordError
        At construction, naming the first field that holds something it may not.
    """

    kind: ClassVar[str] = ""
    title: ClassVar[str] = ""

    id: str = record_id("Id of this record, unique everywhere")
    device: str = record_id("Id of the tablet that made it")
    number: int = whole("Running number of the record on that tablet, from 1", least=1)
    at: str = moment("When it was made, by the tablet's clock, with offset from UTC")
    by: str = text("Role and initials of the person, never a name", longest=40)
    concern: str = record_id("Id of the concern that it belongs to")
    walk: str = record_id("Id of the walk that it belongs to; empty for the concern itself", default="")
    replaces: tuple[str, ...] = record_ids("Ids of the records that this one corrects", default=())
    why: str = text("Why an earlier record is corrected", longest=400, default="")

    def __post_init__(self) -> None:
        check_values(self)
        if self.replaces and not self.why:
            raise RecordError("why is missing: a record that replaces another says why")
        if self.walk and self.walk == self.concern:
            raise RecordError("walk must differ from concern")
        self._check_together()

    def _check_together(self) -> None:
        """Check what no column can check alone; kinds that need it override this."""

    @property
    def scope(self) -> str:
        """Id of the walk, or of the concern for a record outside any walk: one journal each."""
        return self.walk or self.concern


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
    severity: str = choice("Class of the effect", SEVERITIES)
    share_low: str = decimal("Least expected share of affected parts, 0 to 1", default="")
    share_high: str = decimal("Greatest expected share of affected parts, 0 to 1", default="")

    def _check_together(self) -> None:
        low, high = float(self.share_low or 0), float(self.share_high or 1)
        if not 0 <= low < high <= 1:
            raise RecordError("share_low and share_high must be in order and between 0 and 1")


@record_kind
class Escalation(Record):
    """Who was told of a safety-class concern, and when."""

    kind: ClassVar[str] = "escalation"
    title: ClassVar[str] = "Escalations: who was told of a safety-class concern"

    told: str = text("Role that was told", longest=80)
    told_at: str = moment("When that role was told")


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
        _no_more_nok_than_checked(self.nok, self.checked)


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
        _no_more_nok_than_checked(self.nok, self.checked)


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
class Photo(Record):
    """A picture of what was found; the file itself is kept unchanged under its SHA-256."""

    kind: ClassVar[str] = "photo"
    title: ClassVar[str] = "Photos: pictures of what was found"

    station: str = key("Id of the station")
    check: str = key("Id of the check that asked for it", default="")
    sha256: str = digest("SHA-256 of the picture file")
    media: str = choice("Kind of file", PICTURE_KINDS)
    size_bytes: int = whole("Size of the file in bytes", least=1)
    width_px: int = whole("Width of the upright picture in pixels", least=1)
    height_px: int = whole("Height of the upright picture in pixels", least=1)
    caption: str = text("What the picture shows", longest=200, default="")
    invented: bool = flag("Whether it was drawn for the demo and shows no real part", default=False)

    @property
    def file_name(self) -> str:
        """Name of the picture file in a store and in a bundle."""
        return picture_file_name(self.sha256, self.media)


@record_kind
class PhotoCopy(Record):
    """A copy of a picture that may leave the tablet: without any metadata, perhaps with covered places.

    A copy without covered places is made again from the picture wherever it is needed; one with covered
    places is a file of its own. Places are in pixels, not in shares of the picture, so that everybody
    covers exactly the same ones.
    """

    kind: ClassVar[str] = "photo_copy"
    title: ClassVar[str] = "Copies of photos: without place, serial number and all other metadata"

    station: str = key("Id of the station")
    photo: str = digest("SHA-256 of the picture file that it is a copy of")
    sha256: str = digest("SHA-256 of the copy")
    media: str = choice("Kind of file", PICTURE_KINDS)
    size_bytes: int = whole("Size of the copy in bytes", least=1)
    width_px: int = whole("Width of the upright picture in pixels", least=1)
    height_px: int = whole("Height of the upright picture in pixels", least=1)
    covered: str = text(
        "Places that are covered for good, with people or names: left, top, right and bottom of each in "
        "pixels of the upright picture",
        default="",
    )

    def _check_together(self) -> None:
        if not all(box.fits(self.width_px, self.height_px) for box in self.boxes):
            raise RecordError("covered must lie on the picture")
        if self.photo == self.sha256:
            raise RecordError("sha256 must differ from photo")

    @property
    def boxes(self) -> tuple[Box, ...]:
        """The covered places."""
        return boxes_from_text(self.covered)

    @property
    def file_name(self) -> str:
        """Name of the copy's file in a store and in a bundle."""
        return picture_file_name(self.sha256, self.media)


@record_kind
class Study(Record):
    """An inspection study: parts with known answers, judged blind. Its own id is the study's id."""

    kind: ClassVar[str] = "study"
    title: ClassVar[str] = "Inspection studies: how well a check tells bad parts from good ones"

    station: str = key("Id of the station")
    check: str = key("Id of the check that the study belongs to")
    repeats: int = whole("How often each inspector judges each part", least=1, most=9)
    seed: str = text("From which the blind order of the parts is worked out", longest=80)
    invented: bool = flag("Whether it was made up for the demo and no real part was judged", default=False)


@record_kind
class KnownPart(Record):
    """One part of a study, with its known answer."""

    kind: ClassVar[str] = "study_part"
    title: ClassVar[str] = "Parts of inspection studies, with their known answers"

    study: str = record_id("Id of the study")
    label: str = text("What is written on the part", longest=20)
    known: str = choice("The known answer", ("bad", "good"))


@record_kind
class StudyReading(Record):
    """One judgement of one part in a study, made without knowing the answer."""

    kind: ClassVar[str] = "study_reading"
    title: ClassVar[str] = "Readings of inspection studies: one part judged once by one inspector"

    study: str = record_id("Id of the study")
    part: str = text("What is written on the part", longest=20)
    inspector: str = text("Role and initials of the inspector, never a name", longest=40)
    repeat: int = whole("Which look of this inspector at the part it was, from 1", least=1, most=9)
    called: str = choice("What the inspector said", ("ok", "not_ok"))


@record_kind
class RatesChosen(Record):
    """From now on a check counts with the rates that a study found, instead of the checklist's."""

    kind: ClassVar[str] = "rates_chosen"
    title: ClassVar[str] = "Rates chosen: which study's detection and false alarm a check counts with"

    station: str = key("Id of the station")
    check: str = key("Id of the check")
    study: str = record_id("Id of the study that the rates come from")
    detection: str = decimal("Chance that a truly defective part is called NOK, 0 to 1")
    false_alarm: str = decimal("Chance that a good part is called NOK, 0 to 1")
    detection_low: str = decimal("One-sided 95 % lower limit of the detection, 0 to 1")
    false_alarm_high: str = decimal("One-sided 95 % upper limit of the false alarm, 0 to 1")
    bad_parts: int = whole("Bad parts behind the detection", least=1)
    good_parts: int = whole("Good parts behind the false alarm", least=1)

    def _check_together(self) -> None:
        for low, high in (("false_alarm", "detection"), ("false_alarm_high", "detection_low")):
            if not 0 < float(getattr(self, low)) < float(getattr(self, high)) < 1:
                raise RecordError(f"{low} and {high} must be in order and between 0 and 1")


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


@record_kind
class Withdrawal(Record):
    """The records named in `replaces` no longer count."""

    kind: ClassVar[str] = "withdrawal"
    title: ClassVar[str] = "Withdrawals: entries taken back, and why"

    def _check_together(self) -> None:
        if not self.replaces:
            raise RecordError("replaces is missing: a withdrawal names what it takes back")


KINDS: Mapping[str, type[Record]] = {
    kind.kind: kind
    for kind in (
        Concern, Escalation, WalkStart, HazardsRead, Sample, Answer, Count, DatedCount, Measurement,
        Setting, ChangePoint, Note, Photo, PhotoCopy, Study, KnownPart, StudyReading, RatesChosen,
        StationWeight, Withdrawal,
    )
}  # fmt: skip
"""Every kind of record that this version writes, by its name in journals and bundles."""

HEADER = tuple(columns_of(Record))
"""Names of the fields that every record has."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriedRecord(Record):
    """A record of a kind that this version does not know: kept and passed on, never interpreted.

    Parameters
    ----------
    carried_kind
        Name of the kind, as the newer version wrote it.
    cells
        Name and CSV cell of each field beyond the header, in the order they came.
    """

    carried_kind: str
    cells: tuple[tuple[str, str], ...]


def kind_of(record: Record) -> str:
    """Name of the record's kind in journals and bundles."""
    return record.carried_kind if isinstance(record, CarriedRecord) else record.kind


def what_is_said(record: Record) -> dict[str, Any]:
    """What a record says beyond its header."""
    return {
        field.name: getattr(record, field.name)
        for field in record_fields(record)
        if field.name not in HEADER
    }


def record_to_plain(record: Record) -> dict[str, Any]:
    """Turn a record into JSON values, its kind first."""
    plain: dict[str, Any] = {"kind": kind_of(record)}
    plain.update(to_plain(record))
    if isinstance(record, CarriedRecord):
        plain["cells"] = [list(cell) for cell in record.cells]
    return plain


def record_from_plain(plain: Mapping[str, Any]) -> Record:
    """Build a record from the JSON values that :func:`record_to_plain` makes.

    Raises
    ------
    RecordError
        If the kind is missing, or a field is missing, unknown or not allowed.
    """
    fields = dict(plain)
    name = fields.pop("kind", None)
    if not isinstance(name, str) or not name:
        raise RecordError("kind is missing")
    cells = fields.pop("cells", None)
    known = KINDS.get(name)
    if known is not None:
        # An older version may have carried it as cells before this one knew the kind.
        said = {} if cells is None else _read_cells(known, _checked_cells(name, cells))
        return from_plain(known, columns_of(known), {**fields, **said})
    carried = {"carried_kind": name, "cells": _checked_cells(name, cells)}
    return from_plain(CarriedRecord, (*HEADER, *carried), {**fields, **carried})


def _read_cells(kind: type[Record], cells: tuple[tuple[str, str], ...]) -> dict[str, Any]:
    columns = columns_of(kind)
    read: dict[str, Any] = {}
    for name, cell in cells:
        if name not in columns:
            raise RecordError(f"{name} is not a field that this version knows")
        try:
            read[name] = columns[name].from_cell(cell)
        except RecordError as error:
            raise RecordError(f"{name} {error}") from None
    return read


def _checked_cells(name: str, cells: object) -> tuple[tuple[str, str], ...]:
    if isinstance(cells, list) and all(
        isinstance(c, list) and len(c) == 2 and all(isinstance(part, str) for part in c) for c in cells
    ):
        return tuple((field, cell) for field, cell in cells)
    raise RecordError(f"kind {name!r} is not known and has no cells to carry")


def columns_of_kind(name: str) -> Mapping[str, Column]:
    """Columns of a known kind, header first."""
    return columns_of(KINDS[name])


__all__ = [
    "ANSWERS",
    "CHANGE_KINDS",
    "HEADER",
    "KINDS",
    "SEVERITIES",
    "YES_NO_UNKNOWN",
    "Answer",
    "CarriedRecord",
    "ChangePoint",
    "Concern",
    "Count",
    "DatedCount",
    "Escalation",
    "HazardsRead",
    "KnownPart",
    "Measurement",
    "Note",
    "Photo",
    "PhotoCopy",
    "Plain",
    "RatesChosen",
    "Record",
    "Sample",
    "Setting",
    "Study",
    "StudyReading",
    "WalkStart",
    "Withdrawal",
    "columns_of_kind",
    "kind_of",
    "picture_file_name",
    "record_from_plain",
    "record_to_plain",
]
