"""Figures put on disk and on the screen: the same drawing for a picture, a page and a window."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from walkapp.actions.desk import DeskFacts, desk_facts
from walkapp.actions.figures.catalogue import KindOfFigure
from walkapp.actions.outputs import form_of, make_folder, refuse_other_file, write_out
from walkapp.actions.pictures import Picture
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.files import safe_name
from walkapp.language import tr
from walkapp.paper.figures import Figure, as_pdf, as_png, as_svg

WIDE_PT, HIGH_PT = 760.0, 430.0
"""Sides of a written figure, in points: it fills the width of a page of A4 that lies on its side."""

DOTS = 160.0
"""Pixels an inch of a written picture."""

SIDES = (200, 2048)
"""Least and greatest side of a picture for the screen, in pixels: every tablet can show such a one."""

LETTERS_ON_SCREEN = 11.0
"""Size of the letters of a picture for the screen, in points; how many pixels that is, the screen says."""

LONGEST_NAME = 64
"""Letters of the name of a file that a page writes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenFigure:
    """A figure on disk.

    Parameters
    ----------
    path
        The file.
    title
        What it shows.
    """

    path: Path
    title: str


def facts_to_draw(place: Workplace, *, concern: str = "", stream: str = "") -> ConcernFacts | DeskFacts:
    """Read what the figures of a concern, or of a value stream, are made of.

    Raises
    ------
    InputError
        If neither is named, or there is no such concern or stream.
    """
    if not concern and not stream:
        raise InputError(tr("No concern and no value stream is chosen; choose one of the lists."))
    return concern_facts(place, concern) if concern else desk_facts(place, stream)


def drawn_as(figure: Figure, form: str) -> bytes:
    """Draw a figure as ``pdf``, ``png`` or ``svg``, at the size that is written."""
    if form == "pdf":
        return as_pdf(figure, width=WIDE_PT, height=HIGH_PT)
    if form == "svg":
        return as_svg(figure, width=WIDE_PT, height=HIGH_PT).encode()
    width, height = (round(side * DOTS / 72) for side in (WIDE_PT, HIGH_PT))
    return as_png(figure, width=width, height=height, dots=DOTS)


def write_figures(kinds: Sequence[KindOfFigure], out: Path) -> tuple[WrittenFigure, ...]:
    """Write figures, one to a file.

    Parameters
    ----------
    kinds
        What was made; those without a figure are left out.
    out
        A file whose ending says the form. Several figures go into several files, each with the name of its
        figure behind that of `out`. A folder, or a name without an ending, takes a PNG of each; it is made
        when it is missing.

    Raises
    ------
    InputError
        If there is no figure among them, or a file cannot be written; those written before stay.
    """
    figures = [figure for kind in kinds for figure in kind.figures]
    if not figures:
        why = "; ".join(f"{kind.kind}: {kind.why_not.rstrip('.')}" for kind in kinds)
        raise InputError(tr("No figure can be drawn of these records yet: {why}.", why=why))
    paths = _paths(figures, out)
    for path in paths:
        refuse_other_file(path, form_of(path))
    for path, figure in zip(paths, figures, strict=True):
        write_out(path, drawn_as(figure, form_of(path)), form_of(path))
    return tuple(
        WrittenFigure(path=path, title=figure.title) for path, figure in zip(paths, figures, strict=True)
    )


def _paths(figures: Sequence[Figure], out: Path) -> list[Path]:
    if not out.suffix or out.is_dir():
        make_folder(out)
        return [out / f"{safe_name(figure.name)}.png" for figure in figures]
    form_of(out)
    if len(figures) == 1:
        return [out]
    return [out.with_name(f"{out.stem}-{safe_name(figure.name)}{out.suffix}") for figure in figures]


def write_one(figure: Figure, facts: ConcernFacts | DeskFacts, folder: Path, form: str) -> WrittenFigure:
    """Write a figure into a folder, under a name that says what it is of.

    Parameters
    ----------
    figure
        What to write.
    facts
        What it was made of.
    folder
        Where; it is made when it is missing.
    form
        ``pdf``, ``png`` or ``svg``.

    Raises
    ------
    InputError
        If it cannot be written.
    """
    make_folder(folder)
    about = facts.stream if isinstance(facts, DeskFacts) else f"{facts.what[:30]} {facts.id[-6:]}"
    name = safe_name(f"{figure.name[:40]} {about}")[:LONGEST_NAME]
    path = folder / f"{name}.{form}"
    write_out(path, drawn_as(figure, form), form)
    return WrittenFigure(path=path, title=figure.title)


def picture_of(figure: Figure, *, width: int, height: int, letter_px: float) -> Picture:
    """Draw a figure for the screen, which writes its title and its notes itself.

    Parameters
    ----------
    figure
        What to draw.
    width, height
        In pixels; brought inside ``SIDES``.
    letter_px
        Height of its letters, in pixels, above 0.

    Returns
    -------
    Picture
        Its `key` is the name of the figure.
    """
    from PIL import Image  # late, as all that is drawn

    whole: Any = figure  # every figure is a dataclass, which its protocol cannot say
    bare: Figure = replace(whole, title="", notes=())
    wide, high = (min(max(side, SIDES[0]), SIDES[1]) for side in (width, height))
    data = as_png(
        bare, width=wide, height=high, dots=letter_px * 72 / LETTERS_ON_SCREEN, size=LETTERS_ON_SCREEN
    )
    with Image.open(io.BytesIO(data)) as image:
        pixels = image.convert("RGB").tobytes()
    return Picture(key=figure.name, caption=figure.title, size=(wide, high), pixels=pixels)
