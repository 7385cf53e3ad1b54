"""Home: the list of concerns."""

from __future__ import annotations

from kivy.properties import ObjectProperty

from walkapp.presenters.home import HomeState
from walkapp.screens.kit import buttons, lists, words  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import Page, load_kv


class HomeScreen(Page):
    """The list of concerns."""

    state = ObjectProperty(HomeState(), rebind=True)


load_kv(__file__)
