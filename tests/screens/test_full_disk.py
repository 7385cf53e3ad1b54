"""A really full disk under a real window: each page says what was not kept, and nothing is lost."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from walkapp.presenters.kept import NOT_KEPT

pytestmark = pytest.mark.long

REPOSITORY = Path(__file__).resolve().parents[2]
OWN_MOUNTS = ("unshare", "--user", "--map-root-user", "--mount")


@pytest.mark.window
def test_everything_that_the_window_writes_says_when_the_disk_is_full_and_works_when_there_is_room(
    tmp_path,
):
    if (
        shutil.which("unshare") is None
        or subprocess.run([*OWN_MOUNTS, "true"], capture_output=True).returncode
    ):
        pytest.skip("this machine does not allow mounts of one's own, so no such disk can be made")

    done = subprocess.run(
        [*OWN_MOUNTS, sys.executable, "-m", "tests.screens.full_disk_child", str(tmp_path)],
        cwd=REPOSITORY, capture_output=True, text=True, timeout=600,
    )  # fmt: skip

    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout.splitlines()[-1])
    full = told["full"]
    assert "was not saved" in full["entry"] and "delete old bundles" in full["entry"]
    assert full["typed"] == NOT_KEPT
    assert "picture was not saved" in full["picture"].lower()
    for written in ("bundle", "sheet", "mailed"):
        assert "full" in full[written], written
    assert full["search"] in ("", NOT_KEPT)
    assert told["more records"] == 0 and told["left on disk"] == []
    # Entry and picture are on disk, and what the screen has shown is there after a restart.
    assert told["with room"] == dict.fromkeys(full, "")
    assert told["more records then"] == told["kept"] >= 2
