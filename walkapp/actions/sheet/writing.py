"""The sheet of a concern put on disk, or drawn for the screen: the same page each time."""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path

from walkapp.actions.audits.paper import NUMBERS_SHOWN
from walkapp.actions.outputs import make_folder, refuse_other_file, write_out
from walkapp.actions.pictures import Picture
from walkapp.errors import InputError
from walkapp.files import safe_name
from walkapp.language import tr
from walkapp.paper.sheet_content import SheetContent

DOTS = 150.0
"""Pixels an inch of a written picture: 2,480 by 1,754 pixels, in which the smallest letters can be read."""

A3_INCHES = 420 / 25.4
"""Width of the sheet."""

SIDES = (200, 2048)
"""Least and greatest width of a picture for the screen, in pixels: every tablet can show such a one."""

FORMS = ("pdf", "png")

LONGEST_NAME = 64
"""Letters of the name of a file that a page writes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenSheet:
    """A sheet on disk.

    Parameters
    ----------
    path
        The file.
    size_bytes
        How large it is.
    notes
        What has to be minded, one sentence each.
    """

    path: Path
    size_bytes: int
    notes: tuple[str, ...]


def sheet_form(out: Path) -> str:
    """Give the form that the name of a sheet's file asks for, before any work is done for it.

    Raises
    ------
    InputError
        If its name ends neither in .pdf nor in .png, something else of that name is there, or its folder
        is missing.
    """
    form = out.suffix.lower()[1:]
    if form not in FORMS:
        raise InputError(
            tr("{out}: a sheet is written as PDF or PNG; choose a name that ends in .pdf or .png.", out=out)
        )
    refuse_other_file(out, form)
    if not out.parent.is_dir():
        raise InputError(
            tr(
                "{parent}: there is no such folder; make it, or choose another with --out.",
                parent=out.parent,
            )
        )
    return form


def write_sheet(content: SheetContent, out: Path) -> WrittenSheet:
    """Write a sheet as PDF or PNG, by the ending of the name. Takes seconds the first time.

    Parameters
    ----------
    content
        What it says.
    out
        The file; an older one of its kind is replaced in one step, any other file is refused.

    Raises
    ------
    InputError
        If it cannot be written; what was at `out` before is then still there.
    """
    # Late: nobody who only gathers what a sheet says waits for the code that lays it out.
    from walkapp.paper.sheet_page import picture_sheet, print_sheet

    form = sheet_form(out)
    printed = print_sheet(content) if form == "pdf" else picture_sheet(content, dots=DOTS)
    write_out(out, printed.data, form)
    return WrittenSheet(
        path=out,
        size_bytes=len(printed.data),
        notes=(tr(NUMBERS_SHOWN),) if printed.has_numbers else (),
    )


def write_sheet_into(content: SheetContent, folder: Path, form: str) -> WrittenSheet:
    """Write a sheet into a folder, made when it is missing, under a name that says of what it is."""
    make_folder(folder)
    name = safe_name(
        tr("sheet {content} {concern}", content=content.title[:40], concern=content.concern[-6:])
    )[:LONGEST_NAME]
    return write_sheet(content, folder / f"{name}.{form}")


def sheet_picture(content: SheetContent, width: int) -> Picture:
    """Draw a sheet for the screen.

    Parameters
    ----------
    content
        What it says.
    width
        In pixels; brought inside ``SIDES``.
    """
    from PIL import Image

    from walkapp.paper.sheet_page import picture_sheet

    wide = min(max(width, SIDES[0]), SIDES[1])
    data = picture_sheet(content, dots=wide / A3_INCHES).data
    with Image.open(io.BytesIO(data)) as image:
        rgb = image.convert("RGB")
    return Picture(key=content.concern, caption=content.title, size=rgb.size, pixels=rgb.tobytes())
