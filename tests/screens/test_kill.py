"""A dead battery: what the screen has confirmed is there after the process was killed."""

from __future__ import annotations

import json
import re
import signal
import subprocess
import sys
import threading
from dataclasses import replace
from itertools import cycle, islice
from pathlib import Path

import pytest

from tests.fakes import run_now
from walkapp.demo.tablets import open_tablet, read_scenario
from walkapp.model.records import Answer
from walkapp.presenters.pages import page_class
from walkapp.presenters.session import Session

pytestmark = pytest.mark.long

REPOSITORY = Path(__file__).resolve().parents[2]
TAPS = ("ok", "not_ok", "ok")  # what the child taps, again and again
LINES_BEFORE_THE_KILL = 7
MOST_SECONDS = 120


def child(task: str, folder: Path) -> subprocess.Popen[str]:
    with (folder / f"{task}.err").open("w", encoding="utf-8") as errors:
        return subprocess.Popen(
            [sys.executable, "-m", "tests.screens.kill_child", task, str(folder)],
            cwd=REPOSITORY, stdout=subprocess.PIPE, stderr=errors, text=True,
        )  # fmt: skip


def numbers(progress: str) -> tuple[int, int]:
    """Give the parts checked and NOK that a counter tells."""
    said = re.match(r"(\d+) of \d+ checked, (\d+) NOK", progress)
    assert said, f"the screen told no count but {progress!r}"
    return int(said[1]), int(said[2])


def judged_in(folder: Path) -> list[str]:
    """Open the store that the killed process left and give its answers in order."""
    tablet = open_tablet(read_scenario()["tablet"][0], folder, REPOSITORY / "checklists")
    with tablet.place.store as store:
        return [record.answer for record in store.all_records() if isinstance(record, Answer)]


@pytest.mark.window
def test_no_answer_that_the_screen_confirmed_is_lost_when_the_process_is_killed(tmp_path):
    # Arrange: the real app judges parts by touch.
    running = child("judge", tmp_path)
    # A child that hangs must not hang the tests.
    overdue = threading.Timer(MOST_SECONDS, running.kill)
    overdue.start()
    try:
        lines = [running.stdout.readline() for _ in range(LINES_BEFORE_THE_KILL)]
        assert all(lines), (tmp_path / "judge.err").read_text(encoding="utf-8")
        # Act: the battery dies in the middle of the next answer.
        running.send_signal(signal.SIGKILL)
        # What it had printed until the kill came through counts as confirmed too.
        lines += running.stdout.read().splitlines()
    finally:
        overdue.cancel()
        running.kill()
        running.wait()
        running.stdout.close()

    # Assert: every confirmed answer is in the store, and at most the one under way besides.
    assert running.returncode == -signal.SIGKILL
    confirmed, confirmed_nok = numbers(lines[-1])
    kept = judged_in(tmp_path / "store")
    assert confirmed == len(lines)
    assert confirmed <= len(kept) <= confirmed + 1
    assert kept == list(islice(cycle(TAPS), len(kept)))
    assert kept[:confirmed].count("not_ok") == confirmed_nok

    # Assert: the app opens again on the same page with all that was kept.
    looking = child("look", tmp_path)
    told, _ = looking.communicate(timeout=MOST_SECONDS)
    assert looking.returncode == 0, (tmp_path / "look.err").read_text(encoding="utf-8")
    page = json.loads(told)
    assert (page["screen"], page["station"], page["check"]) == ("judge", "moulding", "ear-look")
    assert numbers(page["progress"]) == (len(kept), kept.count("not_ok"))


@pytest.mark.window
def test_a_half_filled_form_and_a_half_typed_number_are_there_after_the_process_was_killed(tmp_path):
    running = child("type", tmp_path)
    overdue = threading.Timer(MOST_SECONDS, running.kill)
    overdue.start()
    try:
        line = running.stdout.readline()
        assert line, (tmp_path / "type.err").read_text(encoding="utf-8")
        running.send_signal(signal.SIGKILL)
    finally:
        overdue.cancel()
        running.kill()
        running.wait()
        running.stdout.close()

    tablet = open_tablet(read_scenario()["tablet"][0], tmp_path / "store", REPOSITORY / "checklists")
    with tablet.place.store:
        session = Session(
            tablet.place,
            run_later=run_now,
            go=lambda route: None,
            picture_folders=(tmp_path,),
            bundles=tmp_path,
        )
        route = session.kept.route()
        assert route.to_place() == json.loads(line)
        measure = page_class(route.screen)(session, route)
        measure.open()
        assert (route.screen, measure.state.pad.text) == ("measure", "2.")
        note = page_class("note")(session, replace(route, screen="note", check=""))
        note.open()
        assert [field.value for field in note.state.fields] == ["clamp pa"]
