"""Keep a sample bundle of the present format, with its answer: ``python -m tests.keep_sample``.

Run it before the format of the bundle is raised, never after: the sample is what the present writer
makes. It is small and invented: one walk, corrections, a picture, and a kind that this version does
not know with a picture that only it names.
"""

from __future__ import annotations

import io
import json
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
from walkapp.model.records import CarriedRecord

FOLDER = Path(__file__).parent / "bundle" / "old_files"


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
    floor.change("Harder clamp pads (invented)", day=22)
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
    """Write the sample unless there is one."""
    out = FOLDER / f"format_{FORMAT}.zip"
    if out.exists():
        raise SystemExit(f"{out} is kept already and stays as it is.")
    with tempfile.TemporaryDirectory() as name:
        desk = Desk(Path(name))
        with desk.store:
            fill(desk, Path(name))
            bundle_concerns(desk.place, out)
            (summary,) = summarise(desk.place)
    answer = json.dumps(answer_of(summary), indent=1) + "\n"
    out.with_suffix(".json").write_text(answer, encoding="utf-8")
    print(out)


if __name__ == "__main__":
    main()
