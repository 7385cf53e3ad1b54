"""A sheet to draw technical pictures on: shaded shapes, labels with leader lines, round close-ups.

Everything is drawn at twice the size and shrunk at the end, which makes edges smooth. Coordinates are
pixels of the finished picture of 1600 x 1200, x to the right and y down.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence

from PIL import Image, ImageDraw, ImageFilter, ImageFont

Point = tuple[float, float]
Box = tuple[float, float, float, float]
Colour = tuple[int, int, int]

SIZE_PX = (1600, 1200)
TITLE_BAND_PX = 136
MARK_BAND_PX = 110
MARK = "DRAWN FOR THE DEMO, NOT A REAL PART"

INK: Colour = (28, 36, 46)
PAPER: Colour = (255, 255, 255)
AMBER: Colour = (255, 200, 60)
GREEN: Colour = (0, 96, 52)
RED: Colour = (168, 16, 26)
STEEL: tuple[Colour, ...] = ((226, 231, 236), (150, 160, 170))
TUBE: tuple[Colour, ...] = ((120, 130, 142), (240, 243, 246), (120, 130, 142))

_FINER = 2


class Sheet:
    """A picture that is being drawn.

    Parameters
    ----------
    title
        What the picture shows; stands in the band at the top, at most about 40 letters.
    background
        Colours of the wall from top to bottom.
    """

    def __init__(
        self, title: str, background: Sequence[Colour] = ((246, 248, 250), (205, 213, 220))
    ) -> None:
        wide, high = SIZE_PX
        self._image = Image.new("RGB", (wide * _FINER, high * _FINER), PAPER)
        self.box((0, 0, wide, high), background, outline=None)
        self._title = title

    def shape(
        self,
        points: Sequence[Point],
        colours: Sequence[Colour],
        *,
        across: bool = False,
        outline: Colour | None = INK,
        width: float = 4,
    ) -> None:
        """Fill a closed shape with colours that pass into one another, down or `across`, and outline it."""
        finer = [(x * _FINER, y * _FINER) for x, y in points]
        edges = [coordinate for axis in zip(*points, strict=True) for coordinate in (min(axis), max(axis))]
        self._fill(
            (edges[0], edges[2], edges[1], edges[3]), colours, across, lambda d: d.polygon(finer, fill=255)
        )
        if outline is not None:
            self.line([*points, points[0], points[1]], outline, width)

    def box(
        self,
        box: Box,
        colours: Sequence[Colour],
        *,
        radius: float = 0,
        across: bool = False,
        outline: Colour | None = INK,
        width: float = 4,
    ) -> None:
        """Fill a rectangle with round corners."""
        finer = tuple(edge * _FINER for edge in box)
        self._fill(box, colours, across, lambda d: d.rounded_rectangle(finer, radius * _FINER, fill=255))
        if outline is not None:
            ink = ImageDraw.Draw(self._image)
            ink.rounded_rectangle(finer, radius * _FINER, outline=outline, width=round(width * _FINER))

    def oval(
        self, box: Box, colours: Sequence[Colour], *, outline: Colour | None = INK, width: float = 4
    ) -> None:
        """Fill an ellipse."""
        finer = tuple(edge * _FINER for edge in box)
        self._fill(box, colours, False, lambda d: d.ellipse(finer, fill=255))
        if outline is not None:
            ImageDraw.Draw(self._image).ellipse(finer, outline=outline, width=round(width * _FINER))

    def _fill(
        self,
        box: Box,
        colours: Sequence[Colour],
        across: bool,
        stamp: Callable[[ImageDraw.ImageDraw], None],
    ) -> None:
        mask = Image.new("L", self._image.size, 0)
        stamp(ImageDraw.Draw(mask))
        left, top, right, bottom = (round(edge * _FINER) for edge in box)
        size = (max(right - left + 1, 1), max(bottom - top + 1, 1))
        shade = _blend(colours, size, across)
        self._image.paste(shade, (left, top), mask.crop((left, top, left + size[0], top + size[1])))

    def line(self, points: Sequence[Point], colour: Colour = INK, width: float = 4) -> None:
        """Draw a line through points."""
        finer = [(x * _FINER, y * _FINER) for x, y in points]
        ImageDraw.Draw(self._image).line(finer, fill=colour, width=round(width * _FINER), joint="curve")

    def arrow(self, start: Point, end: Point, colour: Colour = RED, width: float = 12) -> None:
        """Draw an arrow with its point at `end`."""
        (x0, y0), (x1, y1) = start, end
        length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        along, aside = ((x1 - x0) / length, (y1 - y0) / length), width * 1.7
        neck = (x1 - along[0] * width * 3, y1 - along[1] * width * 3)
        self.line([start, neck], colour, width)
        head = [
            end,
            (neck[0] - along[1] * aside, neck[1] + along[0] * aside),
            (neck[0] + along[1] * aside, neck[1] - along[0] * aside),
        ]
        self.shape(head, (colour, colour), outline=None)

    def haze(self, box: Box, colour: Colour, strength: float, soft_px: float) -> None:
        """Lay a soft spot of colour over an ellipse: a shadow, a glow. Strength 0 to 1."""
        left, top = round((box[0] - 2 * soft_px) * _FINER), round((box[1] - 2 * soft_px) * _FINER)
        right, bottom = round((box[2] + 2 * soft_px) * _FINER), round((box[3] + 2 * soft_px) * _FINER)
        mask = Image.new("L", (right - left, bottom - top), 0)
        edge = 2 * soft_px * _FINER
        spot = (edge, edge, right - left - edge, bottom - top - edge)
        ImageDraw.Draw(mask).ellipse(spot, fill=round(255 * strength))
        # Two box blurs come close to a Gaussian one, and use whole numbers only.
        soften = ImageFilter.BoxBlur(round(soft_px * _FINER / 2))
        self._image.paste(colour, (left, top), mask.filter(soften).filter(soften))

    def close_up(self, centre: Point, radius: float, draw: Callable[[], None]) -> None:
        """Show in a ring what `draw` draws on this sheet."""
        before = self._image.copy()
        draw()
        x, y = centre
        ring = (x - radius, y - radius, x + radius, y + radius)
        finer = tuple(edge * _FINER for edge in ring)
        mask = Image.new("L", before.size, 0)
        ImageDraw.Draw(mask).ellipse(finer, fill=255)
        before.paste(self._image, (0, 0), mask)
        self._image = before
        ImageDraw.Draw(self._image).ellipse(finer, outline=INK, width=8 * _FINER)

    def ring(self, centre: Point, radius: float, colour: Colour = RED, width: float = 8) -> None:
        """Draw a circle around something."""
        (x, y), reach = centre, radius
        finer = tuple(edge * _FINER for edge in (x - reach, y - reach, x + reach, y + reach))
        ImageDraw.Draw(self._image).ellipse(finer, outline=colour, width=round(width * _FINER))

    def text(self, words: str, at: Point, size_px: float = 54, colour: Colour = INK) -> None:
        """Write one line, centred on a point."""
        font = ImageFont.load_default(size_px * _FINER)
        ImageDraw.Draw(self._image).text(
            (at[0] * _FINER, at[1] * _FINER),
            words,
            fill=colour,
            font=font,
            anchor="mm",
            stroke_width=_FINER,
            stroke_fill=colour,
        )

    def label(
        self,
        words: str,
        at: Point,
        target: Point | None = None,
        *,
        colour: Colour = INK,
        size_px: float = 52,
    ) -> None:
        """Write in a white box centred on a point, with a leader line to what is meant."""
        half_wide, half_high = self.half_width(words, size_px) + 26, size_px * 0.78
        if target is not None:
            x, y = target
            self.line([at, target], PAPER, 12)
            self.line([at, target], colour, 6)
            self.oval((x - 12, y - 12, x + 12, y + 12), (colour, colour), outline=PAPER)
        edges = (at[0] - half_wide, at[1] - half_high, at[0] + half_wide, at[1] + half_high)
        self.box(edges, (PAPER, PAPER), radius=16, outline=colour, width=5)
        self.text(words, at, size_px, colour)

    @staticmethod
    def half_width(words: str, size_px: float) -> float:
        """Half of the width of one line of text, in pixels."""
        return ImageFont.load_default(size_px * _FINER).getlength(words) / _FINER / 2

    def finish(self) -> bytes:
        """Add title and mark, shrink, and give the JPEG file."""
        wide, high = SIZE_PX
        self.box((0, 0, wide, TITLE_BAND_PX), (INK, INK), outline=None)
        self.text(self._title, (wide / 2, TITLE_BAND_PX / 2), 72, PAPER)
        self.box((0, high - MARK_BAND_PX, wide, high), (AMBER, AMBER), outline=None)
        self.text(MARK, (wide / 2, high - MARK_BAND_PX / 2), 64)
        file = io.BytesIO()
        self._image.reduce(_FINER).save(file, "JPEG", quality=88, subsampling=0)
        return file.getvalue()


def _blend(colours: Sequence[Colour], size: tuple[int, int], across: bool) -> Image.Image:
    """Colours that pass into one another at even distances, from top to bottom or left to right."""
    steps = Image.new("RGB", (len(colours), 1) if across else (1, len(colours)))
    steps.putdata(list(colours))
    # Only the way from the middle of the first to the middle of the last step is wanted.
    last = len(colours) - 0.5
    part = (0.5, 0, last, 1) if across else (0, 0.5, 1, last)
    return steps.resize(size, Image.Resampling.BILINEAR, box=part)


def rounded(points: Sequence[Point], radius: float) -> list[Point]:
    """Round the corners of a closed shape; `radius` is how far before a corner the curve begins."""
    smooth: list[Point] = []
    for before, corner, after in zip(
        (points[-1], *points[:-1]), points, (*points[1:], points[0]), strict=True
    ):
        smooth += bent(_towards(corner, before, radius), corner, _towards(corner, after, radius))
    return smooth


def bent(start: Point, pull: Point, end: Point) -> list[Point]:
    """Points of a curve from start to end that is drawn towards `pull` (quadratic Bezier curve)."""
    curve: list[Point] = []
    for step in range(13):
        t = step / 12
        x, y = (
            (1 - t) ** 2 * s + 2 * t * (1 - t) * p + t**2 * e
            for s, p, e in zip(start, pull, end, strict=True)
        )
        curve.append((x, y))
    return curve


def _towards(start: Point, end: Point, distance: float) -> Point:
    """The point that far on the way from start to end, at most half way."""
    length = ((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2) ** 0.5
    share = min(distance / length, 0.5)
    return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share


def placed(points: Sequence[Point], origin: Point, scale: float) -> list[Point]:
    """Points of a drawing's own grid, enlarged and moved."""
    return [(origin[0] + x * scale, origin[1] + y * scale) for x, y in points]
