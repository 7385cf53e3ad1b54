"""A small bundle for the tests of this folder, and ways to make a wrong one out of it."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.builders import CONCERN, WALK, make, record_id
from walkapp.bundle import BundleFacts, FirstBadRow, write_bundle
from walkapp.files import Disk
from walkapp.model.records import (
    Answer,
    CarriedRecord,
    ChangePoint,
    Concern,
    Count,
    DatedCount,
    KnownPart,
    Measurement,
    Note,
    Photo,
    RatesChosen,
    Record,
    StationWeight,
    Study,
    StudyReading,
    WalkStart,
)

PICTURE = b"\xff\xd8\xff invented, not a real picture"
PICTURE_NAME = hashlib.sha256(PICTURE).hexdigest() + ".jpg"
DIGEST = "c" * 64
CHECKLISTS = {DIGEST: {"stream.toml": b'name = "invented"\n', "checks.toml": "# geprüft\n".encode()}}


def sample_records() -> list[Record]:
    """One record of several kinds, each naming things that are there."""
    return [
        make(Concern, id=CONCERN, walk="", stream="washer", defect="ear-crack", what="ear, cracked",
             severity="safety", number=1),
        make(WalkStart, id=WALK, number=2, stream="washer", checklist=DIGEST, direction="guided"),
        make(Answer, 11, station="leak-test", check="look", answer="not_ok", unit="=3"),
        make(Answer, 12, station="leak-test", check="look", answer="ok"),
        make(Count, 13, station="weld", check="look", checked=30, nok=0),
        make(Measurement, 14, station="weld", check="gap", value="-1.50", unit_of_measure="mm"),
        make(ChangePoint, 15, station="leak-test", change="machine", what="pads\nharder",
             customer_told="no"),
        make(Note, 16, station="weld", words="'quoted'", replaces=(record_id(11),)),
        make(Photo, 17, station="leak-test", sha256=PICTURE_NAME[:64], media="image/jpeg",
             size_bytes=len(PICTURE), width_px=2, height_px=1),
        make(Study, 20, walk="", station="weld", check="look", repeats=2, seed="=seed", invented=True),
        make(KnownPart, 21, walk="", study=record_id(20), label="-7", known="bad"),
        make(StudyReading, 22, walk="", study=record_id(20), part="-7", inspector="SL-KB", repeat=1,
             called="not_ok"),
        make(RatesChosen, 23, walk="", station="weld", check="look", study=record_id(20),
             detection="0.928571", false_alarm="0.071429", detection_low="0.606962",
             false_alarm_high="0.393038", bad_parts=6, good_parts=6),
        make(StationWeight, 25, walk="", station="weld", weight="0.1", reason="=seen last week"),
        make(DatedCount, 24, walk="", station="leak-test", check="look", lot="+0225-1",
             made_on="2026-02-25", checked=20, nok=4),
        make(CarriedRecord, 18, carried_kind="marking", cells=(("shape", "=ring"), ("size_mm", "-2.5"))),
    ]  # fmt: skip


def sample_rows() -> list[FirstBadRow]:
    """Two stations of the computed answer."""
    common = {
        "concern": CONCERN,
        "defect": "ear-crack",
        "first_bad_station": "leak-test",
        "stream": "washer",
    }
    return [
        FirstBadRow(station_order=3, station="weld", checked=30, nok=0, share=0.0, low95=0.0,
                    high95=0.11570330820513247, probability_origin=1e-05, verdict="clean so far", **common),
        FirstBadRow(station_order=4, station="leak-test", checked=0, nok=0,
                    verdict="not visited", **common),
    ]  # fmt: skip


def sample_photos(folder: Path) -> dict[str, Path]:
    """Put the sample picture into a folder."""
    path = folder / "picture-as-taken"
    path.write_bytes(PICTURE)
    return {PICTURE_NAME: path}


def write_sample(out: Path, **others: Any) -> BundleFacts:
    """Write the sample bundle, or one that differs in what is named."""
    arguments: dict[str, Any] = {
        "records": sample_records(),
        "rows": sample_rows(),
        "checklists": CHECKLISTS,
        **others,
    }
    if "photos" not in others:
        arguments["photos"] = sample_photos(out.parent)
    return write_bundle(out, **arguments)


class QuickDisk(Disk):
    """A disk that does not wait, for tests of content that have nothing to do with power cuts."""

    def sync(self, file: int) -> None:
        """Do not wait."""

    def sync_folder(self, path: Path) -> None:
        """Do not wait."""


@dataclass
class Forger:
    """Makes a zip out of members, as somebody with a zip program would."""

    members: dict[str, bytes]

    @classmethod
    def of(cls, path: Path) -> Forger:
        """Take a good bundle apart."""
        with zipfile.ZipFile(path) as good:
            return cls({name: good.read(name) for name in good.namelist()})

    def descriptor(self) -> dict[str, Any]:
        """Give the descriptor as JSON values."""
        return json.loads(self.members["datapackage.json"])

    def replace(self, name: str, data: bytes) -> None:
        """Change or add a member and make the descriptor agree."""
        self.members[name] = data
        descriptor = self.descriptor()
        resources = [r for r in descriptor["resources"] if r["path"] != name]
        digest = hashlib.sha256(data).hexdigest()
        resources.append({"name": name, "path": name, "bytes": len(data), "hash": f"sha256:{digest}"})
        self.set_descriptor({**descriptor, "resources": resources})

    def set_descriptor(self, descriptor: Mapping[str, Any]) -> None:
        """Put another descriptor in."""
        self.members["datapackage.json"] = json.dumps(descriptor).encode()

    def save(self, path: Path, *extra: tuple[zipfile.ZipInfo, bytes]) -> Path:
        """Write the zip, with further entries at the end."""
        with zipfile.ZipFile(path, "w") as target:
            for name, data in self.members.items():
                target.writestr(zipfile.ZipInfo(name), data)
            for entry, data in extra:
                target.writestr(entry, data)
        return path
