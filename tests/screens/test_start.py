"""What the first frames of the app wait for, counted: times differ from machine to machine."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]

MOST_MODULES = 118
MOST_CLASSES = 118
"""A little above what a start has; each class costs about half a millisecond (measured, Python 3.11)."""


@pytest.mark.window
def test_the_first_page_waits_for_no_more_code_than_it_shows_and_the_rest_is_there_for_the_first_tap(
    tmp_path,
):
    done = subprocess.run(
        [sys.executable, "-m", "tests.screens.start_child", str(tmp_path)],
        cwd=REPOSITORY, capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    counted = json.loads(done.stdout.splitlines()[-1])

    answers = {"walkapp.actions.summaries", "walkapp.analysis.locate", "walkapp.presenters.concern"}
    assert not answers & set(counted["first"])
    assert answers <= set(counted["next"])
    assert 60 <= len(counted["first"]) <= MOST_MODULES
    assert 60 <= counted["classes"] <= MOST_CLASSES
