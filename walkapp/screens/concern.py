"""The page of one concern."""

from __future__ import annotations

from kivy.properties import ObjectProperty

from walkapp.presenters.concern import ConcernState
from walkapp.screens import frame, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import Page, load_kv


class ConcernScreen(Page):
    """One concern and its walks."""

    state = ObjectProperty(ConcernState(), rebind=True)


load_kv(__file__)
