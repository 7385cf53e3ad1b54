"""The kinds of record: immutable facts, each complete in itself.

Nothing is ever changed or deleted. A correction is a new record of the same kind whose `replaces`
names the record that it corrects and whose `why` says why; taking something back is a
:class:`Withdrawal`. What holds at the moment is worked out by :mod:`walkapp.model.standing`.

The modules of this package hold the kinds by topic; all are to be had from here.
"""

from __future__ import annotations

from walkapp.model.records.audits import (
    REACTIONS,
    AuditAnswer,
    AuditMissed,
    AuditReaction,
    AuditSigned,
    AuditStart,
    FindingClosed,
)
from walkapp.model.records.base import (
    HEADER,
    YES_NO_UNKNOWN,
    CarriedRecord,
    Record,
    Withdrawal,
    kind_of,
    what_is_said,
)
from walkapp.model.records.concerns import (
    MOST_WEIGHT,
    SEVERITIES,
    Concern,
    Escalation,
    StationWeight,
)
from walkapp.model.records.containment import (
    STOCK_PLACES,
    CleanPoint,
    Escape,
    Sorting,
    SuspectRange,
    SuspectStock,
)
from walkapp.model.records.desk import Deliveries, SuccessFactor
from walkapp.model.records.fixing import (
    AIMS,
    Action,
    ActionDone,
    EffectCheck,
    WatchQuestion,
)
from walkapp.model.records.kinds import (
    KINDS,
    columns_of_kind,
    record_from_plain,
    record_to_plain,
)
from walkapp.model.records.pictures import (
    LIMITS,
    PICTURE_KINDS,
    Photo,
    PhotoCopy,
    PictureMark,
    picture_file_name,
)
from walkapp.model.records.spreading import (
    READ_ACROSS,
    Lesson,
    ReadAcross,
)
from walkapp.model.records.studies import (
    KnownPart,
    RatesChosen,
    Study,
    StudyReading,
)
from walkapp.model.records.trials import (
    MOST_FACTORS,
    MOST_RUNS,
    RESPONSES,
    Confirmation,
    ConfirmationTurn,
    Trial,
    TrialFactor,
    TrialRun,
)
from walkapp.model.records.walks import (
    ANSWERS,
    CHANGE_KINDS,
    READ_BY,
    Answer,
    ChangePoint,
    Count,
    DatedCount,
    HazardsRead,
    Measurement,
    Note,
    PartSeen,
    Sample,
    Setting,
    WalkStart,
)

__all__ = [
    "AIMS",
    "ANSWERS",
    "CHANGE_KINDS",
    "HEADER",
    "KINDS",
    "LIMITS",
    "MOST_FACTORS",
    "MOST_RUNS",
    "MOST_WEIGHT",
    "PICTURE_KINDS",
    "REACTIONS",
    "READ_ACROSS",
    "READ_BY",
    "RESPONSES",
    "SEVERITIES",
    "STOCK_PLACES",
    "YES_NO_UNKNOWN",
    "Action",
    "ActionDone",
    "Answer",
    "AuditAnswer",
    "AuditMissed",
    "AuditReaction",
    "AuditSigned",
    "AuditStart",
    "CarriedRecord",
    "ChangePoint",
    "CleanPoint",
    "Concern",
    "Confirmation",
    "ConfirmationTurn",
    "Count",
    "DatedCount",
    "Deliveries",
    "EffectCheck",
    "Escalation",
    "Escape",
    "FindingClosed",
    "HazardsRead",
    "KnownPart",
    "Lesson",
    "Measurement",
    "Note",
    "PartSeen",
    "Photo",
    "PhotoCopy",
    "PictureMark",
    "RatesChosen",
    "ReadAcross",
    "Record",
    "Sample",
    "Setting",
    "Sorting",
    "StationWeight",
    "Study",
    "StudyReading",
    "SuccessFactor",
    "SuspectRange",
    "SuspectStock",
    "Trial",
    "TrialFactor",
    "TrialRun",
    "WalkStart",
    "WatchQuestion",
    "Withdrawal",
    "columns_of_kind",
    "kind_of",
    "picture_file_name",
    "record_from_plain",
    "record_to_plain",
    "what_is_said",
]
