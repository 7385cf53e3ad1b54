"""Faults of Kivy 2.3.1 that a day of use would feel, mended in one place until Kivy mends them."""

from __future__ import annotations

from kivy.core import text
from kivy.lang import builder
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


def keep_no_drawn_text() -> None:
    """Let a label give back the picture that its text was drawn in as soon as the texture has it.

    ``LabelSDL2._render_end`` hands out a copy of the pixels and leaves the surface with the label for as
    long as that lives, so that each text is in memory twice (read in the source): 33 MB of a day's window.
    Does no harm when it is called again, nor where another library draws texts.
    """
    if text.Label.__name__ == "LabelSDL2":
        text.Label._render_end = _hand_out


def _hand_out(self):
    data = self._surface.get_data()
    self._surface = None
    return data


def say_no_values() -> None:
    """Let a rule of a kv file set its value, and not write it out as well.

    Unless Python runs with ``-O``, ``builder.call_fn`` makes a text of every value that a rule sets, for a
    line of the log that nobody asks for (read in the source). A rule that hands on a part of the page's
    state would so write out all of it, pictures included, in the frame that shows them: most of the longest
    frames of ``tests/benchmarks/intake.py`` were that. Does no harm when it is called again.
    """
    builder.call_fn = _set_value


def _set_value(args, _instance, _value) -> None:
    element, key, code, rule, names = args
    rule.count += 1
    setattr(element, key, eval(code, names))
