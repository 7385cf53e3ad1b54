"""Invented figures to draw: the shares of any number of stations, with names of any length."""

from __future__ import annotations

import io
from dataclasses import replace

from PIL import Image

from tests.paper.printed import overlaps_of, pages_of, sticking_out_of
from walkapp.paper.figures import Figure, ShareRow, SharesFigure, as_pdf, as_png

WORDS = {
    "clean": "clean so far", "bad": "bad", "undecided": "undecided", "not_visited": "not visited",
}  # fmt: skip


def share_row(station="Leak test", checked=20, nok=3, state="bad", origin=0.25) -> ShareRow:
    return ShareRow(
        station=station, checked=checked, nok=nok, low=0.03 if checked else None,
        high=0.4 if checked else None, origin=origin, state=state, verdict=WORDS[state],
    )  # fmt: skip


def shares(*rows: ShareRow, title="NOK parts by station", notes=("n = 60 parts checked.",)) -> SharesFigure:
    return SharesFigure(title=title, notes=notes, rows=rows)


def many_stations(many: int, name="Station", **said) -> SharesFigure:
    """None of them visited but one in the middle."""
    rows = [share_row(f"{name} {n}", 0, 0, "not_visited", 0.5 / many) for n in range(1, many + 1)]
    rows[many // 2] = share_row(f"{name} {many // 2 + 1}", 30, 25, "bad", 0.5)
    return shares(*rows, **said)


def faults_on_paper(figure: Figure, width=560.0, height=400.0) -> list[str]:
    """Draw it as PDF; list the texts that lie over each other or are off the page.

    What is drawn beside texts is left out: marks that are there many times have no bounds of their own in a
    PDF. Pictures show whether any is off the page (`ink_at_the_border`).
    """
    (seen,) = pages_of(as_pdf(figure, width=width, height=height))
    return [*overlaps_of(seen), *sticking_out_of(replace(seen, paths=()), 0.5)]


def words_on_paper(figure: Figure, width=560.0, height=400.0) -> str:
    """Draw it as PDF; give all that can be read on it, blanks and line ends alike."""
    (seen,) = pages_of(as_pdf(figure, width=width, height=height))
    return " ".join(seen.text.split())


def picture_of(figure: Figure, width=560, height=400) -> Image.Image:
    return Image.open(io.BytesIO(as_png(figure, width=width, height=height)))


def ink_at_the_border(picture: Image.Image) -> int:
    """Count the pixels of the outermost rows and columns that are not white."""
    grey = picture.convert("L")
    width, height = grey.size
    rows = [(0, 0, width, 1), (0, height - 1, width, height)]
    columns = [(0, 0, 1, height), (width - 1, 0, width, height)]
    sides = [grey.crop(box) for box in rows + columns]
    return sum(shade < 250 for side in sides for shade in side.tobytes())
