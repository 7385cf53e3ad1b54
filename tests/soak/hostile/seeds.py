"""The good inputs: one small bundle with every kind of record, its checklist, counts, and its store."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from tests.builders import CONCERN, WALK, SteppingClock, id_maker, make, record_id
from tests.photos.camera import as_jpeg, as_png, camera_exif, phone_jpeg, phone_png, scene
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.merging import merge_bundles
from walkapp.actions.workplace import Workplace
from walkapp.bundle import write_bundle
from walkapp.checklists import digest_of
from walkapp.files import sha256_of
from walkapp.model.ids import book_id, desk_book_id
from walkapp.model.records import (
    Answer,
    AuditAnswer,
    AuditMissed,
    AuditReaction,
    AuditSigned,
    AuditStart,
    CarriedRecord,
    ChangePoint,
    Concern,
    Count,
    DatedCount,
    Deliveries,
    Escalation,
    FindingClosed,
    HazardsRead,
    KnownPart,
    Measurement,
    Note,
    PartSeen,
    Photo,
    PictureMark,
    RatesChosen,
    Record,
    Sample,
    Setting,
    StationWeight,
    Study,
    StudyReading,
    SuccessFactor,
    WalkStart,
    Withdrawal,
)
from walkapp.store import Store

LABELS = (
    "EAR-0042",
    "CAV 3",
    "station:small-line/weld:XXXX",
    "]d2010950600013435210AB-123\x1d21S1\x1d11260301\x1d2404711",
    "(01)09506000134352(10)AB-123(21)S1",
    "[)>\x1e06\x1dP4711-A\x1d1TL0815\x1dSX1\x1dQ1\x1d16D20260301\x1e\x04",
    "[)>\x1e05\x1d0109506000134352\x1d10AB-123\x1e\x04",
)
"""Texts of codes as parts and boxes have them."""

STREAM = "small-line"
STREAM_TOML = """\
# INVENTED for the tests: no real plant, part or customer is meant.
name = "Small line"
product = "Invented bracket"
version = "1"
invented = true
cautions = ["Site rules come first."]
shifts = [{ name = "early", from = "06:00", to = "14:00" }, { name = "late", from = "14:00", to = "22:00" }]

[[defect]]
id = "crack"
name = "Cracked ear"

[[station]]
id = "press"
name = "Press"
kind = "moulding"
minutes = 0
units = { kind = "cavity", names = ["1", "2"] }

[[station]]
id = "weld"
name = "Weld"
kind = "joining"
minutes = 2.5
hazards = ["Hot plates."]

[[station]]
id = "dock"
name = "Customer's dock"
short = "Dock"
kind = "dock"
sorts = true
"""
CHECKS_TOML = """\
[[check]]
station = "press"
id = "look"
kind = "attribute"
title = "Look at the ear"
finds = "crack"
sample = 5
detection = 0.9
false_alarm = 0.005

[[check]]
station = "press"
id = "gap"
kind = "measurement"
title = "Gap"
unit = "mm"
lsl = 1.0
usl = 2.0
nominal = 1.50
characteristic = "gap"

[[check]]
station = "weld"
id = "look"
kind = "count"
title = "Look at the ear"
how = "Bend it."
finds = "crack"

[[check]]
station = "weld"
id = "gap"
kind = "measurement"
title = "Gap"
unit = "mm"
lsl = 1.0
usl = 2.0
characteristic = "gap"

[[check]]
station = "weld"
id = "heat"
kind = "setting"
title = "Temperature"
unit = "°C"
lsl = 200
usl = 240

[[check]]
station = "dock"
id = "look"
kind = "count"
title = "Look"
finds = "crack"
"""
AUDITS_TOML = """\
repeat_days = 30
tells_persons = false

[calendar]
begins = 2026-01-26
time_zone = "Europe/Berlin"
working_days = ["mon", "tue"]
holidays = [2026-04-06]
extra_days = [2026-04-08]

[[layer]]
id = "shift-lead"
name = "Shift lead"
every = "shift"
shifts = ["early"]

[[layer]]
id = "manager"
name = "Manager"
every = "month"
stations = 2
questions = 1
added = 1
make_up_days = 5
since = 2026-02-01
until = 2026-12-31

[[station]]
id = "weld"
often = 2

