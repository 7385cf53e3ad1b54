"""Pages drawn as PDF, and the letters they are drawn with.

The letters are those of DejaVu Sans, which comes with matplotlib: Latin, Greek and Cyrillic. Nothing of
matplotlib is imported before a page is drawn; the first time that takes some seconds.
"""

from __future__ import annotations

import io
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from walkapp.paper.flow import Band, Box, Line, Mark, Picture, Plot, Rule, Shape, Squares, Words
from walkapp.paper.library import drawing_settings, quiet
from walkapp.visible import visible

A4 = (595.2756, 841.8898)
"""Width and height of an upright A4 page in points: 210 mm by 297 mm (ISO 216)."""

A3_ACROSS = (1190.5512, 841.8898)
"""The same of an A3 page that lies on its side: 420 mm by 297 mm."""

PRINT_DOTS = 200.0
"""Pixels an inch of pictures on a page: what an eye needs at arm's length; more only makes files large."""

_POINTED = {"undecided": 0.7}
"""The side of a square that stands on its corner is shorter than the shape is wide."""

_UNITS = 1000
"""Size in points at which letters are measured."""

_WRITTEN_FROM_THE_RIGHT = frozenset(("R", "AL"))
"""Classes of letters (Unicode Standard Annex 9) that would stand in the wrong order here."""


class Letters:
    """The letters of one cut of the typeface, measured.

    Parameters
    ----------
    bold
        Whether it is the bold cut.
    """

    def __init__(self, *, bold: bool = False) -> None:
        with quiet():
            import matplotlib as mpl
            from matplotlib.ft2font import FT2Font

        name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
        self.file = Path(mpl.get_data_path()) / "fonts" / "ttf" / name
        self._font = FT2Font(str(self.file))
        self._font.set_size(_UNITS, 72)
        self._widths: dict[str, float] = {}

    def has(self, letter: str) -> bool:
        """Whether there is a sign for a letter."""
        return ord(letter) <= 0xFFFF and self._font.get_char_index(ord(letter)) != 0

    def width(self, text: str, size: float) -> float:
        """Give the width of a text, in points; letters are counted without drawing pairs closer."""
        return sum(self._width(letter) for letter in text) * size

    def _width(self, letter: str) -> float:
        if letter not in self._widths:
            advance = self._font.load_char(ord(letter)).linearHoriAdvance
            self._widths[letter] = advance / 65536 / _UNITS
        return self._widths[letter]


@cache
def letters_of(bold: bool) -> Letters:
    """Give the letters of a cut; they are read once."""
    return Letters(bold=bold)


def wide(text: str, size: float, bold: bool = False) -> float:
    """Give the width of a text in letters of that size, in points."""
    return letters_of(bold).width(text, size)


