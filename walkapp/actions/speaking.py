"""Which language the program speaks."""

from __future__ import annotations

from walkapp.language import use
from walkapp.languages import LANGUAGES, load, nearest

__all__ = ["AS_SYSTEM", "LANGUAGES", "speak"]

AS_SYSTEM = "system"
"""Instead of a code: the language that the system is set to."""


def speak(wanted: str, system: str) -> str:
    """Speak a language from now on.

    Parameters
    ----------
    wanted
        A code of ``LANGUAGES``, or ``AS_SYSTEM``.
    system
        What the system is set to, for example ``de_DE.UTF-8``; empty when it does not say.

    Returns
    -------
    str
        The code of the language that is spoken.
    """
    code = wanted if wanted in LANGUAGES else nearest(system)
    use(load(code))
    return code
