"""How matplotlib is used here: late, quietly, with its own settings, and by one thread at a time."""

from __future__ import annotations

import logging
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from walkapp.errors import InputError
from walkapp.language import msg, tr

_ONE_AT_A_TIME = threading.RLock()

NO_LIBRARY = msg(
    "This device has no library for drawing pages and figures (matplotlib): write a bundle "
    "and draw them at a desk; everything else works."
)
"""Said on tablets, for which it is not built."""


@contextmanager
def quiet() -> Iterator[None]:
    """Keep to ourselves what matplotlib tells of its fonts and folders while it is imported or draws.

    Raises
    ------
    InputError
        If it is not here.
    """
    logger = logging.getLogger("matplotlib")
    before = logger.level
    logger.setLevel(logging.CRITICAL)
    try:
        try:
            import matplotlib  # noqa: F401, ICN001  only whether it is here
        except ImportError:
            raise InputError(tr(NO_LIBRARY)) from None
        yield
    finally:
        logger.setLevel(before)


@contextmanager
def drawing_settings() -> Iterator[None]:
    """Draw with what matplotlib is delivered with, whatever a person has set for plots of their own.

    Its settings belong to the whole process, so whoever draws meanwhile on another thread waits. Letters
    are put into a PDF whole (Type 42), so that its text can be searched and copied. They are not fitted to
    pixels, so that a text is as wide in a picture as it is on paper.
    """
    with _ONE_AT_A_TIME, quiet():
        import matplotlib as mpl

        settings: dict[Any, Any] = {
            name: value for name, value in mpl.rcParamsDefault.items() if not name.startswith("backend")
        }
        settings |= {
            "pdf.fonttype": 42,
            "svg.hashsalt": "walkapp",
            "hatch.linewidth": 0.6,
            "text.hinting": "none",
        }
        # A text from outside, such as a unit, may hold dollar signs: no text here is mathematics.
        settings["text.parse_math"] = False
        with mpl.rc_context(settings):
            yield
