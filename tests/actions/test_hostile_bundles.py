"""Bundles that are right in every hash and still must not get in, and what a merge may touch on disk."""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
import tracemalloc
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
from PIL import Image

from tests.builders import CONCERN, make
from tests.photos.camera import as_jpeg, as_png, decoded, jpeg_segment, png_chunk, scene
from tests.soak.hostile.judge import snapshot
from tests.soak.hostile.packing import describe, pack, spoil_members, spoil_zip, take_apart
from tests.soak.hostile.seeds import DIGEST, OWN, make_seeds, open_desk, workplace
from walkapp.actions.arriving import LARGEST_OWN_NUMBER
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.merging import merge_bundles
from walkapp.actions.pictures import kept_pictures
from walkapp.actions.reading import all_concerns
from walkapp.actions.summaries import summarise
from walkapp.actions.thumbnails import Thumbnails
from walkapp.bundle import open_bundle, write_bundle
from walkapp.checklists import digest_of
from walkapp.errors import BundleError
from walkapp.files import sha256_of
from walkapp.model.records import Concern, Note, Photo, StationWeight, WalkStart
from walkapp.model.standing import standing_of
from walkapp.photos import examine, small_picture, without_location

REPOSITORY = Path(__file__).resolve().parents[2]
ZIP = b"PK\x03\x04\x14\0 a whole zip may stand here PK\x05\x06" + bytes(18)
PAGE = b"<html><body onload=alert(1)><script>steal()</script></body></html>"


@dataclass
class Desk:
    """An empty store, and a way to get a bundle with one picture."""

    folder: Path

    def __post_init__(self):
        self.store = open_desk(self.folder / "desk")
        self.place = workplace(self.store)

    def merge(self, *paths):
        return merge_bundles(self.place, paths)

    def refusal(self, *paths):
        before = snapshot(self.folder / "desk")
        with pytest.raises(BundleError) as caught:
            self.merge(*paths)
        assert snapshot(self.folder / "desk") == before
        return str(caught.value)

    def bundle(self, data, **said):
        """Write a bundle with one picture, whose record says what is true unless told otherwise."""
        true = {"media": "image/jpeg", "width_px": 80, "height_px": 48, "size_bytes": len(data)}
        photo = make(Photo, 11, station="weld", sha256=sha256_of(data), **{**true, **said})
        concern = make(Concern, id=CONCERN, number=1, walk="", stream="x", defect="y", what="z",
                       severity="function")  # fmt: skip
        (self.folder / "picture").write_bytes(data)
        out = self.folder / "walk.zip"
        photos = {photo.file_name: self.folder / "picture"}
        write_bundle(out, records=[concern, photo], rows=[], photos=photos, checklists={})
        return out


@pytest.fixture
def desk(tmp_path):
    made = Desk(tmp_path)
    with made.store:
        yield made


# Pictures


def test_a_picture_that_agrees_with_its_record_comes_in_unchanged(desk):
    data = as_jpeg()

    desk.merge(desk.bundle(data))

    assert desk.store.photo_path(f"{sha256_of(data)}.jpg").read_bytes() == data


@pytest.mark.parametrize(
    "data",
    [
        b"\xff\xd8\xff no picture", as_jpeg()[:-200], as_jpeg()[:40], as_png()[:-30], PAGE, ZIP,
        b"GIF89a" + bytes(99),
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>", as_jpeg()[:2] + PAGE,
        png_chunk(b"IHDR", bytes(13)), as_png().replace(b"IDAT", b"IDAX"),
    ],
)  # fmt: skip
def test_a_file_that_is_no_whole_picture_keeps_the_bundle_out(desk, data):
    said = desk.refusal(desk.bundle(data))

    assert said == (
        f"walk.zip: photos/{sha256_of(data)}.jpg cannot be decoded as a picture, so it was put in "
        "afterwards; ask for the bundle again."
    )
    assert list(desk.store.all_records()) == []


