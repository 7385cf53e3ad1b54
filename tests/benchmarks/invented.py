"""An invented plant's worth of records and pictures, as large as wanted, the same in every run."""

from __future__ import annotations

import hashlib
import io
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

from PIL import Image

from walkapp.checklists import load_streams, stream_files
from walkapp.model.checklist import Check, Station, Stream
from walkapp.model.ids import compose_uuid7
from walkapp.model.records import (
    Answer,
    ChangePoint,
    Concern,
    Count,
    HazardsRead,
    Measurement,
    Note,
    Photo,
    Record,
    Sample,
    Setting,
    WalkStart,
    Withdrawal,
)

CHECKLISTS = Path(__file__).parents[2] / "checklists"
STREAM = "washer-reservoir"
DEFECT = "cracked-ear"

_START = datetime(2026, 3, 2, 6, 0, tzinfo=timezone(timedelta(hours=1)))
_WALKS_OF_A_CONCERN = 6
_RECORDS_OF_A_WALK = 1_250
_ROLES = ("QE-RT", "QE-MB", "SL-KB", "TL-AH")
_WORDS = (
    "ear", "whitened", "crack", "seam", "clamp pad", "harder", "since the night shift", "heiß", "Ø 4,2 mm",
    '"as delivered"', "part from the belt", "second cavity", "cooled for", "rack", "= 3 of 20", "no change",
)  # fmt: skip
_SEGMENT_BYTES = 65_533  # What a JPEG comment can hold at most: its length field counts itself.


def stream_and_files() -> tuple[Stream, dict[str, bytes]]:
    """Read the ready-made checklist that the records belong to."""
    stream = next(s for s in load_streams(CHECKLISTS) if s.id == STREAM)
    return stream, stream_files(CHECKLISTS / STREAM)


def jpeg(chance: random.Random, size_bytes: int) -> bytes:
    """Make a JPEG that decodes, with random bytes that no packing makes smaller in its comments."""
    page = io.BytesIO()
    Image.new("RGB", (64, 48), (chance.randrange(256), 120, 120)).save(page, "JPEG")
    small = page.getvalue()
    parts = [small[:2]]
    left = size_bytes - len(small)
    while left > 4:
        room = min(left - 4, _SEGMENT_BYTES)
        parts.append(b"\xff\xfe" + (room + 2).to_bytes(2, "big") + chance.randbytes(room))
        left -= room + 4
    return b"".join((*parts, small[2:]))


def make_photos(folder: Path, count: int, size_bytes: int) -> dict[str, Path]:
    """Write invented pictures; give them by file name."""
    chance = random.Random(1)
    made = {}
    for _ in range(count):
        data = jpeg(chance, size_bytes)
        name = f"{hashlib.sha256(data).hexdigest()}.jpg"
        made[name] = folder / name
        made[name].write_bytes(data)
    return made


