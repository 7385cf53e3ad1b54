"""Stores on small, full and read-only disks: run by test_small_disks.py in a process of its own.

``python -m tests.store.small_disk_child TASK FOLDER`` prints what happened as JSON. The disks are mounted
in a name space that this process has for itself, so nothing is left of them.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
from pathlib import Path

from tests.store.support import WALK, all_of, begin_walk, note, open_store
from walkapp.errors import StoreError
from walkapp.files import sha256_of

WORDS = "warm " * 500


def fill(store, picture: bytes = b"") -> dict:
    """Save until the disk refuses; say how many were saved and what was said."""
    saved = 0
    try:
        while True:
            store.append(note(store.next_number, WORDS))
            saved += 1
    except StoreError as error:
        said = [str(error)]
    if picture:
        try:
            store.add_photo(sha256_of(picture) + ".png", picture)
        except StoreError as error:
            said.append(str(error))
    store.remember({"walk": WALK})  # no evidence, so no error
    return {"saved": saved, "said": said, "readable": len(store.records(WALK)), "notices": store.notices}


def full(folder: Path, size: str) -> dict:
    """Fill a small disk to the brim, look at it while it is full, make room and go on."""
    folder.mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", folder], check=True)
    store_folder, filler = folder / "store", folder / "filler"
    filler.write_bytes(bytes(20_000))
    with open_store(store_folder) as store:
        had_reserve = (store_folder / "ballast").exists()
        begin_walk(store, 0)
        result = fill(store, bytes(2_000_000))
        in_memory = all_of(store)
    result["reserve"] = [had_reserve, (store_folder / "ballast").exists()]
    with open_store(store_folder, writable=False) as reader:
        result["read while full"] = [all_of(reader) == in_memory, reader.notices]
    with open_store(store_folder) as again:
        result["opened while full"] = [all_of(again) == in_memory, again.notices]
        filler.unlink()
        again.append(note(again.next_number, "room again"))
        result["after making room"] = len(all_of(again)) - len(in_memory)
    return result


def read_only(folder: Path) -> dict:
    """Make a store, make its disk read-only, and open it both ways."""
    folder.mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=8m", "tmpfs", folder], check=True)
    with open_store(folder / "store") as store:
        saved = begin_walk(store, 2)
    subprocess.run(["mount", "-o", "remount,ro", folder], check=True)
    return {
        "said": refused(folder / "store"),
        "new": refused(folder / "other"),
        "read": reads(folder, saved),
    }


def limited(folder: Path) -> dict:
    """Let no file grow beyond 20 kB."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))
    with open_store(folder / "store") as store:
        begin_walk(store, 0)
        result = fill(store)
        in_memory = all_of(store)
    with open_store(folder / "store") as again:
        result["opened again"] = [all_of(again) == in_memory, again.notices]
    return result


def forbidden(folder: Path) -> dict:
    """Take the right to write away, first from the journals and then from all."""
    with open_store(folder / "store") as store:
        saved = begin_walk(store, 2)
    own = folder / "store" / "journals" / "own"
    for path in own.iterdir():
        path.chmod(0o444)
    own.chmod(0o555)
    with open_store(folder / "store") as store:
        result = {"append": None, "next": store.next_number}
        try:
            store.append(note(store.next_number))
        except StoreError as error:
            result["append"] = str(error)
        result["readable"] = [r.number for r in store.records(WALK)]
    (folder / "store").chmod(0o555)
    for name in ("lock", "ballast"):
        (folder / "store" / name).chmod(0o444)
    result |= {"said": refused(folder / "store"), "read": reads(folder, saved)}
    (folder / "store").chmod(0o755)
    for closed in (folder / "store", own):
        closed.chmod(0o000)
        for writable in (False, True):
            result[f"{closed.name} closed, {'writing' if writable else 'reading'}"] = refused(
                folder / "store", writable=writable
            )
        closed.chmod(0o755)
    return result


def refused(folder: Path, *, writable: bool = True) -> str:
    """Open a store that cannot be opened; give what was said."""
    try:
        open_store(folder, writable=writable).close()
    except StoreError as error:
        return str(error)
    return "it was opened"


def reads(folder: Path, saved: list) -> bool:
    """Say whether every saved record is read."""
    with open_store(folder / "store", writable=False) as reader:
        return sorted(all_of(reader), key=lambda r: r.number) == saved and reader.notices == ()


TASKS = {
    "full": lambda folder: full(folder, "6m"),
    "tiny": lambda folder: full(folder, "256k"),
    "read_only": read_only,
    "limited": limited,
    "forbidden": forbidden,
}

if __name__ == "__main__":
    print(json.dumps(TASKS[sys.argv[1]](Path(sys.argv[2]))))
