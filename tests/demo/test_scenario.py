"""The demo as the records have it: what is invented says so, and nobody chooses rates."""

from __future__ import annotations

from pathlib import Path

import pytest
from frictionless import Package

from walkapp.actions.merging import bundle_as_store
from walkapp.actions.studies import studies_of
from walkapp.actions.summaries import summarise
from walkapp.bundle import open_bundle
from walkapp.demo.scenario import disagree
from walkapp.demo.tablets import DemoClock, open_tablet, read_scenario, repeatable_ids
from walkapp.model.records import RatesChosen

CHECKLISTS = Path(__file__).parents[2] / "checklists"


@pytest.fixture(scope="module")
def bundle(tmp_path_factory, played_demo):
    return played_demo(tmp_path_factory.mktemp("demo"), with_audits=True)


@pytest.fixture(scope="module")
def summary(bundle):
    clock = DemoClock(read_scenario()["desk"]["starts"])
    with bundle_as_store(bundle, now=clock, new_id=repeatable_ids(clock, 7), app="test") as seen:
        (found,) = summarise(seen.place)
    return found


def test_the_demo_still_finds_the_leak_test_with_the_checklists_rates(bundle, summary):
    assert summary.answer.first_bad_station == "Leak test"
    assert summary.answer.is_sure
    with open_bundle(bundle) as opened:
        assert not [r for r in opened.records if isinstance(r, RatesChosen)]


def test_the_demos_study_is_invented_whole_and_usable(summary):
    (study,) = studies_of(summary.facts)
    known = [part.known for part in study.parts]
    assert study.study.invented
    assert (known.count("bad"), known.count("good"), study.study.repeats) == (6, 6, 2)
    assert len(study.readings) == 48
    assert (study.is_finished, study.result.is_usable) == (True, True)
    assert (study.result.detection.nok, study.result.false_alarm.nok) == (23, 0)


def test_an_outside_witness_finds_nothing_wrong_with_the_demos_bundle(bundle):
    assert Package(str(bundle)).validate().flatten(["name", "type", "note"]) == []


def test_the_entries_that_disagree_for_the_pictures_are_one_count_with_two_values(tmp_path, played_demo):
    played_demo(tmp_path, with_audits=True)
    desk = open_tablet(read_scenario()["desk"], tmp_path / "desk", CHECKLISTS)
    with desk.place.store:
        dispute = disagree(desk, desk.concern)

    assert (dispute.kind, len(dispute.sides), dispute.can_settle) == ("count", 2, True)
