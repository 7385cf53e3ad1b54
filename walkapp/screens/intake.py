"""Every page on which pictures outside a walk are taken in."""

from __future__ import annotations

from kivy.properties import ObjectProperty

from walkapp.presenters.intake import IntakeState
from walkapp.screens import frame, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import load_kv
from walkapp.screens.photo import PicturePage


class IntakeScreen(PicturePage):
    """What the next picture shows, pictures to choose, and those recorded here."""

    state = ObjectProperty(IntakeState(), rebind=True)


load_kv(__file__)
