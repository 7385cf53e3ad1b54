"""``walkapp due``: what is due on a day, told and as JSON, from a store that may be in use.

The plan is moved to the year 2001, which is past on whatever day this runs, and 2190 is still to come.
"""

from __future__ import annotations

import json
import shutil
from datetime import datetime, timedelta, timezone

import pytest

from tests.fakes import CHECKLISTS, Desk
from walkapp.actions.audits.doing import (
    answer_question,
    begin_audit,
    react,
    say_missed,
    sign_audit,
)
from walkapp.actions.audits.reading import audit_facts
from walkapp.actions.audits.states import todays_audits
from walkapp.actions.workplace import Workplace
from walkapp.cli import main

MONDAY = datetime(2001, 3, 5, 6, 30, tzinfo=timezone(timedelta(hours=1)))


@pytest.fixture
def lists(tmp_path):
    """The ready-made checklists with a calendar that begins in 2001 and has no holidays."""
    folder = tmp_path / "lists"
    shutil.copytree(CHECKLISTS, folder)
    for path in folder.glob("*/audits.toml"):
        kept = [
            line if not line.startswith("begins") else "begins = 2001-01-01"
            for line in path.read_text(encoding="utf-8").splitlines()
            if not line.startswith(("holidays", "since", "until"))
        ]
        path.write_text("\n".join(kept), encoding="utf-8")
    return folder


@pytest.fixture
def worked(tmp_path, lists):
    """A store in which the early shift was audited, with one NOK, and the day before was not."""
    desk = Desk(tmp_path, by="SL-AB", starts=MONDAY)
    with desk.store:
        place = Workplace(
            store=desk.store, checklists=lists, now=desk.place.now, new_id=desk.place.new_id, by="SL-AB"
        )
        stream = place.stream("washer-reservoir")
        planned = {(one.slot.day.day, one.slot.shift): one for one in todays_audits(place, stream)}
        start = begin_audit(place, stream, planned[5, "early"])
        audit = audit_facts(place, start.concern, start.id)
        for number, asked in enumerate(audit.asked):
            answer_question(place, audit, asked.ref, "not_ok" if number == 0 else "ok")
            audit = audit_facts(place, start.concern, start.id)
        react(place, audit, audit.findings[0], "corrected", "Put right (invented).")
        sign_audit(place, audit_facts(place, start.concern, start.id))
        say_missed(place, stream, planned[2, "late"], "Line stood still (invented).")
        yield tmp_path / "store"


def told(capsys, *arguments):
    status = main(["due", *map(str, arguments)])
    printed = capsys.readouterr()
    return status, printed.out.splitlines(), printed.err.splitlines()


def due(capsys, *arguments):
    main(["due", *map(str, arguments), "--json"])
    return json.loads(capsys.readouterr().out)


def test_it_tells_each_audit_with_its_time_state_and_stations(worked, lists, capsys):
    status, lines, errors = told(
        capsys,
        "--store",
        worked,
        "--checklists",
        lists,
        "--on",
        "2001-03-05",
        "--stream",
        "washer-reservoir",
    )

    assert (status, errors) == (0, [])
    assert lines[0] == (
        "Washer-fluid reservoir (washer-reservoir), Monday, 2001-03-05; plan by the checklists folder, "
        "version 2026-03-02"
    )
    assert lines[1] == "    Shift lead, early shift, 2001-03-05 06:00 to 2001-03-05 14:00: done in time"
    assert lines[2].startswith("        6 questions: ")
    assert lines[3] == (
        "        by SL-AB, begun 2001-03-05 06:30, signed 2001-03-05 06:30: 5 OK, 1 NOK, 0 N/A"
    )
    assert "    Department manager, week 10 of 2001, 2001-03-05 06:00 to 2001-03-10 06:00: missed" in lines
    assert "    Plant manager, month 2001-03, 2001-03-01 06:00 to 2001-03-31 06:00: missed" in lines
    assert "    Supervisor, day, 2001-03-05 06:00 to 2001-03-06 06:00: missed" in lines
    assert lines[-1] == "        why: nobody said"


def test_it_says_why_an_audit_was_missed(worked, lists, capsys):
    _, lines, _ = told(
        capsys, "--store", worked, "--checklists", lists, "--on", "2001-03-02", "--layer", "shift-lead"
    )

    late = next(n for n, line in enumerate(lines) if "late shift" in line)
    assert lines[late].endswith(": missed")
    assert lines[late + 2] == "        why: Line stood still (invented)."


def test_a_day_on_which_nothing_is_due_is_a_negative_answer(worked, lists, capsys):
    status, lines, errors = told(
        capsys, "--store", worked, "--checklists", lists, "--on", "2001-03-04", "--layer", "shift-lead"
    )

    assert (status, errors) == (1, [])
    assert lines[-1] == "    No audit is due on this day."


@pytest.mark.parametrize("day", ["0001-01-01", "1999-12-31", "9999-12-31"])
def test_a_day_without_a_plan_is_a_negative_answer(worked, lists, capsys, day):
    assert told(capsys, "--store", worked, "--checklists", lists, "--on", day)[0] == 1