def test_a_small_file_of_giant_pixels_keeps_the_bundle_out_and_is_not_decoded(desk):
    data = as_png(Image.new("1", (10_000, 5_001)))
    assert len(data) < 20_000

    said = desk.refusal(desk.bundle(data, media="image/png", width_px=10_000, height_px=5_001))

    assert "cannot be decoded as a picture" in said


@pytest.mark.parametrize(
    "said",
    [{"width_px": 81}, {"height_px": 47}, {"width_px": 48, "height_px": 80}, {"size_bytes": 1},
     {"media": "image/png"}],
)  # fmt: skip
def test_a_picture_that_is_not_what_its_record_says_keeps_the_bundle_out(desk, said):
    data = as_jpeg()

    words = desk.refusal(desk.bundle(data, **said))

    assert words.endswith(
        f" is 80 x 48 pixels of image/jpeg in {len(data)} bytes, its record says otherwise; "
        "ask for the bundle again."
    )


def test_one_wrong_picture_keeps_all_bundles_of_the_call_out(desk, tmp_path):
    good = make_seeds(tmp_path / "seeds").bundle

    assert "cannot be decoded" in desk.refusal(good, desk.bundle(as_jpeg()[:-100]))


def test_the_bytes_of_a_zip_behind_a_picture_change_nothing_of_what_is_shown(desk):
    # Phones put films there: kept as it was taken, never looked at, dropped from what is given away.
    for data in (as_jpeg(), as_png()):
        for behind in (ZIP, PAGE, b"#!/bin/sh\nrm -r /\n", as_jpeg(scene((30, 20)))):
            polyglot = data + behind
            assert small_picture(polyglot, 64) == small_picture(data, 64)
            assert without_location(polyglot) == without_location(data)
            facts, clean = examine(polyglot, "p"), examine(data, "p")
            assert (facts.width_px, facts.height_px) == (clean.width_px, clean.height_px)


def test_a_payload_in_the_metadata_changes_nothing_of_what_is_shown():
    clean_jpeg, clean_png = as_jpeg(), as_png()
    jpeg = (
        clean_jpeg[:2] + jpeg_segment(0xFE, PAGE) + jpeg_segment(0xE1, b"http://x\0" + ZIP) + clean_jpeg[2:]
    )
    png = (
        clean_png[:33] + png_chunk(b"tEXt", b"Comment\0" + PAGE) + png_chunk(b"zzZz", ZIP) + clean_png[33:]
    )

    for polyglot, clean in ((jpeg, clean_jpeg), (png, clean_png)):
        assert small_picture(polyglot, 64) == small_picture(clean, 64)
        assert PAGE not in without_location(polyglot)
        assert ZIP not in without_location(polyglot)


def test_a_polyglot_is_kept_and_passed_on_only_when_pictures_as_taken_are_asked_for(desk, tmp_path):
    data = as_jpeg() + ZIP
    desk.merge(desk.bundle(data))

    bundle_concerns(desk.place, tmp_path / "copies.zip")
    bundle_concerns(desk.place, tmp_path / "again.zip", originals=True)

    with open_bundle(tmp_path / "copies.zip") as copies:
        assert copies.photo_names == ()
    with open_bundle(tmp_path / "again.zip") as again:
        assert again.photo_names == (f"{sha256_of(data)}.jpg",)
        assert again.read_photo(again.photo_names[0]) == data
    assert decoded(desk.store.photo_path(f"{sha256_of(data)}.jpg").read_bytes()).size == (80, 48)


def test_one_picture_is_held_in_memory_at_a_time(desk, tmp_path):
    noise = random.Random(1)
    pictures = [as_png(Image.frombytes("RGB", (500, 500), noise.randbytes(750_000))) for _ in range(16)]
    common = {"station": "weld", "media": "image/png", "width_px": 500, "height_px": 500}
    photos, records = {}, []
    for number, data in enumerate(pictures, start=10):
        records.append(make(Photo, number, sha256=sha256_of(data), size_bytes=len(data), **common))
        photos[f"{sha256_of(data)}.png"] = tmp_path / str(number)
        (tmp_path / str(number)).write_bytes(data)
    write_bundle(tmp_path / "walk.zip", records=records, rows=[], photos=photos, checklists={})
    del pictures
    tracemalloc.start()

    desk.merge(tmp_path / "walk.zip")

    peak_bytes = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak_bytes < 9_000_000  # of 12 million in all; what the decoder holds is not counted here


