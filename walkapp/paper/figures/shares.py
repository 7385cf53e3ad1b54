"""Share of NOK parts station by station, and how probable it is that the defect starts there."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal

from walkapp.language import decimal_text, tr
from walkapp.paper.figures.plane import Plane
from walkapp.paper.figures.style import BLUE, FAINT, HATCHES, INK, MARKERS, RED


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareRow:
    """One station.

    Parameters
    ----------
    station
        Its name.
    checked, nok
        The counts; ``0 <= nok <= checked``.
    low, high
        Exact 95 % limits of the share, 0 to 1; none when nothing was checked.
    origin
        Probability that the defect starts here, 0 to 1.
    state
        ``clean``, ``bad``, ``undecided`` or ``not_visited``.
    verdict
        The same in words.
    """

    station: str
    checked: int
    nok: int
    low: float | None
    high: float | None
    origin: float
    state: str
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SharesFigure:
    """The stations from the first to the last, from top to bottom.

    Parameters
    ----------
    title, notes
        See :class:`walkapp.paper.figures.drawn.Figure`.
    rows
        In the order of the stream, at least one.
    """

    title: str
    notes: tuple[str, ...]
    rows: tuple[ShareRow, ...]
    name: str = "share-by-station"

    def plot(self, plane: Plane) -> None:
        """Draw shares with their limits on the left, and the probabilities on the right."""
        share, origin = plane.axes(columns=2, widths=(3, 2), share_y=True)[0]
        named = max(self.rows, key=lambda row: row.origin, default=None)
        strong = {y for y, row in enumerate(self.rows) if row is named and row.state == "bad"}
        width, wide = plane.area.width * 0.22, plane.area.width * 0.28
        plane.name_rows(share, [row.station for row in self.rows], width=width, strong=strong)
        for y, row in enumerate(self.rows):
            if row.low is not None and row.high is not None and row.checked:
                share.plot((100 * row.low, 100 * row.high), (y, y), color=INK, linewidth=1.2, zorder=2)
                share.plot(
                    100 * row.nok / row.checked, y, linestyle="none", markersize=plane.size * 0.8,
                    zorder=3, clip_on=False, **MARKERS[row.state],
                )  # fmt: skip
            counted = f"{row.nok}/{row.checked}, {row.verdict}" if row.checked else row.verdict
            plane.beside(share, y, counted, wide, is_strong=y in strong)
            origin.barh(
                y, 100 * row.origin, height=0.6, facecolor="white", hatch=HATCHES[row.state],
                edgecolor=RED if row.state == "bad" else BLUE,
            )  # fmt: skip
            plane.beside(origin, y, _percent(row.origin), width, is_strong=y in strong)
            origin.axhline(y, color=FAINT, linewidth=0.3, zorder=0)
        share.set_xlim(0, 100)
        origin.set_xlim(0, 100)
        origin.tick_params(labelleft=False)
        plane.name_axis(share.xaxis, tr("NOK of the parts checked (%), with exact 95 % limits"))
        plane.name_axis(origin.xaxis, tr("probability that it starts here (%)"))


def _percent(share: float) -> str:
    """Write a probability in percent, cut off so that nothing looks surer than it is; never 0 or 100."""
    exact = Decimal(repr(float(share))) * 100
    if exact < Decimal("0.1"):
        return decimal_text("<0.1")
    if exact > Decimal("99.9"):
        return decimal_text(">99.9")
    step = Decimal("0.1") if exact < 1 or exact >= 99 else Decimal(1)
    return decimal_text(str(exact.quantize(step, rounding=ROUND_FLOOR)))
