"""Records of what is done about a concern: what may not stand together is refused by name."""

import pytest

from tests.builders import make, record_id
from walkapp.errors import RecordError
from walkapp.model.records import (
    Action,
    CleanPoint,
    Concern,
    Confirmation,
    ConfirmationTurn,
    EffectCheck,
    Escape,
    Lesson,
    Photo,
    ReadAcross,
    Sorting,
    SuspectRange,
    SuspectStock,
    Trial,
    TrialFactor,
    TrialRun,
    WatchQuestion,
)

ID = record_id(5)
SORTING = {"stock": ID, "sorted_on": "2026-03-04", "checked": 100, "nok": 9}
ACTION = {"action": ID, "aim": "corrective", "what": "Soft pads", "owner": "PE-KL", "due_on": "2026-03-06"}
TRIAL = {"what": "Pads", "fraction": "full", "replicates": 1, "centres": 0, "seed": "s"}
SWITCH = {"what": "Pads", "on": "hard", "off": "soft"}
WATCH = {"action": ID, "station": "leak-test", "question": "Soft pads?"}
CONCERN = {"stream": "s", "defect": "d", "what": "w", "severity": "safety"}
PHOTO = {"sha256": "a" * 64, "media": "image/png", "size_bytes": 1, "width_px": 1, "height_px": 1}


@pytest.mark.parametrize(
    ("kind", "fields", "complaint"),
    [
        (Sorting, {**SORTING, "nok": 101}, "nok must not be above checked (101 of 100)"),
        (Sorting, {**SORTING, "reworked": 10}, "reworked must not be above nok (10 of 9)"),
        (Sorting, {**SORTING, "released": 92}, "released must not be above the good parts (92 of 91)"),
        (
            Sorting,
            {**SORTING, "released": 91, "scrapped": 10},
            "released and scrapped together must not be above checked (101 of 100)",
        ),
        (Sorting, {**SORTING, "checked": 0, "nok": 0}, "nothing was done"),
        (SuspectStock, {"stock": ID, "place": "station", "quantity": 5}, "station must be named"),
        (
            SuspectStock,
            {"stock": ID, "place": "stores", "station": "leak-test", "quantity": 5},
            "station must be named exactly when",
        ),
        (
            SuspectRange,
            {"quantity": 5, "made_from": "2026-03-04", "made_to": "2026-03-03"},
            "made_from and made_to must be in order: 2026-03-03 is before 2026-03-04",
        ),
        (CleanPoint, {"checked": 5, "approved_by": "QM"}, "lot, serial and made_on are all missing"),
        (
            CleanPoint,
            {"lot": "1", "checked": 5, "lot_size": 4, "approved_by": "QM"},
            "checked must not be above lot_size (5 of 4)",
        ),
        (
            Escape,
            {"found_on": "2026-03-03", "where": "dock", "quantity": 1, "made_on": "2026-03-04"},
            "must be in order",
        ),
        (Trial, {**TRIAL, "response": "nok"}, "parts must be given exactly when NOK parts are counted"),
        (Trial, {**TRIAL, "response": "value"}, "measured is missing"),
        (
            TrialFactor,
            {"trial": ID, "order": 1, "name": "Pads", "low": "soft", "high": "soft"},
            "a factor with one level shows nothing",
        ),
        (TrialRun, {"trial": ID, "run": 1}, "either checked and nok or value must be given"),
        (TrialRun, {"trial": ID, "run": 1, "checked": 5}, "either checked and nok or value must be given"),
        (TrialRun, {"trial": ID, "run": 1, "checked": 5, "nok": 6}, "nok must not be above checked"),
        (
            TrialRun,
            {"trial": ID, "run": 1, "checked": 5, "nok": 1, "value": "2.5"},
            "either checked and nok or value must be given",
        ),
        (Confirmation, {**SWITCH, "off": "hard", "response": "nok"}, "on and off must differ"),
        (Confirmation, {**SWITCH, "response": "value"}, "measured is missing"),
        (
            ConfirmationTurn,
            {"confirmation": ID, "turn": 1, "state": "on"},
            "either checked and nok or value must be given",
        ),
        (Action, {**ACTION, "check_on": "2026-03-05"}, "due_on and check_on must be in order"),
        (Action, {**ACTION, "at_most": "1"}, "at_most must be from 0 to below 1"),
        (
            EffectCheck,
            {
                "action": ID, "checked_on": "2026-03-20", "before_checked": 5, "before_nok": 6,
                "after_checked": 5, "after_nok": 0,
            },
            "nok must not be above checked (6 of 5)",
        ),
        (WatchQuestion, {**WATCH, "from_on": "2026-03-09", "until_on": "2026-03-08"}, "must be in order"),
        (
            ReadAcross,
            {"other_stream": "s", "other_station": "t", "status": "clean"},
            "say what was found there, or why it does not apply",
        ),
        (Lesson, {}, "are all missing"),
        (
            Concern,
            {**CONCERN, "made_from": "2026-03-02", "made_to": "2026-03-01"},
            "made_from and made_to must be in order",
        ),
        (Photo, PHOTO, "a picture belongs to something"),
    ],
)  # fmt: skip
def test_what_cannot_be_together_is_refused(kind, fields, complaint):
    with pytest.raises(RecordError) as caught:
        make(kind, **{"walk": "", **fields})
    assert complaint in str(caught.value)


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        (Sorting, {**SORTING, "reworked": 9, "released": 100}),
        (Sorting, {**SORTING, "checked": 0, "nok": 0, "scrapped_unsorted": 40}),
        (CleanPoint, {"serial": "B 0412", "checked": 59, "lot_size": 59, "approved_by": "QM"}),
        (TrialRun, {"trial": ID, "run": 8, "value": "-2.50"}),
        (Action, {**ACTION, "at_most": "0", "check_on": "2026-03-06"}),
        (ReadAcross, {"other_stream": "s", "other_station": "t", "status": "to_check"}),
        (Lesson, {"to_change": "Ask the setter first."}),
        (Photo, {**PHOTO, "limit": "not_ok"}),
    ],
)
def test_what_can_be_together_is_taken(kind, fields):
    assert make(kind, **{"walk": "", **fields}).kind == kind.kind
