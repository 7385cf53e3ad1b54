"""``python .packaging/stage.py FOLDER``: lay out what goes into a packed app, in a folder made anew.

It is the wheel, unpacked, with the start file and the check of a built app beside it: what is installed by
pip, what is packed for a tablet and what is packed for a desktop are the same files, and one list of them
(``pyproject.toml``) holds.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
MARKER = "staged-by-walkapp"


def stage(folder: Path) -> None:
    """Lay everything out.

    Parameters
    ----------
    folder
        Made anew; what an earlier call left in it is removed.

    Raises
    ------
    SystemExit
        If the folder holds something else.
    """
    if folder.exists() and any(folder.iterdir()):
        if not (folder / MARKER).is_file():
            raise SystemExit(f"{folder}: holds something else than a staged app; choose another folder.")
        shutil.rmtree(folder)
    with tempfile.TemporaryDirectory() as made:
        subprocess.run(
            [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", made],
            cwd=HERE.parent, check=True, capture_output=True,
        )  # fmt: skip
        (wheel,) = Path(made).glob("*.whl")
        with zipfile.ZipFile(wheel) as packed:
            packed.extractall(folder)
    for name in ("main.py", "checking.py"):
        shutil.copyfile(HERE / name, folder / name)
    (folder / MARKER).write_text("Made anew by .packaging/stage.py each time.\n", encoding="utf-8")


if __name__ == "__main__":
    stage(Path(sys.argv[1]))
