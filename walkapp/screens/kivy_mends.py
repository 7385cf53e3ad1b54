"""Faults of Kivy 2.3.1 that a day of use would feel, mended in one place until Kivy mends them."""

from __future__ import annotations

from kivy.uix.scrollview import ScrollView


def bind_bars_once() -> None:
    """Let a view that is scrolled keep one binding for the colour of its bar, not one for each frame.

    ``ScrollView.update_from_scroll`` binds ``_change_bar_color`` to ``bar_color`` at each call and takes
    one binding back when the view has come to rest (read in the source; found by ``tests/soak/day.py``).
    Does no harm when it is called again.
    """
    if getattr(ScrollView, "walkapp_binds_once", False):
        return
    update = ScrollView.update_from_scroll

    def update_from_scroll(self, *said) -> None:
        self.funbind("bar_color", self._change_bar_color)
        update(self, *said)

    ScrollView.update_from_scroll = update_from_scroll
    ScrollView.walkapp_binds_once = True
