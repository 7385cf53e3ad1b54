"""``walkapp search`` at a terminal: what it prints, its JSON, and its exit status."""

from __future__ import annotations

import json

import pytest

from tests.fakes import Desk
from tests.floors import Floor
from walkapp.actions.lessons import record_lesson
from walkapp.actions.read_across import record_read_across
from walkapp.cli import main

CHECKLISTS = "checklists"


@pytest.fixture
def store(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        floor = Floor(desk)
        floor.count()
        floor.walking.note("leak-test", "Größe der Pads \u202eabc")
        record_lesson(desk.place, floor.facts, worked="Ask about pads first")
        record_read_across(
            desk.place, floor.facts, "pump-bracket", "final-check", status="clean", words="none of 20"
        )
    return str(desk.store.folder)


def test_results_are_printed_with_their_concern_and_nothing_hidden(store, capsys):
    assert main(["search", "--store", store, "pads", "gross"]) == 0

    printed = capsys.readouterr()
    lines = printed.out.splitlines()
    assert (printed.err, lines[0]) == ("", "Größe der Pads <U+202E>abc")
    assert lines[1].startswith(
        "    Note, Leak test, 2026-03-03, QE-RT; concern: Cracked mounting ears (invented) ("
    )
    assert lines[2:] == ["1 entry found."]


def test_nothing_found_and_nothing_to_look_for_are_negative_answers(store, capsys):
    assert main(["search", "--store", store, "zebra"]) == 1
    assert capsys.readouterr().out == "Nothing found.\n"

    assert main(["search", "--store", store, "***"]) == 1
    assert capsys.readouterr().out.startswith("Type a word")

    assert main(["search", "--store", store, "--", "-pads"]) == 0


def test_json_says_the_same(store, capsys):
    assert main(["search", "--store", store, "--json", "pads"]) == 0

    said = json.loads(capsys.readouterr().out)
    assert (said["total"], said["words"], said["notes"]) == (2, ["pads"], [])
    assert [one["kind"] for one in said["results"]] == ["lesson", "note"]


def test_names_of_other_stations_need_the_checklists(store, capsys):
    assert main(["search", "--store", store, "--checklists", CHECKLISTS, "final", "bracket"]) == 0
    assert "Read-across, Final check" in capsys.readouterr().out


def test_a_store_that_is_not_there_is_one_sentence(tmp_path, capsys):
    assert main(["search", "--store", str(tmp_path / "no"), "pads"]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_the_summary_tells_read_across_and_lessons(store, capsys):
    assert main(["summary", "--store", store, "--checklists", CHECKLISTS]) == 0
    told = capsys.readouterr().out
    assert "Read-across: All 1 like stations are clean, fixed or do not apply." in told
    assert "    What worked: Ask about pads first (QE-RT, 2026-03-03)" in told

    assert main(["summary", "--store", store, "--json"]) == 0
    (said,) = json.loads(capsys.readouterr().out)
    assert said["read_across"]["complete"] is False  # without the checklists nobody knows all like stations
    assert [one["worked"] for one in said["lessons"]] == ["Ask about pads first"]
