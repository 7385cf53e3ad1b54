"""The ring around what the keys are at."""

from __future__ import annotations

from kivy.core.window import Window
from kivy.graphics import Color, InstructionGroup, Line
from kivy.metrics import dp

from walkapp.screens import look

RING_DP, RIM_DP, APART_DP = 2.2, 4.0, 5.0
"""Half the width of the dark ring and of its light rim, and how far off the thing the ring is."""


class Ring:
    """The ring around what the keys are at: a dark line with a light one beside it, off the thing itself.

    It lies over everything, so that neither a colour nor a frame of the thing can be taken for it.
    """

    def __init__(self) -> None:
        self._drawn = InstructionGroup()
        self._box: tuple[float, float, float, float] | None = None

    @property
    def box(self) -> tuple[float, float, float, float] | None:
        """What it is around, in window pixels; none while it is hidden."""
        return self._box

    def show(self, box: tuple[float, float, float, float]) -> None:
        """Draw it around left, bottom, right and top."""
        if box == self._box:
            return
        self.hide()
        self._box = box
        left, bottom, right, top = box
        off = dp(APART_DP)
        around = (left - off, bottom - off, right - left + 2 * off, top - bottom + 2 * off, dp(9))
        for ink, width in ((look.THEME.panel.paper, RIM_DP), (look.THEME.panel.ink, RING_DP)):
            self._drawn.add(Color(*ink))
            self._drawn.add(Line(rounded_rectangle=around, width=dp(width)))
        Window.canvas.after.add(self._drawn)

    def hide(self) -> None:
        """Take it away."""
        if self._box is not None:
            Window.canvas.after.remove(self._drawn)
            self._drawn.clear()
            self._box = None
