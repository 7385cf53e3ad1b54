"""What programs read is the same byte for byte whichever language is spoken; what people read is not."""

from __future__ import annotations

import argparse
import shutil
from datetime import date
from pathlib import Path

import pytest

from tests.fakes import CHECKLISTS
from walkapp.actions.audits.page import check_number
from walkapp.actions.bundling import bundle_concerns
from walkapp.cli import main
from walkapp.cli.commands import build_parser
from walkapp.demo.tablets import SCENARIO, open_tablet, read_scenario
from walkapp.language import ENGLISH, use
from walkapp.languages import load

CODES = ("en", "de", "es", "pl")
DAY = "2026-03-19"

CALLS = {
    "locate": ["counts.csv", "--json"],
    "summary": ["--store", "desk", "--json"],
    "due": ["--store", "desk", "--on", DAY, "--json"],
    "audits": ["--store", "desk", "--to", DAY, "--json"],
    "indicators": ["--store", "desk", "--on", DAY, "--json"],
    "ppm": ["--store", "desk", "--json"],
    "search": ["--store", "desk", "--json", "pad"],
    "keys": ["--store", "desk", "--json"],
    "check": ["--store", "desk", "--json"],
    "rollup": ["plants", "--question", "first_bad_station", "--csv"],
}
"""A call of each command that writes for programs."""


@pytest.fixture(autouse=True)
def english_again():
    yield
    use(ENGLISH)


@pytest.fixture(scope="module")
def folder(tmp_path_factory, played_demo) -> Path:
    """Give a folder with the desk of the demo, a plant's bundle and a table of counts."""
    made = tmp_path_factory.mktemp("for-programs")
    bundle = played_demo(made, with_audits=True)
    (made / "plants" / "here").mkdir(parents=True)
    shutil.copy(bundle, made / "plants" / "here")
    (made / "counts.csv").write_text("station,checked,nok\nA,20,0\nB,20,1\nC,20,9\n")
    return made


def commands() -> dict[str, argparse.ArgumentParser]:
    """Give the parser of each command."""
    (calls,) = (a for a in build_parser()._actions if isinstance(a, argparse._SubParsersAction))
    return dict(calls.choices)


def test_every_command_that_writes_for_programs_is_among_the_calls():
    writing = {
        name
        for name, parser in commands().items()
        if {"--json", "--csv"} & {option for action in parser._actions for option in action.option_strings}
    }

    assert writing == set(CALLS)


@pytest.mark.parametrize("command", CALLS)
def test_a_command_writes_the_same_for_programs_in_every_language(
    command, folder, capsysbinary, monkeypatch
):
    monkeypatch.chdir(folder)
    said = {}
    for code in CODES:
        status = main(["--language", code, command, *CALLS[command]])
        said[code] = status, capsysbinary.readouterr().out

    assert len(said["en"][1]) > 10
    assert [code for code in CODES if said[code] != said["en"]] == []


def test_a_bundle_and_the_plan_of_audits_are_the_same_in_every_language(folder):
    facts = {**read_scenario()["desk"], "starts": read_scenario("-fix")["until"]}
    desk = open_tablet(facts, folder / "desk", CHECKLISTS)
    bundles, plans, names = {}, {}, {}
    with desk.place.store:
        for code in CODES:
            use(load(code))
            written = bundle_concerns(desk.place, folder / f"{code}.zip")
            bundles[code] = written.path.read_bytes()
            stream = desk.place.streams()[SCENARIO]
            plan = desk.place.audit_plan(stream)
            plans[code] = list(_plan(plan, stream))
            names[code] = stream.stations[3].name

    assert len(set(names.values())) == len(CODES)  # people do read it in their language
    assert [code for code in CODES if bundles[code] != bundles["en"]] == []
    assert len(plans["en"]) > 5
    assert [code for code in CODES if plans[code] != plans["en"]] == []


def _plan(plan, stream):
    """Give the audits of a week: which they are, what they ask, and their check numbers."""
    for layer in stream.audits.layers:
        for slot in plan.calendar.slots(layer, date(2026, 3, 9), date(2026, 3, 13)):
            asked = [f"{v.station.id}/{q.id}" for v in plan.visits(slot) for q in v.questions]
            yield slot.day, slot.shift, asked, check_number(slot, asked)


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("de", ["Der Fehler beginnt", "Dichtheitsprüfung", "bisher sauber", "99,"]),
        ("es", ["El defecto empieza", "Prueba de fugas", "limpia hasta ahora"]),
        ("pl", ["Wada zaczyna się", "Próba szczelności", "jak dotąd czyste"]),
    ],
)
def test_people_are_spoken_to_in_their_language(code, words, folder, capsys, monkeypatch):
    monkeypatch.chdir(folder)

    assert main(["--language", code, "summary", "--store", "desk"]) == 0
    said = capsys.readouterr().out

    assert [word for word in words if word not in said] == []


def test_a_language_that_there_is_not_is_said_in_one_sentence(capsys):
    with pytest.raises(SystemExit) as ended:
        main(["--language", "xx", "keys"])

    assert ended.value.code == 2
    assert capsys.readouterr().err == (
        "walkapp: argument --language: invalid choice: 'xx' (choose from 'en', 'de', 'es', 'es_MX', 'pl'); "
        "see 'walkapp --help'.\n"
    )


@pytest.mark.parametrize(
    ("variables", "heading"),
    [
        ({"LANGUAGE": "", "LC_ALL": "", "LC_MESSAGES": "", "LANG": "de_AT.UTF-8"}, "Aufruf: "),
        ({"LANGUAGE": "", "LC_ALL": "", "LC_MESSAGES": "pl_PL", "LANG": "de_AT.UTF-8"}, "użycie: "),
        ({"LANGUAGE": "", "LC_ALL": "C", "LC_MESSAGES": "pl_PL", "LANG": "de_AT.UTF-8"}, "usage: "),
        ({"LANGUAGE": "fr:es:de", "LC_ALL": "C", "LC_MESSAGES": "", "LANG": ""}, "uso: "),
        ({"LANGUAGE": "", "LC_ALL": "", "LC_MESSAGES": "", "LANG": ""}, "usage: "),
    ],
)
def test_without_a_word_it_is_the_language_of_the_system(variables, heading, capsys, monkeypatch):
    for name, value in variables.items():
        monkeypatch.setenv(name, value)

    with pytest.raises(SystemExit):
        main(["--help"])

    assert capsys.readouterr().out.startswith(heading)
