"""What Kivy has to be told before anything imports it."""

from __future__ import annotations

import logging
import os

# Of these Kivy writes warnings and whole tracebacks, though nothing is wrong: a missing xclip or xsel
# (only the middle mouse button of X11 needs them), and its own settings file that it has just made.
_NOISE = ("Cutbuffer", "Config: Older configuration", "Config: Upgrading")


def quiet_kivy() -> None:
    """Let Kivy leave the command line and the log files alone, and say only what matters."""
    # Kivy would otherwise take this program's own options for its own, and write log files.
    os.environ.setdefault("KIVY_NO_ARGS", "1")
    os.environ.setdefault("KIVY_NO_FILELOG", "1")
    os.environ.setdefault("KIVY_LOG_MODE", "PYTHON")
    logging.getLogger("kivy").addFilter(_matters)


def _matters(record: logging.LogRecord) -> bool:
    return not record.getMessage().startswith(_NOISE)
