"""Texts about a third longer, as a translation brings them; for tests only.

Every label of the window and every measure of type goes through :func:`longer`, so that what is measured
is what is shown. Catalogues of translations will be the better place once there are any.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

from kivy.uix.label import Label

from walkapp.screens.kit.words import SeenLabel, TypeMeasure

GROWTH = 0.45
SHORT_GROWTH = 0.6
"""Growth of a word, by which a text with its short words and numbers grows by about a quarter to a third;
and of a word that stands alone or nearly so, since a short text grows most."""

SHORT_LETTERS = 10

_FILLING = "eringen"
_WORD = re.compile(r"[^\W\d_]{4,}")

_made: set[str] = set()


def longer(text: str) -> str:
    """Make every word of four letters or more longer; numbers, marks and short words stay.

    Words that were made longer stay as they are, so that a text may come through here twice.
    """
    share = SHORT_GROWTH if len(text) <= SHORT_LETTERS else GROWTH

    def grow(found: re.Match[str]) -> str:
        word = found.group()
        if word in _made:
            return word
        more = max(2, round(len(word) * share))
        grown = word + (_FILLING * more)[:more]
        _made.add(grown)
        return grown

    return _WORD.sub(grow, text)


@contextmanager
def longer_texts() -> Iterator[None]:
    """Make every text of the window longer while this lasts; build the app in it, and drop it in it."""
    said_seen, drawn = SeenLabel.on_text, Label._trigger_texture_update

    def on_seen_text(label: SeenLabel, _label: Label, text: str) -> None:
        said_seen(label, label, longer(text))

    def draw(label: Label, name=None, source=None, value=None) -> None:
        # A plain label is longer only as it is drawn: Kivy remembers which classes have `on_text`, so that
        # one cannot be given to them and taken away again.
        drawn(label, name, source, longer(value) if name == "text" else value)

    changes = {
        (SeenLabel, "on_text"): on_seen_text,
        (Label, "_trigger_texture_update"): draw,
        **{(TypeMeasure, name): _of_longer(getattr(TypeMeasure, name)) for name in _MEASURES},
    }
    real = {(kind, name): kind.__dict__[name] for kind, name in changes}
    _made.clear()
    try:
        for (kind, name), changed in changes.items():
            setattr(kind, name, changed)
        yield
    finally:
        for (kind, name), own in real.items():
            setattr(kind, name, own)


_MEASURES = ("height_px", "widest_word_px", "width_px")


def _of_longer(real):
    def measure(self, text, *more):
        return real(self, longer(text), *more)

    return measure