@dataclass
class Plant:
    """Makes the records of several concerns, each walked several times by several tablets."""

    stream: Stream
    chance: random.Random = field(default_factory=lambda: random.Random(20260302))
    clock: datetime = _START
    made: int = 0
    concern: str = ""
    walk: str = ""
    by: str = _ROLES[0]

    def __post_init__(self) -> None:
        self.devices = [self._id() for _ in range(len(_ROLES))]
        self.device = self.devices[0]
        self.numbers = dict.fromkeys(self.devices, 0)

    def records(self, count: int, photos: dict[str, Path]) -> list[Record]:
        """Make that many records, one of them for each picture."""
        waiting = iter(photos.items())
        every = max(count // (len(photos) + 1), 1)
        found: list[Record] = []
        for record in self._walks():
            found.append(record)
            if len(found) < count and len(found) % every == 0 and (photo := next(waiting, None)):
                found.append(self._photo(*photo))
            if len(found) >= count:
                break
        return found

    def _walks(self) -> Iterator[Record]:
        while True:
            yield self._concern()
            for number in range(_WALKS_OF_A_CONCERN):
                self.by, self.device = _ROLES[number % 4], self.devices[number % 4]
                yield self._walk_start()
                for place in range(_RECORDS_OF_A_WALK):
                    yield self._entry(self.stream.stations[place * 8 // _RECORDS_OF_A_WALK])

    def _id(self) -> str:
        self.made += 1
        self.clock += timedelta(seconds=4)
        return compose_uuid7(
            int(self.clock.timestamp() * 1000), self.made % 4096, self.chance.getrandbits(62)
        )

    def _make(self, kind: Callable[..., Record], **fields: Any) -> Record:
        self.numbers[self.device] += 1
        header = {
            "id": self._id(),
            "device": self.device,
            "number": self.numbers[self.device],
            "at": self.clock.isoformat(),
            "by": self.by,
            "concern": self.concern,
            "walk": self.walk,
        }
        return kind(**{**header, **fields})

    def _concern(self) -> Record:
        self.concern, self.walk = self._id(), ""
        return self._make(
            Concern, id=self.concern, stream=self.stream.id, defect=DEFECT, what="invented: cracked ear",
            severity="function", lots=f"{self.made:06}",
        )  # fmt: skip

    def _walk_start(self) -> Record:
        self.walk = self._id()
        return self._make(
            WalkStart, id=self.walk, stream=self.stream.id, checklist=self.stream.digest, direction="guided"
        )

    def _photo(self, name: str, path: Path) -> Record:
        return self._make(
            Photo, station="moulding", sha256=name[:64], media="image/jpeg",
            size_bytes=path.stat().st_size, width_px=64, height_px=48, caption=self._words(4),
            invented=True,
        )  # fmt: skip

    def _words(self, many: int) -> str:
        return " ".join(self.chance.choice(_WORDS) for _ in range(many))

    def _check(self, station: Station, *kinds: str) -> Check | None:
        found = [check for check in station.checks if check.kind in kinds]
        return self.chance.choice(found) if found else None

    def _entry(self, station: Station) -> Record:
        """One entry: mostly parts judged, then values, with a few of everything else between."""
        chance = self.chance
        roll = chance.random()
        judged = next((c for c in station.checks if c.finds == DEFECT), station.checks[0])
        is_bad = station.order >= 4 and chance.random() < 0.3
        if roll < 0.15 and (gauge := self._check(station, "measurement")):
            value = f"{float(gauge.nominal or 1) + chance.gauss(0, 0.05):.2f}"
            return self._make(
                Measurement, station=station.id, check=gauge.id, value=value,
                unit_of_measure=gauge.unit, part=f"P{chance.randrange(1, 30)}",
            )  # fmt: skip
        if roll < 0.20 and (dial := self._check(station, "setting")):
            value = str(dial.nominal or dial.lsl or 1)
            return self._make(
                Setting, station=station.id, check=dial.id, set_value=value, actual=value,
                unit_of_measure=dial.unit,
            )  # fmt: skip
        if roll < 0.28:
            return self._make(
                Count, station=station.id, check=judged.id, checked=20,
                nok=chance.randrange(1, 9) if is_bad else 0,
            )  # fmt: skip
        if roll < 0.33:
            return self._make(Note, station=station.id, words=self._words(chance.randrange(3, 25)))
        if roll < 0.35:
            return self._make(
                Sample, station=station.id, lot=f"0{chance.randrange(10**6)}", made_on="2026-02-27"
            )
        if roll < 0.36:
            return self._make(HazardsRead, station=station.id)
        if roll < 0.37:
            return self._make(
                ChangePoint, station=station.id, change="machine", what=self._words(6),
                changed_on="2026-02-20", reason=self._words(3), approved_by="PL", customer_told="no",
            )  # fmt: skip
        unit = chance.choice(station.units.names) if station.units else ""
        answer = self._make(
            Answer, station=station.id, check=judged.id, answer="not_ok" if is_bad else "ok", unit=unit
        )
        if roll > 0.995:
            return self._make(Withdrawal, replaces=(answer.id,), why="wrong part in the hand")
        return answer
