"""Which language the program speaks."""

from __future__ import annotations

from walkapp.language import use
from walkapp.languages import LANGUAGES, load, nearest

__all__ = ["AS_SYSTEM", "LANGUAGES", "nearest", "speak"]

AS_SYSTEM = "system"
"""Instead of a code: the language that the tablet is set to."""


def speak(wanted: str, system: str) -> None:
    """Speak a language from now on, in all threads.

    Parameters
    ----------
    wanted
        A code of ``LANGUAGES``; anything else, such as ``AS_SYSTEM``, stands for the system's.
    system
        Code of the language that the tablet is set to, one of ``LANGUAGES``.
    """
    use(load(wanted if wanted in LANGUAGES else system))
