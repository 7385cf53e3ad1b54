"""Figures: one module for each, and the one way in which all of them are drawn.

A figure is a frozen dataclass of the numbers and words that it shows (:class:`Figure`); it computes
nothing. The same object is drawn on the screen (PNG), on a page (PDF), in a page for a browser (SVG) and
into the rectangle of a larger page. Nothing of matplotlib is imported before one is drawn.
"""

from walkapp.paper.figures.drawn import Figure, as_pdf, as_png, as_svg, plot_in
from walkapp.paper.figures.plane import Plane
from walkapp.paper.figures.room import Area
from walkapp.paper.figures.shares import ShareRow, SharesFigure

__all__ = [
    "Area",
    "Figure",
    "Plane",
    "ShareRow",
    "SharesFigure",
    "as_pdf",
    "as_png",
    "as_svg",
    "plot_in",
]
