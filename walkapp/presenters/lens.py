"""What is seen of pictures that are zoomed and moved together: plain geometry, no window.

Pictures are measured by their longest side, which is 1 for each of them, so that pictures of one camera are
shown in the same scale however they were turned and however small a copy is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

MOST_ZOOM = 8.0
STEP = 1.5
"""How much one tap on a button zooms."""

Size = tuple[float, float]
"""Width and height."""

Offset = tuple[float, float]
"""To the right and down, in shares of a picture's width and height."""


@dataclass(frozen=True, slots=True)
class Part:
    """Where a picture is drawn in its pane, and which part of it.

    Parameters
    ----------
    left, top, width, height
        In pixels from the upper left corner of the pane; whole numbers.
    u, v, u_width, v_height
        The part of the picture, in shares from its upper left corner.
    """

    left: float
    top: float
    width: float
    height: float
    u: float
    v: float
    u_width: float
    v_height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Lens:
    """What is looked at: the same part of every picture, and how large.

    Parameters
    ----------
    zoom
        1 shows the whole picture, at most 8.
    x, y
        Which point is in the middle of each pane, in shares of the picture from its upper left corner.
    apart
        How far single panes were moved from that, by their name.
    """

    zoom: float = 1.0
    x: float = 0.5
    y: float = 0.5
    apart: tuple[tuple[str, Offset], ...] = field(default=())

    @property
    def is_whole(self) -> bool:
        """Whether whole pictures are shown."""
        return self.zoom <= 1.0

    def zoomed(self, factor: float, at: Offset = (0.0, 0.0)) -> Lens:
        """Zoom in or out; whole pictures begin anew in their middle.

        Parameters
        ----------
        factor
            Above 1 to zoom in.
        at
            The point that stays where it is, from the middle of the pane, in shares of the picture as it is
            drawn now.
        """
        zoom = min(max(self.zoom * factor, 1.0), MOST_ZOOM)
        if zoom <= 1.0:
            return Lens()
        kept = 1 - self.zoom / zoom
        return replace(self, zoom=zoom, x=_share(self.x + at[0] * kept), y=_share(self.y + at[1] * kept))

    def moved(self, name: str, by_px: Size, drawn: Size, pane: Size, *, alone: bool = False) -> Lens:
        """Move the pictures under the panes, as far as that of the touched pane has more to show.

        Parameters
        ----------
        name
            Name of the pane that was touched.
        by_px
            To the right and down, in pixels.
        drawn, pane
            Sizes of its picture as it is drawn, and of the pane, in pixels.
        alone
            Whether this pane is moved alone.
        """
        apart = dict(self.apart)
        off_x, off_y = apart.get(name, (0.0, 0.0))
        x = _within(self.x + off_x - by_px[0] / drawn[0], drawn[0], pane[0])
        y = _within(self.y + off_y - by_px[1] / drawn[1], drawn[1], pane[1])
        if not alone:
            return replace(self, x=_share(x - off_x), y=_share(y - off_y))
        return replace(self, apart=tuple((apart | {name: (x - self.x, y - self.y)}).items()))

    def part(self, name: str, picture: Size, pane: Size, scale: float) -> Part:
        """Say where a picture is drawn in its pane.

        Parameters
        ----------
        name
            Name of the pane.
        picture
            Size of the picture, in any unit.
        pane
            Size of the pane in pixels, each side at least 1.
        scale
            Pixels of a longest side at zoom 1 (:func:`common_scale`).
        """
        x, y = dict(self.apart).get(name, (0.0, 0.0))
        width, height = drawn_size(picture, scale * self.zoom)
        across = _cut(_within(self.x + x, width, pane[0]), width, pane[0])
        along = _cut(_within(self.y + y, height, pane[1]), height, pane[1])
        return Part(across[0], along[0], across[1], along[1], across[2], along[2], across[3], along[3])


def common_scale(pictures: Sequence[tuple[Size, Size]]) -> float:
    """Give the pixels of a longest side with which each picture fits its pane.

    Parameters
    ----------
    pictures
        Sizes of each picture and of its pane.

    Examples
    --------
    >>> common_scale([((4000, 3000), (400, 400)), ((300, 400), (400, 200))])
    200.0
    """
    fitting = (
        min(pane[0] / (size[0] / max(size)), pane[1] / (size[1] / max(size))) for size, pane in pictures
    )
    return float(min(fitting, default=1.0))


def drawn_size(picture: Size, longest_px: float) -> Size:
    """Give the size of a picture whose longest side is drawn so long; no side is below one pixel."""
    longest = max(picture)
    return max(picture[0] / longest * longest_px, 1.0), max(picture[1] / longest * longest_px, 1.0)


def _share(value: float) -> float:
    return min(max(value, 0.0), 1.0)


def _fits(drawn_px: float, pane_px: float) -> bool:
    """Tell whether nothing is beyond the pane; less than half a pixel may come of rounding."""
    return drawn_px < pane_px + 0.5


def _within(middle: float, drawn_px: float, pane_px: float) -> float:
    """Keep the middle of a pane where the picture fills it; in its own middle where it does not."""
    if _fits(drawn_px, pane_px):
        return 0.5
    half = pane_px / drawn_px / 2
    return min(max(middle, half), 1 - half)


def _cut(middle: float, drawn_px: float, pane_px: float) -> tuple[float, float, float, float]:
    """Give start and length in the pane, in whole pixels, and in shares of the picture."""
    if _fits(drawn_px, pane_px):
        length = max(round(drawn_px), 1)
        return round((pane_px - length) / 2), length, 0.0, 1.0
    share = pane_px / drawn_px
    return 0.0, pane_px, middle - share / 2, share
