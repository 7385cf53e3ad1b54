"""Three tablets and a desk that record, correct, crash and pass bundles round, as a state machine.

At the end everybody takes in everybody's whole bundle, and then everybody sees the same, and nothing
that a tablet said was saved is missing. :class:`Fleet` is the machine; the tests run a few of its
histories and ``python -m tests.soak.merges`` many.
"""

from __future__ import annotations

import contextlib
import io
import random
import shutil
import tempfile
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone
from pathlib import Path

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule
from PIL import Image

from tests.builders import CONCERN, WALK, make, record_id
from tests.fakes import CHECKLISTS
from tests.merging.views import view_of
from tests.store.support import HastyDisk
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.disputes import disputes_of, settle
from walkapp.actions.merging import MergeStoppedError, merge_bundles
from walkapp.actions.reading import concern_facts
from walkapp.actions.workplace import Workplace
from walkapp.bundle import write_bundle
from walkapp.checklists import load_streams
from walkapp.errors import InputError
from walkapp.files import sha256_of
from walkapp.model.ids import IdMaker
from walkapp.model.records import (
    Answer,
    CarriedRecord,
    Concern,
    Count,
    Note,
    Photo,
    Record,
    WalkStart,
    Withdrawal,
)
from walkapp.store import Store

STREAMS = {stream.id: stream for stream in load_streams(CHECKLISTS)}
COLOURS = ("white", "red", "green")
TORN = b'0b5036ea {"kind":"note","id":"019cad2a-faad-7000-8000-000000000000"'
TABLETS = range(4)
"""Three tablets and, the last one, the desk."""


class StopSwitch(HastyDisk):
    """A disk at which the person presses Ctrl-C after so many operations."""

    def __init__(self) -> None:
        self.left: int | None = None
        self.count = 0

    def _step(self) -> None:
        self.count += 1
        if self.left is not None:
            self.left -= 1
            if self.left < 0:
                self.left = None
                raise KeyboardInterrupt

    def create(self, path):
        self._step()
        return super().create(path)

    def write(self, file, data):
        self._step()
        return super().write(file, data)

    def rename(self, source, target):
        self._step()
        super().rename(source, target)

    def make_folder(self, path):
        self._step()
        super().make_folder(path)

    def remove(self, path):
        self._step()
        super().remove(path)

    def sync_folder(self, path):
        self._step()


@dataclass
class Tablet:
    """One tablet: its store is opened anew after every crash."""

    folder: Path
    seed: int
    disk: StopSwitch = field(default_factory=StopSwitch)

    def __post_init__(self) -> None:
        self.time = datetime(2026, 3, 3, 6, 20, tzinfo=timezone(timedelta(hours=1)))
        self.chance = random.Random(self.seed)
        self.open()

    def now(self) -> datetime:
        self.time += timedelta(seconds=1)
        return self.time

    def open(self) -> None:
        new_id = IdMaker(lambda: int(self.time.timestamp() * 1000), self.chance.getrandbits)
        store = Store(self.folder, now=self.now, new_id=new_id, app="test", disk=self.disk)
        self.place = Workplace(store=store, checklists=CHECKLISTS, now=self.now, new_id=new_id, by="QE-RT")
        self.place._streams = STREAMS

    def close(self) -> None:
        self.place.store.close()

    @property
    def records(self) -> tuple[Record, ...]:
        return tuple(self.place.store.all_records())


def picture(colour: str) -> bytes:
    """Draw a small picture."""
    file = io.BytesIO()
    Image.new("RGB", (4, 3), colour).save(file, "PNG")
    return file.getvalue()


