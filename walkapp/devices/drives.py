"""Where cards, sticks and other drives are plugged in."""

from __future__ import annotations

import os
import string
import sys
from collections.abc import Iterable
from pathlib import Path

MOST_DRIVES = 12
"""Drives that are offered; a page of buttons has room for no more."""

UNIX_PLACES = ("/media", "/run/media", "/mnt", "/Volumes")
"""Folders below which systems put drives (Filesystem Hierarchy Standard 3.0, sections 3.11 and 3.12, for
``/media`` and ``/mnt``; the others from memory)."""


def drives(places: Iterable[str] = UNIX_PLACES) -> tuple[Path, ...]:
    """Give the folders of home and of what is plugged in now; never raises.

    To be called on a worker: Windows may wait for seconds for a drive whose connection is lost.

    Parameters
    ----------
    places
        Where to look, on systems without drive letters.
    """
    if sys.platform == "win32":
        letters = (Path(f"{letter}:\\") for letter in string.ascii_uppercase[3:])
        found = [drive for drive in letters if os.path.exists(drive)]  # noqa: PTH110  never raises
    else:
        found = [folder for place in places for folder in _below(Path(place))]
    return (*_home(), *found[:MOST_DRIVES])


def _below(place: Path) -> list[Path]:
    """Give the drives that are put directly below a place, or into a folder of the user there."""
    found = []
    for folder in _folders(place):
        if os.path.ismount(folder):
            found.append(folder)
        else:
            found += [inside for inside in _folders(folder) if os.path.ismount(inside)]
    return found


def _folders(place: Path) -> list[Path]:
    try:
        with os.scandir(place) as entries:
            return sorted(Path(entry.path) for entry in entries if entry.is_dir(follow_symlinks=False))
    except OSError:
        return []


def _home() -> tuple[Path, ...]:
    try:
        return (Path.home(),)
    except RuntimeError:
        return ()
