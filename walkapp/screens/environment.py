"""What Kivy has to be told before anything imports it."""

from __future__ import annotations

import logging
import os

# Of these Kivy writes warnings and whole tracebacks, though nothing is wrong: a missing xclip or xsel
# (only the middle mouse button of X11 needs them), and its own settings file that it has just made.
# no text: the beginnings of lines of its log
_NOISE = (
    "Cutbuffer",
    "Config: Older configuration",
    "Config: Upgrading",
)


def quiet_kivy() -> None:
    """Let Kivy leave the command line and the log files alone, and say only what matters."""
    # Kivy would otherwise take this program's own options for its own, and write log files.
    os.environ.setdefault("KIVY_NO_ARGS", "1")
    os.environ.setdefault("KIVY_NO_FILELOG", "1")
    os.environ.setdefault("KIVY_LOG_MODE", "PYTHON")
    logging.getLogger("kivy").addFilter(_matters)


def tame_mouse() -> None:
    """Let a mouse be a mouse: its right button would else leave a finger on the glass that never lifts.

    Call before the window opens. Where no mouse is listened to, as in tests, none is from then on either.
    """
    from kivy.config import Config

    if Config.has_section("input") and Config.has_option("input", "mouse"):
        Config.set("input", "mouse", "mouse,disable_multitouch")


def _matters(record: logging.LogRecord) -> bool:
    return not record.getMessage().startswith(_NOISE)
