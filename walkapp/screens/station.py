"""The station page: cautions first, then the checks."""

from __future__ import annotations

from kivy.properties import ObjectProperty

from walkapp.presenters.station import StationState
from walkapp.screens import frame, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import Page, load_kv


class StationScreen(Page):
    """One station: its cautions until they are confirmed, its checks after that."""

    state = ObjectProperty(StationState(), rebind=True)

    def on_state(self, _page, state) -> None:
        """Show either the cautions or the checks."""
        wanted = self.ids.cautions if state.cautions else self.ids.work
        if wanted.parent is None:
            self.ids.body.clear_widgets()
            self.ids.body.add_widget(wanted)


load_kv(__file__)