class Fleet(RuleBasedStateMachine):
    """The machine; see the module."""

    keeps_everything = True
    """A control turns this off: then a tablet loses what it has recorded when it crashes."""

    def __init__(self) -> None:
        super().__init__()
        self._folder = Path(tempfile.mkdtemp(prefix="walkapp-fleet-"))
        self.tablets = [Tablet(self._folder / f"tablet-{n}", n) for n in TABLETS]
        self.saved: set[Record] = set()
        self.bundles: list[Path] = []
        self._newer = 0

    # What begins

    @initialize()
    def begin(self) -> None:
        """One tablet opens the concern and a walk; the bundle of it goes round."""
        first = self.tablets[0].place
        concern = make(Concern, id=CONCERN, walk="", number=1, device=first.store.device,
                       stream="washer-reservoir", defect="cracked-ear", what="Cracked ears (invented)",
                       severity="function")  # fmt: skip
        walk = make(WalkStart, id=WALK, number=2, device=first.store.device, stream="washer-reservoir",
                    checklist=first.keep_checklist("washer-reservoir"), direction="down")  # fmt: skip
        first.store.append_all((concern, walk))
        self.saved |= {concern, walk}
        self._export(0, None)
        for tablet in self.tablets[1:]:
            merge_bundles(tablet.place, self.bundles)

    # What a person does

    @rule(who=st.sampled_from(TABLETS), kind=st.sampled_from((Answer, Count, Note)), word=st.booleans())
    def record(self, who: int, kind: type[Record], word: bool) -> None:
        """Make an entry."""
        self._add(who, kind, word)

    @rule(who=st.sampled_from(TABLETS), word=st.booleans(), data=st.data())
    def correct(self, who: int, word: bool, data: st.DataObject) -> None:
        """Correct one or two entries, whoever made them."""
        held = [r for r in self.tablets[who].records if isinstance(r, Answer | Count | Note)]
        if held:
            chosen = data.draw(st.lists(st.sampled_from(held), min_size=1, max_size=2))
            replaces = tuple(dict.fromkeys(r.id for r in chosen))
            self._add(who, type(chosen[0]), word, replaces=replaces, why="test")

    @rule(who=st.sampled_from(TABLETS), data=st.data())
    def withdraw(self, who: int, data: st.DataObject) -> None:
        """Take an entry back, or a correction, or a withdrawal."""
        held = [r for r in self.tablets[who].records if not isinstance(r, Concern | WalkStart)]
        if held:
            chosen = data.draw(st.sampled_from(held))
            self._keep(who, Withdrawal, replaces=(chosen.id,), why="test")

    @rule(who=st.sampled_from(TABLETS), data=st.data())
    def settle(self, who: int, data: st.DataObject) -> None:
        """Decide between entries that contradict each other."""
        place = self.tablets[who].place
        disputes = disputes_of(place, concern_facts(place, CONCERN))
        if disputes:
            chosen = data.draw(st.sampled_from(disputes))
            if chosen.can_settle:
                side = data.draw(st.integers(0, len(chosen.sides) - 1))
                self.saved.add(settle(place, CONCERN, chosen, side, "test"))

    @rule(who=st.sampled_from(TABLETS), colour=st.sampled_from(COLOURS))
    def photo(self, who: int, colour: str) -> None:
        """Take a picture, which may be one that another tablet has too."""
        data = picture(colour)
        self.tablets[who].place.store.add_photo(f"{sha256_of(data)}.png", data)
        self._keep(who, Photo, station="leak-test", sha256=sha256_of(data), media="image/png",
                   size_bytes=len(data), width_px=4, height_px=3, invented=True)  # fmt: skip

    # What goes round

    @rule(who=st.sampled_from(TABLETS), since=st.sampled_from((None, 0, 1)))
    def export(self, who: int, since: int | None) -> None:
        """Write a bundle: of everything, or of what is new since a day."""
        self._export(who, since)

    @rule(who=st.sampled_from(TABLETS), data=st.data())
    def take_in(self, who: int, data: st.DataObject) -> None:
        """Merge bundles that are about, in any order, new or known."""
        chosen = data.draw(st.lists(st.sampled_from(self.bundles), min_size=1, max_size=3))
        merge_bundles(self.tablets[who].place, chosen)

    @rule(who=st.sampled_from(TABLETS), after=st.integers(0, 40), data=st.data())
    def take_in_and_stop(self, who: int, after: int, data: st.DataObject) -> None:
        """Press Ctrl-C during a merge: each bundle is then merged whole or not at all."""
        tablet = self.tablets[who]
        chosen = data.draw(st.lists(st.sampled_from(self.bundles), min_size=1, max_size=3))
        tablet.disk.left = after
        with contextlib.suppress(MergeStoppedError):
            merge_bundles(tablet.place, chosen)
        tablet.disk.left = None
        self.crash(who, 0)

    @precondition(lambda self: self._newer < 3)
    @rule(who=st.sampled_from(TABLETS), replaces_something=st.booleans())
    def newer_version(self, who: int, replaces_something: bool) -> None:
        """A tablet of a newer version sends a kind that nobody knows, with a picture that only it names."""
        self._newer += 1
        data = picture(("blue", "black", "yellow")[self._newer - 1])
        replaces = (record_id(500 + self._newer - 1),) if replaces_something else ()
        marking = make(
            CarriedRecord,
            500 + self._newer,
            device=record_id(77),
            carried_kind="marking",
            cells=(("shape", "=ring"), ("picture", sha256_of(data))),
            replaces=replaces,
        )
        source = self._folder / "picture"
        source.write_bytes(data)
        out = self._folder / f"newer-{self._newer}.zip"
        photos = {f"{sha256_of(data)}.png": source}
        write_bundle(out, records=[marking], rows=(), photos=photos, checklists={})
        self.bundles.append(out)
        merge_bundles(self.tablets[who].place, [out])
        self.saved.add(marking)

    # What goes wrong

    @rule(who=st.sampled_from(TABLETS), days=st.sampled_from((-400, -1, 1, 400)))
    def clock_jump(self, who: int, days: int) -> None:
        """The clock is set back or forward."""
        self.tablets[who].time += timedelta(days=days)

    @rule(who=st.sampled_from(TABLETS), torn_bytes=st.integers(0, 60))
    def crash(self, who: int, torn_bytes: int) -> None:
        """The power goes while an entry is being written, and the app starts again."""
        tablet = self.tablets[who]
        tablet.close()
        if not self.keeps_everything:
            shutil.rmtree(tablet.folder / "journals" / "own")
        journals = sorted((tablet.folder / "journals" / "own").glob("*.journal"))
        if torn_bytes and journals:
            with journals[-1].open("ab") as file:
                file.write(
                    b'0b5036ea {"kind":"note","id":"019cad2a-faad-7000-8000-000000000000"'[:torn_bytes]
                )
        tablet.open()

    # What has to be true at the end

    def teardown(self) -> None:
        """All take in all: all see the same, and nothing that was saved is missing."""
        try:
            if self.bundles:
                self._come_together()
        finally:
            for tablet in self.tablets:
                tablet.close()
            shutil.rmtree(self._folder)

    def _come_together(self) -> None:
        for who in TABLETS:
            self._export(who, None)
        views = []
        for number, tablet in enumerate(self.tablets):
            order = list(self.bundles)
            random.Random(number).shuffle(order)
            merge_bundles(tablet.place, order)
            views.append(view_of(tablet.place, self._folder))
        for view in views:
            missing = self.saved - set(view.facts.records)
            assert not missing, f"{len(missing)} saved records are missing"
            assert view.facts == views[0].facts
            assert view == views[0]

    # Inside

    def _add(self, who: int, kind: type[Record], word: bool, **more: object) -> None:
        if kind is Answer:
            said = {"check": "ear-look", "answer": "ok" if word else "not_ok"}
        elif kind is Count:
            said = {"check": "ear-look", "checked": 20, "nok": int(word)}
        else:
            said = {"words": "a" if word else "=b"}
        self._keep(who, kind, station="leak-test" if word else "welding", **said, **more)

    def _keep(self, who: int, kind: type[Record], **said: object) -> None:
        self.saved.add(self.tablets[who].place.add(kind, concern=CONCERN, walk=WALK, **said))

    def _export(self, who: int, since: int | None) -> None:
        tablet = self.tablets[who]
        day = None if since is None else tablet.time.date() + timedelta(days=since)
        out = self._folder / f"bundle-{len(self.bundles)}.zip"
        try:
            bundle_concerns(tablet.place, out, since=day)
        except InputError as error:
            assert "There is nothing to bundle" in str(error)
            assert since is not None or not tablet.records
        else:
            self.bundles.append(out)


class ForgetfulFleet(Fleet):
    """The control: a crash takes what the tablet had recorded."""

    keeps_everything = False
