"""Inspection studies: how well a check tells bad parts from good ones."""

from __future__ import annotations

from typing import ClassVar

from walkapp.errors import RecordError
from walkapp.model.records.base import Record
from walkapp.model.schema import choice, decimal, flag, key, record_id, record_kind, text, whole


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
