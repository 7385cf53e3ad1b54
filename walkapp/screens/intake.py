"""Every page on which pictures outside a walk are taken in."""

from __future__ import annotations

from kivy.properties import ObjectProperty

from walkapp.presenters.intake import IntakeState
from walkapp.screens import frame, photo, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit.fields import Field
from walkapp.screens.page import Page, load_kv


class IntakeScreen(Page):
    """What the next picture shows, pictures to choose, and those recorded here."""

    state = ObjectProperty(IntakeState(), rebind=True)

    def on_kv_post(self, _page) -> None:
        """Put the field above the pictures."""
        self._field = Field(test_name="field-caption")
        self._field.bind(words=self._on_words)
        self.ids.chooser.ids.above.add_widget(self._field)

    def on_state(self, _page, state) -> None:
        """Refill the field."""
        self._field.label = state.caption_label
        self._field.words = state.caption

    def _on_words(self, _field, words) -> None:
        self.presenter.fill(words)


load_kv(__file__)
