"""A fresh machine has the run-time packages and no others: the app needs no more than those."""

from __future__ import annotations

import subprocess
import sys
from importlib import metadata
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

REPOSITORY = Path(__file__).resolve().parents[2]


def installed_by(package: str) -> set[str]:
    """Give the package and everything that installing it brings along, without extras."""
    found, waiting = set(), [package]
    while waiting:
        name = canonicalize_name(waiting.pop())
        if name in found:
            continue
        found.add(name)
        needed = [Requirement(line) for line in metadata.requires(name) or ()]
        waiting += [r.name for r in needed if r.marker is None or r.marker.evaluate({"extra": ""})]
    return found


@pytest.mark.window
def test_everything_loads_and_a_concern_is_opened_with_the_run_time_packages_alone(tmp_path):
    brought = installed_by("walkapp")
    foreign = [
        top
        for top, owners in metadata.packages_distributions().items()
        if top not in ("tests", "walkapp") and not {canonicalize_name(owner) for owner in owners} & brought
    ]
    assert {"pytest", "hypothesis", "scipy", "pandas"} <= set(foreign)

    done = subprocess.run(
        [sys.executable, "-m", "tests.screens.lean_child", str(tmp_path), *foreign],
        cwd=REPOSITORY, capture_output=True, text=True, timeout=300,
    )  # fmt: skip

    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert int(done.stdout) > 80
    assert (tmp_path / "concern.png").stat().st_size > 10_000
