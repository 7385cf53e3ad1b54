"""Colours, sizes and type of the window: themes, given as data.

Sizes are functions of the density that Kivy knows when a widget is built, never numbers frozen at
import. The kv files of this package call this module ``look``.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import kivy
from kivy.core.text import LabelBase
from kivy.metrics import dp, sp

from walkapp.language import msg
from walkapp.screens.kivy_mends import bind_bars_once, keep_no_drawn_text, say_no_values

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
    """Every colour of the window, for one light around it.

    Parameters
    ----------
    ground
        What everything lies on, with its ink.
    panel
        Fields, rows and plain buttons.
    pressed
        Any of them while a finger is on it.
    strong, strong_pressed
        The one button that goes on, and while a finger is on it.
    off
        A button that cannot be used now.
    clean, bad, undecided, not_visited
        The verdicts.
    caution, notice, error
        The banners.
    edge
        Frames and rules; at least 3:1 on every paper that they lie on or around.
    frame_dp, chosen_dp
        How thick the frame of anything that is tapped is, and that of what is chosen.
    print_light
        How bright the paper of a sheet or figure is shown, from 0 to 1. It stays paper in every theme,
        since its colours are those of the print; photos are never changed, since parts are judged by them.
    """

    ground: Tone
    panel: Tone
    pressed: Tone
    strong: Tone
    strong_pressed: Tone
    off: Tone
    clean: Tone
    bad: Tone
    undecided: Tone
    not_visited: Tone
    caution: Tone
    notice: Tone
    error: Tone
    edge: Colour
    frame_dp: float
    chosen_dp: float
    print_light: float = 1.0


def _tone(ink: str, paper: str) -> Tone:
    return Tone(ink=rgb(ink), paper=rgb(paper))


LIGHT = Theme(
    ground=_tone("#17211f", "#ecebe4"),
    panel=_tone("#17211f", "#fbfaf6"),
    pressed=_tone("#17211f", "#cddad9"),
    strong=_tone("#ffffff", "#1d4653"),
    strong_pressed=_tone("#17211f", "#cddad9"),
    off=_tone("#3c4644", "#ecebe4"),
    clean=_tone("#14473a", "#dce9e1"),
    bad=_tone("#7a1530", "#f6dfe1"),
    undecided=_tone("#573c00", "#f4e7c5"),
    not_visited=_tone("#36424a", "#e3e6e6"),
    caution=_tone("#2b2200", "#f2cf63"),
    notice=_tone("#1b3c4b", "#d9e6ec"),
    error=_tone("#ffffff", "#7a1530"),
    edge=rgb("#4d5957"),
    frame_dp=1.5,
    chosen_dp=5,
)
"""Dark ink on light paper: indoors."""

DARK = Theme(
    ground=_tone("#e6ebe8", "#121718"),
    panel=_tone("#eff3f0", "#1d2627"),
    pressed=_tone("#ffffff", "#35494d"),
    strong=_tone("#ffffff", "#1f5868"),
    strong_pressed=_tone("#062027", "#9fd6e3"),
    off=_tone("#b3bdba", "#121718"),
    clean=_tone("#a5e3c4", "#12312a"),
    bad=_tone("#ffbcc7", "#47131f"),
    undecided=_tone("#f4d588", "#3a2c06"),
    not_visited=_tone("#c6d0d4", "#283033"),
    caution=_tone("#ffe28c", "#423206"),
    notice=_tone("#c2e5f3", "#11313f"),
    error=_tone("#3a0512", "#ffbcc7"),
    edge=rgb("#8c9a97"),
    frame_dp=1.5,
    chosen_dp=5,
    print_light=0.8,
)
"""Light ink on dark paper: for the night shift and dark halls, where a bright page dazzles."""

GLARE = Theme(
    ground=_tone("#000000", "#ffffff"),
    panel=_tone("#000000", "#ffffff"),
    pressed=_tone("#ffffff", "#000000"),
    strong=_tone("#ffffff", "#000000"),
    strong_pressed=_tone("#000000", "#ffffff"),
    off=_tone("#000000", "#ffffff"),
    clean=_tone("#000000", "#ffffff"),
    bad=_tone("#000000", "#ffffff"),
    undecided=_tone("#000000", "#ffffff"),
    not_visited=_tone("#000000", "#ffffff"),
    caution=_tone("#000000", "#ffe000"),
    notice=_tone("#000000", "#ffffff"),
    error=_tone("#ffffff", "#000000"),
    edge=rgb("#000000"),
    frame_dp=3,
    chosen_dp=6,
)
"""Black and white: with the sun on the glass a soft colour is gone, so shapes, words and thick frames
say everything."""

THEMES = {"light": LIGHT, "dark": DARK, "glare": GLARE}
"""Every theme by the word that is set for it."""

THEME = LIGHT
"""The theme that the window is drawn in. Read where something is drawn, never kept: it changes."""


def use(word: str) -> None:
    """Draw everything that is built from now on in another theme.

    Parameters
    ----------
    word
        A name of ``THEMES``.
    """
    global THEME
    THEME = THEMES[word]


VERDICTS = ("clean", "bad", "undecided", "not_visited")
"""Names of the tones of the verdicts."""

TYPE_SCALE_SP = {"tiny": 13, "small": 15, "body": 18, "title": 23, "big": 30, "huge": 42}
"""Sizes of type by name."""

SPACE_DP = {"hair": 2, "tight": 4, "near": 8, "apart": 12, "wide": 16}
"""Steps of space: between lines of one thing, its parts, a shape and its word, things, and groups."""

LOW_DP = 700
"""A window that is lower has no room for a pad of four rows under bar and strip."""

SELECTED = 0.2
"""How much of the ink lies over letters that are selected: they stay, their paper gets nearer to them."""

AS_PRINTED = msg("Paper, as it is printed; shown darker than it is.")
"""What is said of a sheet or figure whose paper is shown darker."""

SIGNS_FONT = "signs"
"""Name of the font that has arrows and tool signs; the text font has none of them."""


def prepare() -> None:
    """Register the font of signs, and mend Kivy; call before any widget is built, again does no harm."""
    path = Path(kivy.__file__).parent / "data" / "fonts" / "DejaVuSans.ttf"
    LabelBase.register(SIGNS_FONT, str(path))
    bind_bars_once()
    keep_no_drawn_text()
    say_no_values()


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
    """Give width and height of the plate of a small picture, in pixels; lower in a low window."""
    return dp(240), dp(170 if is_low() else 220)


def is_wide(width: float) -> bool:
    """Say whether two parts of a page have room beside each other; larger type needs more of it.

    Parameters
    ----------
    width
        Of both together, in pixels.
    """
    return width >= for_text(9 * target())


def for_text(width: float) -> float:
    """Give the width, in pixels, that text of the set size needs where type as it comes needs `width`."""
    return width * max(1.0, sp(1) / dp(1))


def is_low() -> bool:
    """Say whether the window is too low for a pad of four rows under bar and strip."""
    from kivy.core.window import Window  # late: importing it opens the window

    return bool(Window.height < dp(LOW_DP))


def font(name: str) -> float:
    """Give the size of type in pixels.

    Parameters
    ----------
    name
        A name of ``TYPE_SCALE_SP``.
    """
    return sp(TYPE_SCALE_SP[name])


def space(name: str) -> float:
    """Give a step of space in pixels.

    Parameters
    ----------
    name
        A name of ``SPACE_DP``.
    """
    return dp(SPACE_DP[name])


def frame() -> float:
    """Give the width of a frame as Kivy's lines take it, which is half of it."""
    return dp(THEME.frame_dp) / 2


