"""Search over all concerns, as it is typed."""

from __future__ import annotations

from kivy.properties import ObjectProperty

from walkapp.presenters.search import SearchState
from walkapp.screens import frame  # noqa: F401  the kv file uses its widgets
from walkapp.screens.kit import buttons, choices, fields, lists, words  # noqa: F401
from walkapp.screens.page import Page, load_kv


class SearchScreen(Page):
    """A field, and what is found below it."""

    state = ObjectProperty(SearchState(), rebind=True)


load_kv(__file__)
