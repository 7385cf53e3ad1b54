"""A kept sample for every format number: it opens, merges, and gives the answer that was kept with it."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tests.builders import SteppingClock, id_maker, record_id
from tests.fakes import Desk
from tests.keep_sample import FOLDER as BUNDLES
from tests.keep_sample import answer_of
from tests.store.support import all_of
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.merging import bundle_as_store, merge_bundles
from walkapp.actions.summaries import summarise
from walkapp.actions.workplace import Workplace
from walkapp.bundle import layout, open_bundle
from walkapp.model.records import CarriedRecord, Photo
from walkapp.store import Store
from walkapp.store.reading import FORMAT

STORES = Path(__file__).parents[1] / "store" / "old_files"
KEPT_BUNDLES = sorted(BUNDLES.glob("format_*.zip"))
KEPT_STORES = sorted(STORES.glob("format_*"))


def answer_kept_with(bundle: Path) -> object:
    return json.loads(bundle.with_suffix(".json").read_text(encoding="utf-8"))


def as_json(value: object) -> object:
    return json.loads(json.dumps(value))


def missing_samples(folder: Path, pattern: str, newest: int) -> set[str]:
    wanted = {pattern.format(number) for number in range(1, newest + 1)}
    return wanted - {path.name for path in folder.iterdir()}


def test_every_format_number_has_a_kept_sample():
    assert missing_samples(STORES, "format_{}", FORMAT) == set()
    assert missing_samples(BUNDLES, "format_{}.zip", layout.FORMAT) == set()


def test_a_format_that_is_raised_without_a_sample_is_found():
    assert missing_samples(STORES, "format_{}", FORMAT + 1) == {f"format_{FORMAT + 1}"}
    assert missing_samples(BUNDLES, "format_{}.zip", layout.FORMAT + 1) == {
        f"format_{layout.FORMAT + 1}.zip"
    }


@pytest.mark.parametrize("bundle", KEPT_BUNDLES, ids=lambda path: path.stem)
def test_a_kept_bundle_gives_the_kept_answer(bundle):
    with bundle_as_store(bundle, now=SteppingClock(), new_id=id_maker(), app="test") as seen:
        (summary,) = summarise(seen.place)

    assert as_json(answer_of(summary)) == answer_kept_with(bundle)
    assert summary.answer.first_bad_station == "Leak test"


@pytest.mark.parametrize("bundle", KEPT_BUNDLES, ids=lambda path: path.stem)
def test_a_kept_bundle_is_merged_and_passed_on_whole(bundle, tmp_path):
    desk = Desk(tmp_path, seed=5)
    with desk.store:
        (merged,) = merge_bundles(desk.place, [bundle])
        on = bundle_concerns(desk.place, tmp_path / "on.zip").path
    with open_bundle(bundle) as old, open_bundle(on) as new:
        assert merged.report.new == len(old.records) == len(set(new.records))
        assert set(old.records) == set(new.records)
        assert old.photo_names == new.photo_names and len(new.photo_names) == 2
        assert old.checklists == new.checklists
        (carried,) = (r for r in new.records if isinstance(r, CarriedRecord))
        assert (carried.id, dict(carried.cells)["shape"]) == (record_id(7), "=ring")
        assert len([r for r in new.records if isinstance(r, Photo)]) == 1


@pytest.mark.parametrize("bundle", KEPT_BUNDLES, ids=lambda path: path.stem)
@pytest.mark.parametrize("kept", KEPT_STORES, ids=lambda path: path.name)
def test_a_kept_store_takes_a_kept_bundle_in_and_gives_its_answer(kept, bundle, tmp_path):
    folder = tmp_path / "store"
    shutil.copytree(kept, folder)
    clock, new_id = SteppingClock(), id_maker(3)
    for is_first in (True, False):
        with Store(folder, now=clock, new_id=new_id, app="test") as store:
            before = set(all_of(store))
            (merged,) = merge_bundles(Workplace(store, None, clock, new_id), [bundle])
            assert (merged.report.new > 0) == is_first
            assert before <= set(all_of(store))
            assert store.notices == ()
            found = summarise(Workplace(store, None, clock, new_id))
    answers = [as_json(answer_of(summary)) for summary in found if summary.answer is not None]
    assert answers == [answer_kept_with(bundle)]
    assert len(found) == 2  # the concern of the kept store is there too, without a checklist