def line() -> float:
    """Give the width of a thin line of a drawing, as Kivy's lines take it; never under a pixel."""
    return max(1.0, frame())


def inside(x: float, y: float, width: float, height: float) -> tuple[float, float, float, float]:
    """Give the rectangle of a frame that stays inside a box."""
    half = frame()
    return x + half, y + half, width - 2 * half, height - 2 * half


def printed() -> Colour:
    """Give what the colours of a sheet or figure are multiplied with."""
    return (THEME.print_light,) * 3 + (1.0,)


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
        What it is, its ink and its paper. Verdict inks are also written on the bare ground and on
        panels, and the plain ink on the papers of verdicts, where a row is named.
    """
    tones = (
        "ground",
        "panel",
        "pressed",
        "strong",
        "strong_pressed",
        "off",
        *VERDICTS,
        "caution",
        "notice",
        "error",
    )
    own = [(name, getattr(theme, name).ink, getattr(theme, name).paper) for name in tones]
    verdicts = [
        (
            # no text: the name of a pair, for the tests
            f"{name} on {paper}",
            getattr(theme, name).ink,
            getattr(theme, paper).paper,
        )
        for name in VERDICTS
        for paper in ("ground", "panel", "off")
    ]
    # no text: the name of a pair, for the tests
    named = [(f"ground on {name}", theme.ground.ink, getattr(theme, name).paper) for name in VERDICTS]
    # no text: the name of a pair, for the tests
    return (*own, *verdicts, *named, ("ground on panel", theme.ground.ink, theme.panel.paper))


def frames(theme: Theme) -> tuple[tuple[str, Colour, Colour], ...]:
    """List every line that frames something or stands for a number, with what it lies on.

    Parameters
    ----------
    theme
        The theme.

    Returns
    -------
    tuple of (str, Colour, Colour)
        What it is, its colour and that of what it lies on. Lines in an ink are listed by `pairs`.
    """
    papers = ("ground", "panel", *VERDICTS, "caution", "notice")
    # no text: the name of a pair, for the tests
    return tuple((f"edge on {paper}", theme.edge, getattr(theme, paper).paper) for paper in papers)


def face(theme: Theme, tone_name: str, state: str, is_off: bool) -> Tone:
    """Give the tone of something that can be tapped.

    Parameters
    ----------
    theme
        The theme that it is drawn in.
    tone_name
        ``plain``, ``strong`` or ``quiet``, or the name of a tone of the theme.
    state
        ``down`` while a finger is on it, ``normal`` otherwise.
    is_off
        Whether it cannot be used now.
    """
    if is_off:
        return theme.off
    if state == "down":
        return theme.strong_pressed if tone_name == "strong" else theme.pressed
    found: Tone = getattr(theme, {"plain": "panel", "quiet": "ground"}.get(tone_name, tone_name))
    return found


def verdict_ink(mark: str) -> Colour:
    """Give the ink of a verdict's shape; the plain ink for any other shape."""
    return (tone(mark) if mark in VERDICTS else THEME.ground).ink


def shape_ink(mark: str, ink: Colour, state: str) -> Colour:
    """Give the ink of a shape on something that can be tapped.

    Parameters
    ----------
    mark
        The shape.
    ink
        Ink of what it stands on.
    state
        ``down`` while a finger is on it: all of it is drawn in one ink then.
    """
    return tone(mark).ink if mark in VERDICTS and state == "normal" else ink
