"""What several calls are given alike, and how what was typed is read."""

from __future__ import annotations

import argparse
import re
from datetime import date
from pathlib import Path

from walkapp.language import tr


def add_store(call: argparse.ArgumentParser) -> None:
    """Take the folder of the records."""
    call.add_argument("--store", type=Path, required=True, metavar="DIR", help=tr("folder of the records"))


def add_checklists(call: argparse.ArgumentParser) -> None:
    """Take a folder of value streams."""
    call.add_argument(
        "--checklists", type=Path, default=None, metavar="DIR", help=tr("folder of the value streams")
    )


def chance(text: str) -> float:
    """Read a number from 0 to 1."""
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0 <= value <= 1:
        raise argparse.ArgumentTypeError(tr("{text} must be a number from 0 to 1", text=repr(text)))
    return value


def open_share(text: str) -> float:
    """Read a number between 0 and 1."""
    value = chance(text)
    if value in (0.0, 1.0):
        raise argparse.ArgumentTypeError(tr("{text} must be above 0 and below 1", text=repr(text)))
    return value


def ppm(text: str) -> float:
    """Read parts of a million."""
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0 <= value <= 1_000_000:
        raise argparse.ArgumentTypeError(tr("{text} must be a number from 0 to 1000000", text=repr(text)))
    return value


def months(text: str) -> int:
    """Read a number of months."""
    if not (text.isascii() and text.isdigit() and len(text) <= 4 and 1 <= int(text) <= 1200):
        raise argparse.ArgumentTypeError(
            tr("{text} must be a whole number from 1 to 1200", text=repr(text))
        )
    return int(text)


def walks(text: str) -> int:
    """Read a number of simulated walks."""
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= 100_000):
        raise argparse.ArgumentTypeError(
            tr("{text} must be a whole number from 1 to 100000", text=repr(text))
        )
    return int(text)


def days(text: str) -> int:
    """Read a number of days."""
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= 3660):
        raise argparse.ArgumentTypeError(
            tr("{text} must be a number of days from 1 to 3660", text=repr(text))
        )
    return int(text)


def fingerprint(text: str) -> str:
    """Read the digits of a key as somebody typed them: in groups or not, in capitals or not."""
    digits = re.sub(r"[\s:-]", "", text).lower()
    if not re.fullmatch(r"[0-9a-f]{16}", digits):
        raise argparse.ArgumentTypeError(
            tr("{text} must be the 16 digits of a key, such as 0a1b-2c3d-4e5f-6071", text=repr(text))
        )
    return "-".join(digits[start : start + 4] for start in range(0, 16, 4))


def day(text: str) -> date:
    """Read a date."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            tr("{text} must be a date such as 2026-03-02", text=repr(text))
        ) from None
