"""What was copied in another program, through Kivy; it knows the clipboard of each system."""

from __future__ import annotations

from typing import Any

MOST_LETTERS = 100_000
"""Of what is longer no more is handed on; nothing that is pasted here is so long."""


class KivyClipboard:
    """The clipboard of the system, as :class:`walkapp.presenters.devices.Clipboard`."""

    def has_text(self) -> bool:
        """Whether there may be a text; Android tells the person who reads it, so it is not read unasked."""
        from kivy.utils import platform

        return platform == "android" or bool(self.text().strip())

    def text(self) -> str:
        """Give the text."""
        try:
            from kivy.core.clipboard import Clipboard  # late: it looks for the system's tools

            text: Any = Clipboard.paste()
        except Exception:  # each system's tool raises its own when something else holds the clipboard
            return ""
        return text[:MOST_LETTERS] if isinstance(text, str) else ""
