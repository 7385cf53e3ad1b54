"""What the system says of the person who uses it."""

from __future__ import annotations

import os
import sys

_VARIABLES = ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG")
"""As GNU gettext documents them, the first that says something; ``LANGUAGE`` may name several."""


def system_locales() -> tuple[str, ...]:
    """Give what the system is set to, the most wanted first: ``de_DE.UTF-8``, ``es-MX``; empty if unknown.

    Notes
    -----
    Where the variables of gettext are not set, as on Windows and Android, the system itself is asked. Both
    could not be tried where this was written. macOS is not asked: without a terminal nothing is known.
    """
    for name in _VARIABLES:
        if value := os.environ.get(name, ""):
            return tuple(filter(None, value.split(":")))
    if sys.platform == "win32":
        import ctypes
        import locale

        return tuple(
            filter(None, [locale.windows_locale.get(ctypes.windll.kernel32.GetUserDefaultUILanguage())])
        )
    if "ANDROID_ARGUMENT" in os.environ:
        from jnius import autoclass

        return (str(autoclass("java.util.Locale").getDefault().toLanguageTag()),)
    return ()
