"""Colours, sizes and type of the window: one theme, given as data.

Sizes are functions of the density that Kivy knows when a widget is built, never numbers frozen at
import. The kv files of this package call this module ``look``.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import kivy
from kivy.core.text import LabelBase
from kivy.metrics import dp, sp

from walkapp.screens.kivy_mends import bind_bars_once

Colour = tuple[float, float, float, float]


def rgb(code: str) -> Colour:
    """Turn ``#rrggbb`` into red, green, blue and opacity from 0 to 1.

    Examples
    --------
    >>> rgb("#ff0033")
    (1.0, 0.0, 0.2, 1.0)
    """
    red, green, blue = (int(code[i : i + 2], 16) / 255 for i in (1, 3, 5))
    return red, green, blue, 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Tone:
    """An ink on a paper: what a text or shape is drawn with, and what it is drawn on.

    Parameters
    ----------
    ink, paper
        The two colours; their contrast is at least 7:1.
    """

    ink: Colour
    paper: Colour


@dataclass(frozen=True, slots=True, kw_only=True)
class Theme:
    """Every colour of the window. A theme for the dark or for glare is one more value of this.

    Parameters
    ----------
    ground
        What everything lies on, with its ink.
    panel
        Fields, rows and plain buttons.
    pressed
        Any of them while a finger is on it.
    strong
        The one button that goes on.
    off
        A button that cannot be used now.
    clean, bad, undecided, not_visited
        The verdicts.
    caution, notice, error
        The banners.
    edge
        Frames and rules; at least 3:1 on `ground` and `panel`.
    """

    ground: Tone
    panel: Tone
    pressed: Tone
    strong: Tone
    off: Tone
    clean: Tone
    bad: Tone
    undecided: Tone
    not_visited: Tone
    caution: Tone
    notice: Tone
    error: Tone
    edge: Colour


def _tone(ink: str, paper: str) -> Tone:
    return Tone(ink=rgb(ink), paper=rgb(paper))


DAYLIGHT = Theme(
    ground=_tone("#17211f", "#ecebe4"),
    panel=_tone("#17211f", "#fbfaf6"),
    pressed=_tone("#17211f", "#cddad9"),
    strong=_tone("#ffffff", "#1d4653"),
    off=_tone("#3c4644", "#ecebe4"),
    clean=_tone("#14473a", "#dce9e1"),
    bad=_tone("#7a1530", "#f6dfe1"),
    undecided=_tone("#573c00", "#f4e7c5"),
    not_visited=_tone("#36424a", "#e3e6e6"),
    caution=_tone("#2b2200", "#f2cf63"),
    notice=_tone("#1b3c4b", "#d9e6ec"),
    error=_tone("#ffffff", "#7a1530"),
    edge=rgb("#4d5957"),
)
"""Dark ink on light paper: for daylight and sun on the glass."""

THEME = DAYLIGHT
"""The theme that the window is drawn in."""

VERDICTS = ("clean", "bad", "undecided", "not_visited")
"""Names of the tones of the verdicts."""

TYPE_SCALE_SP = {"tiny": 13, "small": 15, "body": 18, "title": 23, "big": 30, "huge": 42}
"""Sizes of type by name."""

SIGNS_FONT = "signs"
"""Name of the font that has arrows and tool signs; the text font has none of them."""


def prepare() -> None:
    """Register the font of signs, and mend Kivy; call before any widget is built, again does no harm."""
    path = Path(kivy.__file__).parent / "data" / "fonts" / "DejaVuSans.ttf"
    LabelBase.register(SIGNS_FONT, str(path))
    bind_bars_once()


def target() -> float:
    """Give the least side of anything that is tapped, in pixels: 12 mm on the tablets planned for.

    81 dp are 12 mm on the least dense of them (170 pixels an inch at density 1); the rest is margin.
    """
    return dp(84)


def gap() -> float:
    """Give the least distance between two things that are tapped, in pixels: 4 mm."""
    return dp(28)


def answer() -> float:
    """Give the least height of one of the three answers, in pixels: 18 mm."""
    return dp(124)


def picture() -> tuple[float, float]:
    """Give width and height of the plate of a small picture, in pixels."""
    return dp(240), dp(220)


def is_low() -> bool:
    """Say whether the window is too low for a pad of four rows under bar and strip."""
    from kivy.core.window import Window  # late: importing it opens the window

    return bool(Window.height < dp(700))


def font(name: str) -> float:
    """Give the size of type in pixels.

    Parameters
    ----------
    name
        A name of ``TYPE_SCALE_SP``.
    """
    return sp(TYPE_SCALE_SP[name])


def tone(name: str) -> Tone:
    """Give a tone of the theme by its name, for example ``clean``."""
    found: Tone = getattr(THEME, name)
    return found


def pairs(theme: Theme) -> tuple[tuple[str, Colour, Colour], ...]:
    """List every ink with every paper that it is written on.

    Parameters
    ----------
    theme
        The theme.

    Returns
    -------
    tuple of (str, Colour, Colour)
        What it is, its ink and its paper. Verdict inks are also written on the bare ground, on
        panels and on pressed ones.
    """
    tones = ("ground", "panel", "pressed", "strong", "off", *VERDICTS, "caution", "notice", "error")
    own = [(name, getattr(theme, name).ink, getattr(theme, name).paper) for name in tones]
    shared = [
        (f"{name} on {paper}", getattr(theme, name).ink, getattr(theme, paper).paper)
        for name in VERDICTS
        for paper in ("ground", "panel", "pressed")
    ]
    on_verdict = [(f"ink on {name}", theme.panel.ink, getattr(theme, name).paper) for name in VERDICTS]
    return (*own, *shared, *on_verdict)


def face(tone_name: str, state: str, is_off: bool) -> Tone:
    """Give the tone of something that can be tapped.

    Parameters
    ----------
    tone_name
        ``plain``, ``strong`` or ``quiet``, or the name of a tone of the theme.
    state
        ``down`` while a finger is on it, ``normal`` otherwise.
    is_off
        Whether it cannot be used now.
    """
    if is_off:
        return THEME.off
    if state == "down":
        return THEME.pressed
    return tone({"plain": "panel", "quiet": "ground"}.get(tone_name, tone_name))


def verdict_ink(mark: str) -> Colour:
    """Give the ink of a verdict's shape; the plain ink for any other shape."""
    return (tone(mark) if mark in VERDICTS else THEME.panel).ink