def test_a_picture_that_was_damaged_in_the_store_hides_no_other(desk):
    good, bad = as_jpeg(), as_jpeg(scene((30, 20)))
    desk.merge(desk.bundle(good))
    desk.merge(desk.bundle(bad, width_px=30, height_px=20))
    path = desk.store.photo_path(f"{sha256_of(bad)}.jpg")
    path.write_bytes(b"\0" * 100)

    records = tuple(desk.store.all_records())
    shown = kept_pictures(desk.place, Thumbnails(desk.place).give, records, standing_of(records))

    assert sorted(p.caption for p in shown) == ["80 x 48", "Damaged, cannot be shown: 30 x 20"]
    assert all(len(p.pixels) == 3 * p.size[0] * p.size[1] for p in shown)


# Entries and checklists


def _with_own_number(seeds, number):
    """The good bundle, in which the one entry of the desk itself has another running number."""
    members = take_apart(seeds.bundle)
    assert f"{OWN},1,".encode() in members["note.csv"]
    members["note.csv"] = members["note.csv"].replace(f"{OWN},1,".encode(), f"{OWN},{number},".encode())
    members["datapackage.json"] = json.dumps(describe(members, members)).encode()
    path = seeds.bundle.with_name("walk.zip")
    path.write_bytes(pack(members, random.Random(1)))
    return path


@pytest.mark.parametrize("number", [LARGEST_OWN_NUMBER + 1, 1_000_000_000])
def test_a_bundle_cannot_use_up_the_running_numbers_of_the_tablet(desk, tmp_path, number):
    # The tablet goes on behind the highest of its numbers: with all of them gone it could record nothing.
    seeds = make_seeds(tmp_path / "seeds")
    path = _with_own_number(seeds, number)

    said = desk.refusal(path)

    assert said == (
        f"walk.zip: holds an entry of this very tablet with the running number {number}, which it never "
        "gave; ask for the bundle again."
    )
    desk.place.add(Note, concern=CONCERN, walk="", station="weld", words="goes on")


def test_the_largest_number_of_its_own_that_comes_back_leaves_as_many(desk, tmp_path):
    seeds = make_seeds(tmp_path / "seeds")
    number = LARGEST_OWN_NUMBER

    desk.merge(_with_own_number(seeds, number))

    assert desk.place.add(Note, concern=CONCERN, walk="", station="weld", words="x").number == number + 1


def test_a_checklist_that_cannot_be_read_hides_no_other_concern(desk, tmp_path):
    # Its digest is right, so it is kept; perhaps a newer version made it.
    files = {"stream.toml": b"name = [", "checks.toml": b"\xff"}
    other = [
        make(Concern, 2, id="019c936e-3802-7000-8000-00000000aaaa", walk="", stream="x", defect="y",
             what="another", severity="function"),
        make(WalkStart, 3, id="019c936e-3802-7000-8000-00000000bbbb", stream="x",
             checklist=digest_of(files), direction="down"),
    ]  # fmt: skip
    records = [replace(r, concern=other[0].id, walk=r.walk and other[1].id) for r in other]
    out = tmp_path / "odd.zip"
    write_bundle(out, records=records, rows=[], photos={}, checklists={digest_of(files): files})
    desk.merge(make_seeds(tmp_path / "seeds").bundle, out)

    summaries = {s.facts.concern.what: s for s in summarise(desk.place)}

    assert len(all_concerns(desk.place)) == 2
    assert summaries["=cracked"].answer.first_bad_station == "Weld"
    assert summaries["another"].answer is None
    assert "is not here, or has mistakes" in summaries["another"].trouble