def test_json_has_every_question_and_marks_what_this_store_would_add(worked, lists, capsys):
    found = due(capsys, "--store", worked, "--checklists", lists, "--on", "2001-03-05")
    streams = {one["stream"]: one for one in found}
    audits = {(one["layer"], one["shift"]): one for one in streams["washer-reservoir"]["audits"]}
    early = audits["shift-lead", "early"]

    assert (early["state"], early["every"], early["day"]) == ("done in time", "shift", "2001-03-05")
    assert (early["opens"], early["due"]) == ("2001-03-05T06:00:00+01:00", "2001-03-05T14:00:00+01:00")
    assert len(early["questions"]) == 6
    assert set(early["questions"][0]) == {
        "station", "station_name", "question", "ask", "how", "special", "seconds", "why_added",
    }  # fmt: skip
    (done,) = early["done"]
    assert (done["by"], done["ok"], done["nok"], done["not_applicable"]) == ("SL-AB", 5, 1, 0)
    assert early["added_is"] == "recorded"
    supervisor = audits["supervisor", ""]
    assert (supervisor["added"], supervisor["added_is"]) == ([], "what this store's records would add now")
    assert {frozenset(one) for stream in found for one in stream["audits"]} == {frozenset(early)}


def test_an_audit_to_come_has_its_plan_and_is_the_same_from_any_store(worked, lists, tmp_path, capsys):
    other = Desk(tmp_path / "other", seed=1)
    with other.store:
        pass
    ours = due(capsys, "--store", worked, "--checklists", lists, "--on", "2045-07-05")
    theirs = due(
        capsys, "--store", tmp_path / "other" / "store", "--checklists", lists, "--on", "2045-07-05"
    )

    assert ours == theirs
    assert [one["layer"] for one in ours[1]["audits"]][:3] == ["shift-lead"] * 3


def test_without_a_folder_the_plan_is_that_of_the_checklist_of_the_newest_audit(worked, lists, capsys):
    with_folder = due(
        capsys,
        "--store",
        worked,
        "--checklists",
        lists,
        "--on",
        "2001-03-05",
        "--stream",
        "washer-reservoir",
    )
    without = due(capsys, "--store", worked, "--on", "2001-03-05")

    assert [one["plan_from"] for one in without] == ["checklist of the newest audit"]
    assert [one["audits"] for one in without] == [one["audits"] for one in with_folder]


def test_while_nobody_audited_the_plan_is_that_of_the_ready_made_checklists(tmp_path, capsys):
    with Desk(tmp_path).store:
        pass

    found = due(capsys, "--store", tmp_path / "store", "--on", "2026-03-09")

    assert [(one["stream"], one["plan_from"]) for one in found] == [
        ("pump-bracket", "checklists folder"), ("washer-reservoir", "checklists folder"),
    ]  # fmt: skip


def test_today_is_meant_when_no_day_is_named(worked, lists, capsys):
    found = due(capsys, "--store", worked, "--checklists", lists)

    days = {one["on"] for one in found}
    today = datetime.now().astimezone()
    assert days <= {(today + timedelta(days=n)).date().isoformat() for n in (-1, 0, 1)}


def test_nothing_in_the_store_changes(worked, lists, capsys):
    before = {path: path.read_bytes() for path in worked.rglob("*") if path.is_file()}

    told(capsys, "--store", worked, "--checklists", lists, "--on", "2001-03-05")

    assert {path: path.read_bytes() for path in worked.rglob("*") if path.is_file()} == before


# What is wrong with the call


def test_an_unknown_layer_or_stream_is_one_sentence_with_those_that_are_known(worked, lists, capsys):
    call = ["--store", worked, "--checklists", lists]

    assert told(capsys, *call, "--layer", "boss", "--stream", "washer-reservoir") == (2, [], [
        ("There is no layer 'boss'; the layers are shift-lead, supervisor, department-manager, "
        "plant-manager.")
    ])  # fmt: skip
    assert told(capsys, *call, "--stream", "x") == (2, [], [
        "There are no audits of a stream 'x'; the streams with audits are pump-bracket, washer-reservoir."
    ])  # fmt: skip


def test_a_folder_without_audits_is_one_sentence(worked, lists, capsys):
    for path in lists.glob("*/audits.toml"):
        path.unlink()

    status, lines, (error,) = told(capsys, "--store", worked, "--checklists", lists)

    assert (status, lines) == (2, [])
    assert error.startswith("No checklist here has audits; name a folder with --checklists ")


def test_a_mistake_in_the_folder_is_told_with_its_line(worked, lists, capsys):
    path = lists / "washer-reservoir" / "audits.toml"
    path.write_text(path.read_text(encoding="utf-8").replace('every = "day"', 'every = "hour"'), "utf-8")

    status, _, (error,) = told(capsys, "--store", worked, "--checklists", lists)

    assert status == 2
    assert error.startswith("washer-reservoir/audits.toml, line ")
    assert error.endswith('every is "hour"; use one of shift, day, week, month.')


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--on", "2026-02-30"], "must be a date such as 2026-03-02"),
        (["--on", "tomorrow"], "must be a date such as 2026-03-02"),
        ([], "the following arguments are required: --store"),
    ],
)
def test_a_wrong_call_is_one_sentence(arguments, words, capsys):
    store = ["--store", "nowhere"] if arguments else []
    with pytest.raises(SystemExit) as stopped:
        main(["due", *store, *arguments])

    assert stopped.value.code == 2
    assert words in capsys.readouterr().err


def test_a_store_that_is_not_there_is_one_sentence(tmp_path, capsys):
    status, _, (error,) = told(capsys, "--store", tmp_path / "nowhere")

    assert (status, "there is no such store" in error) == (2, True)
