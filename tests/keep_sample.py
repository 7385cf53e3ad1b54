"""Keep a sample bundle and store of the present format: ``python -m tests.keep_sample``.

Run it when a format has been raised, and never again for that format: the sample is what the writer of
that format makes. It is small and invented: one walk, corrections, a picture, and a kind that this
version does not know with a picture that only it names.
"""

from __future__ import annotations

import io
import json
import shutil
import tempfile
from pathlib import Path

from PIL import Image

from tests.builders import record_id
from tests.fakes import Desk
from tests.floors import Floor
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.merging import merge_bundles
from walkapp.actions.summaries import Summary, summarise
from walkapp.bundle import write_bundle
from walkapp.bundle.layout import FORMAT
from walkapp.files import sha256_of
from walkapp.model.records import CarriedRecord, Concern, SuspectRange
from walkapp.store.reading import FORMAT as STORE_FORMAT

FOLDER = Path(__file__).parent / "bundle" / "old_files"
STORES = Path(__file__).parent / "store" / "old_files"


def answer_of(summary: Summary) -> dict[str, object]:
    """Give what may not change whatever becomes of the program: the counts, and what they say."""
    return {
        "first_bad_station": summary.answer.first_bad_station,
        "stations": [[v.station, v.checked, v.nok, v.verdict] for v in summary.answer.stations],
        "walks": len(summary.facts.walks),
    }


def picture(colour: str) -> bytes:
    """Draw a small picture."""
    file = io.BytesIO()
    Image.new("RGB", (8, 6), colour).save(file, "PNG")
    return file.getvalue()


def fill(desk: Desk, folder: Path) -> None:
    """Record the walk and take in what a newer version sent."""
    floor = Floor(desk)
    floor.walk()
    floor.lot(26, nok=9, lot="=0226-1")
    floor.change("Harder clamp pads (invented)", day=22, meant_to="Last longer")
    floor.walking.note("leak-test", "'quoted', two\nlines")
    floor.walking.add_photo("leak-test", picture("white"), "png", caption="invented", invented=True)
    floor.walking.note("leak-test", "taken back")
    floor.walking.undo(desk.facts(floor.route))
    other = picture("red")
    (folder / "other").write_bytes(other)
    marking = CarriedRecord(
        id=record_id(7), device=record_id(8), number=1, at="2026-03-03T07:00:00+01:00", by="QE-RT",
        concern=floor.route.concern, walk=floor.route.walk, carried_kind="marking",
        cells=(("shape", "=ring"), ("picture", sha256_of(other)), ("size_mm", "-2.50")),
    )  # fmt: skip
    newer = write_bundle(
        folder / "newer.zip",
        records=[marking],
        rows=(),
        photos={f"{sha256_of(other)}.png": folder / "other"},
        checklists={},
    )
    merge_bundles(desk.place, [newer.path])


def main() -> None:
    """Write the samples that are not there yet."""
    keep_bundle(FOLDER / f"format_{FORMAT}.zip")
    keep_store(STORES / f"format_{STORE_FORMAT}")


def keep_bundle(out: Path) -> None:
    """Write the sample bundle and its answer, unless there is one."""
    if out.exists():
        print(f"{out} is kept already and stays as it is.")
        return
    with tempfile.TemporaryDirectory() as name:
        desk = Desk(Path(name))
        with desk.store:
            fill(desk, Path(name))
            bundle_concerns(desk.place, out)
            (summary,) = summarise(desk.place)
    answer = json.dumps(answer_of(summary), indent=1) + "\n"
    out.with_suffix(".json").write_text(answer, encoding="utf-8")
    print(out)


def keep_store(out: Path) -> None:
    """Copy a sample store, unless there is one: an own concern, without what only a running app needs.

    Its stream is not among the checklists, so that it gives no answer of its own beside a kept bundle's.
    """
    if out.exists():
        print(f"{out} is kept already and stays as it is.")
        return
    with tempfile.TemporaryDirectory() as name:
        desk = Desk(Path(name), seed=7)
        with desk.store:
            concern = desk.place.new_id()
            said = {"stream": "another-line", "defect": "burr", "severity": "function"}
            desk.place.add(
                Concern, id=concern, concern=concern, what="A burr (invented)",
                made_from="2026-02-20", made_to="2026-02-27", **said,
            )  # fmt: skip
            desk.place.add(SuspectRange, concern=concern, quantity=4800, source="counter of the machine")
            desk.session.remember_person("QE-RT")
        keep = ("lock", "ballast")
        shutil.copytree(desk.store.folder, out, ignore=shutil.ignore_patterns(*keep))
    print(out)


if __name__ == "__main__":
    main()