def test_an_entry_of_a_walk_that_claims_to_replace_the_concern_hides_no_concern(desk, tmp_path):
    desk.merge(make_seeds(tmp_path / "seeds").bundle)
    claim = make(Note, 500, station="weld", words="gone", replaces=(CONCERN,))
    write_bundle(tmp_path / "walk.zip", records=[claim], rows=[], photos={}, checklists={})

    desk.merge(tmp_path / "walk.zip")

    (summary,) = summarise(desk.place)
    assert summary.facts.concern.what == "=cracked"
    assert summary.answer.first_bad_station == "Weld"


def test_weights_of_0_at_every_station_are_told_and_not_counted(desk, tmp_path):
    desk.merge(make_seeds(tmp_path / "seeds").bundle)
    weights = [
        make(StationWeight, number, station=station, weight="0", reason="not here")
        for number, station in enumerate(("press", "weld", "dock"), start=500)
    ]
    write_bundle(tmp_path / "walk.zip", records=weights, rows=[], photos={}, checklists={})

    desk.merge(tmp_path / "walk.zip")

    (summary,) = summarise(desk.place)
    words = "Every station was given the weight 0: no weight is counted until one has another."
    assert words in summary.answer.warnings
    assert summary.answer.first_bad_station == "Weld"


def test_a_checklist_is_read_for_the_stream_that_a_walk_names(desk, tmp_path):
    # Two walks may name one checklist for two streams; neither may get the other's.
    desk.merge(make_seeds(tmp_path / "seeds").bundle)

    assert desk.place.kept_stream("small-line", DIGEST).id == "small-line"
    assert desk.place.kept_stream("other-line", DIGEST).id == "other-line"


# What a merge touches


@dataclass(frozen=True)
class Watched:
    store: Path
    temporary: Path
    around: Path
    said: dict

    def outside(self, what, allowed):
        return [
            (event, path)
            for event, path in self.said[what]
            if not Path(path).is_relative_to(allowed) and not path.endswith(".pyc")
        ]


def watch(folder, bundles):
    """Merge bundles in a process of its own, in which every change on disk is noted."""
    work, temporary = folder / "work", folder / "temporary"
    for made in (work, temporary):
        made.mkdir()
    child = [sys.executable, "-B", "-m", "tests.actions.watch_child", str(work / "store"), str(work)]
    environment = {**os.environ, "TMPDIR": str(temporary)}
    done = subprocess.run(
        [*child, *map(str, bundles)], cwd=REPOSITORY, env=environment, capture_output=True, text=True,
        timeout=300,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return Watched(work / "store", temporary, work, json.loads(done.stdout))


def test_a_merge_writes_only_inside_the_store_whatever_the_bundle(tmp_path):
    seeds = make_seeds(tmp_path / "seeds")
    members, raw = take_apart(seeds.bundle), seeds.bundle.read_bytes()
    bundles = tmp_path / "bundles"
    bundles.mkdir()
    for number in range(60):
        chance = random.Random(number)
        data = spoil_members(members, chance)[0] if number % 2 else spoil_zip(raw, chance)
        (bundles / f"{number}.zip").write_bytes(data)
    before = snapshot(bundles)

    watched = watch(tmp_path, [seeds.bundle, *sorted(bundles.iterdir())])

    assert watched.said["merged"] > 5
    assert len(watched.said["merging"]) > 100
    assert watched.outside("merging", watched.store) == []
    assert watched.outside("looking", watched.temporary) == []
    assert list(watched.temporary.iterdir()) == []
    assert [path.name for path in watched.around.iterdir()] == ["store"]
    assert snapshot(bundles) == before
    names = {path.name for path in watched.store.iterdir()}
    assert names == {"journals", "photos", "checklists", "aside", "store.json", "lock", "ballast"}


def test_the_watch_notices_a_file_outside_the_store(tmp_path):
    # The control of the test above.
    (tmp_path / "control").write_bytes(b"")

    watched = watch(tmp_path, [tmp_path / "control"])

    assert watched.outside("merging", watched.store) == [("open", str(watched.around / "outside"))]
