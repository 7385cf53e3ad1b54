"""Real disks that are full, read-only or forbidden: what was saved can be read, a sentence says why."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]
OWN_MOUNTS = ("unshare", "--user", "--map-root-user", "--mount")
NO_POWERS = ("setpriv", "--bounding-set=-dac_override,-dac_read_search", "--inh-caps=-all")


def play(task: str, folder: Path, *before: str) -> dict:
    """Run a task of the child, through another command when needed."""
    if before and (
        shutil.which(before[0]) is None
        or subprocess.run([*before, "true"], capture_output=True).returncode != 0
    ):
        pytest.skip(f"this machine does not allow '{before[0]}', so no such disk can be made")
    done = subprocess.run(
        [*before, sys.executable, "-m", "tests.store.small_disk_child", task, str(folder)],
        cwd=REPOSITORY, capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def is_full(what: str, folder: Path) -> str:
    return (
        f"{what} was not saved: the storage that holds {folder} is full; delete old bundles or other files "
        "there and try again; nothing saved before is lost."
    )


def nearly_full(folder: Path) -> str:
    return f"The storage that holds {folder} is nearly full: free some space before the next walk."


def test_a_disk_that_is_filled_to_the_brim_gives_back_the_reserve_and_keeps_every_entry(tmp_path):
    folder = tmp_path / "disk" / "store"

    seen = play("full", tmp_path / "disk", *OWN_MOUNTS)

    assert seen["said"] == [is_full("The entry", folder), is_full("The picture", folder)]
    assert seen["reserve"] == [True, False]
    (notice,) = seen["notices"]
    assert notice == (
        f"The storage that holds {folder} is full: the reserve was used so that this item can be finished; "
        "free some space now."
    )
    # The reserve alone holds more than a thousand of these entries.
    assert seen["saved"] > 1500
    assert seen["readable"] == seen["saved"] + 1
    assert seen["read while full"] == [True, []]
    assert seen["opened while full"] == [True, [nearly_full(folder)]]
    assert seen["after making room"] == 1


def test_a_disk_that_has_no_room_for_a_reserve_says_so_and_keeps_every_entry(tmp_path):
    folder = tmp_path / "disk" / "store"

    seen = play("tiny", tmp_path / "disk", *OWN_MOUNTS)

    assert seen["reserve"] == [False, False]
    assert seen["notices"] == [nearly_full(folder)]
    assert seen["said"] == [is_full("The entry", folder), is_full("The picture", folder)]
    assert seen["saved"] > 50
    assert seen["readable"] == seen["saved"] + 1
    assert seen["read while full"] == [True, []]
    assert seen["opened while full"] == [True, [nearly_full(folder)]]
    assert seen["after making room"] == 1


def test_a_read_only_disk_is_told_and_can_be_read(tmp_path):
    disk = tmp_path / "disk"

    seen = play("read_only", disk, *OWN_MOUNTS)

    for name, said in (("store", seen["said"]), ("other", seen["new"])):
        assert said == (
            f"The store could not be opened: {disk / name} is on a medium that can only be read; choose a "
            "folder that can be written; nothing saved before is lost."
        )
    assert seen["read"] is True


def test_a_file_that_may_not_grow_is_told_and_every_entry_is_kept(tmp_path):
    folder = tmp_path / "store"

    seen = play("limited", tmp_path)

    (sentence,) = seen["said"]
    assert sentence == (
        f"The entry was not saved: {folder} cannot be used (File too large); mend that and try again; "
        "nothing saved before is lost."
    )
    assert seen["saved"] >= 5
    assert seen["readable"] == seen["saved"] + 1
    assert seen["opened again"] == [True, [nearly_full(folder)]]


def test_a_folder_that_may_not_be_written_is_told_and_can_be_read(tmp_path):
    folder = tmp_path / "store"
    not_allowed = f"this program is not allowed to use {folder}; choose another folder or allow it"

    # Root may write everywhere, unless it gives that power up.
    seen = play("forbidden", tmp_path, *(NO_POWERS if os.geteuid() == 0 else ()))

    assert seen["append"] == f"The entry was not saved: {not_allowed}; nothing saved before is lost."
    assert seen["readable"] == [2, 3, 4]
    assert seen["said"] == f"The store could not be opened: {not_allowed}; nothing saved before is lost."
    assert seen["read"] is True
    for closed in ("store", "own"):
        # A store that cannot be looked into must not pass for an empty one.
        for does, what in (("reading", "read"), ("writing", "opened")):
            assert seen[f"{closed} closed, {does}"] == (
                f"The store could not be {what}: {not_allowed}; nothing saved before is lost."
            )
