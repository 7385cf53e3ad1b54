"""Every page on which a few fields are filled in."""

from __future__ import annotations

from kivy.base import EventLoop
from kivy.clock import Clock
from kivy.properties import ObjectProperty

from walkapp.presenters.form import FormState
from walkapp.presenters.frame import FrameState
from walkapp.screens import frame, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit.fields import ChoiceField, DayField, Field, OfferField
from walkapp.screens.kit.fingers import BOUNCE_S
from walkapp.screens.page import Page, load_kv, swap

FIELDS = {
    "words": Field,
    "whole": Field,
    "choice": ChoiceField,
    "offered": OfferField,
    "day": DayField,
}
"""Widget of each form of field."""

MOVES_AFTER_S = BOUNCE_S + 0.05
"""A glove that bounces must still meet the button that it meant, so the page moves after that."""


class FormScreen(Page):
    """A form; its fields are built when the form opens and refilled in place after that."""

    state = ObjectProperty(FormState(), rebind=True)
    frame = ObjectProperty(FrameState(), rebind=True)

    def add_widget(self, widget, *args, **kwargs) -> None:
        """Take one of what may be around the form; the other one comes back when it is needed."""
        self.whole.clear_widgets()
        super().add_widget(widget, *args, **kwargs)

    def __init__(self, **kwargs) -> None:
        self._move_soon = Clock.create_trigger(self._move, MOVES_AFTER_S)
        super().__init__(**kwargs)

    def on_kv_post(self, _page) -> None:
        """Hold what may be taken out: the form, and what may be around it."""
        self._form = self.ids.form.__self__
        self._plain, self._walk = self.ids.plain.__self__, self.ids.walk.__self__
        self._other = self.ids.other.__self__
        self.ids.foot.remove_widget(self._other)
        swap(self.whole, self._plain)

    def show(self, presenter) -> None:
        """Start with no fields, whatever form was shown before."""
        self.ids.fields.clear_widgets()
        self.ids.scroll.scroll_y = 1
        super().show(presenter)

    def leave(self) -> None:
        """Do not move a page that is gone."""
        self._move_soon.cancel()
        super().leave()

    def on_state(self, _page, state) -> None:
        """Put the walk's frame or a plain bar around the form, and fill the fields."""
        self.frame = state.frame or FrameState()
        self._surround(self._plain if state.frame is None else self._walk)
        self._offer_other(bool(state.other))
        fields = list(reversed(self.ids.fields.children))
        if [field.test_name for field in fields] != [f"field-{field.name}" for field in state.fields]:
            fields = [self._field(field) for field in state.fields]
            self.ids.fields.clear_widgets()
            for field in fields:
                self.ids.fields.add_widget(field)
        for widget, field in zip(fields, state.fields, strict=True):
            widget.options = list(field.options)
            widget.is_required = field.is_required
            widget.hint = field.hint
            widget.words = field.value
        if state.ahead:
            self._move_soon()

    def _offer_other(self, is_offered: bool) -> None:
        """Put the second button before the one that records, or take it away."""
        foot = self.ids.foot
        if is_offered and self._other.parent is None:
            foot.add_widget(self._other, index=len(foot.children))
        elif not is_offered and self._other.parent is not None:
            foot.remove_widget(self._other)

    def _move(self, _dt: float) -> None:
        """Bring the next field to the top; nothing moves under a finger that is on the glass."""
        if EventLoop.touches:
            self._move_soon()
            return
        scroll, ahead = self.ids.scroll, f"field-{self.state.ahead}"
        field = next((one for one in self.ids.fields.children if one.test_name == ahead), None)
        content = scroll.children[0]
        room = content.height - scroll.height
        if field is None or room <= 0:
            return
        scroll.effect_y.velocity = 0
        scroll.scroll_y = min(max((field.top - content.y - scroll.height) / room, 0.0), 1.0)

    def _field(self, field):
        widget = FIELDS[field.form](
            test_name=f"field-{field.name}",
            label=field.label,
            lines=field.lines,
            words=field.value,
        )
        widget.bind(words=self._on_words)
        return widget

    def _on_words(self, widget, words) -> None:
        self.presenter.fill(widget.test_name.removeprefix("field-"), words)

    def _surround(self, wanted) -> None:
        if self._form.parent is not wanted:
            self._form.parent.remove_widget(self._form)
            wanted.add_widget(self._form)
        swap(self.whole, wanted)


load_kv(__file__)