@lru_cache(maxsize=4096)
def printable(text: str) -> str:
    r"""Show a text from outside so that every letter of it has a sign on paper.

    Parameters
    ----------
    text
        Any text.

    Returns
    -------
    str
        On one line. What cannot be seen, what the typeface has no sign for, and letters of scripts that
        are written from the right are shown by their number.

    Examples
    --------
    >>> printable("Prüfstand\nżółć 中")
    'Prüfstand żółć <U+4E2D>'
    """
    plain, bold = letters_of(False), letters_of(True)

    def shown(letter: str) -> str:
        is_drawn = plain.has(letter) and bold.has(letter)
        if is_drawn and unicodedata.bidirectional(letter) not in _WRITTEN_FROM_THE_RIGHT:
            return letter
        return f"<U+{ord(letter):04X}>"

    return "".join(map(shown, visible(unicodedata.normalize("NFC", text))))


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One page.

    Parameters
    ----------
    width, height
        Of the paper, in points.
    marks
        What stands on it; x from its left edge, y down from its top edge.
    """

    width: float
    height: float
    marks: tuple[Mark, ...]


def draw(pages: Sequence[Page], title: str) -> bytes:
    """Draw pages as PDF.

    Parameters
    ----------
    pages
        At least one. Their texts are :func:`printable`.
    title
        What a reader of the file shows above it.

    Returns
    -------
    bytes
        The same for the same pages and the same version of matplotlib. The text can be searched and
        copied; its letters are in the file (Type 42).
    """
    out = io.BytesIO()
    with drawing_settings():
        from matplotlib.backends.backend_pdf import PdfPages

        # A moment of making would let the same page differ every time.
        told = {"Title": title, "Creator": "walkapp", "CreationDate": None}
        with PdfPages(out, metadata=told) as pdf:
            for page in pages:
                pdf.savefig(_canvas(page, 72.0, PRINT_DOTS))
    return out.getvalue()


def draw_png(page: Page, title: str, *, dots: float) -> bytes:
    """Draw one page as PNG.

    Parameters
    ----------
    page, title
        As for :func:`draw`.
    dots
        Pixels an inch.

    Returns
    -------
    bytes
        The same for the same page and the same version of matplotlib.
    """
    out = io.BytesIO()
    with drawing_settings():
        canvas = _canvas(page, dots, dots)
        canvas.patch.set_visible(True)
        canvas.savefig(out, format="png", dpi=dots, facecolor="white", metadata={"Title": title})
    return out.getvalue()


def _canvas(page: Page, dots: float, picture_dots: float) -> Any:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from matplotlib.font_manager import FontProperties
    from matplotlib.transforms import Affine2D

    canvas = Figure(figsize=(page.width / 72, page.height / 72), dpi=dots, frameon=False)
    FigureCanvasAgg(canvas)  # figures on the page measure their letters with it
    pen = _Pen(
        canvas=canvas,
        height=page.height,
        points=Affine2D().scale(1 / 72) + canvas.dpi_scale_trans,
        fonts={bold: FontProperties(fname=letters_of(bold).file) for bold in (False, True)},
        picture_dots=picture_dots,
    )
    for mark in page.marks:
        _add(pen, mark)
    return canvas


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pen:
    """What a mark is drawn with.

    Parameters
    ----------
    canvas
        The figure of matplotlib.
    height
        Of the page, in points: there y goes up.
    points
        Turns points into what the canvas is made of.
    fonts
        By whether they are bold.
    picture_dots
        Pixels an inch of pictures.
    """

    canvas: Any
    height: float
    points: Any
    fonts: dict[bool, Any]
    picture_dots: float


def _add(pen: _Pen, mark: Mark) -> None:
    canvas, height = pen.canvas, pen.height
    match mark:
        case Words():
            canvas.text(
                mark.x,
                height - mark.y,
                mark.text,
                fontproperties=pen.fonts[mark.bold],
                fontsize=mark.size,
                color="white" if mark.is_white else "black",
                transform=pen.points,
                verticalalignment="baseline",
                parse_math=False,
            )
        case Rule():
            _line(pen, mark.x, mark.y, mark.length, 0.0, mark.thick)
        case Line():
            _line(pen, mark.x, mark.y, mark.right, mark.down, mark.thick)
        case Box():
            _rectangle(pen, mark.x, mark.y, mark.side, mark.side, None, 1.0)
        case Band():
            edge = mark.thick / 2  # the frame lies inside
            sides = mark.width - mark.thick, mark.height - mark.thick
            _rectangle(pen, mark.x + edge, mark.y + edge, *sides, mark.grey, mark.thick)
        case Shape():
            _shape(pen, mark)
        case Picture():
            _picture(pen, mark)
        case Squares():
            _squares(pen, mark)
        case Plot():
            # Late: figures are drawn with the letters of this module.
            from walkapp.paper.figures.drawn import Area, plot_in

            area = Area(
                left=mark.x, bottom=height - mark.y - mark.height, width=mark.width, height=mark.height
            )
            plot_in(mark.figure, canvas, area, size=mark.size, least=mark.size)


def _line(pen: _Pen, x: float, y: float, right: float, down: float, thick: float) -> None:
    from matplotlib.lines import Line2D

    ends = (x, x + right), (pen.height - y, pen.height - y - down)
    pen.canvas.add_artist(Line2D(*ends, linewidth=thick, color="black", transform=pen.points))


def _rectangle(
    pen: _Pen, x: float, y: float, width: float, height: float, grey: float | None, thick: float
) -> None:
    from matplotlib.patches import Rectangle

    pen.canvas.add_artist(
        Rectangle(
            (x, pen.height - y - height),
            width,
            height,
            fill=grey is not None,
            facecolor=str(grey) if grey is not None else "none",
            linewidth=thick,
            edgecolor="black" if thick else "none",
            transform=pen.points,
        )
    )


def _shape(pen: _Pen, mark: Shape) -> None:
    from matplotlib.lines import Line2D

    from walkapp.paper.figures.style import MARKERS

    style: dict[str, Any] = dict(MARKERS[mark.state])
    pen.canvas.add_artist(
        Line2D(
            (mark.x,),
            (pen.height - mark.y,),
            linestyle="none",
            markersize=mark.side * _POINTED.get(mark.state, 1.0),
            transform=pen.points,
            **style,
        )
    )


def _squares(pen: _Pen, mark: Squares) -> None:
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path as Outline

    module = mark.side / mark.count
    points: list[tuple[float, float]] = []
    codes: list[Any] = []
    for row, column, many in mark.runs:
        left, right = mark.x + column * module, mark.x + (column + many) * module
        top = pen.height - mark.y - row * module
        corners = [(left, top), (right, top), (right, top - module), (left, top - module), (left, top)]
        points.extend(corners)
        codes.extend((Outline.MOVETO, *(Outline.LINETO,) * 3, Outline.CLOSEPOLY))
    # One shape for all of them: between two shapes that touch, a viewer shows a light line.
    outline = Outline(points, codes)
    outline.should_simplify = False  # corners would be left out, and the code could not be read
    pen.canvas.add_artist(
        PathPatch(outline, facecolor="black", edgecolor="none", linewidth=0, transform=pen.points)
    )


def _picture(pen: _Pen, mark: Picture) -> None:
    import numpy as np
    from PIL import Image

    # Twice the pixels that are shown show no more, and make the file four times as large.
    wide, high = (max(1, round(side / 72 * pen.picture_dots)) for side in (mark.width, mark.height))
    with Image.open(io.BytesIO(mark.data), formats=("JPEG", "PNG")) as opened:
        image = opened.convert("RGB")
    image.thumbnail((wide, high))
    page_w, page_h = (side * 72 for side in pen.canvas.get_size_inches())
    bottom = pen.height - mark.y - mark.height
    place = mark.x / page_w, bottom / page_h, mark.width / page_w, mark.height / page_h
    # no text: it only tells axes apart
    axes = pen.canvas.add_axes(place, label=f"picture {place}")
    axes.imshow(np.asarray(image), aspect="auto", interpolation="none")
    axes.set_axis_off()