[[question]]
station = "press"
id = "guard"
ask = "Guard closed?"
seconds = 12.5
often = 4
special = true
until = 2026-11-30

[[question]]
station = "weld"
id = "pads"
ask = "Pads as in the sheet?"
how = "Look."
layers = ["shift-lead"]
since = 2026-02-01
"""
CHECKLIST = {
    "stream.toml": STREAM_TOML.encode(),
    "checks.toml": CHECKS_TOML.encode(),
    "audits.toml": AUDITS_TOML.encode(),
}
DIGEST = digest_of(CHECKLIST)
OWN = record_id(8_000_000)
"""Id of the tablet that bundles are merged into: the first id that :func:`open_desk` gives."""

BOOK = book_id(STREAM, date(2026, 3, 2))
"""The audit book of this stream and March 2026."""

DESK = desk_book_id(STREAM)
"""The desk book of this stream."""

DELIVERIES_CSV = (
    "month;part_number;delivered;nok;remark\r\n2025-12;;48000;0;\r\n2026-01-31;;50000;;=late\r\n"
    '02/2026;"P-1; left";25000;3;\r\n2026-02;P-2;25000;;\r\n'
)

COUNTS_CSV = (
    "station,checked,nok,detection,false_alarm,minutes,sorts,weight\r\n"
    'Press,20,0,0.9,0.005,1,no,1\r\n"Weld, hot",20,0,,,2,no,\r\n'
    "Leak test,20,9,0.95,0.01,1.5,yes,2\r\nDock,20,11,,,,,\r\n"
)

READINGS = (
    "+0012.340mm", "12,34 mm", "-0.05 in", "12.3 \N{MICRO SIGN}m", "1.2340E+01;bar",
    "23.5 \N{DEGREE SIGN}C",
    "212.00 \N{DEGREE SIGN}F", "14.50 psi", "\N{MINUS SIGN}0.05", "7 N\N{MIDDLE DOT}m", "OL",
)  # fmt: skip
"""What gauges send."""

JPEG = as_jpeg(scene((24, 16)), exif=camera_exif(6))
PNG = as_png(scene((20, 12)))
PICTURES = (
    JPEG,
    PNG,
    phone_jpeg(scene((40, 30)), 8),
    phone_png(scene((40, 30)), 5),
    as_jpeg(scene((40, 30)), progressive=True),
    as_png(scene((40, 30), "P")),
)
"""What folders hold that pictures are chosen from."""


@dataclass(frozen=True)
class Seeds:
    """The good inputs on disk.

    Parameters
    ----------
    bundle
        A zip with every kind of record, two pictures and a checklist.
    store
        The store that it was written from.
    """

    bundle: Path
    store: Path


def make_seeds(folder: Path) -> Seeds:
    """Write the good inputs; they are the same in every run."""
    folder.mkdir(parents=True, exist_ok=True)
    photos = {}
    for data, ending in ((JPEG, "jpg"), (PNG, "png")):
        photos[f"{sha256_of(data)}.{ending}"] = folder / ending
        (folder / ending).write_bytes(data)
    raw, bundle = folder / "raw.zip", folder / "seed.zip"
    write_bundle(raw, records=records(), rows=(), photos=photos, checklists={DIGEST: CHECKLIST})
    with open_desk(folder / "store") as store:
        place = workplace(store)
        merge_bundles(place, [raw])
        place.add(Note, concern=CONCERN, walk=WALK, station="press", words="made here")
        bundle_concerns(place, bundle)
    return Seeds(bundle, folder / "store")


def open_desk(folder: Path, *, writable: bool = True) -> Store:
    """Open a store whose id and times are the same in every run."""
    return Store(folder, now=SteppingClock(), new_id=id_maker(7), app="soak", writable=writable)


def workplace(store: Store) -> Workplace:
    """Give the workplace on a desk."""
    return Workplace(
        store=store, checklists=None, now=SteppingClock(), new_id=id_maker(8), by="QE-RT"
    )  # fmt: skip


def records() -> list[Record]:
    """Records of every kind that say something in a summary."""
    here = {"station": "weld", "check": "look"}
    outside = {"walk": ""}
    found: list[Record] = [
        make(Concern, id=CONCERN, number=1, stream=STREAM, defect="crack", what="=cracked",
             severity="safety", share_low="0.05", share_high="0.9", **outside),
        make(WalkStart, id=WALK, number=2, stream=STREAM, checklist=DIGEST, direction="down"),
        make(Escalation, 11, told="plant manager", told_at="2026-03-03T07:00:00+01:00", **outside),
        make(HazardsRead, 12, station="weld"),
        make(Sample, 13, station="weld", lot="L-1", made_on="2026-03-01"),
        make(Count, 14, **here, checked=20, nok=8, unit="1"),
        make(Count, 15, station="dock", check="look", checked=20, nok=9),
        make(Setting, 16, station="weld", check="heat", set_value="220", actual="225.5",
             unit_of_measure="°C"),
        make(ChangePoint, 17, station="weld", change="machine", what="pads\nharder",
             changed_on="2026-02-25", reason="worn", approved_by="shift lead", customer_told="no"),
        make(Note, 18, station="weld", words="'quoted', \"twice\"\nand a second line"),
        make(Photo, 19, station="weld", sha256=sha256_of(JPEG), media="image/jpeg", size_bytes=len(JPEG),
             width_px=16, height_px=24, caption="@ear"),
        make(Photo, 20, station="weld", sha256=sha256_of(PNG), media="image/png", size_bytes=len(PNG),
             width_px=20, height_px=12, invented=True),
        make(PictureMark, 25, photo=sha256_of(PNG), shape="ring", points="0.1 0.2; 0.4 0.55", **outside),
        make(PictureMark, 26, photo=sha256_of(PNG), shape="words", points="0.5 0.5", words="=crack",
             letters=50, **outside),
        make(PictureMark, 27, photo=sha256_of(PNG), shape="line", points="0 0; 1 1; 0 1",
             replaces=(record_id(25),), **outside),
        make(StationWeight, 21, station="weld", weight="2", reason="seen before"),
        make(Note, 22, station="press", words="corrected", replaces=(record_id(18),)),
        make(Answer, 23, station="press", check="look", answer="ok"),
        make(Withdrawal, 24, replaces=(record_id(23),)),
        make(PartSeen, 25, about=record_id(40), part="=EAR-1", lot="L-1", read_by="code"),
        make(PartSeen, 26, about=record_id(41), part="P1", read_by="typed"),
        make(Study, 30, station="weld", check="look", repeats=1, seed="s", **outside),
        make(RatesChosen, 31, station="weld", check="look", study=record_id(30), detection="0.93",
             false_alarm="0.07", detection_low="0.6", false_alarm_high="0.4", bad_parts=6, good_parts=6,
             **outside),
        make(CarriedRecord, 32, carried_kind="marking", cells=(("shape", "=ring"), ("size_mm", "-2.5"))),
    ]  # fmt: skip
    found += [
        make(Answer, number, station="press", check="look", answer="ok", unit=str(number % 2 + 1))
        for number in range(40, 46)
    ]
    for number, value in enumerate(("1.50", "1.52", "1.48", "1.90", "1.95", "2.05")):
        station = "press" if number < 3 else "weld"
        found.append(make(Measurement, 50 + number, station=station, check="gap", value=value,
                          unit_of_measure="mm", part=f"P{number % 3}"))  # fmt: skip
    for number, (day, nok) in enumerate((("20", 0), ("22", 0), ("24", 1), ("26", 7), ("28", 8))):
        found.append(make(DatedCount, 60 + number, **here, **outside, lot=f"+{day}",
                          made_on=f"2026-02-{day}", checked=20, nok=nok))  # fmt: skip
    for number, known in enumerate(("bad", "bad", "good", "good")):
        found.append(make(KnownPart, 70 + number, study=record_id(30), label=f"-{number}", known=known,
                          **outside))  # fmt: skip
        called = "not_ok" if known == "bad" else "ok"
        found += [make(StudyReading, 80 + 2 * number + i, study=record_id(30), part=f"-{number}",
                       inspector=who, repeat=1, called=called, **outside)
                  for i, who in enumerate(("SL-KB", "QE-RT"))]  # fmt: skip
    return [*found, *_audits(), *_desk()]


def _desk() -> list[Record]:
    """What the desk keeps: a month recorded twice, one corrected, a month of another age, and targets."""
    book = {"concern": DESK, "walk": "", "stream": STREAM}
    factor = {**book, "factor": "=No crack goes out", "indicator": "ppm", "when_off": "@sort"}
    return [
        make(Deliveries, 200, **book, month="2026-02-01", delivered=50_000),
        make(Deliveries, 201, **book, month="2026-02-01", delivered=51_000, customer_nok=3),
        make(Deliveries, 202, **book, month="2026-01-01", delivered=0, part_number="-P1", source="+d.csv"),
        make(Deliveries, 203, **book, month="2026-01-01", delivered=7, part_number="-P1",
             replaces=(record_id(202),)),
        make(Deliveries, 204, **book, month="9999-12-01", delivered=1),
        make(SuccessFactor, 205, **factor, target="100"),
        make(SuccessFactor, 206, **factor, target="-1.5"),
    ]  # fmt: skip


def _audits() -> list[Record]:
    """Audits of every state, with findings, and records that lie where they must not."""
    book = {"concern": BOOK, "walk": ""}
    slot = {"stream": STREAM, "checklist": DIGEST, "layer": "shift-lead", "shift": "early"}
    audit, nok = record_id(100), record_id(103)
    said = {**book, "audit": audit, "finding": nok}
    later = {"owner": "=SL", "due_on": "2026-03-05"}
    again = {**said, "replaces": (record_id(104),)}
    pads = {"audit": audit, "station": "weld", "question": "pads"}
    return [
        make(AuditStart, 100, **book, **slot, day="2026-03-02", added=f"weld/{record_id(99)} press/guard"),
        make(AuditAnswer, 101, **book, audit=audit, station="press", question="guard", asked="Closed?",
             answer="ok"),
        make(AuditAnswer, 102, **book, audit=audit, station="weld", watch=record_id(99), asked="Soft?",
             answer="not_applicable", reason="@no parts"),
        make(AuditAnswer, 103, **book, **pads, asked="Pads?", answer="not_ok"),
        make(AuditReaction, 104, **said, reaction="contained", what="held\nand marked", **later),
        make(AuditReaction, 105, **again, reaction="corrected", what="put right"),
        make(AuditReaction, 106, **again, reaction="escalated", what="told", **later),
        make(FindingClosed, 107, **said, closed_on="2026-03-04", evidence="'seen'"),
        make(AuditSigned, 108, **book, audit=audit, ok=1, nok=1, not_applicable=1, note="+dirty floor"),
        make(AuditMissed, 109, **book, stream=STREAM, layer="manager", day="2026-03-02", reason="=ill"),
        make(AuditStart, 110, **book, **slot, day="2026-03-03", paper_by="SL",
             paper_from="2026-03-03T06:30:00+01:00", paper_until="2026-03-03T06:40:00+01:00"),
        make(AuditStart, 111, **book, **{**slot, "layer": "gone"}, day="0001-01-01"),
        make(AuditStart, 112, **book, **{**slot, "stream": "other"}, day="9999-12-31"),
        make(AuditAnswer, 113, **book, audit=record_id(99), station="gone", question="gone", asked="?",
             answer="not_ok", at="0001-01-01T00:00:00+00:00"),
        make(AuditReaction, 114, **{**said, "finding": record_id(99)}, reaction="corrected", what="lost"),
        make(FindingClosed, 115, **said, closed_on="9999-12-31", evidence="x", at="9999-12-31T23:59:59Z"),
        make(Photo, 116, **book, about=nok, sha256=sha256_of(PNG), media="image/png", size_bytes=len(PNG),
             width_px=20, height_px=12),
        make(Photo, 117, **book, about=record_id(99), sha256=sha256_of(JPEG), media="image/jpeg",
             size_bytes=len(JPEG), width_px=16, height_px=24),
        make(AuditAnswer, 118, walk="", **pads, asked="In a concern?", answer="not_ok"),
        make(Concern, 119, **book, stream=STREAM, defect="crack", what="in a book", severity="safety"),
        make(Note, 120, walk=BOOK, station="weld", words="a walk with the id of a book"),
        make(AuditAnswer, 121, walk=BOOK, **pads, asked="Whose?", answer="not_ok", replaces=(nok,)),
        make(AuditAnswer, 122, concern=BOOK, **pads, asked="In a walk?", answer="ok", replaces=(nok,)),
    ]  # fmt: skip
