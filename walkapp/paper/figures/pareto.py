"""NOK parts of stations, defects or units, the most first, and the share that they have together."""

from __future__ import annotations

from dataclasses import dataclass

from walkapp.language import decimal_text, tr
from walkapp.paper.figures.plane import Plane
from walkapp.paper.figures.style import BLUE, FAINT, INK


@dataclass(frozen=True, slots=True, kw_only=True)
class ParetoRow:
    """One station, defect or unit.

    Parameters
    ----------
    what
        Its name.
    nok
        NOK parts.
    words
        How many were checked, and the share of them, in words.
    together
        Share of all NOK parts that this row and those above it have, 0 to 1.
    is_rest
        Whether it stands for several that have no row of their own.
    """

    what: str
    nok: int
    words: str
    together: float
    is_rest: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ParetoFigure:
    """The rows from top to bottom, each with its count on the left and what all have together on the right.

    Parameters
    ----------
    title, notes
        See :class:`walkapp.paper.figures.drawn.Figure`.
    rows
        By their NOK parts, the most first and the rest last; at least one.
    name
        The name of the kind, and what it is made of.
    """

    title: str
    notes: tuple[str, ...]
    rows: tuple[ParetoRow, ...]
    name: str

    def plot(self, plane: Plane) -> None:
        """Draw counts as bars, and beside them the line of what they have together."""
        count, together = plane.axes(columns=2, widths=(3, 2), share_y=True)[0]
        width = plane.area.width * 0.22
        plane.name_rows(count, [row.what for row in self.rows], width=width, strong={0})
        for y, row in enumerate(self.rows):
            count.barh(
                y, row.nok, height=0.6, facecolor="white", edgecolor=BLUE,
                hatch=".." if row.is_rest else "////",
            )  # fmt: skip
            plane.beside(count, y, row.words, plane.area.width * 0.26, is_strong=y == 0)
            plane.beside(together, y, _percent(row.together), width)
            together.axhline(y, color=FAINT, linewidth=0.3, zorder=0)
        together.plot(
            [100 * row.together for row in self.rows], range(len(self.rows)), color=INK, linewidth=1.2,
            marker="s", markersize=plane.size * 0.5, markerfacecolor="white", clip_on=False, zorder=3,
        )  # fmt: skip
        most = max(row.nok for row in self.rows)
        count.set_xlim(0, max(most, 1) * 1.05)
        count.xaxis.get_major_locator().set_params(integer=True)
        together.set_xlim(0, 100)
        together.tick_params(labelleft=False)
        plane.name_axis(count.xaxis, tr("NOK (parts)"))
        plane.name_axis(together.xaxis, tr("share of all NOK, with those above (%)"))


def _percent(share: float) -> str:
    is_whole = share in (0, 1) or 0.005 <= share < 0.995
    return f"{100 * share:.0f}" if is_whole else decimal_text(f"{100 * share:.1f}")
