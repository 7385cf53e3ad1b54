"""Home: the list of concerns."""

from __future__ import annotations

from kivy.properties import ObjectProperty

from walkapp.presenters.home import HomeState
from walkapp.screens.kit import buttons, choices, lists, words  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import Page, load_kv


class HomeScreen(Page):
    """The list of concerns."""

    state = ObjectProperty(HomeState(), rebind=True)

    def listed(self, sentences) -> str:
        """Put sentences below each other; several get a dot each, since most take more than one line."""
        return "\n".join(sentences if len(sentences) < 2 else (f"• {one}" for one in sentences))


load_kv(__file__)
