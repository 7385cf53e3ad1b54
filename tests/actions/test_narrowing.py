"""From a store to what narrows a concern down: in words and as JSON."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from walkapp.actions.narrowing import narrow, narrowing_lines, narrowing_to_json
from walkapp.actions.reading import concern_facts
from walkapp.demo.tablets import open_tablet, read_scenario

CHECKLISTS = Path(__file__).parents[2] / "checklists"


@pytest.fixture(scope="module")
def facts(tmp_path_factory, played_demo):
    folder = tmp_path_factory.mktemp("narrowing")
    played_demo(folder)
    desk = open_tablet(read_scenario()["desk"], folder / "desk", CHECKLISTS)
    with desk.place.store:
        yield concern_facts(desk.place, desk.concern)


def test_the_demo_names_the_clamp_and_lets_the_cavities_be(facts):
    found = narrow(facts)

    leak_test = found.station("leak-test")
    by_fixture, by_walk = leak_test.comparisons
    assert (by_fixture.stands_out, by_fixture.nok, by_fixture.checked) == ("clamp 1", 20, 40)
    assert by_walk.worse == by_walk.better == ()
    assert [said.stands_out for said in found.station("moulding").comparisons] == [None, None]
    assert found.station("nowhere") is None


def test_the_demo_shows_where_the_wall_gets_thinner(facts):
    wall = narrow(facts).characteristic("ear-wall")

    assert wall.is_followed and wall.station_names == (
        "Injection moulding", "Hot-plate welding", "Leak test",
    )  # fmt: skip
    assert wall.answer.first_shift.later == wall.answer.first_outside.station == "Leak test"
    assert wall.answer.first_shift.is_paired
    assert wall.answer.first_outside.parts == ("P4",)
    assert wall.at(4).outside == 1
    assert wall.move_to(1) is None and wall.move_to(3).not_measured_between == ("Degating",)


def test_the_lines_say_what_was_compared_and_measured_and_nothing_else(facts):
    lines = narrowing_lines(narrow(facts))

    assert lines[0] == "Within the stations:"
    assert (
        "  Leak test: Worse than the rest: fixture clamp 1, 17 of 20 NOK against 3 of 20 "
        "(p < 0.0001 after correction)." in lines
    )
    assert not any("Packing" in line or "Part temperature as it leaves" in line for line in lines)
    assert "Measured: Wall thickness at the root of the ear" in lines
    assert any(line.startswith("  Leak test: 5 parts, mean 2.418 mm") for line in lines)


def test_the_same_records_give_the_same_json(facts):
    said = narrowing_to_json(narrow(facts))

    assert json.loads(json.dumps(said, allow_nan=False)) == said == narrowing_to_json(narrow(facts))
    (by_fixture,) = [c for c in said["units"] if c["grouping"] == "fixture" and c["station_order"] == 4]
    assert by_fixture["worse"] == ["clamp 1"]
    assert [(u["unit"], u["nok"], u["checked"]) for u in by_fixture["units"]] == [
        ("clamp 1", 17, 20), ("clamp 2", 3, 20),
    ]  # fmt: skip
    wall, heat = said["measured"]
    assert (wall["characteristic"], wall["first_shift"]) == ("ear-wall", "Leak test")
    assert [s["parts"] for s in wall["stations"]] == [10, 5, 5]
    assert wall["moves"][1]["shift"] == pytest.approx(-0.082, abs=1e-12)
    assert (heat["unit_of_measure"], heat["moves"], heat["stations"][0]["cp"]) == ("°C", [], None)
