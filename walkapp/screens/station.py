"""The station page: cautions first, then the checks."""

from __future__ import annotations

from kivy.properties import ObjectProperty

from walkapp.presenters.station import StationState
from walkapp.screens import frame, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import Page, load_kv, swap


class StationScreen(Page):
    """One station: its cautions until they are confirmed, its checks after that."""

    state = ObjectProperty(StationState(), rebind=True)

    def on_kv_post(self, _page) -> None:
        """Hold both parts: one of them is always taken out."""
        self._cautions, self._work = self.ids.cautions.__self__, self.ids.work.__self__
        swap(self.ids.body, self._work)

    def on_state(self, _page, state) -> None:
        """Show either the cautions or the checks."""
        swap(self.ids.body, self._cautions if state.cautions else self._work)


load_kv(__file__)
