"""One question of an audit, or the cautions of its station before that."""

from __future__ import annotations

from kivy.properties import ObjectProperty

from walkapp.presenters.audits.question import AuditState
from walkapp.screens import frame, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit.fingers import FINGERS
from walkapp.screens.page import Page, load_kv, swap


class AuditScreen(Page):
    """The question above, the three answers below; or what has to be read first."""

    state = ObjectProperty(AuditState(), rebind=True)

    def on_kv_post(self, _page) -> None:
        """Hold what may be taken out: the question, the cautions, the way to the reaction."""
        self._asking, self._cautions = self.ids.asking.__self__, self.ids.cautions.__self__
        self._react = self.ids.react.__self__
        self._shown = ()
        self.ids.foot.remove_widget(self._react)
        swap(self.ids.body, self._asking)

    def show(self, presenter) -> None:
        """Start with no question, whatever was shown before."""
        self._shown = ()
        super().show(presenter)

    def on_state(self, _page, state) -> None:
        """Show cautions or question; another question takes no finger that was meant for the one before."""
        swap(self.ids.body, self._cautions if state.cautions else self._asking)
        foot = self.ids.foot
        if state.can_react and self._react.parent is None:
            foot.add_widget(self._react, index=1)
        elif not state.can_react and self._react.parent is not None:
            foot.remove_widget(self._react)
        shown = (state.ref, bool(state.cautions))
        if shown != self._shown:
            self._shown = shown
            self.ids.scroll.scroll_y = 1
            FINGERS.page_changed()


load_kv(__file__)
