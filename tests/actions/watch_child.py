"""Merges bundles and prints every path that the process changed meanwhile; run by test_hostile_bundles.

::

    python watch_child.py STORE WORK BUNDLE...

Each bundle is merged into the store under STORE, and summed up without one. What Python opens for
writing, makes, renames or removes is noted by an audit hook (PEP 578), and so is every process started
and every socket opened. A bundle called ``control`` is not merged: a file is written to WORK instead.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import sys
from pathlib import Path

from tests.soak.hostile.seeds import open_desk, workplace
from walkapp.actions.merging import merge_bundles
from walkapp.cli import main
from walkapp.errors import WalkappError

WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
CHANGES = (
    "os.rename", "os.mkdir", "os.remove", "os.rmdir", "os.link", "os.symlink", "os.truncate", "os.chmod",
    "os.chown", "os.utime", "shutil.copyfile", "shutil.move", "shutil.rmtree", "tempfile.mkstemp",
    "tempfile.mkdtemp",
)  # fmt: skip
NEVER = ("socket.__new__", "subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.fork")


def watch_into(noted: list[tuple[str, str]], switch: list[bool]) -> None:
    """Note every change, while the switch is on."""

    def note(event: str, arguments: tuple) -> None:
        if not switch[0]:
            return
        writes = event == "open" and isinstance(arguments[0], str | bytes) and arguments[2] & WRITES
        if writes or event in CHANGES:
            within = arguments[-1] if event != "open" and isinstance(arguments[-1], int) else -1
            paths = [a for a in arguments[:2] if isinstance(a, str | bytes | os.PathLike)]
            if event == "open":
                paths = paths[:1]  # the second is the mode
            noted.extend((event, whole_path(os.fsdecode(path), within)) for path in paths)
        elif event in NEVER:
            noted.append((event, ""))

    sys.addaudithook(note)


def whole_path(path: str, within: int) -> str:
    """Give the whole path of a name, which may be relative to an open folder."""
    start = os.readlink(f"/proc/self/fd/{within}") if within >= 0 else os.getcwd()  # noqa: PTH109, PTH115
    return os.path.normpath(os.path.join(start, path))  # noqa: PTH118


def run(store: Path, work: Path, bundles: list[Path]) -> dict[str, object]:
    """Merge each bundle by itself; say what was changed, and how many were merged."""
    merging: list[tuple[str, str]] = []
    looking: list[tuple[str, str]] = []
    on_merging, on_looking = [False], [False]
    watch_into(merging, on_merging)
    watch_into(looking, on_looking)
    merged = 0
    with open_desk(store) as desk:
        for bundle in bundles:
            on_merging[0] = True
            if bundle.name == "control":
                (work / "outside").write_text("control")
            else:
                with contextlib.suppress(WalkappError):
                    merge_bundles(workplace(desk), [bundle])
                    merged += 1
            on_merging[0], on_looking[0] = False, True
            with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
                main(["summary", str(bundle)])
            on_looking[0] = False
    return {"merging": merging, "looking": looking, "merged": merged}


if __name__ == "__main__":
    store, work, *bundles = map(Path, sys.argv[1:])
    print(json.dumps(run(store, work, bundles)))
