"""What the system says of the person who uses it."""

from __future__ import annotations

import os
import sys


def system_locale() -> str:
    """Give the language that the system is set to, such as ``de_DE.UTF-8`` or ``es-MX``; empty if unknown.

    Notes
    -----
    On Linux and macOS the variables that ``gettext`` documents decide, in its order. On Windows and
    Android, where these are not set, the system is asked; both could not be tried where this was written.
    """
    for name in ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG"):
        if value := os.environ.get(name, "").partition(":")[0]:
            return value
    if sys.platform == "win32":
        import ctypes
        import locale

        return locale.windows_locale.get(ctypes.windll.kernel32.GetUserDefaultUILanguage(), "")
    if "ANDROID_ARGUMENT" in os.environ:
        from jnius import autoclass

        return str(autoclass("java.util.Locale").getDefault().toLanguageTag())
    return ""
