"""Two tablets walk the demo, and their bundles are merged in every way."""

from __future__ import annotations

import shutil
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import pytest

from tests.builders import SteppingClock, id_maker, make, record_id
from tests.fakes import CHECKLISTS, Desk
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.merging import bundle_as_store, merge_bundles
from walkapp.actions.reading import walk_facts
from walkapp.actions.summaries import summarise, summary_to_json
from walkapp.actions.walking import Walking
from walkapp.bundle import open_bundle, write_bundle
from walkapp.demo.tablets import open_tablet, read_scenario
from walkapp.errors import BundleError, InputError
from walkapp.model.records import Note, Withdrawal

# The keys that the reference of this project lists for `locate` and for each concern in `summary`.
KEYS = {
    "first_bad_station",
    "probability",
    "plain_rule_station",
    "stations",
    "none_probability",
    "next",
    "assumptions",
    "warnings",
}
STATION_KEYS = {
    "station",
    "checked",
    "nok",
    "share",
    "low95",
    "high95",
    "probability_origin",
    "verdict",
}


@dataclass(frozen=True)
class Played:
    one: Path
    two: Path
    merged: Path


@pytest.fixture(scope="module")
def played(tmp_path_factory, played_demo) -> Played:
    out = tmp_path_factory.mktemp("demo")
    merged = played_demo(out)
    return Played(out / "tablet-1.zip", out / "tablet-2.zip", merged)


def test_the_merged_answer_is_the_leak_test_and_nearly_sure(played, desk):
    merge_bundles(desk.place, [played.one, played.two])
    (summary,) = summarise(desk.place)
    assert summary.answer.first_bad_station == "Leak test"
    assert summary.answer.probability >= 0.95
    assert len(summary.facts.walks) == 2


def test_the_answer_is_computed_from_the_leak_test_records(played, desk):
    merge_bundles(desk.place, [played.merged])
    (before,) = summarise(desk.place)
    for walk in before.facts.walks:
        ids = tuple(
            r.id
            for r in before.facts.standing.current
            if r.walk == walk.id and getattr(r, "check", "") == "ear-look" and r.station == "leak-test"
        )
        assert len(ids) == 20
        desk.place.add(Withdrawal, concern=walk.concern, walk=walk.id, replaces=ids, why="test")

    (after,) = summarise(desk.place)

    leak = next(v for v in after.answer.stations if v.station == "Leak test")
    assert (leak.checked, leak.nok) == (0, 0)
    assert after.answer.probability < 0.95

    walk = after.facts.walks[0]
    walking = Walking(desk.place, walk.concern, walk.id)
    now = walk_facts(desk.place, walk.concern, walk.id)
    for _ in range(20):
        walking.judge_part(now, "leak-test", "ear-look", "ok")
    (clean,) = summarise(desk.place)
    assert clean.answer.first_bad_station == "Pump assembly"


def test_the_order_of_merging_does_not_show_in_the_bundle_of_the_whole(played, tmp_path):
    made = []
    one, two, fixed = played.one, played.two, played.merged
    orders = ([one, two, fixed], [fixed, two, one], [two, fixed, two])
    for number, order in enumerate(orders):
        desk = Desk(tmp_path / str(number), seed=number)
        with desk.store:
            for path in order:
                merge_bundles(desk.place, [path])
            made.append(bundle_concerns(desk.place, tmp_path / f"{number}.zip").path.read_bytes())
    assert made[0] == made[1] == made[2] == played.merged.read_bytes()


def test_merging_twice_brings_nothing_new(played, desk):
    (first,) = merge_bundles(desk.place, [played.merged])
    before = desk.records
    (second,) = merge_bundles(desk.place, [played.merged])
    assert first.report.new == len(before) > 0
    assert second.report.new == second.report.photos == second.report.checklists == 0
    assert second.report.known == first.report.new
    assert desk.records == before


def test_merging_brings_photos_and_checklists_along(played, desk):
    (merged,) = merge_bundles(desk.place, [played.merged])
    assert merged.missing_photos == ()
    assert len(desk.store.photo_names()) == merged.report.photos == 8
    assert len(desk.store.checklist_digests()) == 1


def test_merging_says_how_far_it_is_after_every_record_and_picture(played, desk):
    told = []
    merged = merge_bundles(
        desk.place, [played.one, played.two], progress=lambda done, total: told.append((done, total))
    )
    records = sum(one.report.new + one.report.known for one in merged)
    photos = len(desk.store.photo_names())
    total = 2 * (played.one.stat().st_size + played.two.stat().st_size)
    assert len(told) >= 2 * (records + photos)
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert {total for _, total in told} == {total}
    assert told[-1] == (total, total)


