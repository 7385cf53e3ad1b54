"""Every page on which a few fields are filled in."""

from __future__ import annotations

from kivy.properties import ObjectProperty

from walkapp.presenters.form import FormState
from walkapp.screens import frame, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.frame import TopBar, WalkFrame
from walkapp.screens.page import Page, load_kv
from walkapp.screens.widgets import ChoiceField, DayField, Field

FIELDS = {"words": Field, "whole": Field, "choice": ChoiceField, "day": DayField}
"""Widget of each form of field."""


class FormScreen(Page):
    """A form; its fields are built when their names change, and refilled in place otherwise."""

    state = ObjectProperty(FormState(), rebind=True)

    def show(self, presenter) -> None:
        """Start with empty fields, whatever form was shown before."""
        self.ids.fields.clear_widgets()
        super().show(presenter)
