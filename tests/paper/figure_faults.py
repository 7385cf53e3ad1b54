"""What is wrong with a drawn figure: text that is cut off, or lies over other text; as pdfium finds it."""

from __future__ import annotations

import io
from collections.abc import Mapping
from itertools import combinations

from tests.paper.printed import NEIGHBOURS, SLACK, Seen, pages_of
from walkapp.paper.figures import Area, Figure, as_pdf, plot_in
from walkapp.paper.library import drawing_settings

SIZES = ((825.0, 420.0), (420.0, 300.0))
"""Width and height in points of 1100x560 and 560x400 pixels at 96 pixels an inch."""


def drawn(figure: Figure, size: tuple[float, float] = SIZES[0]) -> Seen:
    """Draw a figure as PDF and read it."""
    (seen,) = pages_of(as_pdf(figure, width=size[0], height=size[1]))
    return seen


def text_faults(seen: Seen) -> list[str]:
    """List the texts that are off the page, and the pairs that lie over each other."""
    width, height = seen.size
    found = [
        f"off the page: {text!r} {bounds}"
        for text, bounds in seen.lines
        if bounds[0] < 0 or bounds[1] < 0 or bounds[2] > width or bounds[3] > height
    ]
    pieces = zip(seen.lines, seen.bases, strict=True)
    for ((text, one), base), ((other_text, other), other_base) in combinations(pieces, 2):
        slack = NEIGHBOURS if base == other_base else SLACK
        if (
            one[0] + slack < other[2]
            and other[0] + slack < one[2]
            and one[1] + SLACK < other[3]
            and other[1] + SLACK < one[3]
        ):
            found.append(f"over each other: {text!r} {one} and {other_text!r} {other}")
    return found


def faults_of(figures: Mapping[str, Figure], *sizes: tuple[float, float]) -> list[str]:
    """Draw figures on pages of one file, whose letters are then put into it once, and list the faults.

    Parameters
    ----------
    figures
        By what they are called in the list.
    sizes
        Width and height of the pages; the smaller one that the desk shows when none is said.
    """
    out, names = io.BytesIO(), []
    with drawing_settings():
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.backends.backend_pdf import PdfPages
        from matplotlib.figure import Figure as Canvas

        with PdfPages(out) as pages:
            for width, height in sizes or SIZES[1:]:
                for name, figure in figures.items():
                    canvas = Canvas(figsize=(width / 72, height / 72), dpi=72)
                    FigureCanvasAgg(canvas)
                    area = Area(left=5.4, bottom=5.4, width=width - 10.8, height=height - 10.8)
                    plot_in(figure, canvas, area)
                    pages.savefig(canvas)
                    names.append(f"{name}, {width:.0f} x {height:.0f}")
    pages_read = zip(names, pages_of(out.getvalue()), strict=True)
    return [f"{name}: {fault}" for name, seen in pages_read for fault in text_faults(seen)]
