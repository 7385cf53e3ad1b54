"""What figures have in common: readable in black and white, so a state is a shape and a word first.

Colours only repeat what shape, line or hatching says already. Blue and vermilion are told apart by people
who see few colours (Okabe and Ito 2008, "Color Universal Design", from memory), and in grey by their
brightness.
"""

from __future__ import annotations

from collections.abc import Mapping

INK = "#000000"
FAINT = "#767676"
"""Rules and second curves; 4.5:1 on white."""

BLUE = "#0060a0"
RED = "#b02a00"
"""Both have a contrast above 6:1 on white."""

MARKERS: Mapping[str, Mapping[str, object]] = {
    "clean": {"marker": "o", "markerfacecolor": "white", "markeredgecolor": BLUE, "markeredgewidth": 1.4},
    "bad": {"marker": "X", "markerfacecolor": RED, "markeredgecolor": RED},
    "undecided": {"marker": "D", "markerfacecolor": "#d0d0d0", "markeredgecolor": INK},
    "not_visited": {"marker": "_", "markerfacecolor": FAINT, "markeredgecolor": FAINT},
}
"""The marker of each verdict: ring, cross, diamond, dash."""

HATCHES: Mapping[str, str] = {"bad": "xxxx", "undecided": "////", "clean": "", "not_visited": ".."}
"""How a bar of each verdict is filled."""