def test_one_damaged_bundle_keeps_all_out(played, desk, tmp_path):
    broken = tmp_path / "broken.zip"
    shutil.copyfile(played.two, broken)
    with broken.open("r+b") as file:
        file.truncate(broken.stat().st_size // 2)
    with pytest.raises(BundleError):
        merge_bundles(desk.place, [played.one, broken])
    assert desk.records == []


def test_a_bundle_since_a_later_date_is_refused_with_a_sentence(played, desk, tmp_path):
    merge_bundles(desk.place, [played.merged])
    with pytest.raises(InputError, match=r"nothing to bundle.*since that date\.$"):
        bundle_concerns(desk.place, tmp_path / "late.zip", since=date(2026, 4, 1))
    assert not (tmp_path / "late.zip").exists()
    on_the_day = bundle_concerns(desk.place, tmp_path / "day.zip", since=date(2026, 3, 23))
    assert on_the_day.path.read_bytes() == played.merged.read_bytes()


def test_an_empty_store_has_nothing_to_bundle(desk, tmp_path):
    with pytest.raises(InputError, match=r"no record yet\.$"):
        bundle_concerns(desk.place, tmp_path / "none.zip")


def test_a_bundle_of_one_concern_leaves_the_others_out(played, desk, tmp_path):
    merge_bundles(desk.place, [played.one])
    other = desk.concern()
    bundle_concerns(desk.place, tmp_path / "other.zip", concern=other)
    with open_bundle(tmp_path / "other.zip") as bundle:
        assert {r.concern for r in bundle.records} == {other}
    with pytest.raises(InputError, match="no concern"):
        bundle_concerns(desk.place, tmp_path / "x.zip", concern="not-there")


def test_the_summary_has_the_keys_of_the_reference(played, desk):
    merge_bundles(desk.place, [played.merged])
    (summary,) = summarise(desk.place)
    said = summary_to_json(summary)
    assert set(said) >= KEYS
    assert all(set(station) >= STATION_KEYS for station in said["stations"])
    assert len(said["stations"]) == 8
    assert {"detection", "false_alarm"} <= set(said["assumptions"])
    assert said["next"] is None or {"station", "parts", "why"} <= set(said["next"])
    assert (said["walks"], said["defect_name"]) == (2, "Whitened or cracked mounting ear")


def test_a_summary_without_a_checklist_has_the_same_keys_and_says_why(desk):
    desk.concern()
    place = replace(desk.place, checklists=None)
    (summary,) = summarise(place)
    said = summary_to_json(summary)
    assert set(said) >= KEYS
    assert said["first_bad_station"] is None
    assert "--checklists" in said["warnings"][0]


def test_a_bundle_can_be_looked_at_without_a_store(played):
    with bundle_as_store(played.merged, now=SteppingClock(), new_id=id_maker(), app="test") as seen:
        (summary,) = summarise(seen.place)
    assert summary.answer.first_bad_station == "Leak test"


def test_a_bundle_with_a_swapped_checklist_is_refused_and_nothing_is_merged(tmp_path, played_demo):
    played_demo(tmp_path / "demo")
    with open_bundle(tmp_path / "demo" / "tablet-1.zip") as bundle:
        ((digest, files),) = bundle.checklists.items()
        swapped = {digest: {**files, "checks.toml": files["checks.toml"] + b"\n# other\n"}}
        wrong = write_bundle(
            tmp_path / "wrong.zip", records=bundle.records, rows=(), photos={}, checklists=swapped
        )
    desk = open_tablet(read_scenario()["desk"], tmp_path / "desk", CHECKLISTS)

    with desk.place.store as store:
        with pytest.raises(BundleError, match="a checklist is not the one that its name says"):
            merge_bundles(desk.place, [tmp_path / "demo" / "tablet-2.zip", wrong.path])
        assert store.concerns() == ()


def test_a_damaged_picture_does_not_hold_up_the_records(tmp_path, played_demo):
    played_demo(tmp_path)
    photo = next((tmp_path / "desk" / "photos").iterdir())
    photo.write_bytes(photo.read_bytes()[:1000])
    desk = open_tablet(read_scenario()["desk"], tmp_path / "desk", CHECKLISTS)

    with desk.place.store:
        bundle_concerns(desk.place, tmp_path / "again.zip")

    with open_bundle(tmp_path / "again.zip") as bundle:
        assert bundle.missing_photos == (photo.name,)


def test_records_whose_concern_is_not_here_go_into_the_bundle_and_hold_up_no_other(desk, tmp_path):
    other = desk.concern()
    note = make(Note, 4, concern=record_id(77), walk="", station="weld", words="its concern was damaged")
    desk.store.merge([note], name="two", photos={}, checklists={})

    bundle_concerns(desk.place, tmp_path / "all.zip")

    with open_bundle(tmp_path / "all.zip") as bundle:
        assert note in bundle.records
        assert {r.concern for r in bundle.records} == {other, record_id(77)}
        assert {row.concern for row in bundle.rows} == {other}


def test_a_damaged_checklist_holds_up_no_bundle_and_a_good_one_mends_it(tmp_path, played, played_demo):
    played_demo(tmp_path)
    kept = next((tmp_path / "desk" / "checklists").iterdir()) / "checks.toml"
    kept.write_bytes(kept.read_bytes().replace(b"sample = 5", b"sample = 6", 1))
    other = Desk(tmp_path / "other")

    later = read_scenario("-fix")["until"]
    desk = open_tablet({**read_scenario()["desk"], "starts": later}, tmp_path / "desk", CHECKLISTS)
    with desk.place.store as store, other.store:
        # What was changed is not computed with, and does not travel.
        bundle_concerns(desk.place, tmp_path / "again.zip")
        (merged,) = merge_bundles(other.place, [tmp_path / "again.zip"])
        assert (merged.report.new > 0, merged.report.checklists) == (True, 0)
        assert not store.check().is_sound

        merge_bundles(desk.place, [played.merged])

        assert store.check().is_sound
