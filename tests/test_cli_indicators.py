"""``walkapp indicators`` at a terminal: what it prints, its JSON and its exit status."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest

from tests.desks import StreamDesk
from tests.fakes import CHECKLISTS, Desk
from walkapp.cli import main

STARTS = datetime(2020, 3, 1, 15, 0, tzinfo=UTC)


@pytest.fixture
def stream(tmp_path):
    """A reservoir with one report, at a time that is over on every clock."""
    desk = Desk(tmp_path, starts=STARTS)
    with desk.store:
        desk.concern(reported_on="2020-03-01")
        yield StreamDesk(desk)


def call(stream, *more):
    stream.desk.store.close()
    return main(
        ["indicators", "--store", str(stream.desk.store.folder), "--checklists", str(CHECKLISTS), *more]
    )


def test_each_factor_is_one_line_and_what_is_off_comes_first(stream, capsys):
    stream.state("customer-reports", "5")
    stream.state("days-since-escape", "30")

    assert call(stream, "--on", "2020-03-13") == 1

    printed = capsys.readouterr()
    assert printed.err == ""
    head, off, not_shown = printed.out.splitlines()[:3]
    assert head == "Washer-fluid reservoir, 2020-03-13: Of 2: 1 off target, 1 not shown to be on target."
    assert off == (
        "  Off target: No bad part gets past us – Days since the last escape or report: 12 days (the last "
        "on 2020-03-01), target at least 30 days, no earlier figures; now: Check the "
        "containment at the last station before dispatch, every shift, until it holds (SL)."
    )
    assert not_shown == (
        "  Not shown to be on target: What is wrong is found before it leaves the plant – Customer reports "
        "and escapes: 1 (the last 13 weeks; records here begin on 2020-03-01), target at most 5, no "
        "earlier figures; when it is off: For each report, say at which station it should have been found, "
        "and add a check there (QE)."
    )


def test_the_status_is_good_only_when_all_are_shown_to_be_on_target(stream, capsys):
    stream.state("days-since-escape", "10")

    assert call(stream, "--on", "2020-03-13") == 0
    assert call(stream, "--on", "2020-03-05") == 1
    assert call(stream) == 0  # many more days today


def test_nothing_stated_is_not_on_target(stream, capsys):
    assert call(stream) == 1

    out = capsys.readouterr().out
    assert "Washer-fluid reservoir" in out
    assert "Pump bracket" in out
    assert "No success factor is stated yet" in out


def test_streams_without_a_factor_are_left_out_where_one_has_some(stream, capsys):
    stream.state("days-since-escape", "10")

    call(stream)

    assert "Pump bracket" not in capsys.readouterr().out


def test_json_is_a_list_of_streams(stream, capsys):
    stream.state("days-since-escape", "30")

    assert call(stream, "--on", "2020-03-13", "--json", "--stream", "washer-reservoir") == 1

    (told,) = json.loads(capsys.readouterr().out)
    assert (told["stream"], told["on"], told["all_on_target"]) == ("washer-reservoir", "2020-03-13", False)
    (one,) = told["factors"]
    assert (one["indicator"], one["value"], one["target"], one["state"], one["owner"]) == (
        "days-since-escape", 12.0, "30", "off_target", "SL",
    )  # fmt: skip


def test_without_checklists_the_records_tell_the_same(stream, tmp_path, capsys):
    stream.state("days-since-escape", "30")
    (tmp_path / "empty").mkdir()

    assert call(stream, "--on", "2020-03-13", "--checklists", str(tmp_path / "empty")) == 1

    assert capsys.readouterr().out.startswith("washer-reservoir, 2020-03-13: Of 1: 1 off target.")


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--stream", "no-such"], "There is nothing of a value stream 'no-such' here"),
        (["--on", "9999-12-31"], "The day 9999-12-31 is still to come; choose today or an earlier day."),
        (["--on", "soon"], "'soon' must be a date such as 2026-03-02"),
    ],
)
def test_a_call_that_cannot_be_answered_is_one_sentence(stream, capsys, more, words):
    try:
        status = call(stream, *more)
    except SystemExit as stopped:
        status = stopped.code

    printed = capsys.readouterr()
    assert status == 2
    assert words in printed.err
    assert printed.err.count("\n") == 1
    assert printed.out == ""
