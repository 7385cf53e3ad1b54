"""``walkapp audits`` at a terminal: what it prints, its JSON, its exit status; and the summary's line."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta

import pytest

from tests.auditors import Auditor, checklists_of_2020
from tests.fakes import Desk
from walkapp.cli import main

SPAN = ["--from", "2020-03-09", "--to", "2020-03-13"]


@pytest.fixture
def checklists(tmp_path):
    return checklists_of_2020(tmp_path / "checklists")


@pytest.fixture
def store(tmp_path, checklists):
    """Audits of one week of 2020, which is over on every clock."""
    desk = Desk(tmp_path, starts=datetime(2020, 3, 13, 15, 0, tzinfo=UTC))
    desk.place.checklists = checklists
    with desk.store:
        auditor = Auditor(desk)
        layer = auditor.plan.scheme.layer("shift-lead")
        for slot in auditor.plan.calendar.slots(layer, date(2020, 3, 9), date(2020, 3, 12)):
            if slot.shift != "night":
                auditor.audit(slot, nok=["leak-test/pads"])
        late = auditor.slot("supervisor", "2020-03-09")
        auditor.audit(late, begun=auditor.plan.calendar.due_at(late, auditor.zone) + timedelta(hours=3))
    return str(desk.store.folder)


def call(store, checklists, *more):
    return main(["audits", "--store", store, "--checklists", str(checklists), *more])


def test_it_tells_in_lines_that_a_team_lead_can_read(store, checklists, capsys):
    assert call(store, checklists, *SPAN) == 0

    printed = capsys.readouterr()
    lines = printed.out.splitlines()
    assert printed.err == ""
    assert lines[0] == "Washer-fluid reservoir, 2020-03-09 to 2020-03-13"
    # 15 shifts, 5 days, a week and a month were due; 8 shifts were done, and a day was made up.
    assert lines[1] == "8 of 22 audits of these days done in time, 1 made up later, 13 missed."
    assert "  Shift lead: 8 of 15 in time, 7 missed" in lines
    assert "  Supervisor: 0 of 5 in time, 1 made up later, 4 missed" in lines
    assert "  night: 0 of 5 in time, 5 missed" in lines
    assert [line for line in lines if line.startswith("  2020-W")] == [
        "  2020-W11: 8 of 21 in time, 1 made up later, 12 missed",
        "  2020-W14: 0 of 1 in time, 1 missed",
    ]
    assert "By question:" in lines
    assert "Whenever found: No finding is open." in lines


def test_json_is_a_list_of_streams_with_the_same_figures(store, checklists, capsys):
    assert call(store, checklists, *SPAN, "--stream", "washer-reservoir", "--json") == 0

    (said,) = json.loads(capsys.readouterr().out)
    counted = said["completion"]["all"]
    assert (counted["over"], counted["in_time"], counted["made_up"], counted["missed"]) == (22, 8, 1, 13)
    assert said["findings"]["found"] == said["conformity"]["all"]["nok"] > 0
    assert (said["prompts"], said["disagreements"]) == ([], [])


def test_eight_weeks_up_to_today_are_told_without_days(store, checklists, capsys):
    assert call(store, checklists, "--json") == 0

    (said,) = json.loads(capsys.readouterr().out)
    assert (date.fromisoformat(said["to"]) - date.fromisoformat(said["from"])).days == 55


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--from", "2020-03-10", "--to", "2020-03-09"], "before they begin on 2020-03-10"),
        (["--from", "0001-01-01", "--to", "9999-12-31"], "ten years at most"),
        (["--stream", "nowhere"], "'nowhere' is not in the checklists folder"),
    ],
)
def test_bad_input_is_one_sentence_and_status_2(store, checklists, capsys, more, words):
    assert call(store, checklists, *more) == 2

    printed = capsys.readouterr()
    assert (printed.out, printed.err.count("\n")) == ("", 1)
    assert words in printed.err


def test_a_day_that_is_none_is_refused_by_the_call(store, capsys):
    with pytest.raises(SystemExit) as stopped:
        main(["audits", "--store", store, "--from", "yesterday"])

    assert stopped.value.code == 2
    assert "'yesterday' must be a date" in capsys.readouterr().err


def test_checklists_without_audits_are_said_so(store, tmp_path, capsys):
    without = checklists_of_2020(tmp_path / "without", has_audits=False)

    assert call(store, without) == 2

    assert "No value stream of the checklists folder has audits" in capsys.readouterr().err


def test_the_summary_ends_with_a_line_for_the_audits(store, checklists, capsys):
    assert main(["summary", "--store", store, "--checklists", str(checklists)]) == 1

    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "No concern is recorded here yet."
    assert lines[-1].startswith("Audits of Washer-fluid reservoir, by the records here: ")


def test_the_summary_as_json_stays_the_list_of_concerns(store, checklists, capsys):
    assert main(["summary", "--store", store, "--checklists", str(checklists), "--json"]) == 1

    assert json.loads(capsys.readouterr().out) == []
