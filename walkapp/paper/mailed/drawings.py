"""Figures inside a page: drawn without a line of text around them, and cleared of all that is no drawing.

Only elements and attributes that draw are kept, and those that are not known are not guessed at. Letters
and clipping paths that several figures use stand in the page once.
"""

from __future__ import annotations

import base64
import re
from dataclasses import dataclass
from xml.etree import ElementTree as ET

from walkapp.paper.figures import Figure, Plane, as_png, as_svg
from walkapp.paper.mailed.markup import NOTHING, Markup, element, joined

WIDE_PT = 540.0
"""Width of a figure, in points; the page shows it larger or smaller."""

LETTERS = 11.0
"""Size of its letters, in points: 10 pixels at the least width that the page gives a figure."""

HEIGHT_PT = 300.0
"""Height of a figure that has no rows, in points."""

DOTS = 144.0
"""Pixels an inch of a figure that stands in the page as a picture."""

LEAST_PT, HIGHEST_PT, ROW_PT, BESIDE_ROWS_PT = 160.0, 1200.0, 28.0, 80.0
"""Height of one that has: at least, at most, for each row, and beside its rows."""

_SVG, _XLINK = "{http://www.w3.org/2000/svg}", "{http://www.w3.org/1999/xlink}href"
_DRAWN = frozenset({"g", "path", "use", "rect", "circle", "ellipse", "line", "polyline", "polygon"})
_SHARED = frozenset({"path", "clipPath", "pattern"})
_KEPT = frozenset(
    {
        "d", "x", "y", "width", "height", "cx", "cy", "r", "rx", "ry", "x1", "y1", "x2", "y2", "points",
        "transform", "style", "fill", "stroke", "stroke-width", "opacity", "clip-path", "patternUnits",
        "patternTransform",
    }
)  # fmt: skip
_LEFT_OUT = frozenset({"id", _XLINK})
_REFERENCE = re.compile(r"url\(#([\w-]+)\)")


class Shelf:
    """What the figures of a page share: outlines of letters, clipping paths and hatchings, each once."""

    def __init__(self) -> None:
        self._names: dict[str, str] = {}

    def name_of(self, code: str) -> str:
        """Give the id of what is shared; it is put on the shelf when it is not there yet.

        Parameters
        ----------
        code
            Its markup, with ``{id}`` where its id stands.
        """
        return self._names.setdefault(code, f"d{len(self._names) + 1}")

    @property
    def markup(self) -> Markup:
        """Everything on the shelf, for the page to hold; nothing when it is empty."""
        if not self._names:
            return NOTHING
        codes = (Markup(code.replace("{id}", name)) for code, name in self._names.items())
        return element(
            "svg", element("defs", *codes), class_="shelf", width="0", height="0", aria_hidden="true"
        )


@dataclass(frozen=True, slots=True)
class _Bare:
    """A figure without title and notes, which the page says itself, in letters that can be read aloud."""

    figure: Figure
    title: str = ""
    notes: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """Its short name."""
        return self.figure.name

    def plot(self, plane: Plane) -> None:
        """Draw what it shows."""
        self.figure.plot(plane)


def drawing(figure: Figure, shelf: Shelf, *, label: str) -> Markup:
    """Draw a figure for a page.

    Parameters
    ----------
    figure
        What to draw.
    shelf
        Takes what it shares with other figures of the page.
    label
        What it says, for those who do not see it.

    Returns
    -------
    Markup
        Lines and letters as outlines; a picture of the same where it holds something that no page has
        shown yet.
    """
    rows = len(getattr(figure, "rows", ()))
    height = min(max(LEAST_PT, BESIDE_ROWS_PT + ROW_PT * rows), HIGHEST_PT) if rows else HEIGHT_PT
    bare = _Bare(figure)
    root = ET.fromstring(as_svg(bare, width=WIDE_PT, height=height, size=LETTERS))
    shared = _Sharing(root, shelf)
    try:
        inside = [shared.drawn(child) for child in root]
    except _UnknownError:
        sides = {"width": round(WIDE_PT * DOTS / 72), "height": round(height * DOTS / 72)}
        data = as_png(bare, dots=DOTS, size=LETTERS, **sides)
        source = f"data:image/png;base64,{base64.b64encode(data).decode()}"
        return element("img", src=source, alt=label, **{name: str(side) for name, side in sides.items()})
    return element("svg", *inside, viewBox=root.attrib["viewBox"], role="img", aria_label=label)


class _UnknownError(Exception):
    """A drawing holds something that no page has shown yet."""


class _Sharing:
    """Turns one drawing into markup, and what it refers to into ids of the shelf."""

    def __init__(self, root: ET.Element, shelf: Shelf) -> None:
        self._shelf = shelf
        self._named = {one.attrib["id"]: one for one in root.iter() if "id" in one.attrib}

    def drawn(self, one: ET.Element) -> Markup:
        """Turn an element and what it holds into markup; what is only told to programs is left out."""
        tag = _tag_of(one)
        if tag in ("defs", "title", "metadata"):
            return NOTHING
        if tag not in _DRAWN:
            raise _UnknownError(tag)
        kept = self._kept(one)
        if tag == "g" and not kept:
            return joined(*(self.drawn(child) for child in one))
        return element(tag, *(self.drawn(child) for child in one), **kept)

    def _kept(self, one: ET.Element) -> dict[str, str]:
        if unknown := one.attrib.keys() - _KEPT - _LEFT_OUT:
            raise _UnknownError(unknown)
        kept = {name: _one_line(value) for name, value in one.attrib.items() if name in _KEPT}
        for name, value in kept.items():
            kept[name] = _REFERENCE.sub(lambda found: f"url(#{self._shared(found[1])})", value)
        if _XLINK in one.attrib:
            kept["href"] = f"#{self._shared(one.attrib[_XLINK].removeprefix('#'))}"
        return kept

    def _shared(self, name: str) -> str:
        """Put what is referred to on the shelf; give its id there."""
        one = self._named[name]
        tag = _tag_of(one)
        if tag not in _SHARED:
            raise _UnknownError(tag)
        inside = (self.drawn(child) for child in one)
        return self._shelf.name_of(element(tag, *inside, id="{id}", **self._kept(one)).code)


def _tag_of(one: ET.Element) -> str:
    return one.tag.removeprefix(_SVG)


def _one_line(value: str) -> str:
    return " ".join(value.split())
