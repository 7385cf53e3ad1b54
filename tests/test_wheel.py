"""What is installed has everything that the program reads."""

import subprocess
import sys
import zipfile
from pathlib import Path

REPOSITORY = Path(__file__).resolve().parent.parent
READ = {".kv", ".py", ".sql", ".toml"}


def files_below(folder: Path) -> set[str]:
    return {path.relative_to(folder.parent).as_posix() for path in folder.rglob("*") if path.suffix in READ}


def test_a_wheel_has_the_code_the_layouts_the_questions_the_checklists_and_the_demo(tmp_path):
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)],
        cwd=REPOSITORY, check=True, capture_output=True,
    )  # fmt: skip

    (wheel,) = tmp_path.glob("*.whl")
    inside = set(zipfile.ZipFile(wheel).namelist())
    beside = files_below(REPOSITORY / "checklists") | files_below(REPOSITORY / "demo")
    assert files_below(REPOSITORY / "walkapp") <= inside
    assert {f"walkapp/data/{name}" for name in beside} <= inside
    assert any(name.endswith(".sql") for name in inside)
