"""What the calls take from this machine: clock, chance and usual folders."""

from __future__ import annotations

import os
import secrets
import sys
import time
from datetime import datetime
from pathlib import Path

from walkapp.model.ids import IdMaker


def now() -> datetime:
    """Give the tablet's time with its offset from UTC."""
    return datetime.now().astimezone()


def id_maker() -> IdMaker:
    """Make a maker of record ids from clock and chance."""
    return IdMaker(lambda: time.time_ns() // 1_000_000, secrets.randbits)


def new_secret() -> bytes:
    """Draw the 32 bytes of a private key."""
    return secrets.token_bytes(32)


def default_store() -> Path:
    """Give the folder of the records when none is named: the user's own data folder.

    On Android that is the app's private folder, which stays when the app is renewed; there is no home
    there.
    """
    if private := os.environ.get("ANDROID_PRIVATE"):
        return Path(private) / "walkapp"
    home = os.environ.get("XDG_DATA_HOME") or os.environ.get("LOCALAPPDATA")
    return (Path(home) if home else Path.home() / ".local" / "share") / "walkapp"


def has_terminal() -> bool:
    """Whether standard error may be seen by somebody: not on Android, nor in a program without one."""
    return sys.stderr is not None and not os.environ.get("ANDROID_PRIVATE")


def default_checklists() -> Path:
    """Give the ready-made checklists: inside an installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "data" / "checklists"
    return inside if inside.is_dir() else package.parent / "checklists"
