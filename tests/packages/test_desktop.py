"""The app as one folder for desktops: built here, and started far from this checkout."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from walkapp import __version__
from walkapp.presenters.pages import PAGES

pytestmark = pytest.mark.long

REPOSITORY = Path(__file__).resolve().parents[2]
PACKAGING = REPOSITORY / ".packaging"
MODULES = [path for path in (REPOSITORY / "walkapp").rglob("*.py") if path.name != "__init__.py"]
MOST_SECONDS = 1800


@pytest.fixture(scope="module")
def program(tmp_path_factory):
    """Stage and build; give the program."""
    folder = tmp_path_factory.mktemp("desktop")
    staged = folder / "app"
    subprocess.run([sys.executable, PACKAGING / "stage.py", staged], check=True, timeout=MOST_SECONDS)
    built = subprocess.run(
        [
            sys.executable, "-m", "PyInstaller", "--noconfirm", "--log-level", "ERROR",
            "--distpath", folder / "dist", "--workpath", folder / "work",
            PACKAGING / "desktop" / "walkapp.spec",
        ],
        env={
            **os.environ, "WALKAPP_STAGED": str(staged), "KIVY_HOME": str(folder / "kivy"),
            "KIVY_NO_ARGS": "1",
            "PYINSTALLER_CONFIG_DIR": str(folder),
        },
        cwd=folder,
        capture_output=True, text=True, timeout=MOST_SECONDS,
    )  # fmt: skip
    assert built.returncode == 0, built.stderr
    return folder / "dist" / "walkapp" / ("walkapp.exe" if sys.platform == "win32" else "walkapp")


def call(program: Path, *said, home: Path, **more: str) -> subprocess.CompletedProcess[str]:
    """Start the program with an empty environment, in a folder of its own."""
    home.mkdir(exist_ok=True)
    return subprocess.run(
        [program, *said], env={"HOME": str(home), **more}, cwd=home, capture_output=True, text=True,
        timeout=MOST_SECONDS,
    )  # fmt: skip


def test_the_built_program_answers_calls_far_from_this_checkout(program, tmp_path):
    home = tmp_path / "home"
    counts = tmp_path / "counts.csv"
    counts.write_text("station,checked,nok\nWelding,30,0\nLeak test,30,9\n", encoding="utf-8")

    version, streams, located = (
        call(program, *said, home=home) for said in (["--version"], ["validate"], ["locate", counts])
    )

    assert (version.returncode, version.stdout) == (0, f"walkapp {__version__}\n")
    assert streams.returncode == 0 and "washer-reservoir" in streams.stdout
    assert located.returncode == 0 and located.stdout.startswith("The defect starts at Leak test")
    assert call(program, "locate", tmp_path / "nothing.csv", home=home).returncode == 2


def test_the_built_program_has_every_module_page_layout_and_letter_and_opens_a_concern_by_touch(
    program, tmp_path
):
    done = call(program, "check-the-package", tmp_path / "try", home=tmp_path / "home")

    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout.splitlines()[-1])
    assert found["modules"] >= len(MODULES) and found["pages"] == len(PAGES)
    assert found["concern"] and found["draws"] == ["png", "pdf", "svg"]
    assert Path(found["from"]).is_relative_to(program.parent)  # and from nowhere else
    assert (tmp_path / "try" / "concern.png").stat().st_size > 10_000
